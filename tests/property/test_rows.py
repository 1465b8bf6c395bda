"""A reading that is about something else never changes a row that was already there."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.data.made_up import reading, session_of, variant_of
from valvebench.judge.rows import rows_of
from valvebench.judge.session import judge_session
from valvebench.model.entry import AirTest, SwitchTest
from valvebench.model.words import AirResult, Place, Rule, SwitchState, Verdict

VARIANT = variant_of()
PAIRS = [("3", "11"), ("4", "11"), ("8", "case"), ("12", "6"), ("3", "case"), ("1", "2"), ("9", "case"), ("3", "4")]


def about(pair):
    """Readings of one pair: values, open, some with a check resistor, some warm, some repeated."""
    ohms = st.integers(0, 3000).map(lambda n: n / 100)
    value = st.builds(
        lambda ohm, celsius, more: reading(*pair, ohm, celsius=celsius, **more),
        ohms,
        st.sampled_from([20.0, 20.5, 23.0, 60.0, 110.0]),
        st.sampled_from(
            [
                {},
                {"temperature": "room_short"},
                {"leads": "subtract", "lead_ohm": 0.2},
                {"check_ohm": 5.0, "check_read_ohm": 5.02},
                {"at": "vehicle_plug"},
            ]
        ),
    )
    opened = st.builds(lambda r: reading(*pair, open=True, range_ohm=r), st.sampled_from([400.0, 6e7]))
    return st.one_of(value, value, opened)


READINGS = st.lists(st.sampled_from(PAIRS[:5]).flatmap(about), min_size=1, max_size=8)
OTHERS = st.one_of(
    st.sampled_from(PAIRS[5:]).flatmap(about),
    st.builds(lambda result: AirTest(port="P5", place=Place.BODY, result=result), st.sampled_from(AirResult)),
    st.builds(lambda state: SwitchTest(device="Reel", state=state), st.sampled_from(SwitchState)),
)


def said(rows):
    return {row.entries: (row.key, row.verdict, row.judgement) for row in rows}


@given(mine=READINGS, other=OTHERS)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_an_irrelevant_reading_changes_no_other_row(mine, other):
    before = said(rows_of(session_of(*mine), VARIANT))
    after = said(rows_of(session_of(*mine, other), VARIANT))
    assert {entries: row for entries, row in after.items() if entries in before} == before
    assert len(after) == len(before) + 1


@given(mine=READINGS, rule=st.sampled_from([None, *Rule]))
@settings(max_examples=80, deadline=None, derandomize=True)
def test_every_reading_counts_in_exactly_one_row(mine, rule):
    judged = judge_session(session_of(*mine), VARIANT, rule=rule)
    numbers = [n for row in judged.rows for n in row.entries]
    assert sorted(numbers) == list(range(2, 2 + len(mine)))


@given(mine=READINGS)
@settings(max_examples=80, deadline=None, derandomize=True)
def test_a_failed_row_is_never_hidden(mine):
    judged = judge_session(session_of(*mine), VARIANT)
    assert (judged.verdict is Verdict.FAIL) == bool(judged.failed())
    if judged.missing:
        assert judged.verdict in {Verdict.FAIL, Verdict.NOT_FINISHED}
