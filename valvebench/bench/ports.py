"""What the use cases need from the world; the outer rooms fulfil it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from valvebench.model.entry import Entry

if TYPE_CHECKING:
    from valvebench.bench.archived import (
        Added,
        Again,
        Asked,
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
    )
    from valvebench.bench.view import SessionView
    from valvebench.diagnose.failures import Cells
    from valvebench.diagnose.learned import Bodies
    from valvebench.model.words import JobKind


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> str:
        """The present moment, RFC 3339 in UTC."""
        ...


class SessionStore(Protocol):
    """A session that can be added to."""

    def entries(self) -> Sequence[Entry]:
        """All entries on disk, checked (raises EvidenceBroken)."""
        ...

    def append(self, line: bytes) -> None:
        """Put one line on disk; returns only when it is there (raises WorldFailed)."""
        ...

    def add_blob(self, raw: bytes) -> str:
        """Keep bytes under their SHA-256."""
        ...

    def blob(self, sha256: str) -> bytes | None:
        """The bytes kept under a hash, or None."""
        ...

    def release(self) -> None:
        """Let others write."""
        ...


class Archive(Protocol):
    """Closed sessions, kept for years; every call may take a while, so ask beside the window."""

    @property
    def id(self) -> str:
        """Sixteen digits that tell this archive from others."""
        ...

    def add(self, folder: Path) -> Added:
        """Check a session folder and keep it; an open one is only listed (raises BenchError)."""
        ...

    def open_sessions(self) -> tuple[OpenListed, ...]:
        """Sessions that were open when they were last seen, and how they are now."""
        ...

    def find(self, asked: Asked) -> ListedPage:
        """A page of sessions, newest first; nothing typed is ever an error."""
        ...

    def names(self) -> Names:
        """Variants and devices that the archive knows, in the order of their names."""
        ...

    def show(self, ident: str) -> Shown:
        """Everything the archive says of one session, named by its identity or how that begins (raises BadInput)."""
        ...

    def view(self, ident: str) -> SessionView:
        """A session to look at, never to change (raises BadInput, EvidenceBroken)."""
        ...

    def write_folder(self, ident: str, target: Path, *, read_only: bool = False) -> Path:
        """A session as a folder like the one that was added, at a new place; to look at only (raises BenchError)."""
        ...

    def trend(self, variant: str, device: str, *, at: str = "case_connector", job: JobKind | None = None) -> Trend:
        """Values of one device over time, at the reference temperature (raises BadInput where it was never read).

        `job` leaves only those of one kind of job, perhaps none.
        """
        ...

    def bodies(self, variant: str, device: str, *, at: str = "case_connector") -> Bodies:
        """Every session in which one device was read, and what became of it (raises BadInput where there are none)."""
        ...

    def failure_cells(self, *, variant: str | None = None, since: str | None = None) -> Cells:
        """How many sessions failed, by everything that can be asked for, as they were closed (raises BadInput)."""
        ...

    def meter_checks(self) -> tuple[CheckPoint, ...]:
        """Every meter check that counts, in the order of time."""
        ...

    def rejudge(self, again: Again, *, step: Step) -> Rejudged | None:
        """Judge sessions anew, beside what they were closed with; None where `step` said stop (raises BadInput)."""
        ...

    def export(self, folder: Path, *, step: Step) -> Counted:
        """Tables as CSV files in a new folder (raises BadInput, WorldFailed)."""
        ...

    def backup(self, target: Path, *, step: Step) -> Counted:
        """The whole archive in one file (raises BadInput, WorldFailed)."""
        ...

    def rebuild(self, *, step: Step) -> Counted:
        """Make everything that is found in the journals anew from them."""
        ...

    def verify(self, *, step: Step) -> Checked:
        """Whether everything is as it was written."""
        ...

    def close(self) -> None:
        """Let go of the archive."""
        ...


class Archives(Protocol):
    """The archives that can be reached from this computer."""

    @property
    def default(self) -> Path:
        """Where the archive lies that is meant when none is named."""
        ...

    def is_there(self, folder: Path | None = None) -> bool:
        """Whether an archive lies in a folder; nothing is opened or made."""
        ...

    def open(self, folder: Path | None = None, *, may_make: bool = True) -> Archive:
        """Open an archive; where there is none, make an empty one or refuse (raises BenchError)."""
        ...

    def keep(self, archive: Archive, folder: Path) -> Added:
        """Add a session to an archive and write the anchor `own_archive` into it (raises BenchError)."""
        ...

    def restore(self, backup: Path, folder: Path | None = None, *, step: Step) -> Counted:
        """Put an archive back from its backup where there is none yet (raises BenchError)."""
        ...
