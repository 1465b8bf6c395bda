"""Pressures at taps in the real window, at the keyboard; values are invented."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from tests.page_looks import problems_of
from valvebench.model.words import Verdict
from valvebench.ui.frame import FINDINGS, JOB, PORTS
from valvebench.ui.shortcuts import keys_of

ENTER, ESC, F7, F8 = Qt.Key.Key_Enter, Qt.Key.Key_Escape, Qt.Key.Key_F7, Qt.Key.Key_F8


@pytest.fixture
def person(open_window, sample):
    made = open_window(sample("in-work"))
    made.window.show_page(PORTS)
    made.key(F7)
    return made


def page(person):
    return person.window.behind.made["Taps"].page


def lines(person):
    model = page(person).model
    return [model.row(place) for place in range(model.rowCount())]


def keep(person, kpa, celsius):
    """Value, Enter, temperature, Enter: the keyboard goes on by itself."""
    before = len(person.entries)
    person.type(kpa)
    person.key(ENTER)
    person.type(celsius)
    person.key(ENTER)
    person.wait(lambda: len(person.entries) == before + 1 and not person.window.keeper.is_busy)


def test_every_window_is_read_by_the_number_block_alone(person):
    assert page(person).field.entry.hasFocus()
    keep(person, "435", "78")
    keep(person, "1190", "81")
    assert page(person).fluid.text() == "81"
    person.type("512")
    person.key(ENTER)
    assert page(person).fluid.entry.selectedText() == "81"
    person.type("24")
    assert page(person)._sentence.text().startswith("Pass: 512.0")
    person.key(ENTER)
    person.wait(lambda: lines(person)[2].verdict is Verdict.PASS)
    keep(person, "1010", "81")
    person.wait(lambda: lines(person)[3].verdict is Verdict.FAIL)
    assert [line.verdict for line in lines(person)[:3]] == [Verdict.PASS] * 3
    assert list(problems_of(person.window)) == []
    person.key(ESC)
    assert person.window.rail.current() == PORTS
    assert person.window.later.pages[PORTS].isVisible()


def test_an_entry_is_corrected_and_taken_back_from_the_table(person):
    keep(person, "390", "78")
    page(person).table.setFocus()
    person.key(Qt.Key.Key_Home)
    page(person).table.setCurrentIndex(page(person).model.index(0, 0))
    person.key(ENTER)
    assert (page(person).field.text(), page(person).field.entry.hasFocus()) == ("390", True)
    page(person).field.entry.selectAll()
    keep(person, "435", "78")
    person.wait(lambda: lines(person)[0].verdict is Verdict.PASS)
    assert person.entries[-1].kind == "correct"
    page(person).table.setFocus()
    page(person).table.setCurrentIndex(page(person).model.index(0, 0))
    person.key(Qt.Key.Key_Delete)
    person.wait(lambda: lines(person)[0].verdict is Verdict.NOT_TAKEN)


def test_reached_from_job_and_from_findings_and_left_for_where_one_was(person):
    keep(person, "300", "78")
    person.window.show_page(JOB)
    person.key(F7)
    assert page(person).isVisible()
    person.key(ESC)
    assert person.window.job_page.isVisible()
    person.window.show_page(FINDINGS)
    person.window.later.pages[FINDINGS].go_to.emit("Taps", "tap Line (load, 60 to 100 \u00b0C)")
    assert (page(person).isVisible(), page(person).state.text()) == (True, "load")
    person.key(ESC)
    assert person.window.later.pages[FINDINGS].isVisible()


def test_another_session_has_pages_of_its_own(person, sample):
    old = page(person)
    person.window.open_session(sample("healthy-spare"))
    person.wait(lambda: person.window.behind.made == {})
    person.wait(lambda: person.window.desk is not None and person.window.desk.is_closed)
    person.window.show_page(PORTS)
    person.window.behind.show("Taps")
    assert page(person) is not old
    assert not page(person).field.isEnabled()


def test_the_keys_are_in_the_overview(person):
    shown = {key.words for key in keys_of(PORTS, person.window.later.pages[PORTS])}
    assert {"Pressures at taps", "Sweep of a solenoid"} <= shown
    person.key(ESC)
    person.key(F8)
    assert person.window.behind.made["Sweep"].page.isVisible()
