"""Pages that are reached from another page by a key, and left for it again: pressures at taps, sweeps."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple, Protocol

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QStackedWidget, QWidget

from valvebench.ui.frame import FINDINGS, JOB, PORTS, SWEEP, TAPS
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import WindowServices
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.rail import Rail

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.ui.job.view import JobPage
    from valvebench.ui.keeper import Keeper
    from valvebench.ui.ports.view import PortsPage

BEHIND: Final = (TAPS, SWEEP)
TAPS_KEY, SWEEP_KEY = "F7", "F8"
_KEYS: Final = {TAPS: (TAPS_KEY, "taps", "Pressures at taps"), SWEEP: (SWEEP_KEY, "sweep", "Sweep of a solenoid")}


class Frame(Protocol):
    """What the window lends."""

    rail: Rail
    pages: QStackedWidget
    exporter: QtRunner
    desk: Desk | None
    keeper: Keeper | None

    def add_page(self, page: QWidget, name: str) -> None:
        """A page that can be shown."""
        ...

    def remove_page(self, page: QWidget) -> None:
        """A page that is gone."""
        ...

    def bring_forward(self, page: QWidget) -> None:
        """Show a page."""
        ...

    def show_page(self, word: str) -> None:
        """Show a page of the rail."""
        ...


class Made(NamedTuple):
    """A page with who decides for it."""

    page: Any
    presenter: Any


class Behind(QObject):
    """Makes such a page at its first visit, and knows where one came from."""

    def __init__(self, frame: Any, services: WindowServices) -> None:
        super().__init__(frame)
        self._frame: Frame = frame
        self._services = services
        self.made: dict[str, Made] = {}
        self._from = JOB

    def offer_on_job(self, page: JobPage) -> None:
        """What is read in the vehicle, beside what else was found there."""
        self._offer(page, page.found, TAPS)

    def offer_on_ports(self, page: PortsPage) -> None:
        """Everything, beside the fields at the bench."""
        self._offer(page, page.fields, *BEHIND)

    def _offer(self, page: QWidget, card: Card, *words: str) -> None:
        """Keys of a page that lead here, with their caps in the head of a card."""
        for word in words:
            key, short, what = _KEYS[word]
            cap = KeyCap(key, short)
            card.head.addWidget(cap)
            cap.clicked.connect(self._opens(word))
            add_page_keys(page, (key, self._opens(word), what))

    def _opens(self, word: str) -> Callable[[], None]:
        return lambda: self.show(word)

    def show(self, word: str, key: str = "") -> None:
        """One of the pages, and the item on it that is meant."""
        frame = self._frame
        if frame.desk is None or frame.keeper is None:
            return
        if word not in self.made:
            made = self.made[word] = self._make(word, frame.desk, frame.keeper)
            made.page.left.connect(self.back)
            frame.add_page(made.page, word)
        shown = frame.rail.current()
        self._from = shown if shown in (JOB, PORTS, FINDINGS) else self._from
        frame.bring_forward(self.made[word].page)
        if key:
            self.made[word].presenter.choose(key)
        self.made[word].page.begin()

    def _make(self, word: str, desk: Desk, keeper: Keeper) -> Made:
        if word == TAPS:
            from valvebench.ui.taps.wiring import make as make_taps

            return Made(*make_taps(desk, keeper))
        from valvebench.ui.sweep.wiring import make as make_sweep

        return Made(*make_sweep(desk, keeper, reader=self._frame.exporter, files=self._services.air_files()))

    def back(self) -> None:
        """To where one came from."""
        self._frame.show_page(self._from)

    def takes(self, path: Path) -> bool:
        """Whether a file that was dropped belongs to the page in front."""
        made = self.made.get(SWEEP)
        if made is None or not made.page.isVisible():
            return False
        made.presenter.file_named(str(path))
        return True

    def named(self) -> list[tuple[str, QWidget]]:
        """The pages that are there, by their words."""
        return [(word, made.page) for word, made in self.made.items()]

    def forget(self) -> None:
        """The session is left."""
        for made in self.made.values():
            self._frame.remove_page(made.page)
        self.made, self._from = {}, JOB
