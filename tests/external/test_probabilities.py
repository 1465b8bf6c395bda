"""Chances and coverage factors against `scipy.stats`, and a million-at-once judging against one-at-a-time."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from valvebench.judge import decide
from valvebench.judge.many import judge_many
from valvebench.judge.resistance import judge
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.words import LeadState, Rule, Verdict
from valvebench.physics.arithmetic import SCALAR, arrays
from valvebench.physics.uncertainty import Doubt, Line, combine, rectangle

BANDS = [(5.0, 6.0), (-math.inf, 6.0), (5.0, math.inf), (5.49, 5.51), (8.0, 9.0)]
VALUES = [4.2, 5.0, 5.25, 5.5, 5.999, 6.0, 7.5]
US = [0.003, 0.05, 0.4, 2.0]
GRID = list(itertools.product(VALUES, US, BANDS))


def doubt(u, *, nu=math.inf, is_dominated=False):
    return Doubt(u=u, k95=2.0, k90=1.6, nu_eff=nu if nu != math.inf else decide.INFINITE, is_dominated=is_dominated)


def inside(distribution, band):
    low, high = band
    return distribution.cdf(high) - distribution.cdf(low)


@pytest.mark.parametrize(
    ("shape", "oracle"),
    [
        pytest.param(doubt, stats.norm, id="normal [scipy.stats.norm]"),
        pytest.param(
            lambda u: doubt(u, is_dominated=True),
            lambda y, u: stats.uniform(y - math.sqrt(3) * u, 2 * math.sqrt(3) * u),
            id="one rectangle [scipy.stats.uniform]",
        ),
        *(
            pytest.param(
                lambda u, nu=nu: doubt(u, nu=nu),
                lambda y, u, nu=nu: stats.t(nu, y, u),
                id=f"t, nu={nu} [scipy.stats.t]",
            )
            for nu in (1.0, 4.0, 4.7, 30.5, 900.0)
        ),
    ],
)
def test_chance_inside(shape, oracle):
    for value, u, band in GRID:
        found = decide.chance_inside(value, doubt=shape(u), low=band[0], high=band[1])
        assert found == pytest.approx(inside(oracle(value, u), band), abs=1e-12)


@pytest.mark.parametrize("nu", [1, 2, 3, 4, 6, 10, 17, 60, 333, 999])
@pytest.mark.parametrize("fraction", [0.0, 0.5, 0.999])
def test_coverage_factor_takes_the_whole_part_of_nu(nu, fraction):
    found = combine([Line("repeats", 0.3, is_rectangular=False, dof=nu + fraction)])
    assert found.k95 == pytest.approx(stats.t.ppf(0.97725, nu), rel=1e-9)
    assert found.k90 == pytest.approx(stats.t.ppf(0.95, nu), rel=1e-9)


@pytest.mark.parametrize("nu", [1000.5, 5000.0, 1e9, math.inf])
def test_above_1000_degrees_of_freedom_the_factor_is_two(nu):
    found = combine([Line("repeats", 0.3, is_rectangular=False, dof=nu)])
    assert found.k95 == 2.0
    assert found.k90 == pytest.approx(stats.norm.ppf(0.95), rel=1e-12)


def test_one_dominating_rectangle_takes_its_own_factor():
    """The central 95.45 % of a rectangle of half-width a reach 0.9545 a, u = a / root 3."""
    found = combine([rectangle("meter", 1.0), Line("repeats", 0.1, is_rectangular=False, dof=4.0)])
    flat = stats.uniform(-math.sqrt(3), 2 * math.sqrt(3))
    assert found.k95 == pytest.approx(flat.ppf(0.97725), rel=1e-9)
    assert found.k90 == pytest.approx(flat.ppf(0.95), rel=1e-9)


@pytest.mark.parametrize(("count", "rule"), [(5, Rule.PROVED), (9, Rule.PROVED5), (6, Rule.PLAIN)], ids=str)
def test_chance_of_a_judged_reading_with_repeats(count, rule):
    """Few degrees of freedom: nu by Welch-Satterthwaite, the chance by Student's t."""
    shown = tuple(5.4 + 0.1 * (-1) ** n for n in range(count))
    measured = Measured(repeats_ohm=shown, celsius=20.0, u_celsius=0.0, u_ohm=0.02, leads=LeadState.FOUR_WIRE)
    found = judge(measured, Limits(low_ohm=5.0, high_ohm=5.5), rule=rule)
    u_repeats = np.std(shown, ddof=1) / math.sqrt(count)
    u = math.hypot(u_repeats, 0.02)
    nu = u**4 / (u_repeats**4 / (count - 1))
    assert found.nu_eff == pytest.approx(nu, rel=1e-9)
    assert found.k_coverage == pytest.approx(stats.t.ppf(0.97725, math.floor(nu)), rel=1e-9)
    assert found.p_inside == pytest.approx(inside(stats.t(nu, np.mean(shown), u), (5.0, 5.5)), rel=1e-9)


def test_the_same_arithmetic_for_numbers_and_arrays():
    z = np.linspace(-6.0, 6.0, 25)
    ops = arrays()
    for one in z:
        assert ops.normal_cdf(np.array([one]))[0] == pytest.approx(stats.norm.cdf(one), rel=1e-12)
        assert ops.t_cdf(np.array([one]), 4.5)[0] == pytest.approx(stats.t(4.5).cdf(one), rel=1e-10)
    assert list(ops.clip01(np.array([-1.0, 0.25, 2.0]))) == [0.0, 0.25, 1.0]


DOFS = [*range(1, 41), *np.geomspace(41, 1e5, 40)]


@pytest.mark.parametrize("dof", [*DOFS, 1.5, 4.7, 1e6, 3e6, 1e12, 1e300])
def test_students_distribution_without_a_library(dof):
    """Held against scipy [scipy.stats.t], the normal distribution where it has become that."""
    rival = stats.t(dof) if dof < 1e12 else stats.norm
    for t in (-400.0, -6.0, -1.75, -0.25, 0.0, 0.5, 1.0, 2.5, 9.0, 400.0):
        assert SCALAR.t_cdf(t, dof) == pytest.approx(rival.cdf(t), rel=1e-9, abs=1e-13)
    if dof <= 1000:
        for probability in (0.95, 0.97725, 0.975, 0.6, 0.5, 0.2):
            found = SCALAR.t_quantile(probability, dof)
            assert found == pytest.approx(stats.t.ppf(probability, dof), rel=1e-11, abs=1e-15)


def test_students_distribution_at_its_ends():
    assert [SCALAR.t_cdf(t, 3.0) for t in (math.inf, 1e300, -1e300, -math.inf)] == [1.0, 1.0, 0.0, 0.0]
    assert math.isnan(SCALAR.t_cdf(math.nan, 3.0))
    assert math.isnan(SCALAR.t_cdf(1.0, math.nan))


# Fields of one reading without its value: the meter side of it.
INSTRUMENTS = {
    "nulled": {"meter": "0.9%+2x0.1", "leads": LeadState.NULLED},
    "neither": {"meter": "0.5%+5x0.01"},
    "subtract": {"meter": "0.5%+5x0.01", "leads": LeadState.SUBTRACT, "lead_ohm": 0.2},
    "four_wire": {"meter": "0.2%+2x0.001", "leads": LeadState.FOUR_WIRE},
    "check": {"meter": "1%+3x0.01", "check_ohm": 5.0, "check_read_ohm": 5.2, "zero_read_ohm": 0.2},
}
COPPER = Limits(low_ohm=5.0, high_ohm=6.0)
NOT_STATED = Limits(low_ohm=5.0, high_ohm=6.0, is_ref_stated=False, k_celsius=225.0)
SENSOR = Limits(low_ohm=5.0, high_ohm=6.0, k_celsius=None, slope_per_celsius=-0.04)
PLAIN_OHM = Limits(low_ohm=5.0, high_ohm=6.0, k_celsius=None)
SETTINGS = [
    ("nulled", COPPER, Rule.PROVED),
    ("neither", COPPER, Rule.PROVED5),
    ("subtract", NOT_STATED, Rule.PROVED),
    ("four_wire", PLAIN_OHM, Rule.PLAIN),
    ("check", SENSOR, Rule.PROVED),
]


def draw(seed, count):
    """Readings about a band of 5 to 6 ohm; every tenth one sits exactly on a limit at 20 degrees."""
    rng = np.random.default_rng(seed)
    celsius = rng.uniform(-20.0, 120.0, count).round(1)
    is_warm_copper = rng.random(count) < 0.5
    shown = (rng.uniform(4.5, 6.5, count) * np.where(is_warm_copper, (234.5 + celsius) / 254.5, 1.0)).round(3)
    shown[::10], celsius[::10] = rng.choice([5.0, 6.0], len(shown[::10])), 20.0
    return shown, celsius


@pytest.mark.parametrize(("setting", "limits", "rule"), SETTINGS, ids=[name for name, _, _ in SETTINGS])
def test_ten_thousand_at_once_agree_with_one_at_a_time(setting, limits, rule):
    """5 x 2,000 readings."""
    given = INSTRUMENTS[setting]
    shown, celsius = draw(len(setting), 2000)
    instrument = Measured(ohm=5.0, celsius=20.0, **given).instrument()
    columns = judge_many(
        shown,
        celsius,
        low_ohm=limits.low_ohm,
        high_ohm=limits.high_ohm,
        limits=limits,
        instrument=instrument,
        half_width_celsius=2.0,
        rule=rule,
    )
    found = set()
    for n, (ohm, coil) in enumerate(zip(shown, celsius, strict=True)):
        one = judge(Measured(ohm=float(ohm), celsius=float(coil), celsius_accuracy=2.0, **given), limits, rule=rule)
        assert decide.VERDICTS[columns.verdict[n]] is one.verdict
        assert decide.VERDICTS[columns.plain[n]] is one.plain_verdict
        assert decide.LEANS[columns.lean[n]] is one.lean
        for name in ("ohm_at_ref", "u_ohm_at_ref", "k_coverage"):
            assert getattr(columns, name)[n] == pytest.approx(getattr(one, name), rel=1e-12)
        assert columns.p_inside[n] == pytest.approx(one.p_inside, rel=1e-12, abs=1e-12)
        found.add(one.verdict)
    assert {Verdict.PASS, Verdict.FAIL} <= found or setting == "nulled"


def test_many_with_one_limit_and_numbers_that_are_none():
    limits = Limits(low_ohm=5.0)
    shown = np.array([5.0, math.nan, 9.0, 1.0])
    columns = judge_many(
        shown,
        np.array([20.0, 20.0, 20.0, math.nan]),
        low_ohm=5.0,
        high_ohm=math.inf,
        limits=limits,
        instrument=Measured(ohm=5.0, celsius=20.0).instrument(),
        half_width_celsius=2.0,
        rule=Rule.PROVED,
    )
    verdicts = [decide.VERDICTS[code] for code in columns.verdict]
    assert verdicts == [Verdict.CANT_TELL, Verdict.NOT_USABLE, Verdict.PASS, Verdict.NOT_USABLE]
    assert decide.VERDICTS[columns.plain[1]] is Verdict.NOT_USABLE
    assert decide.LEANS[columns.lean[1]] is None


@pytest.mark.parametrize("count", [0, 1, 16384, 16385], ids=lambda n: f"{n} readings, chunks of 16384")
def test_many_joins_its_chunks(count):
    shown = np.linspace(4.0, 7.0, count)
    columns = judge_many(
        shown,
        20.0,
        low_ohm=5.0,
        high_ohm=6.0,
        limits=PLAIN_OHM,
        instrument=Measured(ohm=5.0, celsius=20.0, leads=LeadState.FOUR_WIRE).instrument(),
        half_width_celsius=2.0,
        rule=Rule.PLAIN,
    )
    assert np.array_equal(columns.ohm_at_ref, shown)
    assert np.count_nonzero(columns.verdict == decide.PASS) == np.count_nonzero((shown >= 5.0) & (shown <= 6.0))


def test_many_with_repeats_uses_student_t():
    instrument = Measured(repeats_ohm=(5.4, 5.5, 5.6, 5.5, 5.45), celsius=20.0, leads=LeadState.FOUR_WIRE, u_ohm=0.01)
    columns = judge_many(
        np.array([5.5, 5.9]),
        20.0,
        low_ohm=5.0,
        high_ohm=6.0,
        limits=PLAIN_OHM,
        instrument=instrument.instrument(),
        half_width_celsius=0.0,
        rule=Rule.PROVED,
    )
    u_repeats = np.std(instrument.repeats_ohm, ddof=1) / math.sqrt(5)
    u = math.hypot(u_repeats, 0.01)
    nu = u**4 / (u_repeats**4 / 4)
    assert columns.k_coverage == pytest.approx([stats.t.ppf(0.97725, math.floor(nu))] * 2, rel=1e-9)
    expected = [inside(stats.t(nu, y, u), (5.0, 6.0)) for y in (5.5, 5.9)]
    assert columns.p_inside == pytest.approx(expected, rel=1e-9)
