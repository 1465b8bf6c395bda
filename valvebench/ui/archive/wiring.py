"""The way to the Archive page, what it leads to, and how sessions come into the archive."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QWidget

from valvebench.ui.archive.reach import Places, Reach
from valvebench.ui.frame import ARCHIVE, JOB
from valvebench.ui.runner import QtRunner
from valvebench.ui.settings import SettingsHolder

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.bench.ports import Archives
    from valvebench.bench.view import SessionView
    from valvebench.ui.archive.comeback import Earlier
    from valvebench.ui.archive.keeping import Keeping
    from valvebench.ui.archive.part import Part
    from valvebench.ui.archive.presenter import FindPresenter
    from valvebench.ui.archive.view import ArchivePage
    from valvebench.ui.keeper import Keeper

NOTE_MS: Final = 2_000
"""So long after the opening a session is looked for in the archive: until then its readings are judged."""
TO_LOOK_AT: Final = "Job {job} was closed on {day}: it is open to look at; outcome and handing over can be added."


class Services(Protocol):
    """What the archive asks of the world."""

    def archives(self) -> Archives:
        """The archives that can be reached."""
        ...

    def jobs_folder(self) -> Path:
        """Where new jobs go."""
        ...

    def view_session(self, folder: Path) -> SessionView:
        """Look at a session without changing it."""
        ...


class Frame(Protocol):
    """What the window lends."""

    settings: SettingsHolder
    rail: Any
    trouble_line: Any
    desk: Desk | None
    keeper: Keeper | None
    folder: Path | None
    session_opened: Any

    @property
    def job(self) -> Any:
        """Everything about the Job page."""
        ...

    def add_page(self, page: QWidget, name: str) -> None:
        """Put a page into the window."""
        ...

    def bring_forward(self, page: QWidget) -> None:
        """Show a page."""
        ...

    def show_page(self, word: str) -> None:
        """A page of the rail."""
        ...

    def open_session(self, folder: Path) -> None:
        """Open a session and show it."""
        ...

    def leave_archive(self) -> None:
        """To the open session, else to the ways in."""
        ...

    def begin_comeback(self, folder: Path, view: SessionView) -> None:
        """The form of a new job, filled in from the session that came back."""
        ...


class Archive(QObject):
    """The archive of one window, its page made when somebody first asks for it."""

    def __init__(self, frame: Any, services: Services) -> None:
        super().__init__(frame)
        self._frame: Frame = frame
        self._services = services
        # finding never waits for long work, nor for what the open session has to write
        self.runner, self.worker = QtRunner(self), QtRunner(self)
        self.reach = Reach(services.archives, lambda: self._frame.settings.now.archive_folder)
        self.page: ArchivePage | None = None
        self.presenter: FindPresenter | None = None
        self.parts: dict[str, Any] = {}
        self._then: Callable[[], None] | None = None
        self._keeping: Keeping | None = None
        self._note = QTimer(self)
        self._note.setSingleShot(True)
        self._note.setInterval(NOTE_MS)
        self._note.timeout.connect(self._note_open)
        self._frame.session_opened.connect(self._opened)

    def pages(self) -> list[tuple[str, QWidget | None]]:
        """The page, once it was shown."""
        return [(ARCHIVE, self.page)]

    def _places(self) -> Places:
        return Places(recent=self._recent, jobs=self._jobs, look=self._services.view_session)

    def _recent(self) -> tuple[Path, ...]:
        return tuple(Path(one.path) for one in self._frame.settings.recent_sessions())

    def _jobs(self) -> Path:
        root = self._frame.settings.now.jobs_folder
        return Path(root) if root else self._services.jobs_folder()

    # -- the page --------------------------------------------------------------------------

    def show(self) -> None:
        """The page, its list read anew."""
        page = self._made()
        self._frame.rail.set_current(ARCHIVE)
        self._frame.bring_forward(page)
        page.begin()

    def _made(self) -> ArchivePage:
        from valvebench.ui.archive.presenter import FindPresenter
        from valvebench.ui.archive.view import FIND, ArchivePage

        if self.page is None:
            self.page = ArchivePage()
            self.presenter = FindPresenter(self.page, self.reach, self._places(), self.runner, self)
            connect(self.page, self.presenter)
            self.page.part_chosen.connect(self.show_part)
            self.page.left.connect(self._frame.leave_archive)
            self.parts[FIND] = self.presenter
            self._frame.add_page(self.page, ARCHIVE)
        return self.page

    def show_part(self, word: str) -> None:
        """A part of the page, made at its first visit."""
        page = self._made()
        if word not in page.parts:
            page.add_part(word, self._make_part(word))
        page.show_part(word)
        self.parts[word].refresh()

    def _make_part(self, word: str) -> Part:
        from valvebench.ui.archive import parts

        part, self.parts[word] = parts.make(word, self.reach, runner=self.runner, worker=self.worker)
        if hasattr(part, "value_opened"):
            part.value_opened.connect(self._open_told)
        return part

    def _open_told(self, ident: str) -> None:
        """The session of a value."""
        if self.presenter is not None:
            self.presenter.open_id(ident)

    # -- where the page leads --------------------------------------------------------------

    def open_session(self, folder: Path, *, is_archived: bool) -> None:
        """A session of the list; a closed one says that it is only to be looked at."""
        self._open(folder, self._say_closed if is_archived else None)

    def open_outcome(self, folder: Path) -> None:
        """The Job page of a closed session, where it is said what became of the part."""
        self._open(folder, self._to_outcome)

    def begin_comeback(self, folder: Path, view: SessionView) -> None:
        """A new job that names the one it is a comeback of."""
        self._frame.begin_comeback(folder, view)

    def _open(self, folder: Path, then: Callable[[], None] | None) -> None:
        """Go to it where it is open already, else open it; afterwards `then`."""
        here = self._frame.folder
        if here is not None and here.absolute() == folder.absolute():
            self._frame.leave_archive()
            if then is not None:
                then()
            return
        self._then = then
        self._frame.open_session(folder)

    def _opened(self) -> None:
        """A session stands open: it is followed, and listed a little later."""
        from valvebench.ui.archive.keeping import Keeping

        if self._keeping is None:
            tell = self._frame.trouble_line.show_words
            self._keeping = Keeping(self.reach, self.worker, tell=tell, changed=self._job_changed)
        if self._frame.keeper is not None and self._frame.folder is not None:
            self._keeping.opened(self._frame.keeper, self._frame.folder)
            self._note.start()
        self._tell_comeback()
        then, self._then = self._then, None
        if then is not None:
            then()

    def _tell_comeback(self) -> None:
        """Of a comeback it is said at once which session stands beside it."""
        desk = self._frame.desk
        if desk is not None and desk.job.comeback_of and not desk.is_closed:
            self.bring_earlier(desk, _nothing)

    def bring_earlier(self, desk: Desk, found: Callable[[Path], None]) -> None:
        """The folder of the session of which the one at hand is a comeback, while it is still at hand."""
        from valvebench.ui.archive.comeback import Comebacks

        def told(words: str) -> None:
            if self._frame.desk is desk and not desk.is_closed:
                self._frame.trouble_line.show_words(words, is_problem=False)

        def bring(earlier: Earlier) -> None:
            if self._frame.desk is desk:
                found(earlier.folder)

        Comebacks(self.reach, self._places(), self.runner).find(desk.job, found=bring, told=told)

    def _say_closed(self) -> None:
        desk = self._frame.desk
        if desk is not None and desk.session.close is not None:
            words = TO_LOOK_AT.format(job=desk.job.job, day=desk.session.close.at[:10])
            self._frame.trouble_line.show_words(words, is_problem=False)

    def _to_outcome(self) -> None:
        self._say_closed()
        self._frame.show_page(JOB)
        if self._frame.job is not None:
            self._frame.job.page.after.begin()

    def _note_open(self) -> None:
        if self._keeping is not None:
            self._keeping.note()

    def _job_changed(self) -> None:
        """The session says now that it is kept: the card of what was said after closing shows it."""
        if self._frame.job is not None:
            self._frame.job.refresh()

    def session_left(self) -> None:
        """Nobody is followed any more."""
        self._note.stop()
        if self._keeping is not None:
            self._keeping.left()

    def stop(self) -> None:
        """The window closes: what is under way comes to its end, and the archive is let go."""
        for part in self.parts.values():
            if (work := getattr(part, "work", None)) is not None:
                work.break_off()
        for runner in (self.runner, self.worker):
            runner.forget()
        if self._keeping is not None:
            self._keeping.finish()
        self.reach.close()


def _nothing(_: Path) -> None:
    """Only the words are wanted."""


def connect(page: ArchivePage, presenter: FindPresenter) -> None:
    """Every signal of the page to what it asks for."""
    page.came_to_front.connect(presenter.refresh)
    page.list.typed.connect(presenter.typed)
    page.list.filtered.connect(presenter.filters_changed)
    page.list.chosen.connect(presenter.chosen)
    page.list.opened.connect(presenter.open)
    page.list.next_asked.connect(presenter.next_page)
    page.list.previous_asked.connect(presenter.previous_page)
    page.told.open_asked.connect(presenter.open)
    page.told.comeback_asked.connect(presenter.comeback)
    page.told.outcome_asked.connect(presenter.outcome)
    page.told.linked.connect(presenter.linked)
