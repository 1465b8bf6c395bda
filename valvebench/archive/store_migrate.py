"""Move an older archive forward, one format at a time, after a backup of it was made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from valvebench.archive.archives import DATABASE_NAME
from valvebench.archive.store_open import Database
from valvebench.archive.store_schema import FORMAT
from valvebench.model.errors import bad

if TYPE_CHECKING:
    from alembic.operations import Operations

Change = Callable[["Operations"], None]
STEPS: Final[Mapping[int, Change]] = MappingProxyType({})
"""What turns each older format into the next one; a step stays here for ever and is never changed."""


def migrate(database: Database, found: int, *, steps: Mapping[int, Change] = STEPS, to: int = FORMAT) -> Path:
    """Bring an archive from format `found` to `to`; each step and its number reach the disk together.

    Returns where the backup lies that was made first (raises BadInput, WorldFailed; what was reached so far stands).
    """
    from alembic.operations import Operations
    from alembic.runtime.migration import MigrationContext

    from valvebench.archive.store_backup import backup

    lacking = [number for number in range(found, to) if number not in steps]
    if lacking:
        raise bad(str(database.path), f"format {found}", f"a format this program can move to {to}")
    kept = _backup_path(database.path.parent, found)
    backup(database, kept)
    operations = Operations(MigrationContext.configure(database.connection))
    for number in range(found, to):
        with database.writing():
            steps[number](operations)
            database.execute(f"PRAGMA user_version = {number + 1}")
    return kept


def _backup_path(folder: Path, found: int) -> Path:
    """Beside the archive, under a name that says what it is from and is not taken."""
    name = f"{DATABASE_NAME}.format-{found}"
    taken = (folder / (f"{name}.backup" if count == 1 else f"{name}-{count}.backup") for count in range(1, 1000))
    return next(path for path in taken if not path.exists())
