"""One key for a voice on the telephone: the job at hand is parked, a nameless enquiry opens, one key leads back.

Parked means left as any session is left: every entry is on disk, and others may open it meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from PySide6.QtCore import QObject

from valvebench.model.errors import BenchError
from valvebench.model.words import JobKind
from valvebench.ui.parked_line import BACK_KEY, ENQUIRY_KEY, ParkedLine
from valvebench.ui.services import WindowServices
from valvebench.ui.session_words import job_title
from valvebench.ui.settings import SettingsHolder
from valvebench.ui.shortcuts import add_shortcut
from valvebench.ui.trouble_line import TroubleLine
from valvebench.ui.widgets.rail import Rail

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.ui.keeper import Runs


class ParkedJob(NamedTuple):
    """Where it lies, what it is called, and the page that stood in front."""

    folder: Path
    title: str
    page: str


class Frame(Protocol):
    """What the window lends."""

    runner: Runs
    rail: Rail
    settings: SettingsHolder
    trouble_line: TroubleLine
    parked_line: ParkedLine
    desk: Desk | None
    folder: Path | None

    def take_session(self, folder: Path, desk: Desk) -> None:
        """Show a session that was opened beside the window."""
        ...

    def show_page(self, word: str) -> None:
        """A page of the rail."""
        ...


class Parked(QObject):
    """Knows what is parked, the newest last."""

    def __init__(self, frame: Any, services: WindowServices) -> None:
        super().__init__(frame)
        self._frame: Frame = frame
        self._services = services
        self.jobs: list[ParkedJob] = []
        self._is_opening = False
        add_shortcut(frame, ENQUIRY_KEY, self.begin_enquiry, "Enquiry: parks the job at hand")
        add_shortcut(frame, BACK_KEY, self.go_back, "Back to the job that is parked")
        frame.parked_line.back.clicked.connect(self.go_back)
        frame.session_opened.connect(self._session_opened)

    def begin_enquiry(self) -> None:
        """A new session without a name; the one at hand stays as it is."""
        from valvebench.ui.start.presenter import enquiry_number, folder_name

        settings = self._frame.settings.now
        number = enquiry_number(datetime.now())  # noqa: DTZ005  as the clock on the wall says, for people
        root = Path(settings.jobs_folder) if settings.jobs_folder else self._services.jobs_folder()
        folder = root / folder_name(number)
        job = {"job": number, "kind": JobKind.ENQUIRY.value}
        self._open(folder, lambda: self._services.create_job(folder, job, by=settings.by or None), self._park)

    def _open(self, folder: Path, work: Callable[[], Desk], before: Callable[[], None], page: str = "") -> None:
        """One at a time; where it fails the session at hand stays open."""
        if self._is_opening:
            return
        self._is_opening = True

        def done(desk: Desk) -> None:
            self._is_opening = False
            before()
            self._frame.take_session(folder, desk)
            if page:
                self._frame.show_page(page)

        self._frame.runner.run(work, done=done, failed=self._failed)

    def _failed(self, error: Exception) -> None:
        self._is_opening = False
        if not isinstance(error, BenchError):
            raise error
        self._frame.trouble_line.show_words(str(error))

    def _park(self) -> None:
        frame = self._frame
        if frame.desk is not None and frame.folder is not None:
            self.jobs.append(ParkedJob(frame.folder, job_title(frame.desk.job), frame.rail.current()))

    def go_back(self) -> None:
        """To what was parked last; the enquiry stays among the recent sessions."""
        if not self.jobs:
            self._frame.trouble_line.show_words("No job is parked.", is_problem=False)
            return
        job, by = self.jobs[-1], self._frame.settings.now.by or None
        self._open(job.folder, lambda: self._services.open_desk(job.folder, by=by), _nothing, job.page)

    def _session_opened(self) -> None:
        """What is open is not parked; the line says what is."""
        here = self._frame.folder.absolute() if self._frame.folder is not None else None
        self.jobs = [job for job in self.jobs if job.folder.absolute() != here]
        more = f" and {len(self.jobs) - 1} more" if len(self.jobs) > 1 else ""
        words = f"{self.jobs[-1].title} is parked{more}: everything in it is on disk." if self.jobs else ""
        self._frame.parked_line.show_parked(words)


def _nothing() -> None:
    """Nothing is parked on the way back."""
