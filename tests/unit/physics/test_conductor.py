"""Resistance of a winding against its temperature (values: tests/external/test_published.py)."""

from __future__ import annotations

import math

import numpy as np
import pytest

from valvebench.physics.conductor import alpha_at, k_from_alpha20, resistance_at, rise_by_resistance, winding_celsius


@pytest.mark.parametrize(
    ("k", "celsius", "factor"),
    [
        pytest.param(234.5, 20.0, 1.0, id="nothing moves at the reference"),
        pytest.param(234.5, 274.5, 2.0, id="copper doubles over k + 20 kelvin, by hand"),
        pytest.param(225.0, 265.0, 2.0, id="aluminium doubles over 245 kelvin, by hand"),
        pytest.param(234.5, -107.25, 0.5, id="and halves over half of it"),
        pytest.param(234.5, -234.5, 0.0, id="the straight line meets nought at -k"),
    ],
)
def test_moved(k, celsius, factor):
    assert resistance_at(5.0, from_celsius=20.0, to_celsius=celsius, k_celsius=k) == 5.0 * factor


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 20.0, 66.6, 150.0])
def test_there_and_back(celsius):
    hot = resistance_at(5.2, from_celsius=20.0, to_celsius=celsius, k_celsius=234.5)
    assert resistance_at(hot, from_celsius=celsius, to_celsius=20.0, k_celsius=234.5) == pytest.approx(5.2, rel=1e-15)
    assert winding_celsius(hot, cold_ohm=5.2, cold_celsius=20.0, k_celsius=234.5) == pytest.approx(celsius, abs=1e-12)


def test_arrays_and_what_is_no_number():
    moved = resistance_at(
        np.array([5.0, math.nan]), from_celsius=np.array([20.0, 20.0]), to_celsius=274.5, k_celsius=234.5
    )
    assert moved[0] == 10.0
    assert math.isnan(moved[1])


@pytest.mark.parametrize(("ambient", "rise"), [(20.0, 51.0), (23.0, 48.0)], ids=["same room", "warmer room counts"])
def test_rise(ambient, rise):
    """IEC 60034-1, 8.6.2 with k = 235, from memory: (12 - 10)/10 x 255 = 51 K, less the change of the room."""
    found = rise_by_resistance(12.0, cold_ohm=10.0, cold_celsius=20.0, ambient_celsius=ambient, k_celsius=235.0)
    assert found == pytest.approx(rise, abs=1e-12)


def test_coefficient_and_constant_say_the_same():
    assert alpha_at(20.0, alpha20_per_celsius=0.00393) == pytest.approx(0.00393, rel=1e-12)
    assert k_from_alpha20(1.0 / 254.5) == pytest.approx(234.5, rel=1e-12)
