from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from valvebench.model.words import Verdict
from valvebench.ui import theme
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
    told, readings = plot.accessibleName().split(": ")
    assert told == "Resistance against coil temperature, with limits"
    assert readings == "5.24 \N{PLUS-MINUS SIGN} 0.10 ohm at 23.4 \N{DEGREE SIGN}C, Pass"


# 4 to 7 ohm and 12 % of air on both sides in 204 px of 280: 1 ohm is 55 px.
@pytest.mark.parametrize(
    ("expanded", "past_mark"),
    [
        pytest.param(0.1, 9, id="5.5 px, hidden by the mark but for its ends"),
        pytest.param(0.5, 0, id="27 px, a line above the mark"),
        pytest.param(None, 9, id="no uncertainty, no whisker"),
    ],
)
def test_the_whisker_is_seen_beside_or_above_its_mark(plot, expanded, past_mark):
    theme.apply(QApplication.instance(), "light")
    plot.set_band(BAND)
    plot.set_marks([(65.0, 5.5, expanded, Verdict.PASS)])
    picture = plot.grab().toImage()
    ink = picture_ink(picture, plot, celsius=65.0, ohm=5.5 + (expanded or 0.1), aside_px=past_mark)
    assert ink is (expanded is not None)


def picture_ink(picture, plot, *, celsius, ohm, aside_px):
    """Whether something darker than the band is drawn within a pixel of a point of the plot."""
    window = window_for(plot._band, plot._marks)
    left, right, top, bottom = 52, plot.width() - 20, 28, plot.height() - 48
    x = left + (celsius - window.left) / (window.right - window.left) * (right - left) + aside_px
    y = bottom - (ohm - window.bottom) / (window.top - window.bottom) * (bottom - top)
    scale = picture.width() / plot.width()
    near = [(x + dx, y + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
    return any(picture.pixelColor(int(px * scale), int(py * scale)).lightness() < 100 for px, py in near)


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
