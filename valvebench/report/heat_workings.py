"""Readings of heat runs typed in rounds, and the same runs again by formulas anyone can follow."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from valvebench.diagnose.heat_rounds import Rounds
from valvebench.model.entry import Reading
from valvebench.model.heat import HeatFound, HeatKind, Sized
from valvebench.model.session import Session
from valvebench.report import heat_formulas as formulas
from valvebench.report.cells import Book, Sheet
from valvebench.report.heat_cases import HeatCase
from valvebench.report.heat_formulas import (
    COLUMN,
    HEADINGS,
    READING_COLUMNS,
    ROUNDS_TITLE,
    WORKINGS_TITLE,
    formula_at,
    reading_formula,
)
from valvebench.report.layout import finish_table, group_headings, header, paragraph, set_page
from valvebench.report.look import FULL, GENERAL, LIVE, LIVE_WORD, QUIET, SECTION, TENTHS, TEXT, WHOLE, Look
from valvebench.report.readings import shown
from valvebench.report.words import HEAT_KIND_TEXT

ROUNDS_HEADER_ROW: Final = 4
GROUP_ROW, HEADER_ROW = 4, 5
_ENOUGH_FOR_MEMORY: Final = 30
"""From so many readings on the program also asks whether neighbours resemble one another."""
_READINGS_WORDS: Final = (
    "Every reading that was taken in a round, after the temperature had settled. Corrected means: freed of the leads, "
    "or referred to the check resistor. A device of copper alone has the same value at 20 \u00b0C all the way up and "
    "down; the straight line is that of the sheet Heat workings."
)
_WORKINGS_WORDS: Final = (
    "Each heat run that was read in rounds, again from its readings by formulas of this sheet: a straight line of "
    "resistance over copper against 20 \u00b0C, (k + T)/(k + 20), and what all readings share added after it. Where "
    "something grows with heat, its size is worked out once more by plain least squares from the start the program "
    "found. Runs of a logger have thousands of readings and a lag: valvebench heat FILE works them out from the file."
)
_NUMBERS: Final = frozenset({"n"})


class Placed(NamedTuple):
    """A run in rounds: where it stands in both sheets."""

    case: HeatCase
    rounds: Rounds
    row: int
    first: int
    last: int


def write_heat_rounds(book: Book, cases: Sequence[HeatCase], session: Session, *, report_id: str) -> None:
    """Both sheets; nothing where no run was read in rounds."""
    placed = _placed(cases)
    if not placed:
        return
    _write_readings(book.sheet(ROUNDS_TITLE), placed, session, report_id)
    _write_workings(book.sheet(WORKINGS_TITLE), placed, report_id)


def _placed(cases: Sequence[HeatCase]) -> list[Placed]:
    found: list[Placed] = []
    first = ROUNDS_HEADER_ROW + 1
    for case in cases:
        if case.rounds is not None:
            last = first + len(case.rounds.entries) - 1
            found.append(Placed(case, case.rounds, HEADER_ROW + 1 + len(found), first, last))
            first = last + 1
    return found


def _write_readings(sheet: Sheet, placed: Sequence[Placed], session: Session, report_id: str) -> None:
    paragraph(sheet, 1, "Readings of the rounds", SECTION, columns=len(READING_COLUMNS), characters=150)
    paragraph(sheet, 2, _READINGS_WORDS, QUIET, columns=len(READING_COLUMNS), characters=150)
    header(sheet, ROUNDS_HEADER_ROW, list(READING_COLUMNS.values()))
    readings = {item.n: item.body for item in session.items if isinstance(item.body, Reading)}
    for one in placed:
        for place in range(len(one.rounds.entries)):
            _write_reading(sheet, one, place, readings)
    last_row = placed[-1].last
    columns = len(READING_COLUMNS)
    finish_table(sheet, header_row=ROUNDS_HEADER_ROW, columns=columns, last_row=last_row, freeze_column=3)
    set_page(sheet, report_id=report_id, repeat_row=ROUNDS_HEADER_ROW)


def _write_reading(sheet: Sheet, one: Placed, place: int, readings: Mapping[int, Reading]) -> None:
    rounds, row = one.rounds, one.first + place
    entry, ohm = rounds.entries[place], rounds.ohm[place]
    is_open = not math.isfinite(ohm)
    reading = readings.get(entry)
    cells: dict[str, tuple[str | float | None, Look]] = {
        "run": (one.row - HEADER_ROW, WHOLE),
        "device": (one.case.device, TEXT),
        "round": (rounds.rounds[place], WHOLE),
        "entry": (entry, WHOLE),
        "way": (warming_words(rounds.celsius, place), TEXT),
        "celsius": (rounds.celsius[place], TENTHS),
        "shown": (shown(reading) if reading is not None else None, GENERAL),
        "ohm": ("open" if is_open else ohm, GENERAL),
    }
    numbers = {key: number for number, key in enumerate(READING_COLUMNS, start=1)}
    for key, (value, look) in cells.items():
        sheet.put(row, numbers[key], value, look)
    if is_open:
        return
    for key, formula in formulas.OF_READING.items():
        sheet.formula(row, numbers[key], reading_formula(formula, row=row, run_row=one.row), LIVE)
    if one.case.found.grows_from_celsius is not None:
        growing = reading_formula(formulas.GROWING, row=row, run_row=one.row)
        sheet.formula(row, numbers["growing"], growing, LIVE)


def warming_words(celsius: Sequence[float], place: int) -> str:
    """Whether a round was read on the way up or down, from the round before it; the first by the one after."""
    before, after = (place - 1, place) if place else (0, 1)
    if after >= len(celsius) or celsius[before] == celsius[after]:
        return ""
    return "warming" if celsius[after] > celsius[before] else "cooling"


def _write_workings(sheet: Sheet, placed: Sequence[Placed], report_id: str) -> None:
    paragraph(sheet, 1, WORKINGS_TITLE, SECTION, columns=12, characters=140)
    paragraph(sheet, 2, _WORKINGS_WORDS, QUIET, columns=11, characters=130)
    group_headings(sheet, HEADINGS, group_row=GROUP_ROW, header_row=HEADER_ROW)
    for one in placed:
        _write_run(sheet, one)
    finish_table(
        sheet, header_row=HEADER_ROW, columns=len(HEADINGS), last_row=placed[-1].row, freeze_column=COLUMN["slope"]
    )
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW, pages=3)


def _write_run(sheet: Sheet, one: Placed) -> None:
    sheet.number(one.row, COLUMN["line"], one.row - HEADER_ROW, WHOLE)
    sheet.text(one.row, COLUMN["device"], one.case.device)
    sheet.text(one.row, COLUMN["kind"], HEAT_KIND_TEXT[one.case.found.kind])
    for key, number in (_inputs(one) | _program(one)).items():
        if number is not None:
            sheet.number(one.row, COLUMN[key], number, FULL if key.startswith("p_") else GENERAL)
    for key, formula in _live(one).items():
        look = LIVE_WORD if key == "agrees" else WHOLE if key in _NUMBERS else LIVE
        sheet.formula(one.row, COLUMN[key], formula_at(formula, row=one.row, first=one.first, last=one.last), look)


def _live(one: Placed) -> dict[str, str]:
    """What can be worked out again of this kind of run."""
    found = one.case.found
    redone = _redone(found)
    if found.n >= _ENOUGH_FOR_MEMORY:
        redone["agrees"] = formulas.VALUES_AGREE[found.kind]
    return {**formulas.LINE, **redone}


def _redone(found: HeatFound) -> dict[str, str]:
    if found.kind is HeatKind.GROWS_WITH_HEAT:
        if found.grows_from_celsius is None or found.series_ohm is not None:
            return {"agrees": formulas.SLOPE_AGREES}
        return {**formulas.GROWTH, "agrees": formulas.GROWTH_AGREES}
    if found.series_ohm is not None:
        return {**formulas.ALL_AT_20, **formulas.SERIES, "agrees": formulas.SERIES_AGREES}
    return {**formulas.ALL_AT_20, "agrees": formulas.COPPER_AGREES}


def _inputs(one: Placed) -> dict[str, float | None]:
    found, rounds = one.case.found, one.rounds
    start = found.grows_from_celsius
    return {
        "k_celsius": found.k_celsius,
        "percent": rounds.instrument.percent,
        "counts": rounds.instrument.counts,
        "step": rounds.instrument.step,
        "half_width": rounds.half_width,
        "start": start.value if start is not None else None,
        "hottest": found.hottest_celsius,
    }


def _program(one: Placed) -> dict[str, float | None]:
    found = one.case.found
    is_straight = found.kind is not HeatKind.GROWS_WITH_HEAT
    return {
        **_pair("slope", found.slope_over_copper),
        **_pair("at_20", found.at_20_ohm if is_straight else None),
        **_pair("series", found.series_ohm if is_straight else None),
        **_pair("excess", found.excess_ohm_at_hottest),
    }


def _pair(key: str, sized: Sized | None) -> dict[str, float | None]:
    if sized is None:
        return {}
    return {f"p_{key}": sized.value, f"p_u_{key}": sized.u}
