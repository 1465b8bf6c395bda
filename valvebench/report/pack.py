"""Workbook -> bytes, in memory, and the same bytes for the same content."""

from __future__ import annotations

import io
from datetime import datetime
from typing import Any, Final
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing
from openpyxl.worksheet._writer import WorksheetWriter
from openpyxl.writer.excel import ExcelWriter

_MEMBER_TIME: Final = (1980, 1, 1, 0, 0, 0)


class _Archive(ZipFile):
    """A zip whose members carry no time of their own."""

    def writestr(self, zinfo_or_arcname: Any, data: Any, *_: Any, **__: Any) -> None:
        """One member, always deflated."""
        member = ZipInfo(str(zinfo_or_arcname), date_time=_MEMBER_TIME)
        member.compress_type = ZIP_DEFLATED
        super().writestr(member, data)


class _Sink(io.BytesIO):
    """Memory that says it cannot be read: text written to it is not also decoded, which took a sixth of the time."""

    def readable(self) -> bool:
        """Only written to."""
        return False


class _MemoryWriter(ExcelWriter):  # type: ignore[misc]
    """The library's writer without its temporary file for each sheet."""

    def write_worksheet(self, ws: Any) -> None:
        """One sheet with its drawings."""
        ws._drawing = drawing = SpreadsheetDrawing()  # noqa: SLF001  as the library does it itself
        drawing.charts, drawing.images = ws._charts, ws._images  # noqa: SLF001
        buffer = _Sink()
        writer = WorksheetWriter(ws, out=buffer)
        writer.write()
        ws._rels = writer._rels  # noqa: SLF001
        self._archive.writestr(ws.path[1:], buffer.getvalue())
        self.manifest.append(ws)


def packed(workbook: Any, *, title: str, program: str, printed: datetime | None) -> bytes:
    """The bytes of an .xlsx file; its dates are the time of printing, not of this call."""
    properties = workbook.properties
    properties.title, properties.creator = title, program
    if printed is not None:
        properties.created = properties.modified = printed
    workbook.calculation.fullCalcOnLoad = True
    buffer = io.BytesIO()
    _MemoryWriter(workbook, _Archive(buffer, "w", ZIP_DEFLATED)).save()
    return buffer.getvalue()
