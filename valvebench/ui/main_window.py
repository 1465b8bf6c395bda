"""The frame: strip on top, rail at the left, the pages; one session at a time."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from valvebench.bench.desk import Desk
from valvebench.judge.session import SessionJudgement
from valvebench.model.errors import BenchError
from valvebench.physics.arithmetic import SCALAR
from valvebench.ui import fonts
from valvebench.ui.asides import Asides
from valvebench.ui.drop_target import DropTarget
from valvebench.ui.job.view import JobPage
from valvebench.ui.job.wiring import Job
from valvebench.ui.keeper import Keeper
from valvebench.ui.pins.presenter import PinsPresenter
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import WindowServices
from valvebench.ui.session_words import asks_by_ear, write_strip
from valvebench.ui.set_up import SetUp, celsius_words_at, last_set_up
from valvebench.ui.settings import SettingsHolder
from valvebench.ui.shortcuts import add_shortcut
from valvebench.ui.start.drops import Dropped, Kind
from valvebench.ui.start.view import StartPage
from valvebench.ui.start.wiring import Start
from valvebench.ui.trouble_line import TroubleLine
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.scroll import ScrollPage
from valvebench.ui.widgets.strip import Strip
from valvebench.ui.widgets.text import Text

if TYPE_CHECKING:
    from valvebench.ui.editor.wiring import Editor

JOB: Final = "Job"
PINS: Final = "Pins"
PORTS: Final = "Ports"
FINDINGS: Final = "Findings"
VARIANTS: Final = "Variants"
START: Final = "Start"
TITLE: Final = "valvebench"
ZOOM_STEP: Final = 1.1
WARM_UP_AFTER_MS: Final = 1000
AGE_EVERY_MS: Final = 30_000


class MainWindow(QMainWindow):
    """Owns the open session and its pages."""

    def __init__(self, services: WindowServices) -> None:
        super().__init__()
        self._services = services
        self.runner, self.exporter = QtRunner(self), QtRunner(self)
        self.strip, self.rail, self.pages = (
            Strip(),
            Rail([JOB, PINS, PORTS, FINDINGS], foot=[VARIANTS]),
            QStackedWidget(),
        )
        self.trouble_line = TroubleLine()
        self.settings = SettingsHolder(services.settings_file(), self.runner, say=self.trouble_line.show_words)
        self.settings.load()
        self.start: Start | None = None
        self.job_page: JobPage | None = None
        self.pins_page: PinsPage | None = None
        self.desk: Desk | None = None
        self.keeper: Keeper | None = None
        self.pins: PinsPresenter | None = None
        self.job: Job | None = None
        self.later_pages: dict[str, QWidget] = {}
        self._presenters: dict[str, Any] = {}
        self.editor: Editor | None = None
        self._set_up = SetUp()
        self._to_open: Path | None = None
        self._folder: Path | None = None
        self._scrolls: dict[QWidget, ScrollPage] = {}
        self.asides = Asides(self)
        self._age = QTimer(self)
        self._build()

    def _build(self) -> None:
        self.setWindowTitle(TITLE)
        whole = QWidget()
        column, row = QVBoxLayout(whole), QHBoxLayout()
        for layout in (column, row):
            layout.setContentsMargins(0, 0, 0, 0)
            layout.setSpacing(0)
        column.addWidget(self.strip)
        row.addWidget(self.rail)
        row.addWidget(self.pages, 1)
        column.addLayout(row, 1)
        self.setCentralWidget(whole)
        column.addWidget(self.trouble_line)
        self.rail.page_chosen.connect(self.show_page)
        self._add_shortcuts()
        DropTarget(self).dropped.connect(self._dropped)
        self._age.setInterval(AGE_EVERY_MS)
        self._age.timeout.connect(self._show_coil)
        self.resize(1280, 800)
        if self.settings.problem:
            self.trouble_line.show_words(self.settings.problem)

    def _add_shortcuts(self) -> None:
        for keys, act, words in (
            ("Ctrl++", self._zoom_in, "Larger"),
            ("Ctrl+=", self._zoom_in, ""),
            ("Ctrl+-", self._zoom_out, "Smaller"),
            ("Ctrl+0", self._zoom_reset, "Size as drawn"),
            ("Ctrl+Shift+L", self.asides.next_palette, "Next colours: light, dark, high contrast"),
            ("Ctrl+E", self.show_editor, "Variant editor"),
            ("Ctrl+,", self.asides.show_settings, "Settings"),
            ("Ctrl+/", self.asides.show_keys, "This overview of keys"),
            ("F1", self.asides.show_guide, "The guide for the page in front"),
            ("Ctrl+Q", self.close, "Leave the program"),
        ):
            add_shortcut(self, keys, act, words)
        # The editor has the same keys for its own files: two that answer would mean that none does.
        ways_in = (("Ctrl+N", "New job"), ("Ctrl+O", "Open another session"))
        self._ways_in = [add_shortcut(self, keys, self.show_start, words) for keys, words in ways_in]
        self.pages.currentChanged.connect(self._page_changed)

    def _page_changed(self) -> None:
        is_editor = self.editor is not None and self.pages.currentWidget() is self._scrolls.get(self.editor.page)
        for shortcut in self._ways_in:
            shortcut.setEnabled(not is_editor)

    def _zoom_in(self) -> None:
        self.asides.change_zoom(fonts.zoom.factor * ZOOM_STEP)

    def _zoom_out(self) -> None:
        self.asides.change_zoom(fonts.zoom.factor / ZOOM_STEP)

    def _zoom_reset(self) -> None:
        self.asides.change_zoom(1.0)

    def show_trouble(self, sentence: str, details: str) -> None:
        """A fault of ours: nothing kept is lost, and the next entry can be kept."""
        if self.keeper is not None:
            self.keeper.let_go()
        self.trouble_line.show_trouble(sentence, details)

    # -- pages -----------------------------------------------------------------------------

    def _add(self, page: QWidget, name: str) -> None:
        """A page scrolls where the window is smaller than it needs."""
        scroll = ScrollPage(page, name=name)
        self._scrolls[page] = scroll
        self.pages.addWidget(scroll)

    def show_start(self, words: str = "") -> None:
        """The ways in."""
        self.strip.hide()
        self.rail.hide()
        start = self._the_start()
        start.come_to_front(words, job=self.desk.job.job if self.desk is not None else None)
        self.pages.setCurrentWidget(self._scrolls[start.page])
        start.page.begin()

    def _the_start(self) -> Start:
        if self.start is None:
            self.start = Start(
                self._services,
                self.settings,
                self.runner,
                open_with=self._open_with,
                at_hand=lambda: self._folder,
                back=self._back_to_session,
            )
            self.start.page.settings_asked.connect(self.asides.show_settings)
            self.start.page.keys_asked.connect(self.asides.show_keys)
            self._add(self.start.page, START)
        return self.start

    @property
    def start_page(self) -> StartPage | None:
        """The page of the ways in, once it was shown."""
        return self.start.page if self.start is not None else None

    def _dropped(self, thing: Dropped) -> None:
        """What was dropped anywhere on the window goes where it belongs, or is refused in words."""
        if self.desk is None or thing.kind is Kind.SESSION:
            self._the_start().presenter.dropped(thing)
        elif thing.kind is Kind.PHOTO and self.job is not None:
            self.show_page(JOB)
            self.job.found.photo_named(thing.path)
        elif thing.kind is Kind.VARIANT:
            self.show_editor(thing.path)
        else:
            self.trouble_line.show_words(thing.why)

    def guide_folder(self) -> Path:
        """Where the guide lies."""
        return self._services.guide_folder()

    def named_pages(self) -> list[tuple[str, QWidget]]:
        """The pages that are there, by their words."""
        pages: list[tuple[str, QWidget | None]] = [(JOB, self.job_page), (PINS, self.pins_page)]
        if self.desk is not None:
            pages += [(word, self._page(word)) for word in (PORTS, FINDINGS) if self.rail.item(word).isVisible()]
        pages.append((VARIANTS, self.editor.page if self.editor is not None else None))
        return [(word, page) for word, page in pages if page is not None]

    def _back_to_session(self) -> None:
        if self.desk is not None:
            self.strip.show()
            self.rail.show()
            self.show_page(PINS)

    def show_page(self, word: str) -> None:
        """One of the pages of the rail."""
        if word == VARIANTS:
            self.show_editor()
            return
        page = self._page(word)
        if page is not None:
            self.rail.set_current(word)
            self.pages.setCurrentWidget(self._scrolls[page])
            page.begin()

    def _page(self, word: str) -> Any:
        """The page of a word; those that come later are built at their first visit."""
        if word in (JOB, PINS):
            return self.pins_page if word == PINS else self.job_page
        if word not in self.later_pages and self.desk is not None and self.keeper is not None:
            self._add(self._make_later(word, self.desk, self.keeper), word)
        return self.later_pages.get(word)

    def _make_later(self, word: str, desk: Desk, keeper: Keeper) -> QWidget:
        from valvebench.ui import later

        made = later.ports(desk, keeper) if word == PORTS else later.findings(desk, keeper)
        made.page.go_to.connect(self.go_to)
        self.later_pages[word] = made.page
        self._presenters[word] = made.presenter
        page: QWidget = made.page
        return page

    def go_to(self, word: str, key: str) -> None:
        """A page, and the item on it that is meant."""
        if word == START:
            self.show_start()
            return
        self.show_page(word)
        presenter = self.pins if word == PINS else self._presenters.get(word)
        if key and presenter is not None:
            presenter.choose(key)

    def show_editor(self, path: Path | None = None) -> None:
        """The variant editor, on a file if one is named."""
        from valvebench.ui.editor.wiring import Editor

        if self.editor is None:
            self.editor = Editor(self._services.variant_files(), self.runner, saved=self._variant_saved)
            self.editor.page.left.connect(self._back_from_editor)
            self._add(self.editor.page, VARIANTS)
        self.rail.set_current(VARIANTS)
        self.pages.setCurrentWidget(self._scrolls[self.editor.page])
        if path is not None:
            self.editor.presenter.open(path)

    def _variant_saved(self, _: Path) -> None:
        if self.start_page is not None:
            self.start_page.show_variants(self._services.variants())

    def _back_from_editor(self) -> None:
        if self.desk is None:
            self.show_start()
        else:
            self.show_page(PINS)

    # -- sessions --------------------------------------------------------------------------

    def open_once_painted(self, folder: Path) -> None:
        """Show a first frame at once; the session is read after it."""
        self._to_open = folder
        self.strip.hide()
        self.rail.hide()
        words = Text(f"Opening {folder.name} \u2026", size_px=17, muted=True)
        words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.pages.addWidget(words)

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
        self.runner.run(work, done=lambda made: self._opened(*made), failed=self._not_opened)

    def _not_opened(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self.show_start(str(error))

    def _opened(self, folder: Path, desk: Desk) -> None:
        self.leave_session()
        self.desk, self._set_up = desk, last_set_up(desk.session)
        self.keeper = Keeper(desk, self.runner)
        self.job_page, self.pins_page = JobPage(), PinsPage()
        self._add(self.job_page, JOB)
        self._add(self.pins_page, PINS)
        self._make_presenters(folder, desk, self.keeper)
        self.strip.show()
        self.rail.show()
        self.rail.item(PORTS).setVisible(asks_by_ear(desk.variant))
        self._show_strip(None)
        self.show_page(JOB if self._set_up.celsius is None and not desk.is_closed else PINS)
        if self.pins is not None and self.job is not None:
            self.job.start()
            self.pins.start()
        self._folder = folder
        self._age.start()
        about = " \u00b7 ".join(part for part in (desk.job.serial, desk.job.vehicle, folder.name) if part)
        self.settings.opened(folder, title=f"Job {desk.job.job}", about=about)
        QTimer.singleShot(WARM_UP_AFTER_MS, self, self._warm_up)

    def _warm_up(self) -> None:
        """Load what the first repeated reading will need, beside the window, so that it does not stall there."""
        if self.desk is not None:
            self.runner.run(lambda: SCALAR.t_quantile(0.5, 1.0), done=_leave, failed=_leave)

    def _make_presenters(self, folder: Path, desk: Desk, keeper: Keeper) -> None:
        if self.job_page is None or self.pins_page is None:
            return
        self.pins_page.set_variant(desk.variant)
        self.pins = PinsPresenter(
            self.pins_page,
            desk,
            self.runner,
            set_up=self._set_up,
            set_up_changed=self._set_up_from_pins,
            changed=self._session_changed,
            keeper=keeper,
        )
        self.job = Job(
            self.job_page,
            keeper,
            folder,
            self._services,
            runner=self.runner,
            exporter=self.exporter,
            set_up=self._set_up,
            set_up_changed=self._set_up_from_job,
            closed=self._session_closed,
        )
        self._connect_pins(self.pins_page, self.pins)
        self.job_page.to_pins.connect(self._to_pins)

    def _connect_pins(self, page: PinsPage, presenter: PinsPresenter) -> None:
        page.typed.connect(presenter.typed)
        page.kept.connect(presenter.keep)
        page.opened.connect(presenter.keep_open)
        page.previous_asked.connect(presenter.previous)
        page.skip_asked.connect(presenter.skip)
        page.pin_chosen.connect(presenter.pin_chosen)
        page.undo_asked.connect(presenter.undo)
        page.redo_asked.connect(presenter.redo)
        page.withdrawn.connect(presenter.withdraw)
        page.set_up_asked.connect(self._to_set_up)

    def _to_set_up(self) -> None:
        self.show_page(JOB)

    def _to_pins(self) -> None:
        """Only with a set-up that is right; else the field that is wrong keeps the keyboard."""
        if self.job is not None and self.job_page is not None and self.job.set_up_typed(self.job_page.typed_set_up()):
            self.show_page(PINS)

    def _set_up_from_pins(self, set_up: SetUp) -> None:
        self._set_up = set_up
        if self.job is not None:
            self.job.show_set_up(set_up)
        self._session_changed()

    def _set_up_from_job(self, set_up: SetUp) -> None:
        self._set_up = set_up
        if self.pins is not None:
            self.pins.set_set_up(set_up)
        self._session_changed()

    def _session_changed(self) -> None:
        judged = self.pins.judgement() if self.pins is not None else None
        self._show_strip(judged)
        if judged is not None and self.job is not None:
            self.job.show_judged(judged)

    def _session_closed(self) -> None:
        if self.pins is not None:
            self.pins.reload()

    def _show_strip(self, judged: SessionJudgement | None) -> None:
        if self.desk is None:
            return
        self.setWindowTitle(f"Job {self.desk.job.job} \u2014 {TITLE}")
        write_strip(self.strip, self.desk, judged)
        self.strip.set_cell("meter", self._set_up.meter_text(), self._set_up.leads_text())
        self._show_coil()
        if judged is not None:
            done = len(judged.wanted) - len(judged.missing)
            self.rail.set_progress(PINS, f"{done}/{len(judged.wanted)}" if judged.wanted else "")

    def _show_coil(self) -> None:
        """Coil temperature with its age."""
        if self.desk is not None:
            is_closed = self.desk.is_closed
            words = self._set_up.celsius_words() if is_closed else celsius_words_at(self._set_up, self.desk.now())
            self.strip.set_cell("coil", *words)

    def leave_session(self) -> None:
        """Let everything on its way reach the disk, then let others open the session."""
        self._age.stop()
        for runner in (self.runner, self.exporter):
            runner.forget()
        if self.desk is not None:
            self.desk.release()
        for page in (self.job_page, self.pins_page, *self.later_pages.values()):
            if page is not None:
                scroll = self._scrolls.pop(page)
                self.pages.removeWidget(scroll)
                scroll.deleteLater()
        self._folder = None
        self.desk = self.keeper = self.pins = self.job = self.job_page = self.pins_page = None
        self.later_pages, self._presenters = {}, {}

    def closeEvent(self, event: QCloseEvent) -> None:
        """Nothing of a session waits for Save; a variant that is not saved is asked about."""
        if self.editor is not None and self.editor.presenter.is_changed:
            event.ignore()
            self.show_editor()
            self.editor.presenter.leave(self._close_for_good)
            return
        self.leave_session()
        super().closeEvent(event)

    def _close_for_good(self) -> None:
        """After the editor was saved or given up."""
        self.editor = None
        self.close()


def _leave(_: object) -> None:
    """Nothing follows: whoever needs it meets the failure again."""
