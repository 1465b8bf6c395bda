"""The sheet of everything judged by ear and by function: ports, switches, solenoids."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.model.entry import AirTest, SolenoidTest, SwitchTest
from valvebench.model.words import VERDICT_TEXT, Supply
from valvebench.report.cells import Book, Sheet
from valvebench.report.history import Fate
from valvebench.report.layout import Column, colour_verdicts, finish_table, header, set_page
from valvebench.report.look import GONE, MUTED_TEXT, TENTHS, TEXT, VERDICT, WHOLE, WRAPPED
from valvebench.report.tables import Value, write_row

COLUMNS: Final = (
    Column("Entry", 7),
    Column("Test", 22),
    Column("What", 16),
    Column("Verdict", 13),
    Column("Seen or heard", 26),
    Column("Pressure, kPa gauge", 11),
    Column("Selector", 10),
    Column("Solenoids", 16),
    Column("Why", 46),
    Column("State of the entry", 20),
    Column("When", 24),
    Column("Who", 14),
    Column("Note", 22),
)
HEADER_ROW: Final = 3
_SUPPLY_TEXT: Final = {Supply.RATED_VOLTAGE: "rated voltage", Supply.LIMITED_CURRENT: "current-limited"}
ByEar = AirTest | SwitchTest | SolenoidTest


def write_air(book: Book, fates: Sequence[Fate], judged: SessionJudgement, *, report_id: str) -> None:
    """The sheet with its header, filter and colours."""
    sheet = book.sheet("Air")
    sheet.text(
        1, 1, "Ports, switches and solenoids by function. Pressures in kPa above the surrounding air.", MUTED_TEXT
    )
    header(sheet, HEADER_ROW, COLUMNS)
    rows = {n: row for row in judged.rows if row.judgement is None for n in row.entries}
    heard = [(fate, fate.body) for fate in fates if isinstance(fate.body, ByEar)]
    for number, (fate, body) in enumerate(heard, start=HEADER_ROW + 1):
        _write(sheet, number, fate, body, rows.get(fate.root) if fate.counts else None)
    last_row = HEADER_ROW + len(heard)
    if not heard:
        sheet.text(HEADER_ROW + 1, 1, _nothing_words(judged), MUTED_TEXT)
    finish_table(sheet, header_row=HEADER_ROW, columns=len(COLUMNS), last_row=last_row)
    colour_verdicts(sheet, f"D{HEADER_ROW + 1}:D{last_row + 1}")
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW)


def _nothing_words(judged: SessionJudgement) -> str:
    """What stands in place of a table, and where what was measured is."""
    if any(row.leak is not None for row in judged.rows):
        return "Nothing was tested by ear or by function in this session. What was measured: sheet Air leaks."
    return "Nothing was tested by air or by function in this session."


def _write(sheet: Sheet, number: int, fate: Fate, body: ByEar, row: Row | None) -> None:
    test, what, seen, solenoids = _columns(body)
    look = TEXT if fate.counts else GONE
    values: tuple[Value, ...] = (
        (fate.entry.n, WHOLE),
        (test, look),
        (what, look),
        (VERDICT_TEXT[row.verdict] if row is not None else None, VERDICT),
        (seen, look._replace(is_wrapped=True)),
        (body.kpa_gauge, TENTHS),
        (None if isinstance(body, SolenoidTest) else body.selector, TEXT),
        (solenoids, WRAPPED),
        (" ".join((*row.reasons, *row.next_steps)) if row is not None else None, WRAPPED),
        (fate.state, TEXT if fate.counts else MUTED_TEXT),
        (fate.entry.at, TEXT),
        (fate.entry.by, TEXT),
        (body.note, WRAPPED),
    )
    write_row(sheet, number, values, COLUMNS)


def _columns(body: ByEar) -> tuple[str, str, str, str]:
    """Test, what was tested, what was seen or heard, solenoid states."""
    if isinstance(body, AirTest):
        place = "clutch circuit in the case" if body.place.value == "case" else "port of the body"
        states = ", ".join(f"{name} {state}" for name, state in body.solenoids.items())
        return place, body.port, _air(body), states
    if isinstance(body, SwitchTest):
        return "switch under air" if body.is_under_air else "switch", body.device, _switch(body), ""
    return "solenoid by function", body.device, _function(body), ""


def _air(body: AirTest) -> str:
    cover = {None: "", True: "cover plate on", False: "no cover plate"}[body.has_cover]
    out_at = f"out at {body.came_out_at}" if body.came_out_at else ""
    return ", ".join(part for part in (body.result.value.replace("_", " "), out_at, cover) if part)


def _switch(body: SwitchTest) -> str:
    moved = ((body.up_kpa_gauge, "going up"), (body.down_kpa_gauge, "coming down"))
    ways = [f"changes at {kpa:g} kPa {way}" for kpa, way in moved if kpa is not None]
    ohm = [] if body.closed_ohm is None else [f"{body.closed_ohm:g} ohm"]
    return ", ".join([body.state.value, *ohm, *ways])


def _function(body: SolenoidTest) -> str:
    flows = (("without current", body.air_off), ("with current", body.air_on))
    air = [f"air {flow.value} {when}" for when, flow in flows if flow is not None]
    counted = "" if body.tries is None else f" {body.heard} of {body.tries}"
    fed = () if body.supply is None else (_SUPPLY_TEXT[body.supply],)
    limit = () if body.limit_ampere is None else (f"limit {body.limit_ampere:g} A",)
    return ", ".join([f"clicks{counted}" if body.click else f"no click{counted}", *air, *fed, *limit])
