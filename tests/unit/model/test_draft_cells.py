"""Text of a cell -> value and back; the readings of typed numbers follow the entry rules of the bench fields."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valvebench.model.draft_cells import Unread, number_text, read_cell, write_cell
from valvebench.model.draft_field import Cell, Part
from valvebench.model.draft_fields import FIELDS, field_of

LOW = field_of(Part.DEVICES, "low")
REF = field_of(Part.DEVICES, "ref")
K = field_of(Part.DEVICES, "k")
KIND = field_of(Part.DEVICES, "kind")
DUTY = field_of(Part.DEVICES, "duty")
POINTS = field_of(Part.DEVICES, "points")
EXPECT = field_of(Part.PORTS, "expect")
VALUES = field_of(Part.FEATURES, "values")
STATES = field_of(Part.GEARS, "solenoids")
MUST = field_of(Part.FEATURES, "must_match")
N = field_of(Part.DEVICES, "n")


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        (LOW, "4,7", 4.7),
        (LOW, "4.7", 4.7),
        (LOW, "12k", 12_000.0),
        (LOW, "1.2 M", 1_200_000.0),
        (LOW, "1e6", 1_000_000.0),
        (LOW, "1.2340", 1.234),
        (REF, "20", 20.0),
        (REF, "23,5 \u00b0C", 23.5),
        (REF, "not stated", None),
        (REF, "-", None),
        (REF, "\u221210", -10.0),
        (K, "234,5", 234.5),
        (KIND, "Temperature Sensor", "temperature_sensor"),
        (KIND, "speed_sensor", "speed_sensor"),
        (DUTY, "ON-OFF", "on_off"),
        (DUTY, "on/off", "on_off"),
        (POINTS, "20: 2540 to 2800; 80: 300-350", [[20.0, 2540.0, 2800.0], [80.0, 300.0, 350.0]]),
        (POINTS, "20: 2,54k\u20132,8k", [[20.0, 2540.0, 2800.0]]),
        (EXPECT, "holds", [{"reaction": "holds"}]),
        (
            EXPECT,
            "D, Heron on, Gull off: holds; comes out at P4",
            [
                {"reaction": "holds", "selector": "D", "solenoids": {"Heron": "on", "Gull": "off"}},
                {"reaction": "comes_out", "at": "P4"},
            ],
        ),
        (VALUES, "none; dot", ["none", "dot"]),
        (VALUES, "dot, bar", ["dot", "bar"]),
        (VALUES, '["a, b"]', ["a, b"]),
        (STATES, "Heron on, Gull=off", {"Heron": "on", "Gull": "off"}),
        (STATES, "none", {}),
        (MUST, "yes", True),
        (MUST, "no", False),
        (N, "3", 3),
    ],
)
def test_read(field, text, value):
    assert read_cell(field, text) == value


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        (LOW, "1,234", "could be 1.234 or 1234: type 1.2340 or 1234"),
        (LOW, "five", "a resistance such as"),
        (LOW, "OL", "a resistance such as"),
        (K, "1k", "a number such as"),
        (REF, "warm", "or not stated"),
        (KIND, "solenod", "Did you mean solenoid?"),
        (DUTY, "fast", "one of linear, pulsed, on/off"),
        (POINTS, "20, 2540, 2800", "rows such as"),
        (EXPECT, "D, R: holds", "one selector position"),
        (EXPECT, "whistles", "such as D, Heron on: holds"),
        (STATES, "Heron", "names with on or off"),
        (MUST, "perhaps", "yes or no"),
        (N, "1.5", "a whole number"),
        (VALUES, "[1", "a list as it stands in the file"),
    ],
)
def test_unread_says_what_would_be_read(field, text, words):
    with pytest.raises(Unread, match=re.escape(words)):
        read_cell(field, text)


NEEDED = field_of(Part.CHECKLIST, "required")


@pytest.mark.parametrize(
    ("text", "value"), [("required", True), ("Yes", True), ("x", True), ("optional", False), ("no", False)]
)
def test_a_line_is_required_or_optional(text, value):
    assert read_cell(NEEDED, text) is value
    assert read_cell(NEEDED, write_cell(NEEDED, value)) is value


def test_a_line_that_may_be_needed_is_asked_about():
    with pytest.raises(Unread, match="required or optional"):
        read_cell(NEEDED, "maybe")


@given(st.floats(min_value=-1e15, max_value=1e15, allow_nan=False))
def test_a_number_reads_back_as_itself(number):
    assert read_cell(K, number_text(number)) == number


@given(st.floats(min_value=0, max_value=1e15))
def test_a_resistance_reads_back_as_itself(ohm):
    assert read_cell(LOW, write_cell(LOW, ohm)) == ohm


NAMES = st.text(min_size=1, max_size=8)


@given(st.lists(NAMES, max_size=4))
def test_a_list_of_any_names_reads_back(values):
    assert read_cell(VALUES, write_cell(VALUES, values)) == values


@given(st.dictionaries(NAMES, st.sampled_from(["on", "off"]), max_size=3))
def test_states_of_any_names_read_back(states):
    assert read_cell(STATES, write_cell(STATES, states)) == states


EXPECTATIONS = st.lists(
    st.fixed_dictionaries(
        {"reaction": st.sampled_from(["holds", "comes_out", "clicks", "bleeds", "thud"])},
        optional={
            "selector": NAMES,
            "at": NAMES,
            "solenoids": st.dictionaries(NAMES, st.sampled_from(["on", "off"]), min_size=1, max_size=2),
        },
    ),
    min_size=1,
    max_size=3,
)


@given(EXPECTATIONS)
def test_expectations_with_any_names_read_back(expectations):
    assert read_cell(EXPECT, write_cell(EXPECT, expectations)) == expectations


@given(st.text(max_size=30), st.sampled_from([field for part in Part for field in FIELDS[part]]))
def test_any_text_is_read_or_refused_in_words(text, field):
    try:
        value = read_cell(field, text)
    except Unread as unread:
        value = str(unread)
        is_read = False
    else:
        is_read = True
    if is_read and field.cell in (Cell.OHM, Cell.NUMBER):
        assert math.isfinite(value)
    assert is_read or value
