"""The archive of one bench: a folder with a database and the files that lie beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from valvebench.archive.session_folder import JOURNAL_NAME, read_session
from valvebench.archive.store_add import Prepared, Shelf, Writer, read_closed
from valvebench.archive.store_find import find, names, number_of, sound_row, time_text
from valvebench.archive.store_open import Database, open_database
from valvebench.archive.store_rows import key_of
from valvebench.archive.store_show import show, view, write_folder
from valvebench.archive.store_trend import trend
from valvebench.bench.archived import (
    Added,
    Again,
    Asked,
    Change,
    Checked,
    CheckPoint,
    Counted,
    ListedPage,
    Names,
    OpenListed,
    Rejudged,
    Shown,
    Step,
    Trend,
    always,
)
from valvebench.bench.ports import Clock
from valvebench.bench.view import SessionView
from valvebench.model.entry import Close
from valvebench.model.errors import BenchError
from valvebench.model.words import JobKind

if TYPE_CHECKING:
    from valvebench.diagnose.failures import Cells
    from valvebench.diagnose.learned import Bodies


class Store:
    """An opened archive; may be asked from several threads, one at a time is served."""

    def __init__(self, folder: Path, *, clock: Clock, mounts: str | None = None) -> None:
        self.folder, self._clock = folder, clock
        self.database: Database = open_database(folder, mounts=mounts)
        self.shelf = Shelf(folder)
        self._writer = Writer(self.database)

    @property
    def id(self) -> str:
        """Sixteen digits that tell this archive from others."""
        return str(self.database.rows("SELECT value FROM meta WHERE name = 'id'")[0][0])

    def add(self, folder: Path) -> Added:
        """Check a session folder and keep it; an open one is only listed (raises BenchError)."""
        seen = read_closed(folder, self.shelf.put)
        job = seen.session.job
        if seen.prepared is None:
            with self.database.writing():
                self._writer.note_open(seen.session, folder, self._clock.now())
            return Added(None, Change.OPEN, job.job, ("Still open: listed, and added once it is closed.",))
        return Added(key_of(job.session).hex(), self.keep(seen.prepared), job.job)

    def keep(self, prepared: Prepared) -> Change:
        """Put a checked session into the database, all of it or nothing (raises WorldFailed, EvidenceBroken)."""
        try:
            with self.database.writing():
                return self._writer.add(prepared)
        except BaseException:
            self._writer.numbers.forget()
            raise

    def find(self, asked: Asked) -> ListedPage:
        """A page of sessions, whatever was typed."""
        return find(self.database, asked)

    def names(self) -> Names:
        """Variants and devices that the archive knows."""
        return names(self.database)

    def show(self, ident: str) -> Shown:
        """Everything the archive says of one session (raises BadInput)."""
        return show(self.database, self.shelf, self._number(ident))

    def view(self, ident: str) -> SessionView:
        """A session to look at (raises BadInput, EvidenceBroken)."""
        return view(self.database, self.shelf, self._number(ident))

    def write_folder(self, ident: str, target: Path, *, read_only: bool = False) -> Path:
        """A session as a folder at a new place (raises BadInput, WorldFailed)."""
        return write_folder(self.database, self.shelf, self._number(ident), target, read_only=read_only)

    def _number(self, ident: str) -> int:
        with self.database.reading():
            return number_of(self.database, ident)

    def open_sessions(self) -> tuple[OpenListed, ...]:
        """Sessions that were open when they were last seen, the latest first, and how they are now."""
        rows = self.database.rows("SELECT path, job, entries, seen_at FROM open_session ORDER BY seen_at DESC")
        found = []
        for path, job, entries, seen_at in rows:
            with sound_row():
                state, count = _state(Path(path), int(entries))
                found.append(OpenListed(Path(path), job, count, time_text(seen_at), state))
        return tuple(found)

    def trend(self, variant: str, device: str, *, at: str = "case_connector", job: JobKind | None = None) -> Trend:
        """Values of one device over time (raises BadInput where it was never read)."""
        return trend(self.database, variant, device, at=at, job=job)

    def bodies(self, variant: str, device: str, *, at: str = "case_connector") -> Bodies:
        """Every session in which one device was read, and what became of it (raises BadInput where there are none)."""
        from valvebench.archive.store_learn import bodies

        return bodies(self.database, variant, device, at=at)

    def failure_cells(self, *, variant: str | None = None, since: str | None = None) -> Cells:
        """How many sessions failed, by everything that can be asked for (raises BadInput)."""
        from valvebench.archive.store_learn import failure_cells

        return failure_cells(self.database, variant=variant, since=since)

    def meter_checks(self) -> tuple[CheckPoint, ...]:
        """Every meter check that counts, in the order of time."""
        from valvebench.archive.store_learn import meter_checks

        return meter_checks(self.database)

    def rejudge(self, again: Again, *, step: Step = always) -> Rejudged | None:
        """Judge sessions anew; None, and nothing counts, where `step` said stop (raises BadInput)."""
        from valvebench.archive.store_rejudge import rejudge

        return rejudge(self.database, self.shelf, again, at=self._clock.now(), step=step)

    def export(self, folder: Path, *, step: Step = always) -> Counted:
        """Tables as CSV files in a new folder (raises BadInput, WorldFailed)."""
        from valvebench.archive.store_export import export

        return export(self.database, folder, step=step)

    def backup(self, target: Path, *, step: Step = always) -> Counted:
        """The whole archive in one file (raises BadInput, WorldFailed)."""
        from valvebench.archive.store_backup import backup

        return backup(self.database, target, step=step)

    def rebuild(self, *, step: Step = always) -> Counted:
        """Make the index anew from the journals."""
        from valvebench.archive.store_rebuild import rebuild

        try:
            return rebuild(self.database, self.shelf, step=step)
        finally:
            self._writer.numbers.forget()

    def verify(self, *, step: Step = always) -> Checked:
        """Whether everything is as it was written."""
        from valvebench.archive.store_verify import verify_all

        return verify_all(self.database, self.shelf, step=step)

    def close(self) -> None:
        """Let go of the database."""
        self.database.close()


def _state(path: Path, entries: int) -> tuple[str, int]:
    folder = path.parent if path.name == JOURNAL_NAME else path
    try:
        journal = read_session(folder)
    except (BenchError, OSError):
        return "gone", entries
    is_closed = any(isinstance(entry.body, Close) for entry in journal.entries)
    return "closed" if is_closed else "open", len(journal.line_hashes)
