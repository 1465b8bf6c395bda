"""Temperature sensors (values: tests/external/test_published.py)."""

from __future__ import annotations

import math

import pytest

from valvebench.physics.sensor import (
    beta_celsius,
    beta_ohm,
    platinum_ohm,
    steinhart_hart_celsius,
    steinhart_hart_from_points,
    steinhart_hart_ohm,
    table_band,
)

ROWS = [[20.0, 2540.0, 2800.0], [80.0, 300.0, 350.0]]
LAW = {"r_ohm": 10_000.0, "at_celsius": 25.0, "beta_kelvin": 3380.0}
# From memory: the coefficients that many makers print for a 10 kilohm type; they reproduce the published table.
COEFFICIENTS = {"a": 0.001129241, "b": 0.0002341077, "c": 8.775468e-08}


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 25.0, 80.0, 150.0])
def test_beta_there_and_back(celsius):
    assert beta_celsius(beta_ohm(celsius, **LAW), **LAW) == pytest.approx(celsius, abs=1e-9)


@pytest.mark.parametrize("ohm", [100.0, 2500.0, 10_000.0, 336_103.2])
@pytest.mark.parametrize("c", [8.775468e-08, 0.0], ids=["three terms", "two terms"])
def test_steinhart_hart_there_and_back(ohm, c):
    law = {**COEFFICIENTS, "c": c}
    assert steinhart_hart_ohm(steinhart_hart_celsius(ohm, **law), **law) == pytest.approx(ohm, rel=1e-9)


def test_steinhart_hart_from_three_points_of_itself():
    ohms = (32_650.9, 10_000.0, 973.5)
    points = [(steinhart_hart_celsius(ohm, **COEFFICIENTS), ohm) for ohm in ohms]
    assert steinhart_hart_from_points(points) == pytest.approx(tuple(COEFFICIENTS.values()), rel=1e-7)


@pytest.mark.parametrize(
    "points",
    [
        [],
        [(0.0, 1.0), (1.0, 2.0)],
        [(0.0, 1.0), (1.0, 2.0), (2.0, 2.0)],
        [(0.0, 1.0), (1.0, 2.0), (2.0, 3.0), (3.0, 4.0)],
    ],
    ids=["none", "two", "one twice", "four"],
)
def test_steinhart_hart_needs_three_different_points(points):
    with pytest.raises(ValueError, match="three points"):
        steinhart_hart_from_points(points)


@pytest.mark.parametrize(
    ("celsius", "low", "high"), [(20.0, 2540.0, 2800.0), (80.0, 300.0, 350.0)], ids=["first row", "last row"]
)
def test_a_row_of_the_table_is_its_own_band(celsius, low, high):
    band = table_band(celsius, ROWS)
    assert (band.low_ohm, band.high_ohm) == (pytest.approx(low, rel=1e-12), pytest.approx(high, rel=1e-12))
    assert band.beyond_celsius == 0.0


def test_between_rows_a_beta_sensor_is_met_exactly():
    """ln R is straight in 1/T for the Beta equation, so two of its rows give every value between."""
    rows = [[t, 0.95 * beta_ohm(t, **LAW), 1.05 * beta_ohm(t, **LAW)] for t in (100.0, 0.0)]
    for celsius in (0.0, 12.0, 50.0, 99.0, 105.0):
        band = table_band(celsius, rows)
        assert band.low_ohm == pytest.approx(0.95 * beta_ohm(celsius, **LAW), rel=1e-12)
        assert band.high_ohm == pytest.approx(1.05 * beta_ohm(celsius, **LAW), rel=1e-12)
        kelvin = celsius + 273.15
        assert band.slope_per_celsius == pytest.approx(-LAW["beta_kelvin"] / kelvin**2, rel=1e-12)


@pytest.mark.parametrize(
    ("celsius", "beyond"),
    [(9.9, None), (10.0, 10.0), (15.0, 5.0), (20.0, 0.0), (80.0, 0.0), (90.0, 10.0), (90.1, None)],
    ids=lambda value: f"{value}",
)
def test_reach_of_the_table_is_ten_kelvin(celsius, beyond):
    """Common practice, no source."""
    band = table_band(celsius, ROWS)
    assert (band and band.beyond_celsius) == beyond


@pytest.mark.parametrize(("celsius", "reaches"), [(20.0, True), (20.1, False), (19.9, False)])
def test_a_single_row_serves_its_own_temperature_only(celsius, reaches):
    band = table_band(celsius, ROWS[:1])
    assert (band is not None) == reaches
    assert band is None or band == (2540.0, 2800.0, 0.0, 0.0)


@pytest.mark.parametrize("celsius", [25.0, 40.0, 79.0])
def test_rows_in_any_order_and_a_middle_row_counts(celsius):
    middle = [40.0, 1000.0, 1200.0]
    rows = [ROWS[1], middle, ROWS[0]]
    assert table_band(celsius, rows) == table_band(celsius, sorted(rows))
    assert table_band(40.0, rows).low_ohm == pytest.approx(1000.0, rel=1e-12)


def test_a_rising_sensor_by_its_table():
    """A table of IEC 60751 platinum, 50 kelvin apart: between its rows within half a percent."""
    rows = [[float(t), platinum_ohm(t), platinum_ohm(t)] for t in (0, 50, 100)]
    for celsius in (10.0, 25.0, 75.0):
        assert table_band(celsius, rows).low_ohm == pytest.approx(platinum_ohm(celsius), rel=0.005)
        assert table_band(celsius, rows).slope_per_celsius > 0


@pytest.mark.parametrize("celsius", [-200.0, -0.001, 0.0, 850.0])
def test_platinum_is_continuous_at_nought(celsius):
    assert math.isclose(platinum_ohm(celsius), platinum_ohm(celsius + 1e-9), abs_tol=1e-8)
