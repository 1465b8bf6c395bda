"""The table of writers that the preload sweep walks through: a writer more is a row more.

A row is a `Writer` (tests/fakes/sweep.py): how its folder is filled, what it does under the faults, and what
must hold afterwards.  Where another library does the writing (a database), `minds_syncs=False`.
"""

from __future__ import annotations

from pathlib import Path
from types import MappingProxyType
from typing import Final

from tests.fakes.archive_writers import ARCHIVE_WRITERS
from tests.fakes.bundle_writers import BUNDLE, OPENED, SETTINGS
from tests.fakes.sweep import Writer
from tests.fakes.writers import SESSION_WRITERS, WORKBOOK
from valvebench import compose


def _by_name(name: str) -> Writer:
    return next(writer for writer in SESSION_WRITERS if writer.name == name)


def _prepare_workbook(folder: Path) -> None:
    """Made once: making the bytes touches no disk, and takes a second."""
    from valvebench.report import workbook

    WORKBOOK.prepare(folder)
    compose.write_workbook(folder / "job", folder / "file.xlsx")
    raw = (folder / "file.xlsx").read_bytes()
    workbook.workbook_bytes = lambda *_, **__: raw  # the sweep has a process of its own


SHIM_WRITERS: Final = MappingProxyType(
    {
        "session: record": _by_name("command: open, record, release"),
        "session: photo": _by_name("photo"),
        "session: new job": _by_name("create a job"),
        "workbook": WORKBOOK._replace(prepare=_prepare_workbook),
        "bundle": BUNDLE,
        "open a bundle": OPENED,
        "settings": SETTINGS,
        **{writer.name: writer for writer in ARCHIVE_WRITERS},
    }
)
LONG: Final = frozenset(writer.name for writer in ARCHIVE_WRITERS)
"""A database writes page by page: these make a hundred calls and more, all of them tried in the long form only."""
