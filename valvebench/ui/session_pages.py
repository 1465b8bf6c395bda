"""The pages of the open session that are built at their first visit."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from PySide6.QtWidgets import QWidget

from valvebench.ui.frame import FINDINGS, FLEX, HEAT, IDENTIFY, PINS, PORTS
from valvebench.ui.leading import Leading
from valvebench.ui.pins.keys import BY_ROUNDS
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import WindowServices
from valvebench.ui.settings import SettingsHolder

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.ui import later
    from valvebench.ui.archive.wiring import Archive
    from valvebench.ui.behind import Behind
    from valvebench.ui.findings.comparing import ComparingPresenter
    from valvebench.ui.findings.explaining import ExplainPresenter
    from valvebench.ui.flex.wiring import Flex
    from valvebench.ui.heat.wiring import Heat
    from valvebench.ui.identify.wiring import Identify
    from valvebench.ui.keeper import Keeper
    from valvebench.ui.leak.wiring import Leak
    from valvebench.ui.pins.plan import Pair
    from valvebench.ui.set_up import SetUp


class Window(Protocol):
    """What the window lends: the open session, and where pages are put and shown."""

    desk: Desk | None
    keeper: Keeper | None
    pins: Any
    beside_pins: Any
    runner: QtRunner
    exporter: QtRunner
    thinker: QtRunner
    settings: SettingsHolder
    folder: Path | None
    set_up: SetUp
    behind: Behind
    archive: Archive

    @property
    def job(self) -> Any:
        """Everything about the Job page."""
        ...

    @property
    def later(self) -> Any:
        """These pages, for those who lead to them."""
        ...

    def add_page(self, page: QWidget, name: str) -> None:
        """A page more."""
        ...

    def show_page(self, word: str) -> None:
        """A page of the rail."""
        ...

    def put_in_front(self, page: QWidget, word: str) -> None:
        """A page beside those of the rail, under the word it belongs to."""
        ...

    def tell_pins(self, words: str, is_problem: bool) -> None:  # noqa: FBT001  what an export tells
        """A line on Pins."""
        ...

    def take_session(self, folder: Path, desk: Desk) -> None:
        """Show a session that was opened beside the window."""
        ...

    def go_to(self, word: str, key: str) -> None:
        """A page, and the item on it that is meant."""
        ...


class SessionPages:
    """Builds a page when somebody first asks for it, finds what is meant on it, forgets all with the session."""

    def __init__(self, window: Window, services: WindowServices) -> None:
        self._window, self._services = window, services
        self.leading = Leading(window, services)
        self._makers: dict[str, Callable[[Desk, Keeper], later.Made]] = {
            IDENTIFY: self._make_identify,
            HEAT: self._make_heat,
            PORTS: self._make_ports,
            FINDINGS: self._make_findings,
        }
        self._forget()

    def _forget(self) -> None:
        self.pages: dict[str, QWidget] = {}
        self.presenters: dict[str, Any] = {}
        self.comparing: ComparingPresenter | None = None
        self.explaining: ExplainPresenter | None = None
        self.identify: Identify | None = None
        self.heat: Heat | None = None
        self.flex: Flex | None = None
        self.leak: Leak | None = None

    def page(self, word: str) -> Any:
        """The page of a word, built at its first visit; None where there is none."""
        desk, keeper = self._window.desk, self._window.keeper
        if word not in self.pages and word in self._makers and desk is not None and keeper is not None:
            made = self._makers[word](desk, keeper)
            made.page.go_to.connect(self._window.go_to)
            self.pages[word], self.presenters[word] = made.page, made.presenter
            self._window.add_page(made.page, word)
        return self.pages.get(word)

    def _make_identify(self, _: Desk, keeper: Keeper) -> later.Made:
        from valvebench.ui import later

        self.identify = later.identify(keeper, self._services, self._window)
        return later.Made(self.identify.page, self.identify.presenter)

    def takes_photo(self, path: Path) -> bool:
        """Whether a photo that was dropped belongs to the feature in front."""
        if self.identify is None or not self.identify.page.isVisible():
            return False
        self.identify.presenter.photos.named(path)
        return True

    def _make_heat(self, desk: Desk, keeper: Keeper) -> later.Made:
        from valvebench.ui import later

        made, self.heat = later.heat(desk, keeper, reader=self._window.exporter, files=self._services.heat_files())
        return made

    def _make_ports(self, desk: Desk, keeper: Keeper) -> later.Made:
        from valvebench.ui import later

        made = later.ports(desk, keeper, self._window.runner)
        self._window.behind.offer_on_ports(made.page)
        self.leak = later.leak(made, desk, keeper, frame=self._window, files=self._services.air_files())
        return made

    def _make_findings(self, desk: Desk, keeper: Keeper) -> later.Made:
        from valvebench.ui import later
        from valvebench.ui.findings.comparing import World

        window = self._window
        world = World(window.folder or Path(), self._services.view_session, window.settings.recent_sessions)
        made, self.comparing, self.explaining = later.findings(
            desk, keeper, runner=window.exporter, world=world, explains=self.leading.explains(desk)
        )
        window.archive.bring_earlier(desk, self.comparing.chosen)
        return made

    def back_to_findings(self) -> None:
        """From the reading that was asked for: what comes next has the keyboard."""
        self._window.show_page(FINDINGS)
        if self.explaining is not None:
            self.explaining.come_back()

    def show_flex(self, pair: Pair | None = None) -> None:
        """The flex test of a pair, else of the one that stands on Pins."""
        window = self._window
        if window.desk is None or window.keeper is None or window.pins is None:
            return
        if self.flex is None:
            from valvebench.ui import later

            files = self._services.flex_files()
            self.flex = later.flex(window.desk, window.keeper, reader=window.exporter, files=files)
            self.flex.page.gone.connect(self._back_from_flex)
            window.add_page(self.flex.page, FLEX)
        window.put_in_front(self.flex.page, PINS)
        self.flex.presenter.begin(pair or window.pins.pair, window.set_up)
        self.flex.page.begin()

    def _back_from_flex(self, words: str) -> None:
        self._window.show_page(PINS)
        if words:
            self._window.tell_pins(words, False)

    def choose(self, word: str, key: str) -> None:
        """The item that is meant on a page which stands in front."""
        if word == PORTS and self.leak is not None and self.leak.takes(key):
            return
        if word != PINS:
            presenter = self.presenters.get(word)
            if key and presenter is not None:
                presenter.choose(key)
        else:
            self._choose_on_pins(key)

    def _choose_on_pins(self, key: str) -> None:
        pins, beside = self._window.pins, self._window.beside_pins
        if key and beside is not None:
            beside.asked.end()
        if key == BY_ROUNDS:
            if beside is not None and not beside.rounds.is_on:
                beside.rounds.start()
        elif (pair := self._flexed_pair(key)) is not None:
            self.show_flex(pair)
        elif beside is not None and beside.opens(key):
            return
        elif key and pins is not None:
            pins.choose(key)

    def _flexed_pair(self, key: str) -> Pair | None:
        """The pair of a flex test; None for every other item."""
        from valvebench.ui.findings.flex_shown import is_flex
        from valvebench.ui.pins.plan import Pair

        book = self._window.keeper.book if self._window.keeper is not None else None
        rows = book.rows_of_item(key) if book is not None and is_flex(key) else ()
        return next((Pair(row.from_node, row.to_node) for row in rows if row.from_node and row.to_node), None)

    def stop(self) -> None:
        """What is only read or explained need not come to its end."""
        if self.identify is not None:
            self.identify.presenter.left()
        if self.heat is not None:
            self.heat.leave()
        if self.explaining is not None:
            self.explaining.left()

    def take_out(self) -> list[QWidget]:
        """Every page that was built, for the window to throw away; none is left here."""
        gone = [*self.pages.values()]
        if self.flex is not None:
            gone.append(self.flex.page)
        self._forget()
        return gone
