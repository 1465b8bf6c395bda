"""Cheap proof on the Pins page, at the keyboard: the list, a check resistor, a volts ratio."""

from __future__ import annotations

import json

import pytest
from openpyxl import load_workbook
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from valvebench.__main__ import main as run_command
from valvebench.model.entry import MeterCheck, Reading
from valvebench.model.words import Verdict
from valvebench.report.readings import HEADER_ROW

ENTER, ESC, UP, DOWN = Qt.Key.Key_Enter, Qt.Key.Key_Escape, Qt.Key.Key_Up, Qt.Key.Key_Down
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def heron(open_window, sample):
    """The sample whose meter cannot decide, at a solenoid that can't be told."""
    person = open_window(sample("meter-cannot-decide"))
    person.window.show_page("Pins")
    person.window.pins.choose("device Heron")
    person.wait(lambda: person.pins.aside.currentWidget() is person.pins.ways_card)
    return person


def last_body(person):
    return person.entries[-1].body


def test_the_list_comes_beside_the_verdict_and_nothing_moves(heron):
    page = heron.pins
    places = [page.ruler.geometry(), page.field.geometry(), page.aside.geometry()]
    heron.type("5.4")
    heron.wait(lambda: "with: check resistor" in page.ruler.accessibleName())
    assert page.aside.currentWidget() is page.ways_card
    assert [page.ruler.geometry(), page.field.geometry(), page.aside.geometry()] == places


def test_a_proved_reading_gives_the_place_back_to_the_plot(heron):
    heron.type("9.9")
    heron.wait(lambda: heron.pins.aside.currentWidget() is heron.pins.plot_card)
    assert "with:" not in heron.pins.ruler.accessibleName()


def test_a_check_resistor_by_keyboard_alone(heron):
    before = len(heron.entries)
    heron.type("5.4")
    heron.key(Qt.Key.Key_F3)
    for text in ("5", "", "0.2", "5.2"):
        assert heron.pins.aside.currentWidget() is heron.pins.step_card
        heron.type(text)
        heron.key(ENTER)
    heron.wait(lambda: len(heron.entries) == before + 1 and heron.pins.field.text() == "5.4")
    assert isinstance(last_body(heron), MeterCheck)
    assert QApplication.focusWidget() is heron.pins.field.entry
    heron.wait(lambda: heron.window.strip.cell("meter").sub.text() == "5 \u03a9 check \u00b7 leads not taken off")
    heron.key(ENTER)
    heron.wait(lambda: len(heron.entries) == before + 2)
    assert heron.window.keeper.book.verdict_of("device Heron") is Verdict.PASS


def test_a_volts_ratio_by_keyboard_alone(heron):
    before = len(heron.entries)
    heron.key(Qt.Key.Key_F4)
    for text, unit in (("5", "\u03a9"), ("", "%"), ("0.75", "V"), ("0.78", "V")):
        assert heron.pins.field._unit.text() == unit
        assert all(line.isVisible() and line.words() for line in heron.pins.safety.lines)
        heron.type(text)
        heron.key(ENTER)
    heron.wait(lambda: len(heron.entries) == before + 1 and not heron.window.keeper.is_busy)
    body = last_body(heron)
    assert isinstance(body, Reading)
    assert (body.volts_check, body.volts_x, body.ohm) == (0.75, 0.78, None)
    assert heron.pins.field._unit.text() == "\u03a9"
    assert "Pass" in heron.pins.ruler.accessibleName()


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (960, 540)])
def test_safety_stands_in_sight_before_the_part_is_fed(heron, width, height):
    """Right under the field, whole, without scrolling; the verdict takes its place as it is typed."""
    heron.window.resize(width, height)
    heron.key(Qt.Key.Key_F4)
    QApplication.processEvents()
    lines = heron.pins.safety.lines
    assert all(line.visibleRegion().boundingRect() == line.rect() for line in lines)
    assert all(line.heightForWidth(line.width()) <= line.height() for line in lines)
    place = heron.pins.middle.geometry()
    answer(heron, "5", "", "0.75")
    heron.type("0.78")
    assert not lines[0].isVisible()
    assert (heron.pins.ruler.isVisible(), heron.pins.middle.geometry()) == (True, place)


def test_escape_leaves_without_a_trace_and_undo_takes_back(heron):
    before = len(heron.entries)
    heron.type("5.4")
    heron.key(Qt.Key.Key_F3)
    heron.type("5")
    heron.key(ENTER)
    heron.key(ESC)
    assert (len(heron.entries), heron.pins.field.text()) == (before, "5.4")
    heron.key(ESC)
    heron.pins.field.set_text("")
    heron.key(Qt.Key.Key_F3)
    for text in ("5", "", "0.2", "5.2"):
        heron.type(text)
        heron.key(ENTER)
    heron.wait(lambda: heron.window.pins.check_now() is not None)
    heron.wait(lambda: heron.pins.aside.currentWidget() is not heron.pins.step_card)
    heron.key(Qt.Key.Key_Z, CTRL)
    heron.wait(lambda: heron.window.pins.check_now() is None)
    assert len(heron.entries) == before + 2


def test_up_goes_one_question_back_with_its_answer_selected(heron):
    heron.key(Qt.Key.Key_F3)
    heron.type("5")
    heron.key(ENTER)
    heron.key(UP)
    assert heron.pins.field.entry.selectedText() == "5"
    heron.type("4.7")
    assert heron.pins.field.text() == "4.7"


def test_the_list_is_walked_by_arrows_and_enter_does_what_is_chosen(heron):
    rows = heron.pins.ways_card.rows
    chosen = heron.pins.ways_card.place
    rows[chosen].setFocus()
    heron.key(DOWN)
    assert QApplication.focusWidget() is rows[chosen + 1]
    heron.wait(lambda: "with: volts ratio" in heron.pins.ruler.accessibleName())
    heron.key(UP)
    heron.wait(lambda: "with: check resistor" in heron.pins.ruler.accessibleName())
    heron.key(ENTER)
    assert heron.pins.aside.currentWidget() is heron.pins.step_card
    assert QApplication.focusWidget() is heron.pins.field.entry


def test_a_click_chooses_first_and_does_it_then(heron):
    card = heron.pins.ways_card
    volts = next(row for row in card.rows if row.way is not None and row.way.key == "F4")
    volts.click()
    assert heron.pins.aside.currentWidget() is card
    volts.click()
    assert heron.pins.step_card.title.text() == "Volts ratio"


def test_every_way_has_a_name_for_the_reader_and_one_stop_of_tab(heron):
    rows = [row for row in heron.pins.ways_card.rows if row.isVisible()]
    assert all("key F" in row.accessibleName() and "\u00b1" in row.accessibleName() for row in rows)
    assert sum(row.focusPolicy() == Qt.FocusPolicy.StrongFocus for row in rows) == 1


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (960, 540)])
@pytest.mark.parametrize("keys", [(), (Qt.Key.Key_F3,), (Qt.Key.Key_F4,)], ids=["list", "check", "volts"])
def test_nobody_scrolls_sideways(heron, width, height, keys):
    heron.window.resize(width, height)
    for key in keys:
        heron.key(key)
    QApplication.processEvents()
    assert heron.window.pages.currentWidget().horizontalScrollBar().maximum() == 0


def test_page_judge_and_workbook_say_the_same_of_both(heron, tmp_path, capsys):
    """5.4 against 5 ohm that reads 5.2 with tips of 0.2 is 5.2 ohm; 5 x 0.78/0.75 is 5.2 ohm as well."""
    folder = heron.window.folder
    heron.key(Qt.Key.Key_F3)
    answer(heron, "5", "", "0.2", "5.2")
    heron.wait(lambda: heron.window.pins.check_now() is not None)
    heron.wait(lambda: heron.pins.aside.currentWidget() is not heron.pins.step_card)
    heron.keep("5.4")
    checked = heron.entries[-1].n
    heron.window.pins.choose("device Heron")
    heron.key(Qt.Key.Key_F4)
    answer(heron, "0.75", "0.78")
    heron.wait(lambda: heron.entries[-1].n == checked + 1 and not heron.window.keeper.is_busy)
    model = heron.pins.model
    on_page = {row.number: row for row in (model.row(place) for place in range(model.rowCount()))}
    heron.window.leave_session()
    judged = {tuple(row["entries"]): row for row in told_by_judge(folder, capsys)["rows"]}
    sheet = told_by_workbook(folder, tmp_path / "out.xlsx", capsys)
    for number in (checked, checked + 1):
        row = judged[number,]
        assert row["ohm"] == pytest.approx(5.2)
        assert row["verdict"] == on_page[number].verdict.value == "pass"
        assert f"{row['ohm_at_ref']:.2f} \u00b1 {row['U_ohm_at_ref']:.2f}" == on_page[number].at_ref
        in_book = sheet[number]
        assert in_book["Verdict"] == "Pass"
        assert in_book["At reference, \u03a9"] == pytest.approx(row["ohm_at_ref"])
        assert in_book["U (95.45 %), \u03a9"] == pytest.approx(row["U_ohm_at_ref"])
    assert sheet[checked + 1]["Meter showed, \u03a9"] == "0.78 V / 0.75 V"


def answer(person, *texts):
    for text in texts:
        person.type(text)
        person.key(ENTER)


def told_by_judge(folder, capsys):
    run_command(["judge", str(folder), "--json"])
    return json.loads(capsys.readouterr().out)


def told_by_workbook(folder, target, capsys):
    """The sheet of readings: the line of each entry, by its column titles."""
    run_command(["report", str(folder), "--xlsx", str(target)])
    capsys.readouterr()
    lines = list(load_workbook(target)["Readings"].iter_rows(min_row=HEADER_ROW, values_only=True))
    return {line[0]: dict(zip(lines[0], line, strict=True)) for line in lines[1:] if isinstance(line[0], int)}
