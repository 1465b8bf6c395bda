"""A person at the window, until somebody kills the program: types readings without end and tells what was kept.

python window_child.py [SESSION]: without a session it goes on with the one opened last, as the first page offers it.
Says "open N SECONDS" once N entries stand there, then "kept HASH" for each entry that the window counts as kept.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from valvebench import compose
from valvebench.ui import app as ui_app
from valvebench.ui.main_window import MainWindow

BEGUN = time.monotonic()
EVERY_MS = 5


class Typist:
    """Types whenever the window takes a reading."""

    def __init__(self, window: MainWindow, *, goes_on: bool) -> None:
        self.window, self._goes_on, self._said = window, goes_on, 0
        self._timer = QTimer(window)
        self._timer.timeout.connect(self.step)
        self._timer.start(EVERY_MS)

    def step(self) -> None:
        """Ask for the session opened last, tell what is new, type the next reading."""
        window = self.window
        if self._goes_on and window.desk is None:
            page = window.start_page
            if page is not None and page.open._recent.count():
                self._goes_on = False
                page.last_asked.emit()
            return
        if window.desk is None or window.keeper is None or window.keeper.book is None:
            return
        self._tell()
        page = window.pins_page
        if page is not None and not window.keeper.is_busy:
            window.show_page("Pins")
            page.begin()
            page.field.clear()
            entry = QApplication.focusWidget() or page.field
            QTest.keyClicks(entry, "5.24")
            QTest.keyClick(entry, Qt.Key.Key_Enter)

    def _tell(self) -> None:
        entries = self.window.desk.session.entries if self.window.desk is not None else ()
        if not self._said:
            say(f"open {len(entries)} {time.monotonic() - BEGUN:.3f}")
        elif len(entries) > self._said:
            for entry in entries[self._said :]:
                say(f"kept {entry.sha256}")
        self._said = len(entries)


def say(line: str) -> None:
    os.write(1, f"{line}\n".encode())


def main() -> None:
    """Type until killed."""
    app = ui_app.application()
    named = [Path(word) for word in sys.argv[1:]]
    window = ui_app.make_window(compose.Program(), named[0] if named else None)
    window.show()
    window.activateWindow()
    typist = Typist(window, goes_on=not named)
    assert typist.window is window
    app.exec()


if __name__ == "__main__":
    main()
