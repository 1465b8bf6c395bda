"""The world fails while the window is open: the same job twice, another program, a disk that takes nothing."""

from __future__ import annotations

import errno
import os
import shutil
from functools import partial

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from valvebench.archive import session_folder
from valvebench.archive.session_folder import JOURNAL_NAME
from valvebench.archive.verify import verify
from valvebench.ui.widgets.table import MARK_HEAD, Table

CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def at_work(open_window, sample):
    folder = sample("in-work")
    person = open_window(folder)
    person.folder = folder
    person.journal = folder / JOURNAL_NAME
    return person


def refused(person, text: str) -> str:
    """Type a reading that cannot be kept: what is said of it."""
    before = len(person.entries)
    person.pins.begin()
    person.pins.field.clear()
    person.type(text)
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: person.pins.field.error() != "" and not person.window.keeper.is_busy)
    assert len(person.entries) == before, "it must not count"
    assert person.pins.field.text() == text, "what was typed stays"
    return person.pins.field.error()


# -- the same job twice ------------------------------------------------------------------------


def test_a_job_that_is_open_is_not_opened_a_second_time(at_work, open_window):
    other = open_window()
    other.window.open_session(at_work.folder)
    other.wait(lambda: "open in another window" in other.window.start_page._said.words())
    assert "Close it there" in other.window.start_page._said.words()
    assert other.window.desk is None
    count = len(at_work.entries)
    at_work.pins.kept.emit("5.24")
    at_work.wait(lambda: len(at_work.entries) == count + 1 and not at_work.window.keeper.is_busy)
    at_work.window.leave_session()
    other.window.open_session(at_work.folder)
    other.wait(lambda: other.window.desk is not None)


# -- another program ---------------------------------------------------------------------------


def test_what_another_program_adds_to_the_journal_is_noticed_before_anything_is_written(at_work):
    sound = at_work.journal.read_bytes()
    at_work.journal.write_bytes(sound + b"a line of an editor\n")
    words = refused(at_work, "5.24")
    assert "another program has changed this file" in words
    assert "put its journal back" in words
    at_work.journal.write_bytes(sound)
    at_work.pins.field.clear()
    at_work.keep("5.24")
    assert verify(at_work.folder).ok


def test_a_journal_that_was_replaced_under_our_hands_takes_nothing_that_nobody_would_find(at_work):
    """As programs that sync do: the file we hold is no longer the one of that name."""
    copy = at_work.folder / "copy"
    shutil.copyfile(at_work.journal, copy)
    copy.replace(at_work.journal)
    assert "another program has changed this file" in refused(at_work, "5.24")
    assert verify(at_work.folder).ok


def test_a_journal_that_went_is_said_in_words(at_work):
    aside = at_work.folder / "aside"
    at_work.journal.rename(aside)
    assert "not saved" in refused(at_work, "5.24")
    aside.rename(at_work.journal)
    at_work.pins.field.clear()
    at_work.keep("5.24")
    assert verify(at_work.folder).ok


# -- the disk ----------------------------------------------------------------------------------


def test_a_full_disk_keeps_the_value_in_the_field_and_goes_on_when_there_is_room(at_work, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(session_folder, "write_all", full)
        words = refused(at_work, "5.24")
    assert "Make room" in words
    at_work.pins.field.clear()
    at_work.keep("5.24")
    assert verify(at_work.folder).ok


def test_a_folder_for_reading_only_is_said_on_the_way_in(open_window, sample, monkeypatch):
    folder, person, plain = sample("in-work"), open_window(), os.open

    def read_only(path, flags, *more, **named):
        if flags & (os.O_RDWR | os.O_WRONLY) and str(path).startswith(str(folder)):
            raise OSError(errno.EROFS, os.strerror(errno.EROFS))
        return plain(path, flags, *more, **named)

    monkeypatch.setattr(os, "open", read_only)
    person.window.open_session(folder)
    person.wait(lambda: "cannot be written to" in person.window.start_page._said.words())
    assert "Choose a folder that can" in person.window.start_page._said.words()
    assert person.window.desk is None


# -- copying rows ------------------------------------------------------------------------------


def tables_of(window):
    """Every table that lists something, each on its page."""
    ways = [partial(window.show_page, word) for word in window.rail.pages()]
    for show in (*ways, window.show_editor):
        show()
        window.runner.wait()
        QApplication.processEvents()
        for table in window.pages.currentWidget().findChildren(Table):
            if table.isVisible() and table.model().rowCount():
                yield table


def test_rows_of_every_table_are_copied_under_their_headings(open_window, sample):
    """Lines of one length, parted by tabs, as a spreadsheet takes them."""
    person = open_window(sample("grows-with-heat"))
    seen = []
    for table in tables_of(person.window):
        table.setFocus()
        table.selectRow(0)
        QGuiApplication.clipboard().clear()
        person.key(Qt.Key.Key_C, CTRL)
        lines = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
        heads = [table.model().headerData(n, Qt.Orientation.Horizontal) or "" for n in range(len(lines[0]))]
        assert len(lines) == 2, table.accessibleName()
        assert len(lines[0]) == len(lines[1]) == table.model().columnCount()
        assert [head for head in lines[0] if head not in ("", MARK_HEAD)] == [head for head in heads if head]
        seen.append(table.accessibleName())
    assert {"Readings", "What was heard", "What is missing"} <= set(seen)


def test_no_table_takes_the_clipboard_away_when_nothing_is_selected(open_window, sample):
    person = open_window(sample("grows-with-heat"))
    QGuiApplication.clipboard().setText("what was there")
    person.pins.table.clearSelection()
    person.pins.table.setFocus()
    person.key(Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "what was there"
