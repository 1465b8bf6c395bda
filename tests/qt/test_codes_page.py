"""Selector positions in a real window, at the keyboard; the body is invented."""

from __future__ import annotations

import json

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.page_looks import problems_of
from tests.unit.ui.test_codes_presenter import VARIANT as CODES
from valvebench import compose
from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.codes.presenter import Cell
from valvebench.ui.widgets.table import verdict_in

BARE = json.loads(CODES)
HERON = {"name": "Heron", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 4.9, "high_ohm": 5.5}
VARIANT = json.dumps({**BARE, "devices": [HERON, *BARE["devices"]]}).encode()
ENTER, ESC, F8, UP, DELETE = Qt.Key.Key_Enter, Qt.Key.Key_Escape, Qt.Key.Key_F8, Qt.Key.Key_Up, Qt.Key.Key_Delete
PLUS, MINUS = Qt.Key.Key_Plus, Qt.Key.Key_Minus
CTRL = Qt.KeyboardModifier.ControlModifier


def opened(open_window, folder, variant=VARIANT):
    compose.create_job(folder, {"job": "T-61", "kind": "bench_check"}, variant_raw=variant, by="Ann").release()
    person = open_window(folder)
    person.type("21")
    person.key(ENTER)
    person.wait(person.pins.field.isVisible)
    return person


@pytest.fixture
def person(open_window, tmp_path):
    return opened(open_window, tmp_path / "T-61")


def codes(person):
    return person.window.beside_pins.codes


def table(person):
    return codes(person).board.card.table


def press(person, *keys):
    for key in keys:
        person.key(key)
        person.wait(lambda: not (person.window.keeper.is_busy or person.window.keeper.is_judging))


def verdicts(person):
    lines = table(person).lines
    last = lines.columnCount() - 1
    told = (lines.index(row, last).data(Qt.ItemDataRole.AccessibleTextRole) for row in range(lines.rowCount()))
    return [verdict_in(words) for words in told]


def test_the_whole_table_at_the_number_block(person):
    person.key(F8)
    assert QApplication.focusWidget() is table(person)
    assert codes(person).board.words.big.text() == "Lever in P, read Stork"
    press(person, PLUS, MINUS, MINUS, MINUS, PLUS)
    assert verdicts(person) == [Verdict.PASS] * 3
    assert QApplication.focusWidget() is table(person)
    person.key(ESC)
    assert QApplication.focusWidget() is person.pins.field.entry
    assert person.pins.left_cards.currentWidget() is person.pins.readings_card


def test_a_slip_is_seen_and_put_right(person):
    person.key(F8)
    press(person, MINUS, MINUS)
    assert verdicts(person)[0] is Verdict.FAIL
    table(person).go_to(Cell(0, 0))
    press(person, PLUS)
    assert verdicts(person)[0] is Verdict.PASS
    table(person).go_to(Cell(0, 1))
    press(person, DELETE)
    assert verdicts(person)[0] is Verdict.NOT_TAKEN
    person.key(Qt.Key.Key_Z, CTRL)
    person.wait(lambda: verdicts(person)[0] is Verdict.FAIL)  # the correction of the first answer is taken back
    assert "Withdrawn" in codes(person).board.words.said.words()


def test_a_screen_reader_hears_position_switch_and_state(person):
    person.key(F8)
    press(person, PLUS)
    lines = table(person).lines
    heard = [lines.index(0, column).data(Qt.ItemDataRole.AccessibleTextRole) for column in (1, 2)]
    assert heard == ["P, Stork: closed", "P, Snipe: not read yet, expected open"]


def test_findings_leads_to_the_position(person):
    person.key(F8)
    press(person, PLUS, MINUS)
    person.key(ESC)
    person.window.go_to("Pins", "selector D")
    index = table(person).currentIndex()
    assert (index.row(), index.column()) == (2, 1)


def test_the_way_in_stands_only_where_there_is_a_table(open_window, tmp_path, person):
    assert codes(person).board.way_in.isVisible()
    assert codes(person).board.way_in.accessibleName() == "codes, key F8"
    bare = json.dumps({**json.loads(VARIANT), "selector_codes": [], "key": "bare"}).encode()
    other = opened(open_window, tmp_path / "T-62", bare)
    assert codes(other) is None


@pytest.mark.parametrize(("width", "height", "zoom"), [(1280, 800, 1.0), (960, 540, 1.0), (1280, 800, 1.5)])
def test_nothing_is_cut_off(person, width, height, zoom):
    person.window.resize(width, height)
    fonts.set_zoom(zoom)
    person.key(F8)
    press(person, MINUS, MINUS)
    QApplication.processEvents()
    assert list(problems_of(person.window)) == []


def test_f9_says_where_the_lever_stands_and_keeps_what_is_typed(person):
    person.type("5.2")
    person.key(Qt.Key.Key_F7)
    assert codes(person).lever_key.cap.accessibleName() == "lever in P, key F7"
    assert person.pins.field.text() == "5.2"
    codes(person).lever_key.cap.click()
    assert person.window.pins.lever == "N"


def test_nothing_moves_while_the_lever_is_moved_through(person):
    page = person.pins
    height = page.height()
    person.key(F8)
    QApplication.processEvents()
    assert page.height() == height
    places = {name: getattr(page, name).geometry() for name in ("left_cards", "aside", "field")}
    for keys in ((MINUS, PLUS), (PLUS,), (PLUS, MINUS)):
        press(person, *keys)
        QApplication.processEvents()
        assert {name: getattr(page, name).geometry() for name in places} == places
    table(person).go_to(Cell(0, 0))
    QApplication.processEvents()
    assert page.height() == height
    assert len(codes(person).board.words.told.text()) > 100
    assert {name: getattr(page, name).geometry() for name in places} == places
    person.key(ESC)
    QApplication.processEvents()
    assert {name: getattr(page, name).geometry() for name in places} == places
