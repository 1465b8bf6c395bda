from __future__ import annotations

import math

import pytest

from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.ruler_scale import scale_for
from valvebench.ui.widgets.ticks import nice_ticks, tick_texts


@pytest.fixture
def ruler(qtbot):
    made = Ruler()
    qtbot.addWidget(made)
    made.set_unit("ohm")
    made.resize(480, made.sizeHint().height())
    return made


def test_reads_out_limits_reading_and_verdict(ruler):
    ruler.set_limits(4.9, 5.5, low_text="4.90", high_text="5.50")
    ruler.set_reading(5.17, 0.1, Verdict.PASS, text="5.17 ± 0.10 ohm")
    assert ruler.accessibleName() == "limits 4.90 to 5.50 ohm, reading 5.17 ± 0.10 ohm, Pass"


@pytest.mark.parametrize(
    ("limits", "words"),
    [((1.5, None), "at least 1.5 ohm"), ((None, 2.0), "at most 2 ohm"), ((None, None), "no limits")],
)
def test_reads_out_one_sided_limits(ruler, limits, words):
    ruler.set_limits(*limits)
    assert ruler.accessibleName() == f"{words}, Nothing measured yet"


def test_reads_out_a_reading_without_words_of_its_own(ruler):
    ruler.set_reading(5.25, 0.125, Verdict.NO_LIMIT)
    assert ruler.accessibleName() == "no limits, reading 5.25 ± 0.12 ohm, No limit"


def test_reads_out_open(ruler):
    ruler.set_limits(1e6, None, low_text="1 M")
    ruler.set_open(60e6, Verdict.PASS, text="60 M ohm")
    assert ruler.accessibleName() == "at least 1 M ohm, open above 60 M ohm, Pass"


def test_clearing_leaves_the_limits(ruler):
    ruler.set_limits(4.9, 5.5)
    ruler.set_reading(5.0, 0.1, Verdict.PASS)
    ruler.clear_reading("Read 3 and 11")
    assert ruler.accessibleName() == "limits 4.9 to 5.5 ohm, Read 3 and 11"


@pytest.mark.parametrize("value", [-1e9, 0.0, 4.9, 5.5, 1e-300, 1e300])
@pytest.mark.parametrize("limits", [(4.9, 5.5), (None, 5.5), (4.9, None), (None, None), (5.0, 5.0), (-1.0, 1.0)])
def test_draws_whatever_the_numbers(ruler, value, limits):
    ruler.set_limits(*limits)
    ruler.set_guard(0.3)
    ruler.set_reading(value, abs(value) / 10, Verdict.FAIL)
    ruler.grab()
    ruler.set_open(abs(value) + 1.0, Verdict.CANT_TELL)
    ruler.grab()


def test_a_width_that_does_not_exist_is_drawn_as_well(ruler):
    ruler.set_limits(4.9, 5.5)
    ruler.resize(1, ruler.height())
    ruler.grab()


def test_zoom_doubles_the_height(ruler):
    before = ruler.sizeHint().height()
    fonts.set_zoom(2.0)
    assert ruler.sizeHint().height() == 2 * before


def test_the_scale_reaches_half_a_band_beyond_the_limits():
    scale = scale_for(4.0, 6.0, [])
    assert (scale.low, scale.high) == (3.0, 7.0)


def test_the_scale_stretches_for_a_reading_but_not_without_end():
    assert scale_for(4.0, 6.0, [8.0]).high == pytest.approx(8.3)
    assert scale_for(4.0, 6.0, [1e6]).high == 14.0
    assert scale_for(20.0, 22.0, [1.0]).low == 12.0


def test_the_scale_does_not_invent_negative_resistance():
    assert scale_for(0.5, 4.5, [1.0]).low == 0.0


def test_nothing_to_show_has_no_scale():
    assert scale_for(None, None, []) is None


@pytest.mark.parametrize(
    ("low", "high", "most", "ticks"),
    [
        pytest.param(0.0, 10.0, 5, (0, 2, 4, 6, 8, 10), id="by hand"),
        pytest.param(4.6, 5.8, 7, (4.6, 4.8, 5.0, 5.2, 5.4, 5.6, 5.8), id="as drawn in the design"),
        pytest.param(-1.0, 1.0, 4, (-1, -0.5, 0, 0.5, 1), id="across zero, by hand"),
    ],
)
def test_ticks_are_round_numbers(low, high, most, ticks):
    assert nice_ticks(low, high, most) == pytest.approx(ticks)


@pytest.mark.parametrize(("low", "high"), [(math.nan, 1.0), (1.0, 1.0), (0.0, math.inf), (2.0, 1.0)])
def test_no_ticks_where_there_is_no_stretch(low, high):
    assert nice_ticks(low, high) == ()


@pytest.mark.parametrize(
    ("ticks", "words"),
    [
        ((4.6, 4.8, 5.0), ("4.6", "4.8", "5.0")),
        ((0.0, 2.0, 4.0), ("0", "2", "4")),
        ((-0.5, 0.0, 0.5), ("\N{MINUS SIGN}0.5", "0", "0.5")),
        ((0.0, 5000.0, 10_000.0), ("0", "5 k", "10 k")),
        ((1e6, 2e6), ("1 M", "2 M")),
        ((), ()),
    ],
)
def test_ticks_share_their_decimals(ticks, words):
    assert tick_texts(ticks) == words
