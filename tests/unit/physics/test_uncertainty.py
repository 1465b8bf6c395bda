"""From a displayed resistance to lines, and from lines to u, k and degrees of freedom."""

from __future__ import annotations

import math

import numpy as np
import pytest

from valvebench.model.meter import Check, Instrument, Meter, VoltsRatio
from valvebench.model.words import LeadState
from valvebench.physics.arithmetic import arrays
from valvebench.physics.uncertainty import DOMINANT_RATIO, INFINITE, Line, combine, scaled, value_and_lines

METER = Meter(percent=1.0, counts=2.0, step=0.1)
NO_COUNTS = Meter(percent=1.0, counts=0.0, step=0.1)
ROOT3, ROOT12 = math.sqrt(3.0), math.sqrt(12.0)
PERCENT_RECT = 0.9545 * ROOT3


def bell(u, dof=INFINITE):
    return Line("bell", u, is_rectangular=False, dof=dof)


def box(u):
    return Line("box", u, is_rectangular=True)


def lines_of(displayed, **given):
    value, lines = value_and_lines(Instrument(**{"meter": METER, **given}), displayed)
    return value, {line.term: pytest.approx(line.u_ohm, rel=1e-12) for line in lines}


@pytest.mark.parametrize(
    ("given", "value", "lines"),
    [
        pytest.param({"leads": LeadState.FOUR_WIRE}, 5.0, {"meter": 0.25 / ROOT3}, id="four wires: no lead line"),
        pytest.param(
            {"leads": LeadState.NULLED}, 5.0, {"meter": 0.25 / ROOT3, "leads": 0.1 / ROOT3}, id="nulled: one count more"
        ),
        pytest.param(
            {}, 4.9, {"meter": 0.25 / ROOT3, "leads": 0.1 / ROOT3}, id="neither: half of 0.2 off, as much either way"
        ),
        pytest.param(
            {"lead_allowance_ohm": 0.5},
            4.75,
            {"meter": 0.25 / ROOT3, "leads": 0.25 / ROOT3},
            id="neither: longer leads",
        ),
        pytest.param(
            {"leads": LeadState.SUBTRACT, "lead_ohm": 0.2},
            4.8,
            {"gain": 0.048 / ROOT3, "counts": 0.2 / ROOT3, "leads": 0.2 / ROOT3},
            id="tips taken off: gain on the difference, counts twice",
        ),
        pytest.param(
            {"leads": LeadState.FOUR_WIRE, "meter": NO_COUNTS},
            5.0,
            {"meter": 0.05 / ROOT3, "display step": 0.1 / ROOT12},
            id="no counts stated: the display step is a line",
        ),
        pytest.param(
            {"leads": LeadState.SUBTRACT, "lead_ohm": 0.2, "meter": NO_COUNTS},
            4.8,
            {"gain": 0.048 / ROOT3, "counts": 0.1 / ROOT12, "leads": 0.1 / ROOT12},
            id="tips taken off without counts: a step each",
        ),
        pytest.param({"u_ohm": 0.03, "leads": LeadState.FOUR_WIRE}, 5.0, {"given": 0.03}, id="given directly"),
        pytest.param(
            {"leads": LeadState.FOUR_WIRE, "repeats": 4},
            5.0,
            {"meter": 0.25 / ROOT3, "repeats": 0.05},
            id="four repeats: one step over root four",
        ),
        pytest.param(
            {"leads": LeadState.FOUR_WIRE, "repeats": 4, "repeats_sd_ohm": 0.02},
            5.0,
            {"meter": 0.25 / ROOT3, "repeats": 0.01},
            id="four repeats: the pooled spread",
        ),
        pytest.param(
            {"check": Check(ohm=5.0, read_ohm=5.25, pct=0.1, zero_ohm=0.25), "repeats": 4},
            4.75,
            {
                "reading step": 0.1 / ROOT12,
                "check reading step": 0.95 * 0.1 / ROOT12,
                "tips reading step": 0.05 * 0.1 / ROOT12,
                "check resistor": 0.95 * 0.005 / ROOT3,
                "repeats": 0.05,
            },
            id="check resistor of 5 ohm read as 5.25 with tips of 0.25: R = 5 (5 - 0.25)/5",
        ),
    ],
)
def test_value_and_lines_of_five_ohm(given, value, lines):
    """1 % + 2 x 0.1 on a display of 5 ohm is 0.25 ohm either way; the rest by hand."""
    assert lines_of(5.0, **given) == (pytest.approx(value, rel=1e-12), lines)


def test_volts_ratio_by_hand():
    """5 ohm x 0.5 V / 0.25 V = 10 ohm; two counts of a millivolt are 2 mV, 20 and 40 ohm to the volt."""
    volts = VoltsRatio(volts_x=0.5, volts_check=0.25, meter=Meter(percent=9.0, counts=2.0, step=0.001))
    value, lines = lines_of(0.0, check=Check(ohm=5.0, read_ohm=5.0, pct=1.0), volts=volts)
    assert value == 10.0
    assert lines == {
        "counts across the device": 0.04 / ROOT3,
        "counts across the check resistor": 0.08 / ROOT3,
        "check resistor": 0.1 / ROOT3,
    }


@pytest.mark.parametrize(
    ("leads", "zero", "value"),
    [
        ({"leads": LeadState.SUBTRACT, "lead_ohm": 0.2}, None, 4.8),
        ({"leads": LeadState.NULLED}, None, 25.0 / 5.2),
        ({"leads": LeadState.FOUR_WIRE}, None, 25.0 / 5.2),
        ({"leads": LeadState.NEITHER}, 0.2, 4.8),
        ({"leads": LeadState.SUBTRACT, "lead_ohm": 0.9}, 0.2, 4.8),
    ],
    ids=["tips' reading serves", "nulled: nought", "four wires: nought", "its own zero", "its own zero goes first"],
)
def test_zero_of_a_check_resistor(leads, zero, value):
    """R = 5 (5 - i0)/(5.2 - i0) by hand."""
    found, _ = value_and_lines(Instrument(meter=METER, check=Check(ohm=5.0, read_ohm=5.2, zero_ohm=zero), **leads), 5.0)
    assert found == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"check": Check(ohm=5.0, read_ohm=5.2)}, "reading of the tips"),
        ({"leads": LeadState.SUBTRACT}, "reading of the tips"),
        ({"volts": VoltsRatio(volts_x=1.0, volts_check=1.0, meter=METER)}, "check resistor"),
    ],
    ids=["no zero", "no tips", "no resistor"],
)
def test_an_instrument_that_cannot_be(given, words):
    with pytest.raises(ValueError, match=words):
        value_and_lines(Instrument(meter=METER, **given), 5.0)


@pytest.mark.parametrize(
    ("ratio", "is_dominated"),
    [(3.3, False), (3.33, False), (3.3301, True), (10.0, True), (0.1, False)],
    ids=str,
)
def test_one_rectangle_dominates_above_three_and_a_third(ratio, is_dominated):
    """Largest rectangle over the root sum of squares of all others; 0.6 and 0.8 make 1 exactly."""
    found = combine([box(ratio), bell(0.6), bell(0.8)])
    assert found.is_dominated is is_dominated
    assert found.k95 == pytest.approx(1.653 if is_dominated else 2.0, abs=3e-4)
    assert DOMINANT_RATIO == 3.33


@pytest.mark.parametrize(
    "lines",
    [[bell(9.0), box(1.0)], [box(1.0), box(1.0)], [bell(4.0)]],
    ids=["a bell may be the largest", "two equal rectangles", "no rectangle"],
)
def test_only_a_single_rectangle_can_dominate(lines):
    found = combine(lines)
    assert not found.is_dominated
    assert found.k95 == 2.0


def test_a_single_rectangle_dominates_nothing_at_all():
    found = combine([box(0.5)])
    assert found.is_dominated
    assert (found.u, found.k95) == (0.5, pytest.approx(PERCENT_RECT))
    assert found.k90 == pytest.approx(0.9 * ROOT3)


@pytest.mark.parametrize(
    ("nu", "k95"),
    [
        pytest.param(4.0, 2.87, id="nu 4 [NIST TN 1297 table B.1]"),
        pytest.param(4.99, 2.87, id="4.99 counts as 4 [GUM G.4.1]"),
        pytest.param(5.0, 2.65, id="nu 5 [NIST TN 1297 table B.1]"),
        pytest.param(50.0, 2.05, id="nu 50 [NIST TN 1297 table B.1]"),
        pytest.param(1000.0, 2.00, id="1000 still by Student"),
        pytest.param(0.4, 13.97, id="never below one degree [NIST TN 1297 table B.1]"),
    ],
)
def test_coverage_by_student(nu, k95):
    assert combine([bell(1.0, nu)]).k95 == pytest.approx(k95, abs=0.0051)


def test_student_and_normal_meet_at_a_thousand():
    below, above = combine([bell(1.0, 1000.0)]), combine([bell(1.0, 1000.001)])
    assert above.k95 == 2.0
    assert 2.0 < below.k95 < 2.004


def test_welch_satterthwaite_by_hand():
    """u = 3 with 4 degrees, 4 without end: nu = 5^4 / (3^4 / 4) = 30.86."""
    found = combine([bell(3.0, 4.0), bell(4.0)])
    assert found.u == 5.0
    assert found.nu_eff == pytest.approx(2500.0 / 81.0, rel=1e-12)


@pytest.mark.parametrize(
    "lines",
    [[bell(0.0, 4.0)], [bell(0.0, 4.0), box(0.0)], [bell(0.0)]],
    ids=["repeats that agree to the last digit", "and nothing else", "nothing"],
)
def test_a_budget_of_noughts_ends_in_the_normal_factor(lines):
    found = combine(lines)
    assert (found.u, found.k95) == (0.0, 2.0)


def test_repeats_that_agree_leave_the_rest_normal():
    found = combine([bell(0.0, 4.0), bell(0.1)])
    assert (found.u, found.k95) == (pytest.approx(0.1), 2.0)


def test_scaling_keeps_shape_and_degrees():
    (line,) = scaled([bell(2.0, 4.0)], 1.5)
    assert line == ("bell", 3.0, False, 4.0)


def test_arrays_give_each_reading_its_own_factors():
    size = np.array([0.1, 5.0])
    found = combine([box(size), bell(np.array([0.5, 0.5]), 6.0)], arrays())
    assert list(found.is_dominated) == [False, True]
    for n in (0, 1):
        one = combine([box(float(size[n])), bell(0.5, 6.0)])
        assert found.u[n] == pytest.approx(one.u, rel=1e-15)
        assert found.k95[n] == pytest.approx(one.k95, rel=1e-12)
        assert found.k90[n] == pytest.approx(one.k90, rel=1e-12)
