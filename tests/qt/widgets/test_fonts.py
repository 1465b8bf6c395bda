"""Bounds 8 % and 6 %: with setWeight instead of the axis the weights draw alike, or 700 comes out 10 % wide."""

from __future__ import annotations

from itertools import pairwise

import pytest
from PySide6.QtGui import QFontMetricsF, QImage, QPainter

from valvebench.ui import fonts

WORDS = "Probe 3 and 11"
WEIGHTS = (400, 500, 600, 700)


def ink(weight: int) -> int:
    image = QImage(600, 60, QImage.Format.Format_Grayscale8)
    image.fill(255)
    painter = QPainter(image)
    painter.setFont(fonts.font(24, weight))
    painter.drawText(10, 40, WORDS)
    painter.end()
    return sum(255 - byte for byte in bytes(image.constBits()))


def advance(size_px: float, weight: int, words: str = WORDS, *, tabular: bool = False) -> float:
    return QFontMetricsF(fonts.font(size_px, weight, tabular=tabular)).horizontalAdvance(words)


def test_each_weight_draws_at_least_8_percent_more_ink(qapp):
    inks = [ink(weight) for weight in WEIGHTS]
    assert all(heavier >= 1.08 * lighter for lighter, heavier in pairwise(inks)), inks


def test_bold_is_a_true_weight_and_not_smeared(qapp):
    assert advance(24, 400) < advance(24, 700) < 1.06 * advance(24, 400)


def test_weight_property_is_left_alone(qapp):
    assert {fonts.font(15, weight).weight() for weight in WEIGHTS} == {400}


def test_tabular_digits_are_equally_wide(qapp):
    widths = {round(advance(14, 400, digit * 4, tabular=True), 3) for digit in "0123456789"}
    assert len(widths) == 1
    assert advance(14, 400, "1111") < advance(14, 400, "0000")


def test_large_type_is_set_tighter_by_the_optical_size(qapp):
    assert advance(40, 400) < 40 / 14 * advance(14, 400) * 0.99


def test_upright_inter_is_what_is_drawn(qapp):
    assert fonts.family().startswith("Inter")
    assert not fonts.font(14).italic()


@pytest.mark.parametrize("zoom", [1.0, 1.5, 2.0])
def test_zoom_scales_text_and_measures(qapp, zoom):
    fonts.set_zoom(zoom)
    assert fonts.font(12).pixelSize() == 12 * zoom
    assert fonts.px(20) == 20 * zoom


def test_zoom_is_told_once_and_only_when_it_changes(qtbot):
    told = []

    def hear() -> None:
        told.append(fonts.zoom.factor)

    fonts.zoom.changed.connect(hear)
    fonts.set_zoom(1.5)
    fonts.set_zoom(1.5)
    fonts.zoom.changed.disconnect(hear)
    assert told == [1.5]


def test_zoom_stays_within_reason(qapp):
    fonts.set_zoom(100.0)
    assert fonts.zoom.factor == fonts.ZOOM_HIGHEST


def test_no_advance_is_rounded_to_whole_pixels(qapp):
    font = fonts.font(13)
    assert font.hintingPreference() == font.HintingPreference.PreferNoHinting
