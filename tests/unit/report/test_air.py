"""The sheet Air: what was set and heard stands in words, and everything tried on a solenoid has one verdict."""

from __future__ import annotations

import io

import openpyxl
import pytest

from tests.data.made_air import leak_test
from tests.unit.report.samples import session_of, variant, workbook_of
from valvebench.model.entry import AirTest, SolenoidTest, SwitchTest
from valvebench.model.words import AirResult, Flow, Place, Supply, SwitchState

AIR = {"port": "P3", "place": Place.BODY}
FED = {"supply": Supply.LIMITED_CURRENT, "limit_ampere": 1.1}


def sheets(*bodies):
    return openpyxl.load_workbook(io.BytesIO(workbook_of(session_of(*bodies), variant())))


def lines(*bodies):
    return list(sheets(*bodies)["Air"].iter_rows(min_row=4, max_row=3 + len(bodies), values_only=True))


@pytest.mark.parametrize(
    ("body", "test", "seen", "kpa"),
    [
        pytest.param(
            AirTest(**AIR, result=AirResult.FAIL, came_out_at="P6", has_cover=True, kpa_gauge=250.0),
            "port of the body",
            "fail, out at P6, cover plate on",
            250,
            id="out at another port",
        ),
        pytest.param(
            SwitchTest(
                device="Reel", state=SwitchState.CLOSED, up_kpa_gauge=180.0, down_kpa_gauge=150.0, closed_ohm=0.4
            ),
            "switch under air",
            "closed, 0.4 ohm, changes at 180 kPa going up, changes at 150 kPa coming down",
            None,
            id="switch under air",
        ),
        pytest.param(
            SolenoidTest(device="Heron", click=True, heard=2, tries=3, air_on=Flow.FLOWS, kpa_gauge=250.0, **FED),
            "solenoid by function",
            "clicks 2 of 3, air flows with current, current-limited, limit 1.1 A",
            250,
            id="solenoid",
        ),
    ],
)
def test_what_was_set_and_heard_in_words(body, test, seen, kpa):
    ((_, said, _, _, heard, pressure, *_),) = lines(body)
    assert (said, heard, pressure) == (test, seen, kpa)


def test_everything_tried_on_a_solenoid_has_one_verdict():
    bodies = [SolenoidTest(device="Heron", click=True), SolenoidTest(device="Heron", click=False)]
    assert [(line[2], line[3]) for line in lines(*bodies)] == [("Heron", "Fail"), ("Heron", "Fail")]
    summary = {row[0]: row for row in sheets(*bodies)["Summary"].iter_rows(values_only=True)}
    assert (summary["Heron, by function"][1], summary["Heron, by function"][4]) == ("Fail", "2 3")


def test_a_switch_under_air_has_a_line_beside_the_one_at_rest():
    rest, air = (SwitchTest(device="Reel", state=SwitchState.OPEN, has_air=has_air) for has_air in (False, True))
    names = [row[0] for row in sheets(rest, air)["Summary"].iter_rows(values_only=True)]
    assert {"Reel", "Reel, by function"} <= set(names)


def test_without_a_cover_plate_it_is_not_usable_and_says_why():
    (line,) = lines(AirTest(**AIR, result=AirResult.FAIL, has_cover=False))
    assert (line[3], line[4]) == ("Not usable", "fail, no cover plate")
    assert "cover plate" in line[8]


def test_measured_leaks_are_not_called_nothing():
    words = [sheets(*bodies)["Air"].cell(4, 1).value for bodies in ((), (leak_test("P6"),))]
    assert words[0] == "Nothing was tested by air or by function in this session."
    assert words[1].endswith("What was measured: sheet Air leaks.")
