"""Opens archives, keeps sessions in them, and puts one back from its backup."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from valvebench.bench.archived import Added, Counted, Step
from valvebench.bench.archiving import keep_session
from valvebench.bench.desk import Desk
from valvebench.bench.ports import Archive, Clock
from valvebench.model.errors import bad

DATABASE_NAME: Final = "archive.sqlite"


class Archives:
    """The archives that can be reached from this computer; the database comes with the first one opened."""

    def __init__(self, default: Path, *, clock: Clock, open_desk: Callable[[Path], Desk]) -> None:
        self.default, self._clock, self._open_desk = default, clock, open_desk

    def is_there(self, folder: Path | None = None) -> bool:
        """Whether an archive lies in a folder; nothing is opened or made."""
        return ((folder or self.default) / DATABASE_NAME).exists()

    def open(self, folder: Path | None = None, *, may_make: bool = True) -> Archive:
        """Open an archive; where there is none, make an empty one or refuse (raises BenchError)."""
        where = folder or self.default
        if not may_make and not self.is_there(where):
            raise bad("archive", f"none in {where}", "the folder of an archive", "Adding a session makes one.")
        from valvebench.archive.store import Store

        return Store(where, clock=self._clock)

    def keep(self, archive: Archive, folder: Path) -> Added:
        """Add a session and write the anchor into it (raises BenchError)."""
        return keep_session(archive, folder, open_desk=self._open_desk)

    def restore(self, backup: Path, folder: Path | None = None, *, step: Step) -> Counted:
        """Put an archive back from its backup where there is none yet (raises BenchError)."""
        from valvebench.archive.store_restore import restore

        return restore(backup, folder or self.default, step=step)
