"""The workbook against the library alone writing the same cells, styles, charts and print set-up.

`raw_equivalent` is what a person would write by hand who already had every value: one call a cell, style
objects made once and assigned, the library's own `save`.  It prepares nothing, so the ratio holds all of
our preparing, cleaning and laying out.
"""

from __future__ import annotations

import copy
import gc
import io
import json
import time
import zlib
from random import Random

READINGS = 2_000
ROUNDS = 3
MOST = 1.3


def session_with(count):
    """A session of so many readings and the variant it is held against."""
    from tests.unit.report.samples import session_of, variant
    from valvebench.model.entry import Reading
    from valvebench.model.words import LeadState, TemperatureSource

    rng = Random(zlib.crc32(b"workbook speed"))
    pairs = (("1", "7", 5.2), ("2", "7", 13.5), ("3", "7", 8.0), ("4", "5", 1900.0))
    bodies = []
    for _ in range(count):
        a, b, ohm = rng.choice(pairs)
        common = {"celsius": round(rng.uniform(15, 100), 2), "temperature": TemperatureSource.TAPED}
        leads = rng.choice((LeadState.NULLED, LeadState.NEITHER))
        # A range of its own for each keeps every reading a row of its own.
        number = {"range_ohm": 400.0 + len(bodies), "meter": "0.5%+5x0.01"}
        bodies.append(
            Reading(from_node=a, to_node=b, ohm=round(ohm * rng.uniform(0.9, 1.1), 2), leads=leads, **common, **number)
        )
    return session_of(*bodies), variant()


def written(session, of_variant, judged):
    """The workbook object as we fill it, before it is packed."""
    from valvebench.report.cells import Book
    from valvebench.report.summary import Front
    from valvebench.report.workbook import write_sheets

    front = Front(
        session=session,
        variant=of_variant,
        judged=judged,
        report_id="SPEED",
        printed_at="2031-05-06T10:11:12Z",
        program="speed",
    )
    book = Book()
    write_sheets(book, front, {})
    return book.workbook


def recipe(workbook):
    """Everything the library is told again: values, style objects by cell, and the furniture of each sheet."""
    styles, sheets = {}, []
    for sheet in workbook.worksheets:
        filled = [cell for row in sheet for cell in row if cell.value is not None]
        cells = [(cell.row, cell.column, cell.value, cell.data_type, _style(styles, cell)) for cell in filled]
        sheets.append((sheet.title, cells, sheet))
    return sheets


def _style(styles, cell):
    key = tuple(cell._style)
    if key not in styles:
        parts = (cell.font, cell.fill, cell.border, cell.alignment)
        styles[key] = (*(copy.copy(part) for part in parts), cell.number_format, cell.quotePrefix)
    return styles[key]


def raw_equivalent(sheets, *, shared_styles):
    """The library alone: the same cells and styles, charts and print set-up, saved to memory."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    made = {}
    for title, cells, source in sheets:
        sheet = book.create_sheet(title)
        for row, column, value, data_type, style in cells:
            cell = sheet.cell(row, column, value)
            cell.data_type = data_type
            if shared_styles and id(style) in made:
                cell._style = made[id(style)]
            else:
                cell.font, cell.fill, cell.border, cell.alignment, cell.number_format, cell.quotePrefix = style
                made[id(style)] = cell._style
        _furnish(sheet, source)
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _furnish(sheet, source):
    for number, dimension in source.row_dimensions.items():
        if dimension.height is not None:
            sheet.row_dimensions[number].height = dimension.height
    for letter, dimension in source.column_dimensions.items():
        sheet.column_dimensions[letter].width = dimension.width
    sheet.conditional_formatting = source.conditional_formatting
    sheet.auto_filter.ref, sheet.freeze_panes = source.auto_filter.ref, source.freeze_panes
    for area in source.merged_cells.ranges:
        sheet.merge_cells(str(area))
    for chart in source._charts:
        sheet.add_chart(chart, chart.anchor)


def measure():
    """Processor seconds, best of the rounds taken in turn: ours, the library alone, and it with styles shared as ours.

    The second is what the library's own pages show (a style object assigned to each cell), once; the third
    is the fastest way it has, and the one the limit is held against.
    """
    from valvebench.judge.session import judge_session
    from valvebench.report.workbook import workbook_bytes

    session, of_variant = session_with(READINGS)
    judged = judge_session(session, of_variant)
    sheets = recipe(written(session, of_variant, judged))
    arguments = {"printed_at": "2031-05-06T10:11:12Z", "program": "speed", "photos": {}}
    jobs = {
        "ours_s": lambda: workbook_bytes(session, of_variant, judged, **arguments),
        "raw_s": lambda: raw_equivalent(sheets, shared_styles=True),
    }
    rounds = [{name: _timed(job) for name, job in jobs.items()} for _ in range(ROUNDS)]
    best = {name: min(one[name] for one in rounds) for name in jobs}
    by_hand_s = _timed(lambda: raw_equivalent(sheets, shared_styles=False))
    return {
        "readings": READINGS,
        "rows": len(judged.rows),
        "cells": sum(len(cells) for _, cells, _ in sheets),
        **best,
        "ratio": best["ours_s"] / best["raw_s"],
        "limit": MOST,
        "raw_with_a_style_for_each_cell_s": by_hand_s,
        "ratio_to_that": best["ours_s"] / by_hand_s,
    }


def _timed(job):
    gc.collect()
    start = time.process_time()
    job()
    return time.process_time() - start


if __name__ == "__main__":
    print(json.dumps(measure(), indent=1))
