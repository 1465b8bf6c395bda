"""Apply and solenoid charts copied from a spreadsheet, as manuals print them.  All invented; read off by hand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.data.made_up import variant_data
from tests.fakes.editor_view import EditorView, PlainSteps
from tests.fakes.runners import InlineRunner
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import data_of, draft_of
from valvebench.model.variant_draft import Spot
from valvebench.ui.editor.chart_sheet import Known, gathered, gear_of
from valvebench.ui.editor.paste import problems_of, rows_of, understand
from valvebench.ui.editor.presenter import EditorPresenter

GEARS = Part.GEARS
KNOWN = Known(clutches=("Auk", "Brant"), solenoids=("Heron", "Gull"))
APPLY = "Gear\tAuk\tBrant\n1\tx\t\n2\tx\tx\nN\t\t\n"


def pasted(text, known=KNOWN):
    plan = understand(GEARS, gathered(text, known))
    return rows_of(plan), [problem.words for problem in problems_of(plan)]


def test_an_apply_chart_of_crosses():
    rows, problems = pasted(APPLY)
    assert problems == []
    assert rows == [
        {"name": "1", "clutches": "Auk"},
        {"name": "2", "clutches": "Auk; Brant"},
        {"name": "N", "clutches": "none"},
    ]


def test_a_solenoid_chart_says_on_and_off():
    rows, _ = pasted("Gear\tHeron\tGull\n1\toff\ton\n2\ton\t\n")
    assert rows == [{"name": "1", "solenoids": "Heron off, Gull on"}, {"name": "2", "solenoids": "Heron on"}]


def test_an_empty_cell_is_off_only_in_a_chart_of_crosses():
    rows, _ = pasted("Gear\tHeron\tGull\n1\t\tX\n2\t\u25cf\t\n")
    assert [row["solenoids"] for row in rows] == ["Heron off, Gull on", "Heron on, Gull off"]


def test_both_charts_in_one_table_and_what_is_neither_is_left_out():
    rows, problems = pasted("Range\tRatio\tAuk\tBrant\tHeron\n1\t4.21\t1\t0\toff\n2\t2.64\t1\t1\ton\n")
    assert problems == []
    assert rows == [
        {"name": "1", "clutches": "Auk", "solenoids": "Heron off"},
        {"name": "2", "clutches": "Auk; Brant", "solenoids": "Heron on"},
    ]


@pytest.mark.parametrize("known", [KNOWN, Known()], ids=["names-known", "new-body"])
def test_gears_along_the_top_are_turned(known):
    rows, _ = pasted("Clutch\t1\t2\tN\nAuk\tx\tx\t\nBrant\t\tx\t\n", known)
    assert [(row["name"], row["clutches"]) for row in rows] == [("1", "Auk"), ("2", "Auk; Brant"), ("N", "none")]


def test_names_are_found_whatever_their_case():
    rows, _ = pasted("Gear\tAUK\tbrant\n1\tx\tx\n")
    assert rows == [{"name": "1", "clutches": "Auk; Brant"}]


@pytest.mark.parametrize(
    ("text", "gear"),
    [("1st", "1"), ("2nd gear", "2"), ("Reverse", "R"), ("neutral", "N"), ("Park", "P"), ("Lock-up", "lock-up"),
     ("3", "3"), ("4.", "4"), ("7th", "7"), ("M1", "M1")],
)  # fmt: skip
def test_gears_as_people_write_them(text, gear):
    assert gear_of(text) == gear


def test_a_ring_is_no_mark_and_comes_in_to_be_seen():
    """Some charts mean on by it, some off."""
    rows, problems = pasted("Gear\tAuk\tHeron\n1\to\to\n")
    assert rows == [{"name": "1", "clutches": "Auk=o", "solenoids": "Heron o"}]
    assert len(problems) == 1
    assert "names with on or off" in problems[0]


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("Gear\tClutches on\tSolenoids\n1\tAuk\tHeron on\n", id="as-the-draft-keeps-it"),
        pytest.param("1\tAuk; Brant\n2\tBrant\n", id="no-marks"),
        pytest.param("1\n2\n", id="one-column"),
        pytest.param("Gear\tAuk\n", id="heading-only"),
    ],
)
def test_what_is_no_chart_of_marks_is_left_alone(text):
    assert gathered(text, KNOWN) == text


# --- in the editor ------------------------------------------------------------------------


@pytest.fixture
def presenter(tmp_path):
    class Files:
        def load(self, _: Path):
            return draft_of(
                json.loads(json.dumps(variant_data(clutches=[], gears=[], apply_chart={}, solenoid_chart={})))
            )

    view, steps = EditorView(), PlainSteps()
    made = EditorPresenter(view, steps, Files(), InlineRunner(), shrunk=lambda raw: raw)
    steps.changed = made.refresh
    made.open(tmp_path / "x.json")
    made.view = view
    return made


def test_a_pasted_chart_is_one_step_new_clutches_with_it(presenter):
    before = presenter._steps.draft
    presenter.pasted(Spot(GEARS, 0, "name"), "Gear\tAuk\tBrant\tHeron\n1\tx\t\toff\n2\tx\tx\ton\n")
    presenter.paste_taken(presenter.view.plan)
    data, unread = data_of(presenter._steps.draft)
    assert unread == []
    assert data["clutches"] == ["Auk", "Brant"]
    assert data["apply_chart"] == {"1": ["Auk"], "2": ["Auk", "Brant"]}
    assert data["solenoid_chart"] == {"1": {"Heron": "off"}, "2": {"Heron": "on"}}
    assert not presenter.checked.wrong
    presenter.undo()
    assert presenter._steps.draft == before


def test_the_second_chart_goes_into_the_rows_of_the_first(presenter):
    for text in (APPLY, "Gear\tHeron\n1st\toff\n2nd\ton\n"):
        presenter.pasted(Spot(GEARS, 0, "name"), text)
        presenter.paste_taken(presenter.view.plan)
    data, _ = data_of(presenter._steps.draft)
    assert data["gears"] == ["1", "2", "N"]
    assert data["apply_chart"] == {"1": ["Auk"], "2": ["Auk", "Brant"], "N": []}
    assert data["solenoid_chart"] == {"1": {"Heron": "off"}, "2": {"Heron": "on"}}


def test_a_dash_and_a_nought_say_off():
    rows, problems = pasted("Gear\tAuk\tHeron\n1\t-\t\u2013\n2\t0\tx\n")
    assert problems == []
    assert [(row["clutches"], row["solenoids"]) for row in rows] == [("none", "Heron off"), ("none", "Heron on")]
