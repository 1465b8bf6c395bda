"""A table of entries at the keyboard: open, take back; invented lines."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget

from valvebench.ui.widgets.entry_table import EntryTable
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind

ENTER, RETURN, DELETE = Qt.Key.Key_Enter, Qt.Key.Key_Return, Qt.Key.Key_Delete


@dataclass(frozen=True)
class Line:
    """Number 7 is an entry, the other a line that waits for one."""

    number: int


class Page(QWidget):
    """Hears what its table hands on."""

    def __init__(self):
        super().__init__()
        self.keys = []

    def keyPressEvent(self, event):  # noqa: N802  Qt's name
        self.keys.append(event.key())


@pytest.fixture(params=[True, False], ids=["opens", "opens nothing"])
def table(qtbot, request):
    page = Page()
    qtbot.addWidget(page)
    made = EntryTable((Column(kind=Kind.TEXT),), name="Lines", parent=page, opens=request.param)
    model = RowsModel(("Line",), lambda row: (str(row.number),), lambda _: "", made)
    model.set_rows([Line(7), Line(-1)])
    made.setModel(model)
    made.page, made.does_open, made.told = page, request.param, []
    made.opened.connect(lambda number: made.told.append(("opened", number)))
    made.withdrawn.connect(lambda number: made.told.append(("withdrawn", number)))
    return made


def press(table, row, *keys):
    """Keys on a line; what is told of them."""
    table.setCurrentIndex(table.model().index(row, 0))
    for key in keys:
        QTest.keyClick(table, key)
    return table.told


def test_delete_takes_an_entry_back_and_nothing_else(table):
    assert press(table, 0, DELETE) == [("withdrawn", 7)]
    assert press(table, 1, DELETE) == [("withdrawn", 7)]
    assert table.page.keys == []


def test_enter_opens_any_line_once_and_is_used_up(table):
    told = press(table, 0, ENTER, RETURN) and press(table, 1, ENTER)
    if table.does_open:
        assert told == [("opened", 7), ("opened", 7), ("opened", -1)]
        assert table.page.keys == []
    else:
        assert told == []


def test_a_double_click_opens_too(table):
    place = table.visualRect(table.model().index(0, 0)).center()
    QTest.mouseClick(table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    QTest.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert table.told == ([("opened", 7)] if table.does_open else [])


def test_without_a_line_nothing_is_told(table):
    table.setCurrentIndex(table.model().index(-1, -1))
    for key in (DELETE, ENTER):
        QTest.keyClick(table, key)
    table.withdraw_current()
    assert table.told == []
