"""Makes the leak page at its first visit, leads to it from Ports and back."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from time import monotonic
from typing import Any, Final, Protocol

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from valvebench.bench.air_log import AirFiles
from valvebench.bench.desk import Desk
from valvebench.ui.errors import raised
from valvebench.ui.frame import LEAK, PORTS
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.leak.holes import hole_at, meant_by
from valvebench.ui.leak.presenter import LeakPresenter
from valvebench.ui.leak.view import LeakPage
from valvebench.ui.ports.presenter import PortsPresenter
from valvebench.ui.ports.view import PortsPage
from valvebench.ui.start.drops import Dropped, Kind


class Ports(Protocol):
    """The page of ports, and who decides for it."""

    @property
    def page(self) -> PortsPage:
        """The page."""
        ...

    @property
    def presenter(self) -> PortsPresenter:
        """Who decides for it."""
        ...


HEAVY: Final = "valvebench.diagnose.leak_decay"
"""Brings in arrays: the worker does that, so that no key waits for it."""
NO_PORT_ASKED: Final = "A leak is measured at a port or a seat: go to one first."


class Frame(Protocol):
    """What the window lends."""

    rail: Any
    exporter: Any
    later: Any

    def add_page(self, page: QWidget, name: str) -> None:
        """A page that scrolls where the window is small."""
        ...

    def bring_forward(self, page: QWidget) -> None:
        """Show a page that is in the window."""
        ...

    def show_page(self, word: str) -> None:
        """One of the pages of the rail."""
        ...


class Leak(QObject):
    """The page with who decides for it, made at its first visit; the way from a port to it and back."""

    def __init__(self, ports: Ports, desk: Desk, keeper: Keeper, *, frame: Frame, files: AirFiles) -> None:
        super().__init__(ports.page)
        self._ports, self._desk, self._keeper = ports, desk, keeper
        self._frame, self._files = frame, files
        self.page: LeakPage | None = None
        self.presenter: LeakPresenter | None = None
        ports.page.leak_asked.connect(self.show_asked)
        reader: Runs = frame.exporter
        reader.run(partial(import_module, HEAVY), done=_came, failed=raised)

    def show_asked(self) -> None:
        """The port that Ports asks about, or the seat of the solenoid."""
        if not self.takes(self._ports.presenter.leak_at_hand()):
            self._ports.page.say(NO_PORT_ASKED, is_problem=True)

    def show(self, name: str, *, is_seat: bool = False) -> None:
        """Measure the leak of a port, or of the seat of a solenoid."""
        page, presenter = self._made()
        self._frame.rail.set_current(PORTS)
        self._frame.bring_forward(page)
        presenter.begin(name, is_seat=is_seat)
        page.begin()

    def _made(self) -> tuple[LeakPage, LeakPresenter]:
        if self.page is None or self.presenter is None:
            page = LeakPage()
            self.page, reader = page, self._frame.exporter
            self.presenter = LeakPresenter(
                page,
                self._desk,
                self._keeper,
                reader=reader,
                files=self._files,
                now=monotonic,
                limited=self._ports.presenter.limited,
            )
            _connect(page, self.presenter)
            page.gone.connect(self._back)
            self._frame.add_page(page, LEAK)
            self._frame.later.pages[LEAK] = page
        return self.page, self.presenter

    def takes(self, item: str) -> bool:
        """Show the port or seat of an item such as `leak P6` or `seat Heron`; whether it is one."""
        meant = meant_by(item)
        if meant is None:
            return False
        name, is_seat = meant
        if is_seat and hole_at(self._desk.variant, name, is_seat=True) is None:
            return False
        self.show(name, is_seat=is_seat)
        return True

    def takes_file(self, thing: Dropped) -> bool:
        """A file that is dropped while the page is in front is a file of its test; whether it was."""
        if thing.kind is not Kind.LOG or self.page is None or not self.page.isVisible() or self.presenter is None:
            return False
        self.presenter.file_named(str(thing.path))
        return True

    def _back(self, item: str, words: str) -> None:
        self._frame.show_page(PORTS)
        if item:
            self._ports.presenter.choose(item)
        if words:
            self._ports.page.say(words)


def _connect(page: LeakPage, presenter: LeakPresenter) -> None:
    """Every signal of the page to what it asks for."""
    page.typed.connect(presenter.typed)
    page.kept.connect(presenter.keep)
    page.previous_asked.connect(presenter.previous_line)
    page.following_asked.connect(presenter.following_line)
    page.line_chosen.connect(presenter.line_chosen)
    page.remove_asked.connect(presenter.remove)
    page.port_asked.connect(presenter.next_port)
    page.supply_limited.connect(presenter.supply_limited)
    page.step_done.connect(presenter.step_done)
    page.blank_taken.connect(presenter.blank_taken)
    page.method_chosen.connect(presenter.method_chosen)
    page.set_up_typed.connect(presenter.set_up_typed)
    page.file_named.connect(presenter.file_named)
    page.undo_asked.connect(presenter.taking_back.undo)
    page.redo_asked.connect(presenter.taking_back.redo)
    page.ticked.connect(presenter.tick)
    page.left.connect(presenter.left)


def _came(_: object) -> None:
    """Nothing to do: it is there."""
