"""`valvebench doctor`: look whether everything the program needs is here."""

from __future__ import annotations

import contextlib
import importlib.metadata
import platform
import sys
from collections.abc import Sequence
from typing import Any, Final, NamedTuple

from valvebench import __version__
from valvebench.cli.options import BAD_INPUT, DONE, Parser, answer
from valvebench.cli.services import MakeServices, Services
from valvebench.model.errors import BenchError

LIBRARIES: Final = (
    "PySide6-Essentials",
    "pyqtgraph",
    "numpy",
    "scipy",
    "pandas",
    "openpyxl",
    "defusedxml",
    "pillow",
    "msgspec",
    "platformdirs",
    "fontpkg-inter",
    "sqlalchemy",
    "alembic",
)


class Found(NamedTuple):
    """One thing looked at: its name, whether it is right, and what was seen."""

    name: str
    ok: bool
    seen: str


def run(words: Sequence[str], services: MakeServices) -> int:
    """Look at everything and say what is missing."""
    arguments = Parser("doctor", "Look whether everything the program needs is there.").read(words)
    libraries = [_library(name) for name in LIBRARIES]
    found = [_python(), *libraries, _database(), _guard(services()), _data(services())]
    data: dict[str, Any] = {
        "ok": all(one.ok for one in found),
        "version": __version__,
        "found": [one._asdict() for one in found],
    }
    lines = [f"{'ok ' if one.ok else 'NOT'} {one.name}: {one.seen}" for one in found]
    answer(arguments.json, data, "\n".join([f"valvebench {__version__}", *lines]))
    return DONE if data["ok"] else BAD_INPUT


def _python() -> Found:
    ok = sys.version_info >= (3, 11)
    return Found(
        "Python", ok, f"{platform.python_version()} on {platform.system()}{'' if ok else ', 3.11 or newer is needed'}"
    )


def _library(name: str) -> Found:
    try:
        return Found(name, ok=True, seen=importlib.metadata.version(name))
    except importlib.metadata.PackageNotFoundError:
        return Found(name, ok=False, seen="missing; run resources/start.py --repair")


def _database() -> Found:
    """The library under the archive; its write-ahead log, faulty in many versions, is never used."""
    import sqlite3

    try:
        with contextlib.closing(sqlite3.connect(":memory:")) as database:
            database.execute("CREATE VIRTUAL TABLE words USING fts5(w)")
    except sqlite3.Error as error:
        return Found("SQLite", ok=False, seen=f"{sqlite3.sqlite_version}, without full text ({error})")
    return Found("SQLite", ok=True, seen=f"{sqlite3.sqlite_version}, rollback journal")


def _guard(services: Services) -> Found:
    message = services.window_problem()
    return Found("window", message is None, message or "can be opened")


def _data(services: Services) -> Found:
    try:
        return Found("resources", ok=True, seen=str(services.data_folder()))
    except BenchError as error:
        return Found("resources", ok=False, seen=str(error))
