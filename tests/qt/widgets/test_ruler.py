from __future__ import annotations

import math

import pytest
from msgspec.structs import replace
from PySide6.QtWidgets import QApplication

from valvebench.model.format import OHM
from valvebench.model.words import Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.widgets.ruler import Ruler, RulerState
from valvebench.ui.widgets.ruler_ground import Ground, picture
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


def test_a_limit_that_brings_its_prefix_is_read_out_with_one_unit(ruler):
    ruler.set_unit(f"k{OHM}")
    ruler.set_limits(2.2, 2.43, low_text="2.20 k", high_text="2.43 k")
    assert ruler.accessibleName() == f"limits 2.20 to 2.43 k{OHM}, Nothing measured yet"
    ruler.set_limits(0.9, 1.2, low_text="900", high_text="1.20 k")
    assert ruler.accessibleName().startswith(f"limits 900 {OHM} to 1.20 k{OHM},")


def test_reads_out_what_would_become_of_the_whisker(ruler):
    ruler.set_limits(4.9, 5.5)
    ruler.set_reading(5.25, 0.375, Verdict.CANT_TELL, text="5.25 ± 0.38 ohm")
    ruler.set_ghost(5.25, 0.125, text="± 0.13 with a check resistor")
    assert ruler.accessibleName().endswith("reading 5.25 ± 0.38 ohm, Can't tell, ± 0.13 with a check resistor")
    ruler.clear_ghost()
    assert ruler.accessibleName().endswith("reading 5.25 ± 0.38 ohm, Can't tell")


@pytest.mark.parametrize("has_reading", [True, False], ids=["around the reading", "before a reading"])
def test_the_ghost_is_drawn_in_ink_where_it_would_end_and_moves_no_scale(ruler, has_reading):
    """Half a band width each side of 4 to 6 shows 3 to 7; 5.5 lies at 62.5 % of the 440 px between 20 px margins."""
    ruler.set_limits(4.0, 6.0)
    if has_reading:
        ruler.set_reading(5.0, 0.75, Verdict.CANT_TELL)
    before = ruler.grab().toImage()
    ruler.set_ghost(5.0, 0.5, text="with more care")
    after = ruler.grab().toImage()
    changed = {
        x for x in range(after.width()) for y in range(24, 58) if before.pixelColor(x, y) != after.pixelColor(x, y)
    }
    assert {min(changed), max(changed)} <= {184, 185, 186, 294, 295, 296}


@pytest.mark.parametrize("ghost", [(5.2, 1e9), (-1e9, 0.1), (1e300, 1e300), (5.2, 0.0)])
def test_draws_any_ghost(ruler, ghost):
    ruler.set_limits(4.9, 5.5)
    ruler.set_ghost(*ghost, text="whatever")
    assert not ruler.grab().isNull()


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


# -- the ground below a reading, kept as a picture ---------------------------------------------


def test_readings_within_one_scale_are_drawn_on_one_kept_ground(ruler):
    picture.cache_clear()
    ruler.set_limits(4.0, 6.0, low_text="4.00", high_text="6.00")
    for value in (4.5, 5.0, 5.5):
        ruler.set_guard(value / 100)
        ruler.set_reading(value, value / 50, Verdict.PASS)
        ruler.grab()
    assert picture.cache_info().misses == 1


def _other_limits(ruler):
    ruler.set_limits(4.5, 5.5)


def _other_words(ruler):
    ruler.set_limits(4.0, 6.0, low_text="4.00")


def _other_scale(ruler):
    ruler.set_reading(9.0, 0.1, Verdict.FAIL)


def _other_width(ruler):
    ruler.resize(400, ruler.height())


def _other_zoom(ruler):
    fonts.set_zoom(1.25)


def _a_post(ruler):
    ruler.show_state(replace(ruler._state, post=4.5, post_text="copper"))


def _other_colours(ruler):
    theme.apply(QApplication.instance(), "dark")


@pytest.mark.parametrize(
    "change", [_other_limits, _other_words, _other_scale, _other_width, _other_zoom, _other_colours, _a_post]
)
def test_a_kept_ground_never_outlives_what_it_was_drawn_for(ruler, change):
    try:
        ruler.set_limits(4.0, 6.0)
        ruler.set_reading(5.0, 0.1, Verdict.PASS)
        ruler.grab()
        change(ruler)
        shown = ruler.grab().toImage()
        picture.cache_clear()
        assert shown == ruler.grab().toImage()
    finally:
        theme.apply(QApplication.instance(), "light")


def test_a_post_of_its_own_is_always_in_sight_and_drawn_with_its_word(ruler):
    """A number that is held against no limit, such as a slope against copper's."""
    state = RulerState(value=1.35, expanded=0.1, verdict=Verdict.NO_LIMIT, post=1.0, post_text="copper")
    assert state.scale().holds(1.0)
    assert RulerState(post=1.0).scale().holds(1.0)
    ruler.show_state(state)
    shown = ruler.grab().toImage()
    ruler.show_state(replace(state, post_text="other"))
    assert ruler.grab().toImage() != shown


@pytest.mark.parametrize("ratio", [1.0, 1.5, 2.0])
def test_a_sharper_screen_gets_a_sharper_ground(qtbot, ratio):
    """480 by 88 as drawn."""
    ground = Ground(scale_for(4.0, 6.0, []), 4.0, 6.0, "", "", 480, 1.0, ratio, theme.LIGHT)
    made = picture(ground)
    assert (made.width(), made.height(), made.devicePixelRatio()) == (480 * ratio, 88 * ratio, ratio)
