"""What stands in the window while a session is read: its last readings unjudged, else its name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt

from valvebench.bench.glimpse import Glimpse
from valvebench.ui.frame import HEAT, PINS, PORTS, FrameWindow
from valvebench.ui.pins.glimpsed import show_glimpse
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.session_words import asks_by_ear, asks_heat, write_job, write_judging
from valvebench.ui.widgets.text import Text

GLIMPSE_MS: Final = 50
"""So long the first picture may wait for a look into the journal; a slow disk gets the name alone."""


class Opening:
    """The way from the name of a folder to its open session."""

    def __init__(self, frame: FrameWindow, glimpse: Callable[[Path], Glimpse | None]) -> None:
        self._frame = frame
        self._glimpse = glimpse
        self.page: PinsPage | None = None
        """What stands there of a session that is not open yet."""

    def begin(self, folder: Path) -> None:
        """Show what a first look tells; nothing can be typed before the whole session was read and proved."""
        seen: Glimpse | None = self._frame.runner.soon(lambda: self._glimpse(folder), within_ms=GLIMPSE_MS)
        if seen is None or seen.variant is None or not seen.readings:
            self._show_name(folder.name)
        else:
            self._show_readings(seen)

    def _show_name(self, name: str) -> None:
        self._frame.strip.hide()
        self._frame.rail.hide()
        words = Text(f"Opening {name} \u2026", size_px=17, muted=True)
        words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._frame.pages.addWidget(words)

    def _show_readings(self, seen: Glimpse) -> None:
        frame, self.page = self._frame, PinsPage()
        frame.add_page(self.page, PINS)
        show_glimpse(self.page, seen)
        write_job(frame.strip, seen.job, seen.variant)
        write_judging(frame.strip)
        frame.rail.item(PORTS).setVisible(asks_by_ear(seen.variant))
        frame.rail.item(HEAT).setVisible(asks_heat(seen.variant))
        frame.rail.set_current(PINS)
        frame.rail.setEnabled(False)
        frame.bring_forward(self.page)

    def take(self) -> PinsPage | None:
        """The page that stands there already, for the session that is open now."""
        page, self.page = self.page, None
        self._frame.rail.setEnabled(True)
        return page

    def give_up(self) -> None:
        """The session could not be opened: what was seen of it goes."""
        page = self.take()
        if page is not None:
            self._frame.remove_page(page)
