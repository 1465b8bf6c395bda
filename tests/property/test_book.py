"""The book kept up to date entry by entry says what judging the whole session from nothing says."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.data.made_up import entries_of, job, reading, variant_of
from valvebench.judge.book import Book
from valvebench.judge.rows import rows_of
from valvebench.judge.session import judge_session
from valvebench.model.entry import AirTest, MeterCheck, Note, SolenoidTest, SwitchTest
from valvebench.model.session import Ledger
from valvebench.model.words import AirResult, LeadState, Place, Rule, SwitchState

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
    checks(),
    st.builds(lambda result: AirTest(port="P4", place=Place.BODY, result=result), st.sampled_from(AirResult)),
    st.builds(lambda state: SwitchTest(device="Reel", state=state), st.sampled_from(SwitchState)),
    st.builds(lambda click: SolenoidTest(device="Heron", click=click), st.booleans()),
    st.just(Note(text="x")),
)
BODIES = st.lists(st.one_of(measured(), measured(), OTHERS), max_size=10)


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
