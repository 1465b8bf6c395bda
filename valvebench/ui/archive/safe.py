"""Decides how the archive is kept safe: backup, bringing one back, checking all of it, tables.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, NamedTuple, Protocol

from valvebench.bench.archived import Checked, Counted, Step
from valvebench.ui.archive.long_work import BusyView, LongWork
from valvebench.ui.archive.reach import Reach, Runs
from valvebench.ui.errors import raised
from valvebench.ui.start.drops import as_path

NAME_FILE: Final = "Name a file, best on another disk, such as archive-backup.sqlite."
NAME_BACKUP: Final = "Name the file of a backup."
NAME_FOLDER: Final = "Name a new folder for the tables."
PLACE: Final = "The archive of this computer lies in {place}."
NO_PLACE: Final = "There is no archive on this computer yet. It would lie in {place}."
BACKED_UP: Final = "{sessions} written to {target}{notes}. Keep it on another disk, best in another building."
RESTORED: Final = "{sessions} brought back to {place}{notes}. {checked}"
TABLES: Final = "Tables of {sessions} written to {target}."
SOUND: Final = "Checked: everything is as it was written."
_MOST_TOLD: Final = 3


class SafeView(BusyView, Protocol):
    """What the presenter asks of this part."""

    def show_place(self, words: str, *, is_there: bool) -> None:
        """Where the archive lies, or would lie."""
        ...

    def show_problem(self, field: str, words: str) -> None:
        """What is wrong, beside its field."""
        ...

    def brought_back(self) -> None:
        """The name of the backup is no longer needed."""
        ...


class _Restored(NamedTuple):
    counted: Counted
    checked: Checked


class SafePresenter:
    """One thing at a time; each can be stopped with nothing half done."""

    def __init__(self, view: SafeView, reach: Reach, *, runner: Runs, worker: Runs) -> None:
        self._view, self._reach, self._runner = view, reach, runner
        self.work = LongWork(view, worker)

    def refresh(self) -> None:
        """Say where the archive lies, looked up beside the window."""

        def look() -> tuple[Path, bool]:
            return self._reach.place, self._reach.archives.is_there(self._reach.place)

        self._runner.run(look, done=lambda found: self._show_place(*found), failed=raised)

    def _show_place(self, place: Path, is_there: bool) -> None:  # noqa: FBT001  as it was found
        words = PLACE if is_there else NO_PLACE
        self._view.show_place(words.format(place=place), is_there=is_there)

    def _named(self, field: str, typed: str, words: str) -> Path | None:
        path = as_path(typed) if typed.strip() else None
        self._view.show_problem(field, "" if path is not None else words)
        return path

    def backup(self, typed: str) -> None:
        """The whole archive as one file."""
        target = self._named("backup", typed, NAME_FILE)
        if target is None:
            return

        def done(found: Counted) -> None:
            words = BACKED_UP.format(sessions=_sessions(found.sessions), target=target, notes=_notes(found.notes))
            self._view.say(words, is_problem=bool(found.notes))

        self._begin("Writing the backup", "pages", lambda step: self._reach.archive().backup(target, step=step), done)

    def restore(self, typed: str) -> None:
        """The archive of a backup where there is none, then checked as a whole."""
        file = self._named("restore", typed, NAME_BACKUP)
        if file is None:
            return
        place = self._reach.place

        def work(step: Step) -> _Restored | None:
            counted = self._reach.archives.restore(file, place, step=step)
            if not counted.is_whole:
                return None
            return _Restored(counted, self._reach.archive().verify(step=_to_the_end(step)))

        self.work.begin("Bringing back", "steps", work, lambda found: self._restored(place, found))

    def _restored(self, place: Path, found: _Restored) -> None:
        checked, notes = checked_words(found.checked), found.counted.notes
        words = RESTORED.format(
            sessions=_sessions(found.counted.sessions), place=place, notes=_notes(notes), checked=checked
        )
        self._show_place(place, is_there=True)
        self._view.brought_back()
        self._view.say(words, is_problem=not found.checked.ok or bool(notes))

    def check(self) -> None:
        """Whether everything is as it was written."""

        def work(step: Step) -> Checked | None:
            wanted = _Wanted(step)
            found = self._reach.archive().verify(step=wanted)
            return found if wanted.is_so else None

        def done(found: Checked) -> None:
            self._view.say(f"{_sessions(found.sessions)}. {checked_words(found)}", is_problem=not found.ok)

        self.work.begin("Checking", "sessions", work, done)

    def tables(self, typed: str) -> None:
        """Tables for a spreadsheet in a new folder."""
        folder = self._named("tables", typed, NAME_FOLDER)
        if folder is None:
            return

        def done(found: Counted) -> None:
            self._view.say(TABLES.format(sessions=_sessions(found.sessions), target=folder))

        self._begin("Writing tables", "sessions", lambda step: self._reach.archive().export(folder, step=step), done)

    def _begin(self, words: str, unit: str, work: Callable[[Step], Counted], done: Callable[[Counted], None]) -> None:
        def whole(step: Step) -> Counted | None:
            found = work(step)
            return found if found.is_whole else None

        self.work.begin(words, unit, whole, done)


class _Wanted:
    """Remembers whether the person said stop."""

    def __init__(self, step: Step) -> None:
        self._step, self.is_so = step, True

    def __call__(self, done: int, of: int) -> bool:
        self.is_so = self._step(done, of)
        return self.is_so


def _to_the_end(step: Step) -> Step:
    """What was brought back stays: its check is told how far it is, and is not stopped."""

    def on(done: int, of: int) -> bool:
        step(done, of)
        return True

    return on


def checked_words(found: Checked) -> str:
    """What checking found, the first things by name."""
    if found.ok:
        return SOUND
    told = "; ".join(f"{f'job {one.job}: ' if one.job else ''}{one.what}" for one in found.problems[:_MOST_TOLD])
    more = len(found.problems) - _MOST_TOLD
    rest = f"; and {more} more" if more > 0 else ""
    return f"Not as it was written: {told}{rest}. Do not write over an older backup."


def _sessions(count: int) -> str:
    return "1 session" if count == 1 else f"{count} sessions"


def _notes(notes: tuple[str, ...]) -> str:
    return f", but {'; '.join(notes[:_MOST_TOLD])}" if notes else ""
