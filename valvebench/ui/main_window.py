"""The frame: strip on top, rail at the left, the pages; one session at a time."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QCloseEvent, QKeySequence, QPaintEvent, QShortcut
from PySide6.QtWidgets import QHBoxLayout, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from valvebench.bench.desk import Desk
from valvebench.judge.session import SessionJudgement
from valvebench.model.errors import BenchError
from valvebench.model.words import Verdict
from valvebench.physics.arithmetic import SCALAR
from valvebench.ui import fonts, theme
from valvebench.ui.job.presenter import JobPresenter
from valvebench.ui.job.view import JobPage
from valvebench.ui.keeper import Keeper
from valvebench.ui.pins.presenter import PinsPresenter
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import WindowServices
from valvebench.ui.session_words import asks_by_ear, folder_name, variant_words, verdict_words
from valvebench.ui.set_up import SetUp, last_set_up
from valvebench.ui.start.view import StartPage
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


class MainWindow(QMainWindow):
    """Owns the open session and its pages."""

    def __init__(self, services: WindowServices) -> None:
        super().__init__()
        self._services = services
        self.runner = QtRunner(self)
        self.strip, self.rail, self.pages = (
            Strip(),
            Rail([JOB, PINS, PORTS, FINDINGS], foot=[VARIANTS]),
            QStackedWidget(),
        )
        self.start_page: StartPage | None = None
        self.job_page: JobPage | None = None
        self.pins_page: PinsPage | None = None
        self.desk: Desk | None = None
        self.keeper: Keeper | None = None
        self.pins: PinsPresenter | None = None
        self.job: JobPresenter | None = None
        self.later_pages: dict[str, QWidget] = {}
        self._presenters: dict[str, Any] = {}
        self.editor: Editor | None = None
        self._set_up = SetUp()
        self._to_open: Path | None = None
        self._scrolls: dict[QWidget, ScrollPage] = {}
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
        self.rail.page_chosen.connect(self.show_page)
        for keys, act in (
            ("Ctrl++", self._zoom_in),
            ("Ctrl+=", self._zoom_in),
            ("Ctrl+-", self._zoom_out),
            ("Ctrl+0", self._zoom_reset),
            ("Ctrl+Shift+L", theme.apply_next),
            ("Ctrl+E", self.show_editor),
        ):
            QShortcut(QKeySequence(keys), self).activated.connect(act)
        self.resize(1280, 800)

    def _zoom_in(self) -> None:
        fonts.set_zoom(min(2.0, fonts.zoom.factor * ZOOM_STEP))

    def _zoom_out(self) -> None:
        fonts.set_zoom(max(0.8, fonts.zoom.factor / ZOOM_STEP))

    def _zoom_reset(self) -> None:
        fonts.set_zoom(1.0)

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
        if self.start_page is None:
            page = self.start_page = StartPage()
            page.show_samples(self._services.sample_jobs())
            page.show_variants(self._services.variants())
            page.open_asked.connect(self.open_session)
            page.sample_asked.connect(self._open_sample)
            page.job_asked.connect(self._make_job)
            self._add(page, "Start")
        self.start_page.say(words, is_problem=bool(words))
        self.pages.setCurrentWidget(self._scrolls[self.start_page])
        self.start_page.begin()

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
        self._open(folder, lambda: self._services.open_desk(folder))

    def _open_sample(self, folder: Path) -> None:
        def work() -> tuple[Path, Desk]:
            copy = self._services.work_on_sample(folder)
            return copy, self._services.open_desk(copy)

        self.runner.run(work, done=lambda made: self._opened(*made), failed=self._not_opened)

    def _make_job(self, asked: tuple[dict[str, Any], Path | None]) -> None:
        job, variant = asked
        folder = self._services.jobs_folder() / folder_name(job.get("job", ""))
        self._open(folder, lambda: self._services.create_job(folder, job, variant=variant))

    def _open(self, folder: Path, work: Callable[[], Desk]) -> None:
        self.runner.run(work, done=lambda desk: self._opened(folder, desk), failed=self._not_opened)

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
        self._make_presenters(folder, desk, self.job_page, self.pins_page)
        self.job_page.workbook.set_text(str(folder.with_suffix(".xlsx")))
        self.strip.show()
        self.rail.show()
        self.rail.item(PORTS).setVisible(asks_by_ear(desk.variant))
        self._show_strip(None)
        self.show_page(JOB if self._set_up.celsius is None and not desk.session.is_closed else PINS)
        if self.pins is not None and self.job is not None:
            self.job.start()
            self.pins.start()
        QTimer.singleShot(WARM_UP_AFTER_MS, self, self._warm_up)

    def _warm_up(self) -> None:
        """Load what the first repeated reading will need, beside the window, so that it does not stall there."""
        if self.desk is not None:
            self.runner.run(lambda: SCALAR.t_quantile(0.5, 1.0), done=_leave, failed=_leave)

    def _make_presenters(self, folder: Path, desk: Desk, job_page: JobPage, pins_page: PinsPage) -> None:
        pins_page.set_variant(desk.variant)
        self.pins = PinsPresenter(
            pins_page,
            desk,
            self.runner,
            set_up=self._set_up,
            set_up_changed=self._set_up_from_pins,
            changed=self._session_changed,
            keeper=self.keeper,
        )
        self.job = JobPresenter(
            job_page,
            desk,
            folder,
            self.runner,
            self._services,
            set_up=self._set_up,
            set_up_changed=self._set_up_from_job,
            closed=self._session_closed,
        )
        self._connect_pins(pins_page, self.pins)
        self._connect_job(job_page, self.job)

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

    def _connect_job(self, page: JobPage, presenter: JobPresenter) -> None:
        page.set_up_typed.connect(presenter.set_up_typed)
        page.to_pins.connect(self._to_pins)
        page.close_asked.connect(presenter.close)
        page.export_asked.connect(presenter.export)
        page.verify_asked.connect(presenter.verify)

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
        job, variant = self.desk.session.job, self.desk.variant
        self.setWindowTitle(f"Job {job.job} \u2014 {TITLE}")
        where = " \u00b7 ".join(
            part for part in (job.vehicle, f"body serial {job.serial}" if job.serial else None) if part
        )
        self.strip.set_cell("job", f"Job {job.job}", where or job.kind.value.replace("_", " "))
        self.strip.set_cell("variant", *(variant_words(variant) if variant is not None else ("No variant", "")))
        self.strip.set_cell("meter", self._set_up.meter_text(), self._set_up.leads_text())
        self.strip.set_cell("coil", *self._set_up.celsius_words())
        if judged is None:
            self.strip.set_verdict(Verdict.NOT_FINISHED, "Judging \u2026", "")
            return
        saved = "Closed" if self.desk.session.is_closed else "All kept"
        head, sub = verdict_words(judged)
        self.strip.set_verdict(judged.verdict, head, f"{saved} \u00b7 {sub}")
        done = len(judged.wanted) - len(judged.missing)
        self.rail.set_progress(PINS, f"{done}/{len(judged.wanted)}" if judged.wanted else "")

    def leave_session(self) -> None:
        """Let everything on its way reach the disk, then let others open the session."""
        self.runner.forget()
        if self.desk is not None:
            self.desk.release()
        for page in (self.job_page, self.pins_page, *self.later_pages.values()):
            if page is not None:
                scroll = self._scrolls.pop(page)
                self.pages.removeWidget(scroll)
                scroll.deleteLater()
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
