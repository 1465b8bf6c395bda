"""The first sheet: verdict with its scope, the job, the head, every item with its reason."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from valvebench.judge.heat import HeatJudgement
from valvebench.judge.leak_rows import leak_words
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement, session_sentence
from valvebench.judge.sweep import hysteresis_words
from valvebench.judge.tap import window_words
from valvebench.model.format import OHM, celsius_text, limits_text, open_text, plus_minus, value_text
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, ItemState, Verdict
from valvebench.report.cells import Book, Sheet
from valvebench.report.form import Ruler
from valvebench.report.found import found_facts
from valvebench.report.identity import anchor_words, job_details
from valvebench.report.layout import Column, colour_verdicts, header, lines_of, paragraph, set_height, set_page
from valvebench.report.look import (
    LABEL,
    MONO,
    PARAGRAPH,
    PLAIN,
    QUIET,
    SECTION,
    SENTENCE,
    TEXT,
    TITLE,
    VERDICT,
    WRAPPED,
    Look,
)

COLUMNS: Final = (
    Column("Item", 28),
    Column("Verdict", 14),
    Column("Value", 26),
    Column("Limits", 20),
    Column("Entries", 12),
    Column("Why", 76),
)
_WRAPPED_COLUMNS: Final = (5, 6)
_PAGE_CHARACTERS: Final = 165
ATTENTION_FIRST: Final = (
    Verdict.FAIL,
    Verdict.CANT_TELL,
    Verdict.NOT_USABLE,
    Verdict.NOT_TAKEN,
    Verdict.NO_LIMIT,
    Verdict.PASS,
)
CAUTION: Final = (
    "A bench pass is not a road test: parts are judged as they lay on the bench, at the temperatures stated. "
    "The maker's procedure, local regulations and licensed practice come first. The results relate only to "
    "the item tested."
)
OPEN_SESSION: Final = "This session is not closed: entries may still follow, and the verdict may change."


@dataclass(frozen=True, kw_only=True)
class Front:
    """What the first sheet is made of."""

    session: Session
    variant: Variant | None
    judged: SessionJudgement
    report_id: str
    printed_at: str
    program: str


def write_summary(book: Book, front: Front) -> None:
    """The sheet, from the verdict at its top to the mark at its end."""
    sheet = book.sheet("Summary")
    set_page(sheet, report_id=front.report_id)
    row = _write_top(sheet, front)
    row = _write_facts(sheet, row + 1, "This report", _report_facts(front))
    row = _write_job(sheet, row + 1, front)
    row = _write_items(sheet, row + 1, front.judged)
    row = _write_found(sheet, row + 1, front.session)
    paragraph(sheet, row + 1, CAUTION, PARAGRAPH, columns=len(COLUMNS), characters=_PAGE_CHARACTERS)
    sheet.text(
        row + 3,
        1,
        f"End of the summary of report {front.report_id}. The other sheets of this file belong to it.",
        QUIET_LINE,
    )


QUIET_LINE: Final = QUIET._replace(is_wrapped=False)


def _write_top(sheet: Sheet, front: Front) -> int:
    sheet.text(1, 1, "Valve body test report", TITLE)
    set_height(sheet, 1, 1, size=TITLE.size)
    job = front.session.job
    variant = f", {front.variant.title}" if front.variant is not None else ", no variant"
    serial = f", serial {job.serial}" if job.serial else ""
    sheet.text(2, 1, f"Job {job.job}{variant}{serial}", PLAIN._replace(size=12.0))
    sheet.text(4, 1, VERDICT_TEXT[front.judged.verdict], VERDICT._replace(size=16.0, is_ruled=False))
    colour_verdicts(sheet, "A4:A4")
    sheet.text(4, 2, session_sentence(front.judged), SENTENCE._replace(is_wrapped=False))
    set_height(sheet, 4, 1, size=18.0)
    if not front.session.is_closed:
        sheet.text(5, 2, OPEN_SESSION, QUIET_LINE)
    return 6


def _report_facts(front: Front) -> list[tuple[str, str]]:
    session = front.session
    closed = f"closed {session.close.at} by {session.close.by}" if session.close is not None else "not closed"
    return [
        ("Report", front.report_id),
        ("Printed", f"{front.printed_at} by {front.program}"),
        ("Head", session.head),
        ("Head is", anchor_words(session.anchors)),
        (
            "Session",
            f"{session.job.session}, {len(session.entries)} entries, {session.tail} of them after the head; {closed}",
        ),
        ("Rule", RULE_TEXT[front.judged.rule]),
    ]


def _write_facts(sheet: Sheet, row: int, title: str, facts: Iterable[tuple[str, str]]) -> int:
    sheet.text(row, 1, title, SECTION)
    for label, text in facts:
        row += 1
        sheet.text(row, 1, label, LABEL)
        wide(sheet, row, text, MONO._replace(size=9.0, is_ruled=False) if label == "Head" else PARAGRAPH, last_column=6)
    return row + 1


def wide(sheet: Sheet, row: int, text: str, look: Look, *, last_column: int) -> None:
    """Text from the second column on, over as many columns and lines as it needs."""
    sheet.text(row, 2, text, look)
    sheet.worksheet.merge_cells(start_row=row, start_column=2, end_row=row, end_column=last_column)
    set_height(sheet, row, lines_of(text, sum(column.width for column in COLUMNS[1:last_column])))


def _write_job(sheet: Sheet, row: int, front: Front) -> int:
    sheet.text(row, 1, "Job", SECTION)
    for detail in job_details(front.session.job_now, front.variant):
        row += 1
        sheet.text(row, 1, detail.label, LABEL)
        wide(sheet, row, detail.text, PARAGRAPH, last_column=5)
        sheet.text(row, 6, detail.origin, LABEL)
    return row + 1


@dataclass(frozen=True, kw_only=True)
class Item:
    """One line of the summary."""

    what: str
    verdict: Verdict
    row: Row | None = None


def items_of(judged: SessionJudgement) -> list[Item]:
    """One line for each item, what needs attention first; the row that decided stands for the item."""
    rows: dict[str, list[Row]] = defaultdict(list)
    for row in judged.rows:
        rows[row.key].append(row)
    items = [_item(of_key, judged.items[key]) for key, of_key in rows.items()]
    items += [Item(what=one.what, verdict=Verdict.NOT_TAKEN) for one in judged.wanted if one.key not in rows]
    return sorted(items, key=lambda item: ATTENTION_FIRST.index(item.verdict))


def _item(rows: list[Row], verdict: Verdict) -> Item:
    deciding = next((row for row in rows if row.verdict is verdict), rows[0])
    return Item(what=row_name(deciding), verdict=verdict, row=deciding)


def row_name(row: Row) -> str:
    """What a row is about, with its nodes."""
    if row.kind == "isolation" and row.covers:
        return f"isolation of {', '.join(row.covers)}"
    if row.from_node is not None and row.kind in ("pair", "isolation"):
        return f"{row.what}, {row.from_node} - {row.to_node}"
    return f"{row.what}, by function" if row.key.startswith("function ") else row.what


def _write_items(sheet: Sheet, row: int, judged: SessionJudgement) -> int:
    sheet.text(row, 1, "Items", SECTION)
    header(sheet, row + 1, COLUMNS)
    items = items_of(judged)
    for number, item in enumerate(items, start=row + 2):
        _write_item(sheet, number, item)
    last = row + 1 + len(items)
    colour_verdicts(sheet, f"B{row + 2}:B{last + 1}")
    return last + 1


def _write_item(sheet: Sheet, number: int, item: Item) -> None:
    row = item.row
    sheet.text(number, 1, item.what, WRAPPED)
    sheet.text(number, 2, VERDICT_TEXT[item.verdict], VERDICT)
    texts = row_words(row)
    for column, text in enumerate(texts, start=3):
        sheet.text(number, column, text, WRAPPED if column in _WRAPPED_COLUMNS else TEXT)
    lines = [
        lines_of(text, COLUMNS[column - 1].width) for column, text in zip(_WRAPPED_COLUMNS, texts[-2:], strict=True)
    ]
    set_height(sheet, number, max(*lines, lines_of(item.what, COLUMNS[0].width)))


def row_words(row: Row | None) -> tuple[str, str, str, str]:
    """Value, limits, entries and reasons in words."""
    if row is None:
        return "", "", "", "Nothing was taken for this item."
    entries = " ".join(str(n) for n in row.entries)
    if row.heat is not None:
        return _of_heat(row, row.heat, entries)
    if row.judgement is None:
        if row.flex is not None and len(row.entries) > 1:
            entries = f"{row.entries[0]} to {row.entries[-1]}"
        return *_of_air(row), entries, " ".join((*row.reasons, *row.advice))
    limits = row.judgement.limits
    words = limits_text(limits.low_ohm, limits.high_ohm)
    why = " ".join((*row.reasons, *row.judgement.advice))
    return _value_words(row), _with_unit(words) if words else "", entries, why


def ruler_of(row: Row | None) -> Ruler | None:
    """Value, doubt and limits as they are drawn; nothing where there is no value, no limit, or another last word."""
    judged = row.judgement if row is not None else None
    if row is None or judged is None or judged.verdict is not row.verdict:
        return None
    value, expanded, limits = judged.ohm_at_ref, judged.U_ohm_at_ref, judged.limits
    if value is None or expanded is None or not limits.is_stated:
        return None
    return Ruler(limits.low_ohm, limits.high_ohm, value, expanded, judged.guard_ohm or 0.0, row.verdict)


def _of_air(row: Row) -> tuple[str, str]:
    """Value and limit of an air test with a number; nothing of what was heard."""
    if row.leak is not None:
        limit = row.leak.max_ml_min
        return leak_words(row.leak.found, row.leak.U_ml_min), f"< {limit:g} ml/min" if limit is not None else ""
    if row.pressure is not None:
        one = row.pressure
        limits = window_words(one.window) if one.window is not None else ""
        return plus_minus(one.taken.kpa_gauge, one.U_kpa, unit="kPa"), limits
    if row.sweep is not None:
        pct = row.sweep.max_hysteresis_pct
        return hysteresis_words(row.sweep.hysteresis_pct, row.sweep.U_pct), f"< {pct:g} %" if pct is not None else ""
    return "", ""


def _of_heat(row: Row, heat: HeatJudgement, entries: str) -> tuple[str, str, str, str]:
    """What all of it would read at the reference, though what failed may be hot only: that stands in the reasons."""
    at = celsius_text(heat.limits.ref_celsius)
    words = limits_text(heat.limits.low_ohm, heat.limits.high_ohm)
    why = " ".join((*row.reasons, *row.advice))
    value = f"{value_text(heat.ohm_at_ref, heat.U_ohm_at_ref)} at {at}"
    return value, _with_unit(words) if words else "", entries, why


def _with_unit(words: str) -> str:
    """The unit joined to its prefix where there is one."""
    return f"{words}{OHM}" if words[-1].isalpha() else f"{words} {OHM}"


def _value_words(row: Row) -> str:
    judgement = row.judgement
    if judgement is None:
        return ""
    if judgement.state is ItemState.OPEN:
        return f"open, {_with_unit(open_text(judgement.range_ohm))}"
    if judgement.ohm_at_ref is None:
        return ""
    celsius = judgement.celsius if judgement.ref_celsius is None else judgement.ref_celsius
    return f"{value_text(judgement.ohm_at_ref, judgement.U_ohm_at_ref)} at {celsius_text(celsius)}"


def _write_found(sheet: Sheet, row: int, session: Session) -> int:
    """Fluid, cooler, features, photos and notes as they were found."""
    facts = found_facts(session)
    return _write_facts(sheet, row, "As found", facts) if facts else row - 1
