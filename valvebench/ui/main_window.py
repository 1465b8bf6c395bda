"""The frame: strip on top, rail at the left, the pages; one session at a time."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QTimer, Signal
from PySide6.QtGui import QCloseEvent, QPaintEvent
from PySide6.QtWidgets import QWidget

from valvebench.model.errors import BenchError
from valvebench.model.words import JobKind
from valvebench.ui.archive.wiring import Archive
from valvebench.ui.behind import BEHIND, Behind
from valvebench.ui.drop_target import DropTarget
from valvebench.ui.errors import raised
from valvebench.ui.frame import (
    ARCHIVE,
    FINDINGS,
    FLEX,
    HAND,
    HEAT,
    IDENTIFY,
    JOB,
    LEAK,
    PINS,
    PORTS,
    START,
    TITLE,
    VARIANTS,
    FrameWindow,
)
from valvebench.ui.library.wiring import Variants
from valvebench.ui.opening import Opening
from valvebench.ui.parked import Parked
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.services import WindowServices
from valvebench.ui.session_pages import SessionPages
from valvebench.ui.session_words import asks_by_ear, asks_heat, check_words, job_title, write_strip
from valvebench.ui.set_up import SetUp, celsius_words_at, last_set_up
from valvebench.ui.start.drops import Dropped, Kind

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.bench.view import SessionView
    from valvebench.judge.session import SessionJudgement
    from valvebench.ui.editor.wiring import Editor
    from valvebench.ui.hand.wiring import Hand
    from valvebench.ui.job.view import JobPage
    from valvebench.ui.job.wiring import Job
    from valvebench.ui.keeper import Keeper
    from valvebench.ui.pins.presenter import PinsPresenter
    from valvebench.ui.pins.wiring import Beside
    from valvebench.ui.start.view import StartPage
    from valvebench.ui.start.wiring import Start

AGE_EVERY_MS: Final = 30_000


LATER: Final = "valvebench.ui.later"
"""Brought in beside the window once a session is open, so that no first visit to a page waits for it."""
LATER_MS: Final = 1_000
"""So long after the opening: until then the readings are judged, and nothing is to take their time."""


def _came(_: object) -> None:
    """Nothing to do: the next visit finds it."""


class MainWindow(FrameWindow):
    """Owns the open session and its pages."""

    session_opened = Signal()

    def __init__(self, services: WindowServices) -> None:
        super().__init__(services)
        self._services = services
        self.start: Start | None = None
        self.pins_page: PinsPage | None = None
        self.desk: Desk | None = None
        self.keeper: Keeper | None = None
        self.pins: PinsPresenter | None = None
        self.beside_pins: Beside | None = None
        self._job: Job | None = None
        self.hand: Hand | None = None
        self.variants = Variants(self, services)
        self.set_up = SetUp()
        self._to_open: Path | None = None
        self.folder: Path | None = None
        self.opening, self.later = Opening(self, services.glimpse_session), SessionPages(self, services)
        self.behind, self.parked = Behind(self, services), Parked(self, services)
        self.archive = Archive(self, services)
        self._age = QTimer(self)
        self._age.setInterval(AGE_EVERY_MS)
        self._age.timeout.connect(self._show_coil)
        self.rail.page_chosen.connect(self.show_page)
        self.add_shortcuts(
            editor=self.variants.show, start=self.show_start, in_hand=self.start_in_hand, archive=self.archive.show
        )
        DropTarget(self).dropped.connect(self._dropped)

    def show_trouble(self, sentence: str, details: str) -> None:
        """A fault of ours: nothing kept is lost, and the next entry can be kept."""
        if self.keeper is not None:
            self.keeper.let_go()
        self.trouble_line.show_trouble(sentence, details)

    # -- pages -----------------------------------------------------------------------------

    def show_start(self, words: str = "") -> None:
        """The ways in."""
        self.strip.hide()
        self.rail.hide()
        start = self._the_start()
        start.come_to_front(words, job=self.desk.job.job if self.desk is not None else None)
        self.pages.setCurrentWidget(self._scrolls[start.page])
        start.page.begin()

    def start_in_hand(self) -> None:
        """The way in without a variant."""
        self.show_start()
        self._the_start().page.hand.begin()

    def _the_start(self) -> Start:
        from valvebench.ui.start.wiring import Start

        if self.start is None:
            self.start = Start(
                self._services,
                self.settings,
                self.runner,
                open_with=self._open_with,
                at_hand=lambda: self.folder,
                back=self._back_to_session,
            )
            self.start.page.settings_asked.connect(self.asides.show_settings)
            self.start.page.keys_asked.connect(self.asides.show_keys)
            self.start.page.guide_asked.connect(self.asides.show_guide)
            self.start.page.variants_asked.connect(self.variants.show)
            self.start.page.archive_asked.connect(self.archive.show)
            self.add_page(self.start.page, START)
        return self.start

    @property
    def start_page(self) -> StartPage | None:
        """The page of the ways in, once it was shown."""
        return self.start.page if self.start is not None else None

    def _dropped(self, thing: Dropped) -> None:
        """What was dropped anywhere on the window goes where it belongs, or is refused in words."""
        if self.later.leak is not None and self.later.leak.takes_file(thing):
            return
        if self.variants.takes(thing):
            return
        if self.desk is None or thing.kind in {Kind.SESSION, Kind.BUNDLE}:
            self._the_start().presenter.dropped(thing)
        elif thing.kind is Kind.PHOTO and self.later.takes_photo(thing.path):
            pass
        elif thing.kind is Kind.PHOTO and (job := self.job) is not None:
            self.show_page(JOB)
            job.found.photo_named(thing.path)
        elif thing.kind is Kind.VARIANT:
            self.show_editor(thing.path)
        elif thing.kind is Kind.LOG and self.behind.takes(thing.path):
            pass
        elif thing.kind is Kind.LOG and self.rail.item(HEAT).isVisible():
            self.show_page(HEAT)
            if self.later.heat is not None:
                self.later.heat.taking.dropped(str(thing.path))
        else:
            self.trouble_line.show_words(thing.why)

    def guide_folder(self) -> Path:
        """Where the guide lies."""
        return self._services.guide_folder()

    def named_pages(self) -> list[tuple[str, QWidget]]:
        """The pages that are there, by their words."""
        pins = self.hand.page if self.hand is not None else self.pins_page
        pages: list[tuple[str, QWidget | None]] = [(JOB, self.job_page), (PINS, pins)]
        if self.desk is not None:
            in_rail = [
                word for word in (IDENTIFY, HEAT, PORTS, FINDINGS) if self.rail.item(word).isVisibleTo(self.rail)
            ]
            pages += [(word, self._page(word)) for word in in_rail]
        pages.append((FLEX, self.later.flex.page if self.later.flex is not None else None))
        pages.append((LEAK, self.later.pages.get(LEAK)))
        pages.append((START, self.start_page))
        pages += [*self.variants.pages(), *self.archive.pages()]
        return [*((word, page) for word, page in pages if page is not None), *self.behind.named()]

    def _back_to_session(self) -> None:
        if self.desk is not None:
            self.strip.show()
            self.rail.show()
            self.show_page(PINS)

    def show_page(self, word: str) -> None:
        """One of the pages of the rail."""
        if word in (VARIANTS, ARCHIVE):
            (self.variants.show_library if word == VARIANTS else self.archive.show)()
            return
        page = self._page(word)
        if page is not None:
            self.put_in_front(page, word)
            page.begin()

    def _page(self, word: str) -> Any:
        """The page of a word; those that come later are built at their first visit."""
        if word == PINS and self.hand is not None:
            return self.hand.page
        if word in (JOB, PINS):
            return self.pins_page if word == PINS else self.job_page
        return self.later.page(word)

    def put_in_front(self, page: QWidget, word: str) -> None:
        """A page beside those of the rail, under the word it belongs to."""
        self.rail.set_current(word)
        self.pages.setCurrentWidget(self._scrolls[page])

    @property
    def job_page(self) -> JobPage | None:
        """The Job page of the open session, built when somebody first asks for it."""
        return self.job.page if self.job is not None else None

    @property
    def job(self) -> Job | None:
        """Everything about the Job page of the open session, made when somebody first asks for it."""
        if self._job is None and self.desk is not None and self.keeper is not None and self.folder is not None:
            self._job = self._make_job(self.keeper, self.folder)
            self.add_page(self._job.page, JOB)
            self._job.start()
            if (judged := self.keeper.judgement()) is not None:
                self._job.show_judged(judged)
        return self._job

    def _make_job(self, keeper: Keeper, folder: Path) -> Job:
        from valvebench.ui.job.view import JobPage
        from valvebench.ui.job.wiring import Job
        from valvebench.ui.resistor import ResistorMemory

        job = Job(
            JobPage(),
            keeper,
            folder,
            self._services,
            runner=self.runner,
            exporter=self.exporter,
            suspects=self.later.leading.suspects(keeper.desk),
            set_up=self.set_up,
            set_up_changed=self._set_up_from_job,
            closed=self._session_closed,
            compared_with=self._compared_with,
            remembered=ResistorMemory(self.settings).now,
        )
        job.page.to_pins.connect(self._to_pins)
        self.behind.offer_on_job(job.page)
        job.page.suspects.go_to.connect(self.later.leading.to_test)
        return job

    def go_to(self, word: str, key: str) -> None:
        """A page, and the item on it that is meant."""
        if word == START:
            self.show_start()
            return
        if word in BEHIND:
            self.behind.show(word, key)
            return
        self.show_page(word)
        self.later.choose(word, key)

    def show_editor(self, path: Path | None = None) -> None:
        """The variant editor, on a file if one is named."""
        self.variants.show_editor(path)

    @property
    def editor(self) -> Editor | None:
        """The variant editor, once it was shown."""
        return self.variants.editor

    def variant_saved(self, path: Path) -> None:
        """Offer a variant that was just written to the next job."""
        self.variants.offer(path)

    def leave_variants(self) -> None:
        """Back from library or editor to the session at hand, else to the ways in."""
        if self.desk is None:
            self.show_start()
        else:
            self.show_page(PINS)

    def leave_archive(self) -> None:
        """Back from the archive to the session at hand, else to the ways in."""
        if self.desk is None:
            self.show_start()
        else:
            self._back_to_session()

    def begin_comeback(self, folder: Path, view: SessionView) -> None:
        """The form of a new job, filled in from the session that came back."""
        self.show_start()
        self._the_start().begin_comeback(folder, view)

    # -- sessions --------------------------------------------------------------------------

    def open_once_painted(self, folder: Path) -> None:
        """Show a first frame at once; the session is read after it."""
        self._to_open = folder
        self.opening.begin(folder)

    def paintEvent(self, event: QPaintEvent) -> None:
        """After the first frame open what waits."""
        super().paintEvent(event)
        folder, self._to_open = self._to_open, None
        if folder is not None:
            QTimer.singleShot(0, self, lambda: self.open_session(folder))

    def open_session(self, folder: Path) -> None:
        """Open a session beside the window and show it."""
        by = self.settings.now.by or None
        self._open_with(lambda: (folder, self._services.open_desk(folder, by=by)))

    def _open_with(self, work: Callable[[], tuple[Path, Desk]]) -> None:
        """Run work that ends in an open session; where it fails the session at hand stays open."""
        self.runner.run(work, done=lambda made: self.take_session(*made), failed=self._not_opened)

    def _not_opened(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self.opening.give_up()
        self.show_start(str(error))

    def take_session(self, folder: Path, desk: Desk) -> None:
        """Show a session that was opened beside the window; the one at hand is left."""
        from valvebench.ui.keeper import Keeper

        self.leave_session()
        words = self.start.opened(desk.session.head) if self.start is not None else ""
        self.desk, self.set_up, self.folder = desk, last_set_up(desk.session), folder
        self.keeper = Keeper(desk, self.runner)
        self.pins_page = self.opening.take() or self._new_pins_page()
        self.pins = self._make_pins(self.pins_page, self.keeper)
        if desk.variant is None:
            self._make_hand(self.keeper)
        self.strip.show()
        self.rail.show()
        self.rail.item(PORTS).setVisible(asks_by_ear(desk.variant))
        self.rail.item(HEAT).setVisible(asks_heat(desk.variant))
        self._show_strip(None)
        self.show_page(self._first_page(desk))
        self.pins.start()
        if words:
            self.trouble_line.show_words(words, is_problem=False)
        if self.hand is not None:
            self.hand.walk.start()
        self._age.start()
        QTimer.singleShot(LATER_MS, self, self._bring_in_later)
        about = " \u00b7 ".join(part for part in (desk.job.serial, desk.job.vehicle, folder.name) if part)
        self.settings.opened(folder, title=job_title(desk.job), about=about)
        self.session_opened.emit()

    def _first_page(self, desk: Desk) -> str:
        """An enquiry begins with what the part is; else the set-up is asked for before anything is read."""
        if desk.job.kind is JobKind.ENQUIRY and not desk.is_closed:
            return IDENTIFY
        return JOB if self.set_up.celsius is None and not desk.is_closed and self.hand is None else PINS

    def _bring_in_later(self) -> None:
        self.exporter.run(partial(import_module, LATER), done=_came, failed=raised)

    def _new_pins_page(self) -> PinsPage:
        page = PinsPage()
        self.add_page(page, PINS)
        return page

    def _make_pins(self, page: PinsPage, keeper: Keeper) -> PinsPresenter:
        from valvebench.ui.pins.flex_way import FlexWay
        from valvebench.ui.pins.presenter import PinsPresenter
        from valvebench.ui.pins.wiring import connect_pins
        from valvebench.ui.resistor import ResistorMemory

        page.set_variant(keeper.desk.variant)
        pins = PinsPresenter(
            page,
            keeper.desk,
            self.runner,
            set_up=self.set_up,
            set_up_changed=self._set_up_from_pins,
            changed=self._session_changed,
            keeper=keeper,
        )
        resistor = ResistorMemory(self.settings)
        resistor.watch(keeper)
        self.beside_pins = connect_pins(
            page,
            pins,
            keeper,
            runner=self.exporter,
            set_up_asked=self._to_set_up,
            set_up_changed=self._set_up_from_pins,
            changed=self._session_changed,
            remembered=resistor.now,
            to_findings=self.later.back_to_findings,
        )
        page.drawings_asked.connect(self._export_pictures)
        page.folder_asked.connect(self._show_pictures)
        FlexWay(page).asked.connect(self.later.show_flex)
        return pins

    def _make_hand(self, keeper: Keeper) -> None:
        """A body without a variant is walked over pin by pin, in place of pairs that nobody asks for."""
        from valvebench.ui.hand.wiring import Hand

        self.hand = Hand(
            keeper,
            self.runner,
            self._services,
            self.settings,
            set_up=self.set_up,
            set_up_changed=self._set_up_from_pins,
            frame=self,
        )
        self.add_page(self.hand.page, HAND)

    def check_with(self, path: Path) -> None:
        """A new bench check with a variant that was saved just now."""
        self.show_start()
        self._the_start().check_with(path)

    def _export_pictures(self) -> None:
        """Asked on the Pins page, which says what becomes of it and which keys stop it and show it."""
        if self.job is not None:
            self.job.export_pictures(self.tell_pins)

    def _show_pictures(self) -> None:
        if self.job is not None:
            self.job.show_in_folder(self.tell_pins)

    def tell_pins(self, words: str, is_problem: bool) -> None:  # noqa: FBT001  what an export tells
        """A line on Pins."""
        if self.pins_page is not None:
            self.pins_page.say(words, is_problem=is_problem)

    def _to_set_up(self) -> None:
        self.show_page(JOB)

    def _to_pins(self) -> None:
        """Only with a set-up that is right; else the field that is wrong keeps the keyboard."""
        if self._job is not None and self._job.set_up_typed(self._job.page.typed_set_up()):
            self.show_page(PINS)

    def _set_up_from_pins(self, set_up: SetUp) -> None:
        self.set_up = set_up
        if self._job is not None:
            self._job.show_set_up(set_up)
        self._session_changed()

    def _set_up_from_job(self, set_up: SetUp) -> None:
        self.set_up = set_up
        if self.pins is not None:
            self.pins.set_set_up(set_up)
        if self.hand is not None:
            self.hand.walk.set_set_up(set_up)
        self._session_changed()

    def _session_changed(self) -> None:
        judged = self.pins.judgement() if self.pins is not None else None
        self._show_strip(judged)
        if judged is not None and self._job is not None:
            self._job.show_judged(judged)

    def _session_closed(self) -> None:
        if self.pins is not None:
            self.pins.reload()
        if self.hand is not None:
            self.hand.walk.reload()

    def _show_strip(self, judged: SessionJudgement | None) -> None:
        if self.desk is None:
            return
        self.setWindowTitle(f"{job_title(self.desk.job)} \u2014 {TITLE}")
        write_strip(self.strip, self.desk, judged)
        check = self.pins.check_now() if self.pins is not None else None
        self.strip.set_cell("meter", self.set_up.meter_text(), f"{check_words(check)}{self.set_up.leads_text()}")
        self._show_coil()
        if judged is not None:
            done = len(judged.wanted) - len(judged.missing)
            self.rail.set_progress(PINS, f"{done}/{len(judged.wanted)}" if judged.wanted else "")

    def _show_coil(self) -> None:
        """Coil temperature with its age."""
        if self.desk is not None:
            is_closed = self.desk.is_closed
            words = self.set_up.celsius_words() if is_closed else celsius_words_at(self.set_up, self.desk.now())
            self.strip.set_cell("coil", *words)

    def leave_session(self) -> None:
        """Let everything on its way reach the disk, then let others open the session."""
        self._age.stop()
        self.later.stop()
        if self._job is not None:
            self._job.suspects.left()
        for runner in (self.runner, self.exporter):
            runner.forget()
        self.thinker.drop()
        self.archive.session_left()
        if self.desk is not None:
            self.desk.release()
        job_page = self._job.page if self._job is not None else None
        hand_page = self.hand.page if self.hand is not None else None
        for page in (job_page, self.pins_page, hand_page, *self.later.take_out()):
            if page is not None:
                self.remove_page(page)
        self.behind.forget()
        self.folder = None
        self.desk = self.keeper = self.pins = self.beside_pins = self._job = self.hand = self.pins_page = None

    def _compared_with(self) -> Path | None:
        """The session that Findings shows beside this one."""
        return self.later.comparing.folder if self.later.comparing is not None else None

    def closeEvent(self, event: QCloseEvent) -> None:
        """Nothing of a session waits for Save; a variant that is not saved is asked about."""
        if self.editor is not None and self.editor.presenter.is_changed:
            event.ignore()
            self.show_editor()
            self.editor.presenter.leave(self._close_for_good)
            return
        self.leave_session()
        self.archive.stop()
        super().closeEvent(event)

    def _close_for_good(self) -> None:
        """After the editor was saved or given up."""
        self.variants.editor = None
        self.close()
