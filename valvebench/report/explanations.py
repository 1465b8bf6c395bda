"""The sheet Explanations: which faults explain the readings, what each predicts, what to read next."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from valvebench.bench.explain_report import ExplainedJob
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_words import (
    ask_text,
    assumed_text,
    bad_text,
    chance_text,
    fault_text,
    flex_text,
    head_text,
    heat_lines,
    next_text,
    time_text,
)
from valvebench.diagnose.explained import COVERAGE, Between, Explained, Explanation, LeftOut, Told
from valvebench.judge.targets import target_of
from valvebench.model.format import celsius_text, decimals_for
from valvebench.model.variant import Variant
from valvebench.model.words import ACCESS_TEXT
from valvebench.report.cells import Book, Sheet
from valvebench.report.explain_formulas import ACCESS, ANSWERS, DECIDES, LAST_ODDS, LEFT_OUT, NEXT, TOLD, Table
from valvebench.report.layout import embolden, lines_of, paragraph, set_height, set_page, set_widths
from valvebench.report.look import (
    ANSWER,
    FULL,
    GENERAL,
    HEADER,
    LIVE,
    LIVE_ANSWER,
    QUIET,
    SECTION,
    SENTENCE,
    TENTHS,
    TEXT,
    WRAPPED,
    Look,
    decimals,
)

if TYPE_CHECKING:
    from valvebench.diagnose.access import Neighbours
    from valvebench.diagnose.explain_readings import Said

TITLE: Final = "Explanations"
_BELOW: Final = "what would not show: listed below"
HEADER_ROW: Final = 7
ANSWERS_TITLE: Final = "Explanations, most probable first"
TOLD_TITLE: Final = "Predicted against read, what decides most first"
HEAT_TITLE: Final = "Found as the part warmed"
FLEX_TITLE: Final = "Found while it was flexed"
ACCESS_TITLE: Final = "The same pair at two access points"
NEXT_TITLE: Final = "What to read next"
INVISIBLE_TITLE: Final = "Would not show in any usual reading"
_OPEN: Final = "open"
_MOST_ASKED: Final = 5
_WIDTHS: Final = (42.0, 42.0, 22.0)
_NUMBER_WIDTH: Final = 13.0
_WIDE: Final = 5
_PAGES_WIDE: Final = MappingProxyType({True: 3, False: 2})
"""With and without the table of access points, the widest."""
_INTRODUCTION: Final = (
    "Every single fault this circuit can have, weighed against all readings at once. A share is the chance of one "
    "answer together with all it cannot be told from; it speaks of single faults, has two digits and is never "
    "certain. Odds, distances and differences are computed again from the inputs of their rows. Rows belong together: "
    "do not sort them apart."
)
_OF_READINGS: Final = (
    "The doubt of a reading is what meter, leads and temperature may have done to it. What good parts differ by is "
    "not in it, so that a distance of two or three says nothing by itself; the distance between two predictions does."
)
_ONE_VARIANT: Final = "Other variants were not weighed."
# Two digits and never a certainty: what the cell holds is what the odds are made of.
SHARE: Final = Look(number_format='[>0.99]"> 0.99";[<0.01]"< 0.01";0.00')
ODDS: Final = Look(number_format='[>=10]0;[>=0.1]0.0;"< 0.1"')
Value = tuple[str | float | None, Look]


def write_explanations(book: Book, found: ExplainedJob, variant: Variant, *, report_id: str) -> None:
    """The answers in order, readings as read and as predicted, access points, next readings, and what was left out."""
    sheet, explained = book.sheet(TITLE), found.explained
    _write_head(sheet, found, variant)
    row = HEADER_ROW - 1
    if explained.readings:
        row = _write_answers(sheet, row, explained, variant)
        row = _write_heat(sheet, row + 2, explained) if explained.heat else row
        row = _write_flexed(sheet, row + 2, explained) if explained.flexed else row
        row = _write_told(sheet, row + 2, found, variant)
        row = _write_access(sheet, row + 2, found) if explained.access else row
        row = _write_invisible(sheet, row + 2, explained, variant) if explained.invisible else row
    row = _write_next(sheet, row + 2, found) if explained.next else row
    if explained.left_out:
        _write_left_out(sheet, row + 2, explained.left_out)
    set_widths(sheet, map(_width, range(len(ACCESS.columns))))
    sheet.worksheet.freeze_panes = f"B{HEADER_ROW + 1}"
    set_page(sheet, report_id=report_id, pages=_PAGES_WIDE[bool(explained.access)])
    sheet.worksheet.print_title_cols = "A:A"


def _write_head(sheet: Sheet, found: ExplainedJob, variant: Variant) -> None:
    explained = found.explained
    first = " ".join(part for part in (head_text(explained, variant), bad_text(explained)) if part)
    paragraph(sheet, 1, TITLE, SECTION, columns=_WIDE, characters=120)
    paragraph(sheet, 2, first, SENTENCE, columns=_WIDE, characters=95)
    paragraph(sheet, 3, next_text(explained, warm_celsius=found.warm_celsius), TEXT, columns=_WIDE, characters=140)
    paragraph(sheet, 4, _INTRODUCTION, QUIET, columns=_WIDE, characters=140)
    if explained.readings:
        paragraph(sheet, 5, f"{assumed_text(explained)} {_ONE_VARIANT}", QUIET, columns=_WIDE, characters=140)


def _write_answers(sheet: Sheet, row: int, explained: Explained, variant: Variant) -> int:
    """The table of answers; the last row it took."""
    row = _begin(sheet, row, ANSWERS_TITLE, ANSWERS)
    shown = explained.explanations
    for number, one in enumerate(shown, start=row + 1):
        words = _capital(fault_text(one.fault, one.where, variant, one.when))
        same = "; ".join(fault_text(place.fault, place.where, variant, place.when) for place in one.same_as)
        if one.fault is Fault.HEALTHY and one.same_as:
            same = _BELOW
        cells: dict[str, Value] = {
            "what": (words, WRAPPED),
            "same": (same, WRAPPED),
            "chance": (chance_text(one.p), TEXT),
            "share": (one.p, SHARE),
            "p_odds": (one.odds, ODDS),
            **_size(one),
        }
        _put(sheet, number, ANSWERS, cells)
        is_last = number == row + len(shown)
        odds = ANSWERS.at(LAST_ODDS, number) if is_last else ANSWERS.formula("odds", number)
        sheet.formula(number, ANSWERS.number("odds"), odds, ODDS)
        sheet.formula(number, ANSWERS.number("agrees"), ANSWERS.formula("agrees", number), LIVE_ANSWER)
    return row + len(shown)


def _size(one: Explanation) -> dict[str, Value]:
    if one.value is None:
        return {}
    look = decimals(decimals_for(COVERAGE * one.value.u))
    return {"size": (one.value.value, look), "U_size": (COVERAGE * one.value.u, look)}


def _write_told(sheet: Sheet, row: int, found: ExplainedJob, variant: Variant) -> int:
    """Every reading beside what the first two answers predict for it; the last row it took."""
    first, second = _predictions(found.explained)
    row = _begin(sheet, row, TOLD_TITLE, TOLD)
    for number, (told, said) in enumerate(_with_said(first, _weighed(found)), start=row + 1):
        other = second[number - row - 1] if second else None
        _put(sheet, number, TOLD, _told_cells(told, other, said, variant))
        for key in _live(told, other):
            sheet.formula(number, TOLD.number(key), TOLD.formula(key, number), _TOLD_LOOK.get(key, _DISTANCE))
    last = row + len(first)
    embolden(sheet, f"C{row + 1}:C{last}", DECIDES)
    paragraph(sheet, last + 1, _OF_READINGS, QUIET, columns=_WIDE, characters=140)
    return last + 1


_DISTANCE: Final = TENTHS._replace(align="right")
_TOLD_LOOK: Final = MappingProxyType({"u": LIVE, "decides": LIVE_ANSWER})


def _live(told: Told, other: Told | None) -> list[str]:
    """The formulas a row has something to compute by."""
    keys = ["off_first"] if other is None else ["off_first", "off_second", "apart", "decides"]
    return keys if told.read_ohm is None else ["u", *keys]


def _predictions(explained: Explained) -> tuple[Sequence[Told], Sequence[Told]]:
    """What the first two answers that predict anything say, reading by reading in one order."""
    found = [one.predicts for one in explained.explanations if one.predicts]
    return (found[0] if found else ()), (found[1] if len(found) > 1 else ())


def _weighed(found: ExplainedJob) -> list[Said]:
    """The readings that were weighed: not those left out, nor warm ones that a heat result was made from."""
    gone = {one.entry for one in found.explained.left_out}
    gone |= {entry for one in found.explained.heat for entry in one.entries}
    return [one for one in found.said if one.entry not in gone]


def _with_said(told: Sequence[Told], said: Sequence[Said]) -> list[tuple[Told, Said]]:
    """Each prediction with its reading in numbers; of readings that are the same in all each is taken once."""
    left: dict[object, list[Said]] = {}
    for one in said:
        read = one.ohm if math.isfinite(one.ohm) else None
        reading = one.reading
        left.setdefault((reading.from_node, reading.to_node, reading.at, read), []).append(one)
    return [(one, left[one.from_node, one.to_node, one.at, one.read_ohm].pop(0)) for one in told]


def _told_cells(told: Told, other: Told | None, said: Said, variant: Variant) -> dict[str, Value]:
    reading = said.reading
    target = target_of(variant, reading)
    words = f"{told.from_node}\u2013{told.to_node}, {target.what}"
    where = f"{ACCESS_TEXT[told.at]}, {celsius_text(reading.celsius)}, entry {said.entry}"
    cells: dict[str, Value] = {
        "what": (words, WRAPPED),
        "where": (where, WRAPPED),
        "read": _ohm(told.read_ohm),
        "first": _ohm(told.ohm),
    }
    cells |= {"second": _ohm(other.ohm)} if other is not None else {}
    if told.read_ohm is None:
        return cells
    limits, u_celsius = target.limits, _u_celsius(said)
    if limits.k_celsius is not None:
        slope = told.read_ohm / (limits.k_celsius + reading.celsius)
    else:
        slope = abs(told.read_ohm * limits.slope_per_celsius)
    numbers = {"own": said.own_sd_ohm, "gain": said.gain_sd, "leads": said.lead_sd_ohm}
    numbers |= {"slope": slope, "u_celsius": u_celsius} if slope else {}
    return cells | {key: (number, LIVE) for key, number in numbers.items()}


def _u_celsius(said: Said) -> float:
    from valvebench.diagnose.explain_readings import u_celsius

    return u_celsius(said.reading)


def _ohm(ohm: float | None) -> Value:
    if ohm is None:
        return _OPEN, ANSWER._replace(align="right")
    return ohm, decimals(decimals_for(abs(ohm) / 100.0))


def _write_access(sheet: Sheet, row: int, found: ExplainedJob) -> int:
    """Each difference again from its two readings; the last row it took."""
    row = _begin(sheet, row, ACCESS_TITLE, ACCESS)
    for number, (between, one) in enumerate(zip(found.explained.access, found.neighbours, strict=True), start=row + 1):
        _put(sheet, number, ACCESS, _access_cells(between, one))
        for key in ACCESS.formulas:
            is_word = key in ("answer", "agrees")
            look = LIVE_ANSWER if is_word else LIVE
            sheet.formula(number, ACCESS.number(key), ACCESS.formula(key, number), look)
    return row + len(found.explained.access)


def _access_cells(between: Between, one: Neighbours) -> dict[str, Value]:
    outer, inner = one.outer, one.inner
    words = f"{between.what}: {ACCESS_TEXT[between.outer]} (entry {outer.entry}) less {ACCESS_TEXT[between.inner]}"
    cells: dict[str, Value] = {
        "what": (f"{between.from_node}\u2013{between.to_node}", WRAPPED),
        "between": (f"{words} (entry {inner.entry})", WRAPPED),
        "p_difference": (between.ohm, FULL),
        "p_u": (between.u, FULL),
    }
    numbers: dict[str, float | None] = {
        "outer": outer.ohm,
        "inner": inner.ohm,
        "outer_celsius": outer.reading.celsius,
        "inner_celsius": inner.reading.celsius,
        "k_celsius": one.k_celsius,
        "outer_own": outer.own_sd_ohm,
        "inner_own": inner.own_sd_ohm,
        "gain": outer.gain_sd if one.has_one_meter else None,
        **_not_shared(one),
    }
    return cells | {key: (number, GENERAL if "celsius" in key else LIVE) for key, number in numbers.items()}


def _not_shared(one: Neighbours) -> dict[str, float | None]:
    """What each reading has of its own; empty where both share it."""
    found: dict[str, float | None] = {}
    for side, said in (("outer", one.outer), ("inner", one.inner)):
        found[f"{side}_gain"] = None if one.has_one_meter else said.gain_sd
        found[f"{side}_leads"] = None if one.has_one_lead_set else said.lead_sd_ohm
        found[f"{side}_u_celsius"] = None if one.has_one_temperature else _u_celsius(said)
    return found


def _write_invisible(sheet: Sheet, row: int, explained: Explained, variant: Variant) -> int:
    sheet.text(row, 1, INVISIBLE_TITLE, SECTION)
    places = [fault_text(place.fault, place.where, variant, place.when) for place in explained.invisible]
    return _write_lines(sheet, row, [f"{_capital(words)}." for words in places])


def _write_heat(sheet: Sheet, row: int, explained: Explained) -> int:
    """What was found as the part warmed counts among what explains the readings."""
    sheet.text(row, 1, HEAT_TITLE, SECTION)
    return _write_lines(sheet, row, heat_lines(explained))


def _write_flexed(sheet: Sheet, row: int, explained: Explained) -> int:
    """A contact that comes and goes is told by itself: no reading at rest shows it."""
    sheet.text(row, 1, FLEX_TITLE, SECTION)
    return _write_lines(sheet, row, [flex_text(explained)])


def _write_lines(sheet: Sheet, row: int, lines: Sequence[str]) -> int:
    for number, words in enumerate(lines, start=row + 1):
        paragraph(sheet, number, words, TEXT, columns=_WIDE, characters=140)
    return row + len(lines)


def _write_next(sheet: Sheet, row: int, found: ExplainedJob) -> int:
    row = _begin(sheet, row, NEXT_TITLE, NEXT)
    asks = found.explained.next[:_MOST_ASKED]
    for number, ask in enumerate(asks, start=row + 1):
        words = _capital(ask_text(ask, warm_celsius=found.warm_celsius))
        cells: dict[str, Value] = {
            "what": (words, WRAPPED),
            "time": (time_text(ask.seconds), WRAPPED),
            "bits": (ask.bits, decimals(2)),
        }
        _put(sheet, number, NEXT, cells)
    return row + len(asks)


def _write_left_out(sheet: Sheet, row: int, left_out: Sequence[LeftOut]) -> None:
    row = _begin(sheet, row, "Readings nothing is concluded from", LEFT_OUT)
    for number, one in enumerate(left_out, start=row + 1):
        _put(sheet, number, LEFT_OUT, {"what": (f"Entry {one.entry}", TEXT), "why": (one.why, WRAPPED)})


def _begin(sheet: Sheet, row: int, title: str, table: Table) -> int:
    """A title and a header row; the number of the header row."""
    sheet.text(row, 1, title, SECTION)
    for column, (_, words) in enumerate(table.columns, start=1):
        sheet.text(row + 1, column, words, HEADER)
    set_height(sheet, row + 1, max(lines_of(words, 0.8 * _width(i)) for i, (_, words) in enumerate(table.columns)))
    return row + 1


def _width(index: int) -> float:
    return _WIDTHS[index] if index < len(_WIDTHS) else _NUMBER_WIDTH


def _put(sheet: Sheet, row: int, table: Table, cells: Mapping[str, Value]) -> None:
    """Values of one row, and a row high enough for the words that wrap."""
    lines = 1
    for key, (value, look) in cells.items():
        column = table.number(key)
        sheet.put(row, column, value, look)
        if isinstance(value, str) and look.is_wrapped:
            lines = max(lines, lines_of(value, _width(column - 1)))
    set_height(sheet, row, lines)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
