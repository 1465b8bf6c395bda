from __future__ import annotations

import pytest

from valvebench.model.words import Verdict
from valvebench.ui.widgets.temperature_plot import EMPTY_TEXT, TemperaturePlot, window_for

BAND = [(10.0, 4.0, 5.0), (120.0, 6.0, 7.0)]


@pytest.fixture
def plot(qtbot):
    made = TemperaturePlot()
    qtbot.addWidget(made)
    made.resize(480, 280)
    return made


def test_reads_out_its_readings(plot):
    plot.set_unit("ohm")
    plot.set_band(BAND)
    plot.set_marks([(23.4, 5.24, 0.1, Verdict.PASS)])
    assert plot.accessibleName() == (
        "Resistance against coil temperature, with limits: 5.24 ohm at 23.4 \N{DEGREE SIGN}C, Pass"
    )


def test_reads_out_why_it_is_empty(plot):
    assert plot.accessibleName().endswith(f"without limits: {EMPTY_TEXT}")
    plot.set_empty("No limit is stated for Heron")
    assert plot.accessibleName().endswith("No limit is stated for Heron")


def test_readings_do_not_move_the_temperature_axis_of_a_band():
    window = window_for(BAND, [(60.0, 5.5, 0.1, Verdict.PASS)])
    assert (window.left, window.right) == (10.0, 120.0)


def test_band_and_whiskers_are_in_sight():
    window = window_for(BAND, [(60.0, 9.0, 0.5, Verdict.FAIL)])
    assert window.bottom < 4.0
    assert window.top > 9.5


@pytest.mark.parametrize(
    ("band", "marks"),
    [
        ([], []),
        (BAND, []),
        ([], [(20.0, 5.0, None, Verdict.NO_LIMIT)]),
        ([(10.0, 900.0, None), (120.0, 1400.0, None)], [(20.0, 1e6, 1e3, Verdict.PASS)]),
        ([(10.0, None, 5.0), (120.0, None, 7.0)], [(20.0, 0.0, 0.0, Verdict.PASS)]),
        ([(20.0, 4.0, 5.0)], [(20.0, 4.5, 0.1, Verdict.PASS)]),
    ],
)
def test_draws_whatever_it_is_given(plot, palette, band, marks):
    plot.set_band(band)
    plot.set_marks(marks)
    plot.set_here(20.0)
    plot.grab()
