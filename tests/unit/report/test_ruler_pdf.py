"""The ruler on paper: posts, guard zones, whisker and mark where hand arithmetic puts them."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from tests.unit.report.samples import session_of, variant
from valvebench.bench.judging import judged_whole
from valvebench.model.entry import AirTest, Reading
from valvebench.model.words import AirResult, LeadState, Place, TemperatureSource, Verdict
from valvebench.report.form import Ruler
from valvebench.report.pdf import png_bytes, ruler
from valvebench.report.summary import items_of, ruler_of

# From 5 to 6 with 0.15 of room at each end: 4.85 to 6.15, on 130 points 100 for each whole.
SHOWN = Ruler(low=5.0, high=6.0, value=5.5, expanded=0.25, guard=0.125, verdict=Verdict.PASS)
DOTS = 4
AXIS = 8.5
INK, BAND, GUARD, PAPER = (23, 32, 29), (220, 232, 240), (201, 214, 222), (255, 255, 255)
SURE = {"meter": "0.2%+2x0.01", "leads": LeadState.NULLED, "temperature": TemperatureSource.TAPED}
COLOURS = {Verdict.PASS: (0, 114, 178), Verdict.FAIL: (213, 94, 0), Verdict.CANT_TELL: (240, 228, 66)}


def painted(shown):
    raw = png_bytes([ruler(shown, 0, 0, 130)], size_pt=(130, 17), dots_per_inch=72 * DOTS)
    return Image.open(io.BytesIO(raw)).convert("RGB")


def at(image, x, y):
    return image.getpixel((round(x * DOTS), round(y * DOTS)))


@pytest.mark.parametrize(
    ("x", "y", "colour"),
    [
        (15, 2.5, INK),
        (115, 2.5, INK),
        (20, 5.5, GUARD),
        (110, 5.5, GUARD),
        (35, 5.5, BAND),
        (95, 5.5, BAND),
        (5, 5.5, PAPER),
        (125, 5.5, PAPER),
        (45, AXIS, INK),
        (85, AXIS, INK),
        (36, AXIS, BAND),
    ],
    ids=["low", "high", "guard low", "guard high", "band", "band", "left", "right", "whisker", "whisker", "beside it"],
)
def test_each_part_stands_where_its_number_is(x, y, colour):
    assert at(painted(SHOWN), x, y) == colour


@pytest.mark.parametrize("verdict", COLOURS)
def test_the_mark_has_the_colour_of_its_verdict(verdict):
    assert at(painted(SHOWN._replace(verdict=verdict)), 65 + 1.9, AXIS + 1.9) == COLOURS[verdict]


def test_an_open_side_reaches_to_the_end():
    image = painted(SHOWN._replace(low=None))
    assert at(image, 1, 5.5) == BAND
    assert SHOWN._replace(low=None, high=None).span()[0] < 5.25


def test_only_a_number_that_decides_has_one():
    session = session_of(
        Reading(from_node="1", to_node="7", ohm=5.2, celsius=20.0, **SURE),
        Reading(from_node="3", to_node="7", ohm=8.0, celsius=20.0),
        Reading(from_node="1", to_node="case", open=True, range_ohm=6e7, celsius=20.0),
        AirTest(port="P3", place=Place.BODY, result=AirResult.PASS),
    )
    found = {item.what: ruler_of(item.row) for item in items_of(judged_whole(session, variant(), None))}
    drawn = {what: one for what, one in found.items() if one is not None}
    assert list(drawn) == ["Gull"]
    assert (drawn["Gull"].low, drawn["Gull"].high, drawn["Gull"].verdict) == (4.9, 5.5, Verdict.PASS)
    assert drawn["Gull"].guard == pytest.approx(drawn["Gull"].expanded)
