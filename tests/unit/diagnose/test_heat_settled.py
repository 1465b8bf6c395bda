"""A dozen readings by hand: one that is wild, and one that alone makes a fault.  The truth is the test's own."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.diagnose.heat_data import HeatRun, HeatSetUp
from valvebench.diagnose.heat_run import analyse
from valvebench.model.heat import HeatKind
from valvebench.model.meter import Meter

CELSIUS = np.array([22.0, 40.0, 58.0, 76.0, 94.0, 108.0, 110.0, 96.0, 78.0, 60.0, 42.0, 25.0])
ONE_HOTTEST = np.array([22.0, 40.0, 58.0, 76.0, 94.0, 110.0, 92.0, 78.0, 60.0, 42.0, 25.0, 30.0])
SET_UP = HeatSetUp(meter=Meter(percent=0.9, counts=2, step=0.01))
HOTTEST, MIDDLE = 5, 3


def found(celsius, extra=0.0, spoilt=None):
    """Copper of 5.2 ohm by IEC 60034-1 on a display of 0.01 ohm; one reading may be 0.6 ohm too high."""
    ohm = 5.2 * (234.5 + celsius) / 254.5 + extra
    if spoilt is not None:
        ohm[spoilt] += 0.6
    return analyse(HeatRun(celsius, np.round(ohm, 2)), SET_UP)


def from_70(celsius, ohm=0.8):
    return ohm * np.maximum(celsius - 70.0, 0.0) / 40.0


@pytest.mark.parametrize("spoilt", range(CELSIUS.size))
def test_a_wild_reading_with_others_near_its_temperature_is_left_out_and_said(spoilt):
    result = found(CELSIUS, spoilt=spoilt)
    assert (result.kind, result.left_out) == (HeatKind.COPPER, 1)
    assert any("1 single reading stands far from the others" in reason for reason in result.reasons)


@pytest.mark.parametrize("spoilt", [1, MIDDLE, 9])
def test_beside_a_wild_reading_a_fault_is_still_one(spoilt):
    fixed, grows = found(CELSIUS, 0.8, spoilt), found(CELSIUS, from_70(CELSIUS), spoilt)
    assert (fixed.kind, fixed.left_out) == (HeatKind.FIXED_SERIES, 1)
    assert abs(fixed.series_ohm.value - 0.8) < 2 * fixed.series_ohm.u
    assert (grows.kind, grows.left_out) == (HeatKind.GROWS_WITH_HEAT, 1)
    assert abs(grows.excess_ohm_at_hottest.value - 0.8) < 2 * grows.excess_ohm_at_hottest.u


def test_the_hottest_reading_alone_makes_no_fault_and_no_pass():
    result = found(ONE_HOTTEST, spoilt=HOTTEST)
    assert (result.kind, result.separable, result.left_out) == (HeatKind.NOT_SEPARABLE, False, 0)
    assert any("One reading alone makes the difference" in reason and "110" in reason for reason in result.reasons)
    assert any("again" in advice for advice in result.advice)


def test_a_contact_that_grows_is_not_eaten_reading_by_reading():
    for celsius in (CELSIUS, ONE_HOTTEST):
        result = found(celsius, from_70(celsius))
        assert (result.kind, result.left_out) == (HeatKind.GROWS_WITH_HEAT, 0)


def test_slope_over_copper_of_a_contact_that_grows_is_that_of_a_line_through_it():
    """A line fitted by numpy to the truth itself, over copper's slope by IEC 60034-1."""
    grown = from_70(CELSIUS)
    slope, at_20 = np.polyfit(CELSIUS - 20.0, 5.2 * (234.5 + CELSIUS) / 254.5 + grown, 1)
    told = found(CELSIUS, grown).slope_over_copper
    assert abs(told.value - slope / at_20 * 254.5) < 2 * told.u
    assert told.u < 0.02
