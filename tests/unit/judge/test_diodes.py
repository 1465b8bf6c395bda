"""A solenoid with a diode across it, read both ways round.  The body is invented; common practice, no source.

Plover, 12 to 15 ohm, lies between 8 and case; the anode of its diode is at case, so red on 8 reads the coil.
"""

from __future__ import annotations

import pytest

from tests.data.made_up import reading, session_of, variant_of
from valvebench.judge.book import Book
from valvebench.judge.diodes import blocking_order, both_ways
from valvebench.judge.rows import rows_of
from valvebench.judge.session import judge_session
from valvebench.model.words import Verdict

PASS, FAIL, CANT_TELL, NOT_USABLE = Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL, Verdict.NOT_USABLE
NO_LIMIT = Verdict.NO_LIMIT
PLOVER = {"name": "Plover", "kind": "solenoid", "between": ["8", "case"], "low_ohm": 12.0, "high_ohm": 15.0}
GULL = {"name": "Gull", "kind": "solenoid", "between": ["4", "11"], "low_ohm": 4.9, "high_ohm": 5.5}
DOT = {"name": "Dot", "kind": "diode", "between": ["8", "case"], "across": "Plover", "anode": "case"}


def body(*devices):
    bare = {"isolation": None, "ports": [], "solenoid_chart": {}}
    return variant_of(devices=list(devices), **bare)


BODY = body(PLOVER, DOT, GULL)
UNSAID = body(PLOVER, {key: value for key, value in DOT.items() if key != "anode"})


def read(red, ohm=None, **more):
    """Red on one end of Plover, black on the other; sure to a hundredth."""
    black = "case" if red == "8" else "8"
    sure = {"temperature": None, "u_celsius": 0.0, "u_ohm": 0.01, "meter": None, "leads": "four_wire"}
    return reading(red, black, ohm, **{**sure, **more})


def opened(red):
    return read(red, open=True, range_ohm=6e7)


COIL, DIODE = "8", "case"  # where red reads the coil alone, and where the diode may conduct


def rows(*taken, variant=BODY):
    return rows_of(session_of(*taken), variant)


def verdicts(*taken, variant=BODY):
    return [row.verdict for row in rows(*taken, variant=variant)]


@pytest.mark.parametrize(("ohm", "verdict"), [(13.5, PASS), (15.5, FAIL), (11.5, FAIL), (12.01, CANT_TELL)], ids=str)
def test_against_the_diode_the_coil_is_judged_as_ever(ohm, verdict):
    (row,) = rows(read(COIL, ohm))
    assert row.verdict is verdict
    assert row.reasons[-1] == "Diode Dot blocks this way round: the reading is the coil's."


@pytest.mark.parametrize(
    ("taken", "verdict"),
    [
        pytest.param(read(DIODE, 13.5), CANT_TELL, id="inside: the coil may have more"),
        pytest.param(read(DIODE, 0.6), CANT_TELL, id="low: it may be the diode"),
        pytest.param(read(DIODE, 15.5), FAIL, id="too high: a diode only lowers"),
        pytest.param(opened(DIODE), FAIL, id="open"),
    ],
)
def test_with_the_diode_only_too_much_is_proved(taken, verdict):
    assert verdicts(taken) == [verdict]


def test_what_is_undecided_asks_for_the_clips_to_be_swapped():
    (row,) = rows(read(DIODE, 13.5))
    assert (
        row.reasons[0]
        == "Can't tell: diode Dot may conduct this way round, and the coil may have more than what was read."
    )
    assert row.advice == ("Swap the clips: red on 8, black on case, and read again.",)
    assert (row.lean, row.judgement.p_inside, row.by_number.verdict) == (None, None, PASS)


def test_both_ways_alike_count_and_leave_the_diode_untold():
    found = rows(read(DIODE, 13.5), read(COIL, 13.5))
    assert [row.verdict for row in found] == [PASS, PASS]
    assert "whether it is sound, open or absent can't be told" in found[0].reasons[-1]
    assert "(entry 3)" in found[0].reasons[-1]
    assert "(entry 2)" in found[1].reasons[-1]


def test_low_one_way_only_the_diode_conducts_and_the_coil_is_judged_the_other_way():
    low, coil = rows(read(DIODE, 0.6), read(COIL, 13.5))
    assert (low.verdict, coil.verdict) == (NOT_USABLE, PASS)
    assert low.reasons[0].endswith("the other way round (entry 3) it is the coil's.")
    assert judge_session(session_of(read(DIODE, 0.6), read(COIL, 13.5)), BODY).items["device Plover"] is PASS


def test_low_both_ways_names_coil_and_diode():
    for pair in ((0.4, 0.4), (0.4, 0.9)):
        found = rows(read(DIODE, pair[0]), read(COIL, pair[1]))
        assert found[1].verdict is FAIL
        assert found[1].reasons[0] == (
            "Fail: low both ways: the coil or diode Dot is shorted; which of them can't be told here."
        )


def test_open_against_the_diode_and_a_value_with_it_is_an_open_coil():
    low, coil = rows(read(DIODE, 500.0), opened(COIL))
    assert (low.verdict, coil.verdict) == (NOT_USABLE, FAIL)
    assert "diode Dot conducts there" in coil.reasons[-1]


def test_open_both_ways_is_an_open_coil():
    assert verdicts(opened(DIODE), opened(COIL)) == [FAIL, FAIL]


def test_more_with_the_diode_than_against_it_is_a_mix_up():
    found = rows(read(DIODE, 13.5), read(COIL, 0.6))
    assert [row.verdict for row in found] == [CANT_TELL, CANT_TELL]
    assert "the clips, the meter's polarity or the file is the wrong way round" in found[1].reasons[0]
    assert verdicts(opened(DIODE), read(COIL, 13.5)) == [CANT_TELL, CANT_TELL]


@pytest.mark.parametrize(
    ("taken", "expected"),
    [
        ([read(COIL, 13.5)], [CANT_TELL]),
        ([read(DIODE, 15.5)], [FAIL]),
        ([read(COIL, 13.5), read(DIODE, 13.5)], [PASS, PASS]),
        ([read(COIL, 0.6), read(DIODE, 13.5)], [NOT_USABLE, PASS]),
        ([read(COIL, 13.5), read(DIODE, 0.6)], [PASS, NOT_USABLE]),
        ([read(COIL, 0.6), read(DIODE, 0.6)], [FAIL, FAIL]),
    ],
    ids=["one way", "too high", "alike", "low one way", "low the other way", "low both ways"],
)
def test_where_nothing_says_which_way_it_lies_the_higher_is_the_coils(taken, expected):
    assert verdicts(*taken, variant=UNSAID) == expected


def test_readings_of_both_ways_are_never_taken_together():
    found = rows(read(COIL, 13.5), read(DIODE, 13.4), read(COIL, 13.6))
    assert [row.entries for row in found] == [(2, 4), (3,)]
    assert [row.entries for row in rows(reading("4", "11", 5.2), reading("11", "4", 5.2))] == [(2, 3)]


def test_far_apart_in_temperature_says_nothing_of_each_other():
    found = rows(read(DIODE, 16.3, celsius=80.0), read(COIL, 13.5))  # 16.3 x 254.5/314.5 = 13.19 at 20 degrees
    assert {row.celsius: row.verdict for row in found} == {80.0: CANT_TELL, 20.0: PASS}


def test_without_limits_it_is_only_said():
    bare = {key: value for key, value in PLOVER.items() if not key.endswith("_ohm")}
    (row,) = rows(read(DIODE, 13.5), variant=body(bare, DOT))
    assert row.verdict is NO_LIMIT
    assert "can only make it read less" in row.reasons[-1]


def test_at_its_own_terminals_the_names_mean_the_same_ends():
    (row,) = rows(reading("Plover.2", "Plover.1", 13.5, temperature=None, u_celsius=0.0, u_ohm=0.01))
    assert row.verdict is CANT_TELL
    (row,) = rows(reading("Plover.1", "Plover.2", 13.5, temperature=None, u_celsius=0.0, u_ohm=0.01))
    assert row.verdict is PASS


def test_a_solenoid_without_a_diode_is_left_alone():
    (row,) = rows(reading("4", "11", 5.2, temperature=None, u_celsius=0.0, u_ohm=0.01))
    assert (row.verdict, row.by_number) == (PASS, None)


def test_settling_twice_changes_nothing():
    found = rows(read(DIODE, 0.6), read(COIL, 13.5), read(DIODE, 13.5))
    assert both_ways(BODY, found) == found


def test_the_book_says_the_same_entry_by_entry():
    taken = [read(DIODE, 13.5), read(COIL, 13.5), reading("4", "11", 5.2), read(DIODE, 0.6), opened(COIL)]
    book = Book(session_of(), BODY)
    for count in range(1, len(taken) + 1):
        session = session_of(*taken[:count])
        changed = book.take(session.items[-1])
        assert book.rows() == rows_of(session, BODY)
        assert set(changed) <= set(book.rows())
        whole = judge_session(session, BODY)
        assert (book.judgement().items, book.judgement().verdict) == (whole.items, whole.verdict)


def test_which_way_round_is_asked_for():
    plover, _, gull = BODY.devices
    assert blocking_order(BODY, plover, "case", "8") == ("8", "case")
    assert blocking_order(BODY, plover, "8", "case") == ("8", "case")
    assert blocking_order(BODY, gull, "4", "11") == ("4", "11")
    assert blocking_order(UNSAID, UNSAID.devices[0], "case", "8") == ("case", "8")


@pytest.mark.parametrize("milliampere", [0.5, 5.0, 50.0, 150.0])
def test_no_coil_is_passed_or_failed_for_its_diode(milliampere):
    """A meter that drives a current, a diode that holds 0.6 V: what it shows is worked out here.

    A coil in mid-band with a sound diode never fails, one out of band never passes, whatever was read first.
    """
    ampere = milliampere / 1000
    for coil in (6.0, 13.5, 20.0, 4000.0):
        shown = {COIL: coil, DIODE: min(coil, 0.6 / ampere)}
        for ways in ((COIL,), (DIODE,), (COIL, DIODE), (DIODE, COIL)):
            for variant in (BODY, UNSAID):
                judged = judge_session(session_of(*(read(way, shown[way]) for way in ways)), variant)
                verdict = judged.items["device Plover"]
                assert verdict is not (FAIL if coil == 13.5 else PASS), (coil, ways)


def test_a_low_reading_with_the_diode_fails_nothing_that_the_other_way_leaves_open():
    """4 hundredths apart with doubts of 2 hundredths each: the two agree, one is proved low, the other is not."""
    with_diode, coil = rows(read(DIODE, 11.975), read(COIL, 12.0))
    assert (with_diode.by_number.verdict, coil.verdict) == (FAIL, CANT_TELL)
    assert with_diode.verdict is NOT_USABLE
