"""Where a window goes at the start: sizes and places worked out by hand from the two screens below."""

from __future__ import annotations

import pytest

from valvebench.ui.window_place import Rectangle, SavedWindow, placed, read_saved

MAIN = Rectangle(0, 0, 1920, 1040)
RIGHT = Rectangle(1920, 0, 1280, 1024)
USUAL = Rectangle(320, 140, 1280, 800)
"""(1920 - 1280) / 2 from the left; 40 for the bar, then (1040 - 40 - 800) / 2 more."""


def window(x: int, y: int, width: int = 1000, height: int = 700, above: int = 30) -> SavedWindow:
    return SavedWindow(x=x, y=y, width=width, height=height, above=above)


@pytest.mark.parametrize(
    ("x", "y"),
    [(100, 80), (2000, 200), (1500, 100), (-880, 80), (0, 30)],
    ids=["main", "second", "across both", "120 left in sight", "bar at the top"],
)
def test_it_goes_where_it_stood(x, y):
    assert placed(window(x, y), [MAIN, RIGHT]) == (x, y, 1000, 700)


@pytest.mark.parametrize(
    ("saved", "screens"),
    [
        (None, [MAIN, RIGHT]),
        (window(2000, 200), [MAIN]),
        (window(100, 80, width=1921), [MAIN]),
        (window(100, 80, height=1011), [MAIN]),
        (window(100, 29), [MAIN]),
        (window(100, 1031), [MAIN]),
        (window(-881, 80), [MAIN]),
    ],
    ids=["unknown", "screen gone", "too wide", "too high", "bar above the edge", "bar below", "out at the left"],
)
def test_else_in_the_middle_of_the_main_screen(saved, screens):
    assert placed(saved, screens) == USUAL


def test_the_usual_size_is_fitted_into_a_small_screen():
    assert placed(None, [Rectangle(10, 20, 1024, 600)]) == (10, 60, 1024, 560)


def test_without_a_screen_it_has_the_usual_size():
    assert placed(window(5, 5), []) == (0, 0, 1280, 800)


@pytest.mark.parametrize(
    "kept", ["left", 7, [], {}, {"x": 1, "y": 1, "width": 0, "height": 5}, {"x": 1.5, "y": 1, "width": 9, "height": 5}]
)
def test_what_makes_no_sense_is_ignored_and_said(kept):
    saved, words = read_saved(kept)
    assert saved is None
    assert words.startswith("window: ")


def test_nothing_kept_is_no_fault():
    assert read_saved(None) == (None, "")
