"""Tables of the archive as CSV files, for a spreadsheet or another program."""

from __future__ import annotations

import contextlib
import csv
import io
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from valvebench.archive.saver import TEMPORARY_PREFIX, advice, reason, sync_folder, write_all
from valvebench.archive.store_find import sound_row, time_text
from valvebench.archive.store_open import Database
from valvebench.archive.store_rows import FATES
from valvebench.bench.archived import Counted, Step, always
from valvebench.judge.again import CODES
from valvebench.model.errors import WorldFailed, bad

_ROWS: Final = 2000
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\x00", "\uff1d")
"""Signs that a spreadsheet takes for the beginning of a formula (OWASP ASVS 1.2.10, and the full-width one)."""
SESSIONS: Final = (
    *("id", "job", "serial", "part", "customer", "supplier", "batch", "variant", "verdict", "closed_at"),
    *("entries", "outcome", "fitted", "comeback", "months", "odometer_km"),
)
READINGS: Final = (
    *("id", "variant", "device", "kind", "at", "ohm", "celsius", "ohm_at_ref", "ref_celsius", "u_ohm_at_ref"),
    *("verdict", "closed_at"),
)
_SESSIONS_SQL: Final = (
    "SELECT s.id, s.key, s.job, s.serial, s.part, s.customer, s.supplier, s.batch, s.variant, s.verdict, s.closed_at, "
    "s.n_entries, o.fate, o.fitted, o.comeback, o.months, o.odometer_km FROM session s "
    "LEFT JOIN outcome o ON o.session_id = s.id WHERE s.id > ? ORDER BY s.id LIMIT ?"
)
_READINGS_SQL: Final = (
    "SELECT s.key, d.variant, d.name, d.kind, d.at, r.ohm, r.celsius, r.ohm_ref, d.ref_celsius, r.u, r.verdict, "
    "r.closed_at, r.device, r.session_id, r.seq FROM reading r JOIN device d ON d.id = r.device "
    "JOIN session s ON s.id = r.session_id "
    "WHERE (r.device, r.closed_at, r.session_id, r.seq) > (?, ?, ?, ?) "
    "ORDER BY r.device, r.closed_at, r.session_id, r.seq LIMIT ?"
)


class _Stopped(Exception):
    """The person does not want the rest."""


def export(database: Database, folder: Path, *, step: Step = always) -> Counted:
    """Write `sessions.csv` and `readings.csv` into a new folder (raises BadInput, WorldFailed; nothing then stands)."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise bad("export", str(folder), "a new or empty folder")
    part = folder.with_name(f"{TEMPORARY_PREFIX}{os.urandom(8).hex()}")
    total = int(database.rows("SELECT count(*) FROM session")[0][0])
    try:
        part.mkdir(parents=True)
        with sound_row():
            count = _write(part / "sessions.csv", SESSIONS, _sessions(database), lambda n: step(n, total))
            _write(part / "readings.csv", READINGS, _readings(database), lambda _: step(total, total))
        sync_folder(part)
        if folder.exists():
            folder.rmdir()
        _put_in_place(part, folder)
    except _Stopped:
        return Counted(0, 0, is_whole=False)
    except OSError as error:
        if isinstance(error, WorldFailed):
            raise
        raise WorldFailed(f"{folder}: not written ({reason(error)}). {advice(error)}") from error
    finally:
        _take_away(part)
    return Counted(count, 2, is_whole=True)


def _put_in_place(part: Path, folder: Path) -> None:
    os.rename(part, folder)  # noqa: PTH104  the fault tests watch the os calls
    try:
        sync_folder(folder.parent)
    except OSError as error:
        raise WorldFailed(f"{folder}: written, but the disk does not confirm it ({reason(error)}).") from error


def _take_away(part: Path) -> None:
    with contextlib.suppress(OSError):
        for path in part.iterdir():
            path.unlink()
        part.rmdir()


def _write(path: Path, head: Sequence[str], rows: Iterable[Sequence[Any]], go_on: Callable[[int], bool]) -> int:
    """RFC 4180 in UTF-8 with its mark, by which spreadsheets know it; how many rows."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    count = 0
    try:
        text = io.StringIO(newline="")
        writer = csv.writer(text, lineterminator="\r\n")
        text.write("\ufeff")
        writer.writerow(head)
        for count, row in enumerate(rows, 1):
            writer.writerow([plain(cell) for cell in row])
            if count % _ROWS == 0:
                _flush(descriptor, text)
                if not go_on(count):
                    raise _Stopped
        _flush(descriptor, text)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    return count


def _flush(descriptor: int, text: io.StringIO) -> None:
    write_all(descriptor, text.getvalue().encode("utf-8", errors="replace"))
    text.seek(0)
    text.truncate()


def plain(cell: object) -> object:
    """A cell that no spreadsheet runs as a formula: text that begins like one gets an apostrophe."""
    if not isinstance(cell, str):
        return "" if cell is None else cell
    text = cell.replace("\x00", "\ufffd")
    return f"'{text}" if cell.startswith(_FORMULA) else text


def _sessions(database: Database) -> Iterator[Sequence[Any]]:
    last = 0
    while rows := database.rows(_SESSIONS_SQL, (last, _ROWS)):
        for row in rows:
            number, key, *named, verdict, closed_at, entries, fate, fitted, comeback, months, km = row
            last = number
            told = (FATES[fate].value if fate is not None else None, _yes_no(fitted), comeback, months, km)
            yield (key.hex(), *named, CODES[verdict].value, time_text(closed_at), entries, *told)


def _yes_no(flag: int | None) -> str | None:
    return None if flag is None else ("yes" if flag else "no")


def _readings(database: Database) -> Iterator[Sequence[Any]]:
    last = (0, 0, 0, -1)
    while rows := database.rows(_READINGS_SQL, (*last, _ROWS)):
        for row in rows:
            key, *named, verdict, closed_at = row[:12]
            yield (key.hex(), *named, CODES[verdict].value, time_text(closed_at))
        last = (rows[-1][12], rows[-1][11], rows[-1][13], rows[-1][14])
