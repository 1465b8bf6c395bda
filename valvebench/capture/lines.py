"""The bytes of a file -> lines of cells, within limits; text with any usual separator, or a workbook."""

from __future__ import annotations

import csv
import io
import itertools
import zipfile
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, Final

from valvebench.capture.faults import Faults
from valvebench.model.errors import BadInput

LARGEST_BYTES: Final = 128 * 1024 * 1024
MOST_ROWS: Final = 2_000_000
MOST_COLUMNS: Final = 256
_LONGEST_HEADER_LINE: Final = 64 * 1024
_LARGEST_UNPACKED: Final = 256 * 1024 * 1024
_LARGEST_SIDE_PART: Final = 16 * 1024 * 1024
_MOST_PARTS: Final = 1000
_HIGHEST_RATIO: Final = 200
_SMALL: Final = 1024 * 1024
_LONGEST_PAUSE: Final = 1000
_ZIP: Final = b"PK\x03\x04"
_OLD_WORKBOOK: Final = b"\xd0\xcf\x11\xe0"
_MARKS: Final = ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"), (b"\xef\xbb\xbf", "utf-8-sig"))

Line = tuple[int, Sequence[str]]
"""Number of the line, from 1, and its cells."""


def lines_of(raw: bytes, faults: Faults) -> Iterator[Line]:
    """Every line of a file that is not blank (raises BadInput)."""
    if len(raw) > LARGEST_BYTES:
        faults.stop(
            "file", "more bytes than a log has", f"at most {LARGEST_BYTES} bytes", "Log less often, or split it."
        )
    if raw.startswith(_OLD_WORKBOOK):
        faults.stop("file", "a workbook of the old kind (.xls)", ".xlsx or text", "Save it as .xlsx or CSV.")
    lines = _of_workbook(raw, faults) if raw.startswith(_ZIP) else _of_text(raw, faults)
    return _within_limits(lines, faults)


def separator_of(raw: bytes, faults: Faults) -> str:
    """The sign between the cells of a text; empty for a workbook, which has none (raises BadInput)."""
    if raw.startswith((_ZIP, _OLD_WORKBOOK)):
        return ""
    text = _decoded(raw[:_LONGEST_HEADER_LINE], faults)
    return _separator(list(itertools.islice(io.StringIO(text), 100)))


def _within_limits(lines: Iterator[Line], faults: Faults) -> Iterator[Line]:
    for count, (number, cells) in enumerate(lines):
        if count > MOST_ROWS:
            faults.stop("file", f"more than {MOST_ROWS} rows", "fewer", "Log less often, or split it.", line=number)
        if len(cells) > MOST_COLUMNS:
            faults.stop("line", f"{len(cells)} cells", f"at most {MOST_COLUMNS}", line=number)
        if any(map(str.strip, cells)):
            yield number, cells


def _of_text(raw: bytes, faults: Faults) -> Iterator[Line]:
    text = _decoded(raw, faults)
    head = list(itertools.islice(io.StringIO(text[:_LONGEST_HEADER_LINE]), 100))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(head))
    try:
        for cells in reader:
            yield reader.line_num, cells
    except csv.Error as error:
        faults.stop("line", f"what is no table ({error})", "cells with one separator", line=reader.line_num + 1)


def _decoded(raw: bytes, faults: Faults) -> str:
    encoding = next((name for mark, name in _MARKS if raw.startswith(mark)), "utf-8")
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as error:
        # a degree sign of an old Windows logger is the one usual byte that is no UTF-8
        text = raw.decode("latin-1")
        if any(ord(sign) < 32 and sign not in "\t\r\n" for sign in text[:_LONGEST_HEADER_LINE]):
            faults.stop(f"byte {error.start + 1}", "bytes that are no text", "a text file or an .xlsx workbook")
    if "\0" in text:
        faults.stop("file", "bytes that are no text", "a text file or an .xlsx workbook")
    return text


def _separator(head: Sequence[str]) -> str:
    """The sign that parts most of the first lines; a comma only where no other does."""
    return next((sign for sign in "\t;" if any(sign in line for line in head)), ",")


def _of_workbook(raw: bytes, faults: Faults) -> Iterator[Line]:
    from openpyxl import load_workbook

    _refuse_bombs(raw, faults)
    try:
        book = load_workbook(io.BytesIO(raw), read_only=True, data_only=True, keep_links=False)
        sheet = book.worksheets[0]
        sheet.reset_dimensions()  # what a file says of its size may be wrong
        yield from _rows(sheet.iter_rows(max_row=MOST_ROWS, max_col=MOST_COLUMNS, values_only=True), faults)
        book.close()
    except BadInput:
        raise
    except Exception as error:  # noqa: BLE001  a workbook from outside may break the library in any way
        faults.stop(
            "file", f"a workbook that cannot be read ({type(error).__name__})", "an .xlsx workbook", _SAVE_AGAIN
        )


_SAVE_AGAIN: Final = "Open it, save it again, or save its first sheet as CSV."


def _rows(rows: Iterator[Sequence[Any]], faults: Faults) -> Iterator[Line]:
    last = 0
    for number, row in enumerate(rows, 1):
        cells = [_as_text(value) for value in row]
        while cells and not cells[-1]:
            cells.pop()
        last = number if cells else last
        if number - last > _LONGEST_PAUSE:
            faults.stop("sheet", f"more than {_LONGEST_PAUSE} blank rows", "one table from the top", line=last + 1)
        if cells:
            yield number, cells


def _as_text(value: object) -> str:
    """A cell as text, so that a workbook and a text file go the same way."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value)
    if isinstance(value, timedelta):
        seconds = value.total_seconds()
        return f"{int(seconds // 3600)}:{int(seconds % 3600 // 60):02}:{seconds % 60:09.6f}"
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return str(value)


def _refuse_bombs(raw: bytes, faults: Faults) -> None:
    """Look at what a workbook would unpack to before it is unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as packed:
            parts = packed.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, RuntimeError, EOFError) as error:
        faults.stop("file", f"a damaged workbook ({error})", "an .xlsx workbook", _SAVE_AGAIN)
    if len(parts) > _MOST_PARTS:
        faults.stop("file", f"a workbook of {len(parts)} parts", f"at most {_MOST_PARTS}", _SAVE_AGAIN)
    unpacked = sum(part.file_size for part in parts)
    if unpacked > _LARGEST_UNPACKED:
        faults.stop("file", f"{unpacked} bytes when unpacked", f"at most {_LARGEST_UNPACKED}", _SAVE_AGAIN)
    for part in parts:
        is_side_part = "worksheets/" not in part.filename
        is_dense = part.file_size > _SMALL and part.file_size > _HIGHEST_RATIO * max(1, part.compress_size)
        if is_dense or (is_side_part and part.file_size > _LARGEST_SIDE_PART):
            faults.stop(
                "file",
                f"a part of {part.file_size} bytes packed into {part.compress_size}",
                "a workbook that holds a log",
                _SAVE_AGAIN,
            )
