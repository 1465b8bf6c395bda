"""Whole windows on sessions in a temporary folder, and how a person at the keyboard meets them."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.patience import PATIENCE_MS
from valvebench import compose
from valvebench.archive.archives import Archives
from valvebench.archive.kept_file import KeptFile
from valvebench.bench.library import Library
from valvebench.ui import app as ui_app
from valvebench.ui import fonts, theme
from valvebench.ui.main_window import MainWindow


class PatientBot(QtBot):
    """Waits as long as a busy machine may need, where a test names no time of its own."""

    def waitUntil(self, callback, *, timeout: int = PATIENCE_MS) -> None:  # noqa: N802  the library's name
        super().waitUntil(callback, timeout=timeout)

    def waitSignal(self, signal, *, timeout: int = PATIENCE_MS, **more):  # noqa: N802  the library's name
        return super().waitSignal(signal, timeout=timeout, **more)

    def waitExposed(self, widget, *, timeout: int = PATIENCE_MS):  # noqa: N802  the library's name
        return super().waitExposed(widget, timeout=timeout)


@pytest.fixture
def qtbot(qapp, request) -> PatientBot:
    return PatientBot(request)


class TemporaryProgram(compose.Program):
    """The real program, its jobs folder moved."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def settings_file(self) -> KeptFile:
        return KeptFile(self._folder / "settings" / "settings.json")

    def jobs_folder(self) -> Path:
        return self._folder

    def library(self, folder: str) -> Library:
        return compose.library(folder or str(self._folder / "own variants"))

    def variants_folder(self, folder: str) -> Path:
        return compose.variants_folder(folder or str(self._folder / "own variants"))

    def archives(self) -> Archives:
        return Archives(self._folder / "archive", clock=compose.SystemClock(), open_desk=compose.open_desk)

    def work_on_sample(self, folder: Path, root: Path) -> Path:
        copy = self._folder / folder.name
        shutil.copytree(folder, copy)
        return copy


class Person:
    """Sits at the keyboard of one window."""

    def __init__(self, qtbot, window: MainWindow) -> None:
        self.qtbot, self.window = qtbot, window

    def wait(self, is_so) -> None:
        self.qtbot.waitUntil(is_so, timeout=PATIENCE_MS)

    def key(self, key, modifier=Qt.KeyboardModifier.NoModifier) -> None:
        """One key, where the keyboard is."""
        QTest.keyClick(QApplication.focusWidget() or self.window, key, modifier)

    def type(self, text: str) -> None:
        """Signs, where the keyboard is."""
        QTest.keyClicks(QApplication.focusWidget(), text)

    def keep(self, text: str) -> None:
        """Type a reading and Enter, then wait until it counts."""
        count = len(self.entries)
        self.type(text)
        self.key(Qt.Key.Key_Enter)
        self.wait(lambda: len(self.entries) == count + 1 and not self.window.keeper.is_busy)

    @property
    def entries(self):
        return self.window.desk.session.entries

    @property
    def pins(self):
        return self.window.pins_page

    @property
    def job(self):
        return self.window.job_page

    def judged(self) -> bool:
        window = self.window
        if window.keeper is None or window.keeper.book is None:
            return False
        model = window.pins_page.model
        return window.pins_page.field.isEnabled() or (model.rowCount() > 0 and model.row(0).verdict is not None)


@pytest.fixture(autouse=True)
def dressed(qapp):
    ui_app.application()
    fonts.set_zoom(1.0)
    yield
    fonts.set_zoom(1.0)
    theme.apply(qapp, "light")


@pytest.fixture
def program(tmp_path):
    return TemporaryProgram(tmp_path)


@pytest.fixture
def open_window(qtbot, program):
    """Open the window, with a session or without; it is closed and gone at the end."""
    made: list[MainWindow] = []

    def open_it(folder: Path | None = None) -> Person:
        window = ui_app.make_window(program, folder)
        made.append(window)
        with qtbot.waitExposed(window):
            window.show()
        window.activateWindow()
        person = Person(qtbot, window)
        if folder is not None:
            person.wait(person.judged)
        return person

    yield open_it
    for window in made:
        window.close()
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def sample(tmp_path):
    """A copy of a sample session to work on, by the end of its name."""

    def copy(name: str) -> Path:
        (source,) = (compose.data_folder() / "sample_sessions").glob(f"*{name}")
        folder = tmp_path / source.name
        shutil.copytree(source, folder)
        return folder

    return copy
