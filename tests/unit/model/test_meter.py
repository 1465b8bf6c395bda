"""The text of a meter's accuracy."""

from __future__ import annotations

import pytest

from valvebench.model.errors import BadInput
from valvebench.model.meter import PRESETS, Meter, parse_meter


@pytest.mark.parametrize(
    ("text", "meter"),
    [
        ("0.9%+2x0.1", Meter(percent=0.9, counts=2.0, step=0.1)),
        ("0,9 % + 2 x 0,1", Meter(percent=0.9, counts=2.0, step=0.1)),
        (" 1%+3\u00d70.1 ", Meter(percent=1.0, counts=3.0, step=0.1)),
        ("0%+0*1e-3", Meter(percent=0.0, counts=0.0, step=0.001)),
    ],
)
def test_parse(text, meter):
    assert parse_meter(text) == meter
    assert parse_meter(meter.text()) == meter


@pytest.mark.parametrize(
    "text",
    [
        "",
        "0.9",
        "0.9%",
        "0.9%+2",
        "0.9%+2x",
        "0.9%+2x0",
        "-1%+2x0.1",
        "0.9%+-2x0.1",
        "100%+2x0.1",
        "a%+2x0.1",
        "nan%+2x0.1",
    ],
    ids=repr,
)
def test_bad_text_is_named(text):
    with pytest.raises(BadInput, match="volts meter"):
        parse_meter(text, where="volts meter")


@pytest.mark.parametrize(
    ("name", "text"),
    [
        pytest.param("tenths", "1%+3x0.1", id="tenths [common practice, no source]"),
        pytest.param("hundredths", "0.5%+5x0.01", id="hundredths [common practice, no source]"),
    ],
)
def test_presets(name, text):
    assert PRESETS[name].text() == text
