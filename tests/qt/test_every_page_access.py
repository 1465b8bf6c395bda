"""What a screen reader and the keyboard meet on every page: snapshots, names, roles, and the way of Tab."""

from __future__ import annotations

import re

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractItemView, QApplication, QComboBox, QTableView, QTextBrowser, QWidget

from tests import access_tree
from tests.every_page import TELLING_JOBS, StoppedProgram, job_names, open_on, pages_of_job, pages_without_job
from valvebench.ui.widgets.rows_model import RowsModel

WRITE_ANEW = "python -m tests.access_tree writes them anew; read the difference before it is committed"
_GENERIC = {"Client", "NoRole", "Window", "Pane"}
_WORDS = re.compile(r"[^\W\d_]{2,}")
MOST_STOPS = 200
JOBS = [
    None,
    *(job if job in TELLING_JOBS else pytest.param(job, marks=pytest.mark.study, id=job) for job in job_names()),
]


def pages(window, job):
    return pages_without_job(window) if job is None else pages_of_job(window)


def test_every_page_reads_out_as_on_file(qapp, tmp_path):
    """A page that is new has no file yet, a page that is gone still has one: both are differences."""
    trees = dict(access_tree.every_tree(tmp_path))
    differences = [access_tree.difference(name, tree) for name, tree in trees.items()]
    gone = sorted({path.stem for path in access_tree.FOLDER.glob("*.txt")} - trees.keys())
    differing = "\n\n".join(difference for difference in differences if difference)
    assert not differing, f"{differing}\n\n{WRITE_ANEW}"
    assert not gone, f"no such page any more: {gone}\n{WRITE_ANEW}"


def test_a_table_of_many_rows_is_told_in_a_few_lines(qtbot, tmp_path):
    model = RowsModel(("One", "Two"), lambda row: (str(row), "x"), lambda _: "")
    model.set_rows(range(10_000))
    table = QTableView()
    qtbot.addWidget(table)
    table.setAccessibleName("Many")
    table.setModel(model)
    assert len(access_tree.tree_of(table, tmp_path).splitlines()) == 3 + access_tree.MOST_ROWS


def takes_tab(widget: QWidget) -> bool:
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.isEnabled() and widget.focusProxy() is None


def controls(window) -> list[QWidget]:
    """Everything in sight that the keyboard can come to, the editor of a pick-list counted with its list."""
    found = [widget for widget in window.findChildren(QWidget) if widget.isVisible() and not widget.isWindow()]
    return [w for w in found if takes_tab(w) and not isinstance(w.parentWidget(), QComboBox | QAbstractItemView)]


def faults_of(widget: QWidget) -> list[str]:
    interface = QAccessible.queryAccessibleInterface(widget)
    name, role = interface.text(QAccessible.Text.Name), interface.role().name
    faults = [f"generic role {role}"] if role in _GENERIC else []
    # A pick-list tells its value as its name under Linux; there its label is told by a relation.
    name = widget.accessibleName() if isinstance(widget, QComboBox) else name
    if not _WORDS.search(name):
        faults.append(f"its name {name!r} says nothing")
    if isinstance(widget, QComboBox) and not any(r[1] & QAccessible.RelationFlag.Label for r in interface.relations()):
        faults.append("no label is joined to it")
    return [f"{type(widget).__name__} {name!r}: {fault}" for fault in faults]


@pytest.mark.parametrize("job", JOBS, ids=str)
def test_whatever_takes_the_keyboard_says_what_it_is(qapp, tmp_path, job):
    with open_on(StoppedProgram(tmp_path), job) as window:
        faults = [
            (shown.name, fault)
            for shown in pages(window, job)
            for widget in controls(window)
            for fault in faults_of(widget)
        ]
    assert faults == []


def walk(key, start: QWidget) -> list[QWidget]:
    """Where a key leads, until it comes round."""
    start.setFocus(Qt.FocusReason.TabFocusReason)
    stops = []
    for _ in range(MOST_STOPS):
        here = QApplication.focusWidget()
        if stops and here is stops[-1] and isinstance(here, QTextBrowser):  # it walks from link to link
            QTest.keyClick(here, key)
            continue
        if stops and here is stops[0]:
            return stops
        if here in stops:
            raise AssertionError(f"{key} never leaves {[access_tree.line_of(s) for s in stops[stops.index(here) :]]}")
        stops.append(here)
        QTest.keyClick(here, key)
    raise AssertionError(f"{key} does not come round: {[access_tree.line_of(stop) for stop in stops]}")


def names(widgets) -> list[str]:
    return sorted(access_tree.line_of(widget) for widget in widgets)


@pytest.mark.parametrize("job", JOBS, ids=str)
def test_tab_reaches_everything_and_shift_tab_goes_the_same_way_back(qapp, tmp_path, job):
    with open_on(StoppedProgram(tmp_path), job) as window:
        for shown in pages(window, job):
            start = controls(window)[0]
            forth = walk(Qt.Key.Key_Tab, start)
            assert names(forth) == names(controls(window)), shown.name
            back = walk(Qt.Key.Key_Backtab, start)
            assert [forth[0], *reversed(forth[1:])] == back, shown.name
            tables = [stop for stop in forth if isinstance(stop, QAbstractItemView)]
            assert len(tables) == len(set(tables)), shown.name
