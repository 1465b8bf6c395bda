"""The page of sweeps in the real window: dropped, pasted, drawn and kept; values are invented."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from tests.page_looks import problems_of
from tests.unit.ui.test_sweep_presenter import table
from valvebench.model.words import Verdict
from valvebench.ui.frame import PORTS
from valvebench.ui.start.drops import what_is

ENTER, DELETE = Qt.Key.Key_Enter, Qt.Key.Key_Delete


@pytest.fixture
def person(open_window, sample):
    made = open_window(sample("in-work"))
    made.window.show_page(PORTS)
    made.key(Qt.Key.Key_F8)
    made.wait(lambda: page(made).plot.drawing is not None)
    return made


def page(person):
    return person.window.behind.made["Sweep"].page


def drawn(person):
    """Readings up and down, and the points of the joint curve."""
    drawing = page(person).plot.drawing
    return tuple(len(item.getData()[0]) for item in (drawing._up, drawing._down, drawing._middle))


def test_a_pasted_table_is_drawn_and_kept_by_keyboard_alone(person):
    QGuiApplication.clipboard().setText(table(separator="\t"))
    before = len(person.entries)
    person.key(Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    person.wait(page(person).keep_button.isEnabled)
    assert drawn(person)[:2] == (21, 21)
    assert drawn(person)[2] > 100
    assert page(person).said_card.headline.text().startswith("Pass: hysteresis")
    assert list(problems_of(person.window)) == []
    person.key(ENTER)
    person.wait(lambda: len(person.entries) == before + 1 and not person.window.keeper.is_busy)
    assert page(person).model.row(0).verdict is Verdict.PASS
    assert person.window.keeper.book.verdict_of("sweep Gull") is Verdict.PASS
    page(person).table.setFocus()
    page(person).table.setCurrentIndex(page(person).model.index(0, 0))
    person.key(DELETE)
    person.wait(lambda: page(person).model.rowCount() == 0)


def test_a_dropped_file_goes_to_the_page_in_front_and_elsewhere_it_does_not(person, tmp_path):
    path = tmp_path / "drop.csv"
    path.write_text(table(40.0), "utf-8")
    person.window._dropped(what_is([path]))
    person.wait(page(person).keep_button.isEnabled)
    assert page(person).said_card.headline.text().startswith("Fail: hysteresis")
    person.key(Qt.Key.Key_Escape)
    assert not person.window.behind.takes(path)


def test_a_file_is_chosen_by_its_key(person, tmp_path):
    path = tmp_path / "chosen.csv"
    path.write_text(table(), "utf-8")
    page(person).ask_for_sweep = lambda _: str(path)
    person.key(Qt.Key.Key_F6)
    person.wait(page(person).keep_button.isEnabled)
