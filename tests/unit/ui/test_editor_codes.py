"""Code tables copied from a spreadsheet and to it.  All invented."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.data.made_up import variant_data
from tests.fakes.editor_view import EditorView, PlainSteps
from tests.fakes.runners import InlineRunner
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import draft_of
from valvebench.model.variant_draft import Spot
from valvebench.ui.editor.code_sheet import gathered, sheet_of
from valvebench.ui.editor.paste import problems_of, rows_of, understand
from valvebench.ui.editor.presenter import EditorPresenter

SELECTOR = Part.SELECTOR_CODES
SWITCHES = ("Stork", "Snipe")
SHEET = "Position\tStork\tSnipe\tPage\nP\tclosed\to\t4\nN\t0\tany\t4\nD\t\tX\t5\n"


def pasted(text, *, at="name"):
    plan = understand(SELECTOR, gathered(SELECTOR, text, SWITCHES, at=at), at_key=at)
    return rows_of(plan), [problem.words for problem in problems_of(plan)]


def test_columns_named_after_switches_become_the_codes_of_their_rows():
    rows, problems = pasted(SHEET)
    assert problems == []
    assert rows == [
        {"name": "P", "switches": "Stork closed, Snipe open", "source_text": "4"},
        {"name": "N", "switches": "Stork open, Snipe either", "source_text": "4"},
        {"name": "D", "switches": "Snipe closed", "source_text": "5"},
    ]


def test_without_headings_the_columns_count_from_the_position_on():
    rows, _ = pasted("P\tclosed\topen\nN\topen\topen\n")
    assert rows == [
        {"name": "P", "switches": "Stork closed, Snipe open"},
        {"name": "N", "switches": "Stork open, Snipe open"},
    ]


def test_without_headings_at_a_switch_they_count_from_there_on():
    rows, _ = pasted("closed\topen\nopen\topen\n", at="Stork")
    assert [row["switches"] for row in rows] == ["Stork closed, Snipe open", "Stork open, Snipe open"]


def test_a_table_as_the_draft_keeps_it_is_left_alone():
    text = "Lever\tSwitches\nP\tStork closed, Snipe open\n"
    assert gathered(SELECTOR, text, SWITCHES) == text
    assert pasted(text)[0] == [{"name": "P", "switches": "Stork closed, Snipe open"}]


def test_a_word_that_is_no_state_comes_in_as_it_is_and_is_shown():
    rows, _ = pasted("Lever\tStork\tSnipe\nP\tshut\topen\n")
    assert rows == [{"name": "P", "switches": '{"Stork": "shut", "Snipe": "open"}'}]


def test_a_body_without_switches_takes_the_text_as_it_is():
    assert gathered(SELECTOR, SHEET, ()) == SHEET
    assert gathered(SELECTOR, "", SWITCHES) == ""


@pytest.fixture
def editor():
    devices = [
        {"name": name, "kind": "switch", "between": [pin, "case"]} for name, pin in (("Stork", "1"), ("Snipe", "2"))
    ]
    data = variant_data(devices=devices, ports=[], solenoid_chart={})
    view, steps = EditorView(), PlainSteps()
    presenter = EditorPresenter(view, steps, _NoFiles(), InlineRunner(), shrunk=lambda raw: raw)
    steps.changed = presenter.refresh
    steps.start(draft_of(json.loads(json.dumps(data))))
    return presenter, view, steps


class _NoFiles:
    def load(self, path: Path):
        raise AssertionError(path)

    save = take_picture = load


def test_what_is_copied_comes_back_as_it_was(editor):
    presenter, view, steps = editor
    presenter.pasted(Spot(SELECTOR, 0, "name"), SHEET)
    presenter.paste_taken(view.plan)
    before = steps.draft.rows(SELECTOR)
    assert steps.draft.texts(SELECTOR, "name") == ("P", "N", "D")
    copied = sheet_of(SELECTOR, before, SWITCHES)
    assert copied.splitlines()[:2] == ["Lever\tStork\tSnipe\tSource\tPage or bodies\tn", "P\tclosed\topen\t\t4\t"]
    presenter.pasted(Spot(SELECTOR, 3, "name"), copied)
    presenter.paste_taken(view.plan)
    assert steps.draft.rows(SELECTOR) == before


def test_a_paste_is_one_step_back(editor):
    presenter, view, steps = editor
    presenter.pasted(Spot(SELECTOR, 0, "name"), SHEET)
    presenter.paste_taken(view.plan)
    presenter.undo()
    assert steps.draft.rows(SELECTOR) == ()
    presenter.redo()
    assert len(steps.draft.rows(SELECTOR)) == 3


def test_one_state_goes_into_the_column_it_is_pasted_at(editor):
    presenter, _, steps = editor
    presenter.cell_typed(Spot(SELECTOR, 0, "name"), "P")
    presenter.pasted(Spot(SELECTOR, 0, "switch Snipe"), "c")
    presenter.pasted(Spot(SELECTOR, 0, "switch Stork"), "open")
    assert steps.draft.text(SELECTOR, 0, "switches") == "Snipe closed, Stork open"


def test_the_copy_of_the_page_has_a_column_for_each_switch(editor):
    presenter, view, _ = editor
    presenter.pasted(Spot(SELECTOR, 0, "name"), SHEET)
    presenter.paste_taken(view.plan)
    presenter.copied(SELECTOR, [0])
    assert view.clipboard.splitlines()[0].startswith("Lever\tStork\tSnipe\t")
