"""Switches read in each selector position, held against the code table.  The table is invented.

position  Stork   Snipe   Sora
P         closed  open    either
R         closed  closed  open
N         open    closed  open
D         open    open    closed
"""

from __future__ import annotations

import itertools

import pytest

from tests.data.made_up import session_of, variant_of
from valvebench.judge.book import Book
from valvebench.judge.codes import code_of
from valvebench.judge.rows import rows_of
from valvebench.judge.session import judge_session
from valvebench.model.entry import SwitchTest
from valvebench.model.words import SwitchState, Verdict

PASS, FAIL, CANT_TELL = Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL
NOT_TAKEN, NO_LIMIT, NOT_FINISHED = Verdict.NOT_TAKEN, Verdict.NO_LIMIT, Verdict.NOT_FINISHED
NAMES = ("Stork", "Snipe", "Sora")
TABLE = {
    "P": {"Stork": "closed", "Snipe": "open", "Sora": "either"},
    "R": {"Stork": "closed", "Snipe": "closed", "Sora": "open"},
    "N": {"Stork": "open", "Snipe": "closed", "Sora": "open"},
    "D": {"Stork": "open", "Snipe": "open", "Sora": "closed"},
}
VARIANT = variant_of(
    devices=[
        {"name": name, "kind": "switch", "between": [str(pin), "case"]} for pin, name in enumerate(NAMES, start=1)
    ],
    selector_codes=[{"position": position, "switches": states} for position, states in TABLE.items()],
    isolation=None,
    ports=[],
    solenoid_chart={},
)
OTHER = {"open": "closed", "closed": "open"}


def saw(position, **states):
    """The entries of one position."""
    return [SwitchTest(device=name, state=SwitchState(state), selector=position) for name, state in states.items()]


def as_stated(position, **instead):
    stated = {name: state for name, state in TABLE[position].items() if state != "either"}
    return saw(position, **{**stated, **instead})


def rows(*bodies):
    return {row.key: row for row in rows_of(session_of(*bodies), VARIANT)}


def row_in(position, *bodies):
    return rows(*bodies)[f"selector {position}"]


def test_a_position_that_gives_its_code_passes():
    row = row_in("N", *as_stated("N"))
    assert (row.verdict, row.kind, row.what, row.entries) == (PASS, "selector", "selector N", (2, 3, 4))
    assert row.reasons == ("Pass: the code of N: Stork open, Snipe closed, Sora open.",)


def test_what_does_not_matter_is_not_asked_for():
    assert row_in("P", *saw("P", Stork="closed", Snipe="open")).verdict is PASS


def test_a_wrong_switch_is_named_with_what_it_ought_to_be():
    row = row_in("D", *as_stated("D", Sora="open"))
    assert row.verdict is FAIL
    assert row.reasons == ("Fail: in D Sora is open, it should be closed.",)
    assert row.advice == ("Check that the lever stands in D, and the plug and wire of Sora.",)


def test_the_code_of_another_position_points_to_the_lever_first():
    row = row_in("R", *as_stated("R", Stork="open"))
    assert row.verdict is FAIL
    assert row.reasons[-1] == "What was read is the code of N."
    assert row.advice == ("Adjust or check the lever before blaming Stork, then read R again.",)


def test_a_code_that_was_not_read_whole_points_nowhere():
    row = row_in("R", *saw("R", Stork="open", Snipe="closed"))
    assert row.verdict is FAIL
    assert row.reasons == (
        "Fail: in R Stork is open, it should be closed.",
        "Still to be read in R: Sora.",
    )


def test_a_position_half_read_says_what_is_lacking():
    row = row_in("R", *saw("R", Snipe="closed"))
    assert row.verdict is NOT_TAKEN
    assert row.reasons == ("Not taken in full: still to be read in R: Stork, Sora.",)


def test_read_both_ways_cannot_be_told():
    row = row_in("N", *as_stated("N"), *saw("N", Stork="closed"))
    assert row.verdict is CANT_TELL
    assert row.reasons == ("Can't tell: in N Stork was read open and closed.",)
    assert "take back the entry" in row.advice[0]


@pytest.mark.parametrize(
    ("state", "words", "wrong"),
    [
        ("open", "Stork reads open in every position it was read in (4): stuck open, or its wire is broken.", "PR"),
        (
            "closed",
            "Stork reads closed in every position it was read in (4): stuck closed, or its wire touches another.",
            "ND",
        ),
    ],
)
def test_one_switch_wrong_in_the_same_sense_everywhere_is_named(state, words, wrong):
    found = rows(*itertools.chain.from_iterable(as_stated(position, Stork=state) for position in TABLE))
    assert [key[-1] for key, row in found.items() if row.verdict is FAIL] == list(wrong)
    assert all(words in found[f"selector {position}"].reasons for position in wrong)
    assert not any("stuck" in " ".join(row.reasons) for row in found.values() if row.verdict is PASS)


def test_one_position_alone_makes_no_switch_stuck():
    assert "stuck" not in " ".join(row_in("P", *as_stated("P", Stork="open")).reasons)


def test_a_switch_that_moves_is_not_stuck():
    found = rows(*as_stated("P", Stork="open"), *as_stated("R"), *as_stated("N"))
    assert "stuck" not in " ".join(found["selector P"].reasons)


def test_a_single_flip_is_never_a_pass():
    """Every position with any one switch the other way: named, and another code is only what the table has."""
    for position, name in itertools.product(TABLE, NAMES):
        stated = TABLE[position][name]
        if stated == "either":
            continue
        row = row_in(position, *as_stated(position, **{name: OTHER[stated]}))
        assert row.verdict is FAIL
        assert f"{name} is {OTHER[stated]}, it should be {stated}" in row.reasons[0]


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (*saw("L", Stork="open"), "No limit: the code table has no position L, only P, R, N, D."),
        (*saw("P", Sora="open"), "No limit: the code table does not say how this switch should stand in P."),
        (
            SwitchTest(device="Stork", state=SwitchState.OPEN, selector="P", kpa_gauge=250.0),
            "No limit: nothing says how this switch should stand.",
        ),
    ],
    ids=["no such position", "does not matter there", "under air"],
)
def test_what_the_table_does_not_hold_has_no_limit(body, reason):
    assert code_of(VARIANT, body) is None
    (row,) = rows_of(session_of(body), VARIANT)
    assert (row.verdict, row.reasons) == (NO_LIMIT, (reason,))


def test_a_job_without_a_variant_has_no_codes():
    assert code_of(None, saw("P", Stork="open")[0]) is None
    assert [row.verdict for row in rows_of(session_of(*saw("P", Stork="open")), None)] == [NO_LIMIT]


def test_positions_are_asked_for_once_one_was_read():
    before = judge_session(session_of(), VARIANT)
    assert before.missing == ()
    assert "selector positions not read" in before.scope
    begun = judge_session(session_of(*as_stated("P")), VARIANT)
    assert begun.verdict is NOT_FINISHED
    assert [one.what for one in begun.missing] == ["selector R", "selector N", "selector D"]
    assert "selector 1 of 4 positions passed, 3 not finished" in begun.scope


def test_the_whole_table_as_stated_passes():
    every = [body for position in TABLE for body in as_stated(position)]
    judged = judge_session(session_of(*every), VARIANT)
    assert (judged.verdict, judged.missing) == (PASS, ())
    assert "selector 4 of 4 positions passed" in judged.scope


def test_the_book_says_the_same_entry_by_entry():
    bodies = [
        *as_stated("P", Stork="open"),
        SwitchTest(device="Stork", state=SwitchState.OPEN),
        *as_stated("R", Stork="open"),
        *as_stated("N"),
        *saw("N", Snipe="open"),
    ]
    book = Book(session_of(), VARIANT)
    for count in range(1, len(bodies) + 1):
        session = session_of(*bodies[:count])
        changed = book.take(session.items[-1])
        assert book.rows() == rows_of(session, VARIANT)
        assert set(changed) <= set(book.rows())
        whole = judge_session(session, VARIANT)
        assert (book.judgement().items, book.judgement().verdict) == (whole.items, whole.verdict)
        assert Book(session, VARIANT).rows() == book.rows()
