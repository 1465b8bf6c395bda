"""Many readings judged anew in one call: the same verdicts as one by one, and sessions from them by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from valvebench.judge.again import CODE_OF, CODES, RULES, Judged, judge_again, sessions_again
from valvebench.judge.resistance import bounds, judge
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.words import ItemState, LeadState, Rule, TemperatureSource, Verdict
from valvebench.physics.uncertainty import NORMAL_SHAPE, RECTANGLE_SHAPE, Line, combine, factors_of, rectangle, shape_of

ON_GUARD = {
    # (value, guard) in a band of 4 to 6, exact in binary: ILAC-G8:09/2019 4.2.3, inside includes the line itself
    (5.75, 0.25): Verdict.PASS,
    (5.875, 0.25): Verdict.CANT_TELL,
    (6.25, 0.25): Verdict.CANT_TELL,
    (6.375, 0.25): Verdict.FAIL,
    (4.25, 0.25): Verdict.PASS,
    (3.625, 0.25): Verdict.FAIL,
    (math.nan, 0.25): Verdict.NOT_USABLE,
    (5.0, math.nan): Verdict.NOT_USABLE,
}


def judged(value, u, *, low=4.0, high=6.0, shape=NORMAL_SHAPE, rule=Rule.PROVED, is_open=False):
    columns = np.broadcast_arrays(*np.atleast_1d(value, u, shape, low, high, RULES.index(rule), is_open))
    return [CODES[code] for code in judge_again(Judged(*columns))]


@pytest.mark.parametrize(("case", "verdict"), ON_GUARD.items(), ids=repr)
def test_on_the_guard_line(case, verdict):
    value, guard = case
    assert judged(value, guard / 2.0) == [verdict]  # k = 2 for a normal doubt, JCGM 100 G.6.6


@pytest.mark.parametrize(
    ("low", "high", "is_open", "verdict"),
    [
        pytest.param(-math.inf, math.inf, False, Verdict.NO_LIMIT, id="no limit"),
        pytest.param(-math.inf, math.inf, True, Verdict.NO_LIMIT, id="open, no limit"),
        pytest.param(4.0, 6.0, True, Verdict.FAIL, id="open on 400: above an upper limit of 6"),
        pytest.param(4.0, 1e6, True, Verdict.CANT_TELL, id="open on 400 says nothing of a limit of a megohm"),
        pytest.param(100.0, math.inf, True, Verdict.PASS, id="open on 400: above a lower limit of 100"),
        pytest.param(1e6, math.inf, True, Verdict.CANT_TELL, id="open on 400: perhaps below a megohm"),
    ],
)
def test_open_and_without_limits(low, high, is_open, verdict):
    assert judged(400.0, 0.0 if is_open else 1.0, low=low, high=high, is_open=is_open) == [verdict]


def test_each_reading_keeps_its_own_rule():
    # u = 0.125, 4 to 6: guard 0.25 (k = 2), 0.2056 (k = 1.645, normal 95 % one-sided), 0
    columns = (np.full(3, 5.78), np.full(3, 0.125), np.zeros(3, int), np.full(3, 4.0), np.full(3, 6.0))
    rules = np.array([RULES.index(rule) for rule in (Rule.PROVED, Rule.PROVED5, Rule.PLAIN)])
    found = judge_again(Judged(*columns, rules, np.zeros(3, bool)))
    assert [CODES[code] for code in found] == [Verdict.CANT_TELL, Verdict.PASS, Verdict.PASS]


@pytest.mark.parametrize(
    ("nu_eff", "is_dominated", "shape"),
    [
        *((None, False, NORMAL_SHAPE), (4.0, False, 4), (3.9999999999999996, False, 4), (0.3, False, 1)),
        *((1e6, False, NORMAL_SHAPE), (4.0, True, RECTANGLE_SHAPE)),
    ],
)
def test_the_shape_of_a_doubt(nu_eff, is_dominated, shape):
    assert shape_of(nu_eff, is_dominated=is_dominated) == shape


@pytest.mark.parametrize(
    ("shape", "k95", "k90"),
    [
        # Student's t, 95.45 % and 90 % two-sided: JCGM 100:2008 table G.2
        pytest.param(4, 2.87, 2.13, id="4 degrees [JCGM 100 G.2]"),
        pytest.param(10, 2.28, 1.81, id="10 degrees [JCGM 100 G.2]"),
        pytest.param(1, 13.97, 6.31, id="1 degree [JCGM 100 G.2]"),
        pytest.param(NORMAL_SHAPE, 2.0, 1.645, id="normal"),
        pytest.param(RECTANGLE_SHAPE, 0.9545 * math.sqrt(3), 0.9 * math.sqrt(3), id="one rectangle [EA-4/02 S9.14]"),
    ],
)
def test_the_factors_of_a_shape(shape, k95, k90):
    assert factors_of(shape) == pytest.approx((k95, k90), abs=0.005)


@pytest.mark.parametrize("dof", [1.0, 2.0, 3.0, 4.0, 9.0, 200.0, math.inf])
@pytest.mark.parametrize("half_width", [0.0, 0.1, 10.0])
def test_a_shape_gives_the_factors_of_its_doubt_to_the_last_digit(dof, half_width):
    doubt = combine([Line("repeats", 0.1, is_rectangular=False, dof=dof), rectangle("meter", half_width)])
    nu_eff = None if doubt.nu_eff == math.inf else doubt.nu_eff
    shape = shape_of(nu_eff, is_dominated=doubt.is_dominated)
    assert factors_of(shape) == (doubt.k95, doubt.k90)


def grid():
    """Readings in and about a band, meters good and bad, one limit and both."""
    for limits in (Limits(low_ohm=4.9, high_ohm=5.5), Limits(low_ohm=4.9), Limits(high_ohm=5.5), Limits()):
        for ohm in np.linspace(4.7, 5.8, 23):
            for repeats in (None, (ohm, ohm + 0.01, ohm - 0.02, ohm, ohm + 0.03, ohm)):
                for source in (TemperatureSource.TAPED, TemperatureSource.UNKNOWN, TemperatureSource.NOT_SOAKED):
                    value = {"repeats_ohm": repeats} if repeats else {"ohm": float(ohm)}
                    yield Measured(celsius=35.0, leads=LeadState.NULLED, temperature=source, **value), limits
        yield Measured(open=True, range_ohm=400.0, celsius=35.0), limits


@pytest.mark.parametrize("rule", list(Rule))
def test_the_same_as_one_by_one(rule):
    ones = [judge(measured, limits, rule=Rule.PROVED) for measured, limits in grid()]
    wanted = [judge(measured, limits, rule=rule).verdict for measured, limits in grid()]
    values = [(j.range_ohm * 254.5 / 269.5 if j.state is ItemState.OPEN else j.ohm_at_ref) for j in ones]
    found = judge_again(
        Judged(
            value=np.array(values, float),
            u=np.array([j.u_ohm_at_ref if j.state is not ItemState.OPEN else 0.0 for j in ones], float),
            shape=np.array([shape_of(j.nu_eff, is_dominated=j.is_dominated) for j in ones]),
            low=np.array([bounds(j.limits)[0] for j in ones]),
            high=np.array([bounds(j.limits)[1] for j in ones]),
            rule=np.full(len(ones), RULES.index(rule)),
            is_open=np.array([j.state is ItemState.OPEN for j in ones]),
        )
    )
    assert [CODES[code] for code in found] == wanted
    assert len(set(wanted)) >= 4


F, C, P, U, N = range(5)  # numbers in `CODES`: fail, can't tell, pass, not usable, no limit


@pytest.mark.parametrize(
    ("readings", "is_missing", "others", "verdict"),
    [
        # readings as (question, verdict); the order of a session's verdict is common practice, no source
        pytest.param([(0, P), (1, P)], False, (), Verdict.PASS, id="all pass"),
        pytest.param([(0, P), (1, F)], True, (), Verdict.FAIL, id="a fail stands whatever is missing"),
        pytest.param([(0, P), (1, C)], False, (), Verdict.CANT_TELL, id="one undecided"),
        pytest.param([(0, C), (0, P)], False, (), Verdict.PASS, id="a better reading settles the same question"),
        pytest.param([(0, C), (1, P)], False, (), Verdict.CANT_TELL, id="of another question it settles nothing"),
        pytest.param([(0, F), (0, P)], False, (), Verdict.FAIL, id="a fail is not settled"),
        pytest.param([(0, P)], True, (), Verdict.NOT_FINISHED, id="something is missing"),
        pytest.param([(0, N), (1, P)], False, (), Verdict.PASS, id="one without limit"),
        pytest.param([(0, N)], False, (), Verdict.NO_LIMIT, id="none with a limit"),
        pytest.param([(0, U)], False, (), Verdict.NOT_FINISHED, id="nothing usable"),
        pytest.param([], False, (), Verdict.NOT_FINISHED, id="nothing read"),
        pytest.param([], False, (Verdict.PASS,), Verdict.PASS, id="only air"),
        pytest.param([(0, P)], False, (Verdict.FAIL,), Verdict.FAIL, id="air failed"),
    ],
)
def test_a_session_from_its_readings(readings, is_missing, others, verdict):
    questions, verdicts = [np.array(column, int) for column in zip(*readings, strict=True)] or [np.array([], int)] * 2
    found = sessions_again(
        verdicts,
        question=questions,
        session=np.zeros(len(verdicts), int),
        is_missing=np.array([is_missing]),
        others=np.array([sum(1 << CODE_OF[one] for one in others)]),
    )
    assert [CODES[code] for code in found] == [verdict]


def test_the_numbers_of_verdicts_never_change():
    words = ["fail", "cant_tell", "pass", "not_usable", "no_limit", "not_taken", "not_finished"]
    assert [verdict.value for verdict in CODES] == words  # they stand in archives


def test_sessions_beside_each_other_do_not_mix():
    found = sessions_again(
        np.array([P, F, P, C]),
        question=np.array([0, 0, 0, 0]),
        session=np.array([0, 1, 3, 4]),
        is_missing=np.array([False] * 5),
        others=np.array([0] * 5),
    )
    assert [CODES[code] for code in found] == [
        *(Verdict.PASS, Verdict.FAIL, Verdict.NOT_FINISHED, Verdict.PASS, Verdict.CANT_TELL)
    ]
