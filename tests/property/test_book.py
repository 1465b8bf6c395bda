"""The book kept up to date entry by entry says what judging the whole session from nothing says."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.data.made_air import leak_test, pressure, sweep_test
from tests.data.made_up import entries_of, heat_test, job, reading, variant_of
from valvebench.bench.judging import book_of, finds_of, flex_find_of, judged_whole
from valvebench.diagnose.heat_rounds import device_in_round, heat_of
from valvebench.judge.book import Book
from valvebench.judge.flex_rows import series_key
from valvebench.judge.rows import rows_of
from valvebench.judge.session import judge_session
from valvebench.model.entry import AirTest, MeterCheck, Note, SolenoidTest, SwitchTest
from valvebench.model.flex import FlexTest
from valvebench.model.session import Ledger
from valvebench.model.words import AirResult, LeadState, Place, Rule, SwitchState, Verdict

VARIANT = variant_of()
PAIRS = [("3", "11"), ("11", "3"), ("4", "11"), ("8", "case"), ("12", "6"), ("3", "case")]


def measured():
    conditions = st.sampled_from(
        [{}, {"leads": "four_wire"}, {"celsius": 21.5}, {"celsius": 60.0}, {"meter_id": "blue"}]
    )
    ohms = st.integers(450, 560).map(lambda n: n / 100)
    one = st.builds(lambda pair, ohm, more: reading(*pair, ohm, **more), st.sampled_from(PAIRS), ohms, conditions)
    repeats = st.lists(ohms, min_size=2, max_size=6)
    many = st.builds(
        lambda pair, shown, more: reading(*pair, repeats_ohm=shown, **more), st.sampled_from(PAIRS), repeats, conditions
    )
    opened = st.builds(lambda pair: reading(*pair, open=True, range_ohm=400.0), st.sampled_from(PAIRS))
    return st.one_of(one, one, many, many, opened)


def checks():
    return st.builds(
        lambda read, leads: MeterCheck(check_ohm=5.0, read_ohm=read, meter="0.5%+2x0.01", leads=leads),
        st.sampled_from([5.0, 5.1]),
        st.sampled_from([LeadState.NULLED, LeadState.FOUR_WIRE]),
    )


OTHERS = st.one_of(
    st.builds(leak_test, st.sampled_from(["P3", "P5"]), st.sampled_from([100.0, 500.0, None])),
    st.builds(pressure, st.sampled_from([410.0, 452.0]), st.sampled_from(["Line", "Auk"])),
    st.builds(sweep_test, st.sampled_from(["Heron", "Kite"])),
    checks(),
    st.builds(lambda result: AirTest(port="P4", place=Place.BODY, result=result), st.sampled_from(AirResult)),
    st.builds(lambda state: SwitchTest(device="Reel", state=state), st.sampled_from(SwitchState)),
    st.builds(lambda click: SolenoidTest(device="Heron", click=click), st.booleans()),
    st.builds(
        heat_test,
        st.sampled_from(["Heron", "Plover", "Kite"]),
        st.sampled_from([5.2, 7.0]),
    ),
    st.just(Note(text="x")),
)
BODIES = st.lists(st.one_of(measured(), measured(), OTHERS), max_size=10)


def in_rounds():
    """Heron and Plover in rounds, some with 0.6 ohm too much, in two places."""
    return st.builds(
        lambda pair, place, celsius, too_much, number: reading(
            *pair,
            round(({"3": 5.2, "8": 13.0}[pair[0]]) * (234.5 + celsius) / 254.5 + too_much, 2),
            celsius=celsius,
            round=number,
            at=place,
        ),
        st.sampled_from([("3", "11"), ("8", "case")]),
        st.sampled_from(["case_connector", "vehicle_plug"]),
        st.sampled_from([20.0, 50.0, 80.0, 110.0]),
        st.sampled_from([0.0, 0.0, 0.6]),
        st.integers(1, 9),
    )


ROUNDS = st.lists(st.one_of(in_rounds(), in_rounds(), OTHERS), max_size=22)


@given(before=ROUNDS, after=ROUNDS)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_book_equals_the_whole_with_rounds_handed_in_device_by_device(before, after):
    entries = entries_of([job(), *before, *after])
    ledger = Ledger(entries[: 1 + len(before)])
    session = ledger.session()
    book = Book(session, VARIANT, heat=heat_of(session, VARIANT))
    for entry in entries[1 + len(before) :]:
        ledger.take(entry)
        book.take(ledger.items[entry.n])
        device = device_in_round(VARIANT, entry.body) if entry.kind == "reading" else None
        if device is not None:
            changed = book.set_heat(device, finds_of(VARIANT, device, book.in_rounds(device)))
            assert {row.key for row in changed} <= {f"heat {device}"}
    whole = judged_whole(ledger.session(), VARIANT, None)
    assert book.rows() == whole.rows
    kept = book.judgement()
    assert (kept.verdict, kept.scope, kept.items) == (whole.verdict, whole.scope, whole.items)
    for key in whole.items:
        assert book.rows_of_item(key) == tuple(row for row in whole.rows if row.key == key)


def flexed():
    """Readings of a flex test one by one, of two series of two pairs; some open, some a step higher."""
    return st.builds(
        lambda pair, ohm, follows, flexed: FlexTest(
            from_node=pair[0], to_node=pair[1], ohm=tuple(ohm), follows=follows, flexed=flexed
        ),
        st.sampled_from([("3", "11"), ("4", "11")]),
        st.lists(st.sampled_from([5.2, 5.2, 5.3, None, 9.0]), min_size=1, max_size=12),
        st.sampled_from([None, 2, 3]),
        st.sampled_from(["the harness at the plug", "the inner conductor plate"]),
    )


FLEXED = st.lists(st.one_of(flexed(), flexed(), OTHERS), max_size=14)


@given(before=FLEXED, after=FLEXED)
@settings(max_examples=40, deadline=None, derandomize=True)
def test_book_equals_the_whole_with_flex_tests_handed_in_one_by_one(before, after):
    entries = entries_of([job(), *before, *after])
    ledger = Ledger(entries[: 1 + len(before)])
    book = book_of(ledger.session(), VARIANT, None)
    for entry in entries[1 + len(before) :]:
        ledger.take(entry)
        item = ledger.items[entry.n]
        book.take(item)
        if (key := series_key(item)) is not None:
            assert book.set_flex(flex_find_of(key, book.in_series(key))).key.startswith("flex ")
    whole = judged_whole(ledger.session(), VARIANT, None)
    assert book.rows() == whole.rows
    kept = book.judgement()
    assert (kept.verdict, kept.scope, kept.items) == (whole.verdict, whole.scope, whole.items)


def test_rounds_that_say_nothing_any_more_leave_no_row_and_no_item():
    bodies = [
        reading("3", "11", 5.2 * (234.5 + t) / 254.5, celsius=t, round=n + 1) for n, t in enumerate(range(20, 120, 20))
    ]
    session = Ledger(entries_of([job(), *bodies])).session()
    book = Book(session, VARIANT, heat=heat_of(session, VARIANT))
    assert book.verdict_of("heat Heron") is Verdict.PASS
    assert book.set_heat("Heron", ()) == ()
    assert (book.rows_of_item("heat Heron"), "heat Heron" in book.judgement().items) == ((), False)
    assert book.rows() == rows_of(session, VARIANT)


@given(before=BODIES, after=BODIES, rule=st.sampled_from([None, Rule.PLAIN]))
@settings(max_examples=80, deadline=None, derandomize=True)
def test_book_equals_the_whole(before, after, rule):
    entries = entries_of([job(), *before, *after])
    ledger = Ledger(entries[: 1 + len(before)])
    book = Book(ledger.session(), VARIANT, rule=rule)
    for entry in entries[1 + len(before) :]:
        ledger.take(entry)
        changed = book.take(ledger.items[entry.n])
        assert all(row in book.rows() for row in changed)
    session = ledger.session()
    whole = judge_session(session, VARIANT, rule=rule)
    assert book.rows() == rows_of(session, VARIANT, rule=rule) == whole.rows
    kept = book.judgement()
    assert (kept.verdict, kept.scope, kept.missing, kept.items) == (
        whole.verdict,
        whole.scope,
        whole.missing,
        whole.items,
    )
    for key, verdict in whole.items.items():
        assert book.verdict_of(key) is verdict
        assert book.rows_of_item(key) == tuple(row for row in whole.rows if row.key == key)


def test_a_pooled_spread_reaches_the_rows_that_lean_on_it():
    """The eleventh pair of repeats makes enough degrees of freedom: every earlier pair is judged anew."""
    bodies = [reading("3", "11", repeats_ohm=[5.0, 5.2], celsius=20.0 + 3.0 * n) for n in range(11)]
    entries = entries_of([job(), *bodies])
    ledger = Ledger(entries[:10])
    book = Book(ledger.session(), VARIANT)
    for entry in entries[10:]:
        ledger.take(entry)
        changed = book.take(ledger.items[entry.n])
    assert book.rows() == rows_of(ledger.session(), VARIANT)
    assert changed[0].entries in {row.entries for row in book.rows()}


def test_a_meter_check_serves_the_reading_taken_now():
    check = MeterCheck(check_ohm=5.0, read_ohm=5.1, meter="0.5%+2x0.01", leads=LeadState.NULLED)
    ledger = Ledger(entries_of([job(), check]))
    book = Book(ledger.session(), VARIANT)
    assert book.check_for(reading("3", "11", 5.2)).read_ohm == 5.1
    assert book.check_for(reading("3", "11", 5.2, leads="four_wire")) is None
