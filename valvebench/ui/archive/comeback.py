"""Finds the session that a comeback belongs to, and brings its evidence beside the new one.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final, NamedTuple

from valvebench.bench.archive_open import earlier_of, same_code
from valvebench.bench.archived import Listed
from valvebench.model.entry import OpenJob
from valvebench.model.errors import BenchError
from valvebench.model.words import VERDICT_TEXT
from valvebench.ui.archive.reach import NoArchive, Places, Reach, Runs
from valvebench.ui.archive.shown import day

FOUND: Final = "Comeback of job {job}, closed {day} with {verdict}: its readings stand beside these on Findings."
BY_SERIAL: Final = (
    "Job {named} is not in the archive. Job {job}, closed {day} with {verdict}, had a part of the same serial: "
    "its readings stand beside these on Findings."
)
NOT_FOUND: Final = "Job {named}, of which this is a comeback, is not in the archive: name its folder on Findings."


class Earlier(NamedTuple):
    """The earlier session and where it lies now."""

    listed: Listed
    folder: Path


class Comebacks:
    """Looks beside the window; whoever asked has gone where the answer comes too late, and hears nothing."""

    def __init__(self, reach: Reach, places: Places, runner: Runs) -> None:
        self._reach, self._places, self._runner = reach, places, runner

    def find(self, job: OpenJob, *, found: Callable[[Earlier], None], told: Callable[[str], None]) -> None:
        """The earlier session of a comeback; where there is none, or it cannot be read, only words."""
        if job.comeback_of:
            self._runner.run(
                partial(self._earlier, job),
                done=partial(self._answer, job, found, told),
                failed=partial(self._failed, job, told),
            )

    def _earlier(self, job: OpenJob) -> Earlier | None:
        archive = self._reach.archive()
        listed = earlier_of(archive, job)
        return Earlier(listed, self._places.folder_of(archive, listed.id)) if listed is not None else None

    @staticmethod
    def _answer(
        job: OpenJob, found: Callable[[Earlier], None], told: Callable[[str], None], earlier: Earlier | None
    ) -> None:
        if earlier is None:
            told(NOT_FOUND.format(named=job.comeback_of))
            return
        told(earlier_words(job, earlier.listed))
        found(earlier)

    @staticmethod
    def _failed(job: OpenJob, told: Callable[[str], None], error: Exception) -> None:
        if isinstance(error, NoArchive):
            told(NOT_FOUND.format(named=job.comeback_of))
        elif isinstance(error, BenchError):
            told(str(error))
        else:
            raise error


def earlier_words(job: OpenJob, one: Listed) -> str:
    """Which session stands beside the new one, and by what it was found."""
    words = FOUND if same_code(one.job, job.comeback_of) else BY_SERIAL
    verdict = VERDICT_TEXT[one.verdict]
    return words.format(job=one.job, day=day(one.closed_at), verdict=verdict, named=job.comeback_of)
