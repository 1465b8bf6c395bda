"""A value with its doubt against limits: the zones, their edges, the lean, the plain answer."""

from __future__ import annotations

import math

import pytest

from valvebench.judge.decide import LEANS, VERDICTS, can_decide, chance_inside, decide, guard_width, open_verdict
from valvebench.model.words import Lean, Rule, Verdict
from valvebench.physics.uncertainty import INFINITE, Doubt, Line, combine, rectangle

PASS, FAIL, CANT_TELL = Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL
DOUBT = Doubt(u=0.125, k95=2.0, k90=1.5, nu_eff=INFINITE, is_dominated=False)


def said(value, *, guard=0.25, low=4.0, high=6.0):
    decision = decide(value, guard=guard, low=low, high=high)
    return VERDICTS[decision.verdict], LEANS[decision.lean], VERDICTS[decision.plain]


@pytest.mark.parametrize(
    ("value", "answer"),
    [
        pytest.param(5.0, (PASS, None, PASS), id="mid-band"),
        pytest.param(5.75, (PASS, None, PASS), id="on the guard line [ILAC-G8:09/2019 4.2.2, edge counted inside]"),
        pytest.param(4.25, (PASS, None, PASS), id="on the lower guard line"),
        pytest.param(5.875, (CANT_TELL, Lean.INSIDE, PASS), id="inside the guard zone [ILAC-G8:09/2019 4.2.3]"),
        pytest.param(6.0, (CANT_TELL, Lean.INSIDE, PASS), id="exactly on the upper limit is inside"),
        pytest.param(4.0, (CANT_TELL, Lean.INSIDE, PASS), id="exactly on the lower limit is inside"),
        pytest.param(6.125, (CANT_TELL, Lean.OUTSIDE, FAIL), id="outside, within the guard [ILAC-G8:09/2019 4.2.3]"),
        pytest.param(3.875, (CANT_TELL, Lean.OUTSIDE, FAIL), id="below, within the guard"),
        pytest.param(6.25, (CANT_TELL, Lean.OUTSIDE, FAIL), id="on the outer guard line"),
        pytest.param(6.375, (FAIL, None, FAIL), id="beyond it"),
        pytest.param(3.5, (FAIL, None, FAIL), id="far below"),
    ],
)
def test_zones_of_a_band_4_to_6_with_a_guard_of_a_quarter(value, answer):
    assert said(value) == answer


@pytest.mark.parametrize(
    ("value", "guard", "answer"),
    [
        (5.0, 0.0, (PASS, None, PASS)),
        (4.0, 0.0, (PASS, None, PASS)),
        (6.0, 0.0, (PASS, None, PASS)),
        (6.125, 0.0, (FAIL, None, FAIL)),
        (5.0, 1.0, (PASS, None, PASS)),
        (5.0, 1.125, (CANT_TELL, Lean.STRADDLES, PASS)),
        (3.5, 3.0, (CANT_TELL, Lean.STRADDLES, FAIL)),
        (3.5, 1.0, (CANT_TELL, Lean.OUTSIDE, FAIL)),
        (4.5, 1.0, (CANT_TELL, Lean.INSIDE, PASS)),
    ],
    ids=str,
)
def test_guards_from_nothing_to_wider_than_the_band(value, guard, answer):
    assert said(value, guard=guard) == answer


@pytest.mark.parametrize(
    ("value", "guard", "low", "high", "verdict"),
    [
        (5.9, 0.1, 4.0, 6.0, PASS),
        (4.1, 0.1, 4.0, 6.0, PASS),
        (0.3, 0.1, 0.2, 0.4, PASS),
        (6.1, 0.1, 4.0, 6.0, CANT_TELL),
        (1000000.1, 0.1, 1000000.0, 1000000.2, PASS),
        (5.9000001, 0.1, 4.0, 6.0, CANT_TELL),
        (6.1000001, 0.1, 4.0, 6.0, FAIL),
    ],
    ids=str,
)
def test_decimal_limits_do_not_suffer_from_binary_digits(value, guard, low, high, verdict):
    """By decimal arithmetic: 6.0 - 0.1 is 5.9."""
    assert said(value, guard=guard, low=low, high=high)[0] is verdict


@pytest.mark.parametrize(
    ("low", "high", "value", "verdict"),
    [
        (4.0, math.inf, 1e9, PASS),
        (4.0, math.inf, 4.125, CANT_TELL),
        (4.0, math.inf, 3.5, FAIL),
        (-math.inf, 6.0, -1.0, PASS),
        (-math.inf, 6.0, 7.0, FAIL),
    ],
)
def test_one_limit(low, high, value, verdict):
    assert said(value, low=low, high=high)[0] is verdict


NAN = math.nan


@pytest.mark.parametrize(
    "given",
    [
        {"value": NAN},
        {"guard": NAN},
        {"low": NAN},
        {"high": NAN},
        {"value": NAN, "guard": 0.0, "low": -math.inf, "high": math.inf},
    ],
    ids="-".join,
)
def test_what_is_no_number_never_passes(given):
    value = given.pop("value", 5.0)
    assert said(value, **given) == (Verdict.NOT_USABLE, None, Verdict.NOT_USABLE)


@pytest.mark.parametrize(
    ("rule", "width"),
    [
        pytest.param(Rule.PROVED, 0.25, id="w = U [ILAC-G8:09/2019 4.2.2]"),
        pytest.param(Rule.PROVED5, 0.1875, id="w = k90 u [ISO 14253-1:2017]"),
        pytest.param(Rule.PLAIN, 0.0, id="plain: no guard"),
    ],
)
def test_guard_of_each_rule(rule, width):
    assert guard_width(DOUBT, rule) == width


@pytest.mark.parametrize(
    ("rule", "factor"),
    [(Rule.PROVED, 0.9545 * 3**0.5), (Rule.PROVED5, 0.9 * 3**0.5)],
    ids=["95.45 % of a rectangle, by hand", "90 % of a rectangle, by hand"],
)
def test_guard_where_one_rectangle_dominates(rule, factor):
    assert guard_width(combine([rectangle("meter", 3**0.5)]), rule) == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "u", "p"),
    [
        (5.0, 0.5, 0.9545),
        (6.0, 0.25, 0.5),
        (6.5, 0.5, 0.1587),
        (5.5, 0.5, 0.84),
    ],
    ids=["two sigma either way", "on a limit: a half", "one sigma out", "one sigma in"],
)
def test_chance_by_the_normal_table(value, u, p):
    """The normal table, four digits, from memory."""
    found = chance_inside(value, doubt=DOUBT._replace(u=u), low=4.0, high=6.0)
    assert found == pytest.approx(p, abs=2e-3)


@pytest.mark.parametrize(
    ("value", "p"), [(5.0, 1.0), (6.0, 0.5), (6.5, 0.25), (7.0, 0.0), (9.0, 0.0), (4.5, 0.75)], ids=str
)
def test_chance_of_a_rectangle_is_its_share_inside(value, p):
    """Half-width 1 about the value, limits 4 and 6: by hand."""
    flat = combine([rectangle("meter", 1.0)])
    assert chance_inside(value, doubt=flat, low=4.0, high=6.0) == pytest.approx(p, abs=1e-12)


@pytest.mark.parametrize(("value", "p"), [(5.0, 1.0), (7.0, 0.0)])
@pytest.mark.parametrize("lines", [[], [Line("repeats", 0.0, is_rectangular=False, dof=4.0)]], ids=["none", "repeats"])
def test_chance_without_any_doubt(value, p, lines):
    assert chance_inside(value, doubt=combine(lines), low=4.0, high=6.0) == p


@pytest.mark.parametrize(
    ("guard", "able"), [(0.999, True), (1.0, False), (1.5, False), (0.0, True)], ids=lambda x: f"{x} [JCGM 106 7.6]"
)
def test_a_band_must_be_wider_than_two_guards(guard, able):
    assert can_decide(low=4.0, high=6.0, guard=guard) is able


@pytest.mark.parametrize(
    ("range_ohm", "low", "high", "verdict"),
    [
        pytest.param(400.0, 4.9, 5.5, FAIL, id="400 ohm range, coil: open"),
        pytest.param(400.0, 2540.0, 2800.0, CANT_TELL, id="400 ohm range, sensor of 2.5 kilohm: proves nothing"),
        pytest.param(2800.0, 2540.0, 2800.0, CANT_TELL, id="range not above the limit"),
        pytest.param(2801.0, 2540.0, 2800.0, FAIL, id="range just above the limit"),
        pytest.param(400.0, 1e6, None, CANT_TELL, id="400 ohm range, isolation of a megohm"),
        pytest.param(1e6, 1e6, None, CANT_TELL, id="range equal to the isolation asked for"),
        pytest.param(6e7, 1e6, None, PASS, id="60 megohm range, isolation of a megohm"),
        pytest.param(400.0, None, 10.0, FAIL, id="closed switch: open"),
        pytest.param(5.0, None, 10.0, CANT_TELL, id="a range below the limit"),
        pytest.param(6e7, None, None, Verdict.NO_LIMIT, id="no limit"),
    ],
)
def test_open_proves_above_the_range_only(range_ohm, low, high, verdict):
    assert open_verdict(range_ohm, low=low, high=high) is verdict
