"""The sheets of pressures at taps and of sweeps: each verdict again by formulas of its own row."""

from __future__ import annotations

from typing import Final

from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.judge.sweep import SweepJudgement, is_resolved
from valvebench.judge.tap import PressureJudgement, doubt_of, gauge_of, warmth_words
from valvebench.model.air_tests import SweepTest
from valvebench.model.format import decimals_for
from valvebench.model.heat import Sized
from valvebench.model.session import Session
from valvebench.model.words import VERDICT_TEXT
from valvebench.physics.uncertainty import Line, combine
from valvebench.report.cells import Book
from valvebench.report.layout import Column
from valvebench.report.look import (
    GENERAL,
    LIVE,
    LIVE_ANSWER,
    MONO,
    TENTHS,
    TEXT,
    VERDICT,
    WHOLE,
    WRAPPED,
    Look,
    decimals,
)
from valvebench.report.tables import (
    HEADER_ROW,
    Live,
    Value,
    agrees_formula,
    begin,
    finish,
    guard_share,
    verdict_formula,
    write_row,
)

PRESSURES: Final = "Pressures"
PRESSURE_COLUMNS: Final = (
    Column("Tap", 14),
    Column("Verdict", 12),
    Column("State", 12),
    Column("Why", 60),
    Column("What next", 34),
    Column("Pressure, kPa gauge", 11),
    Column("U, kPa", 10),
    Column("Low, kPa", 10),
    Column("High, kPa", 10),
    Column("Fluid, \u00b0C", 10),
    Column("Window for fluid at", 18),
    Column("Gauge, % of reading", 11),
    Column("Counts", 9),
    Column("Step, kPa", 9),
    Column("Share of U asked for by the rule", 12),
    Column("U again, kPa", 11),
    Column("Verdict again", 13),
    Column("Agreement", 12),
    Column("Gauge", 16),
    Column("Source of the window", 28),
    Column("Entry", 8),
    Column("Note", 28),
)
SWEEPS: Final = "Sweeps"
SWEEP_COLUMNS: Final = (
    Column("Solenoid", 14),
    Column("Verdict", 12),
    Column("Judged by", 14),
    Column("Why", 60),
    Column("What next", 34),
    Column("Hysteresis, % of the span", 12),
    Column("u, %", 9),
    Column("U, %", 9),
    Column("Limit, %", 9),
    Column("Share of U asked for by the rule", 12),
    Column("Stands out", 12),
    Column("U again, %", 11),
    Column("Stands out, again", 12),
    Column("Verdict again", 13),
    Column("Agreement", 12),
    Column("Largest, %", 10),
    Column("Its u, %", 9),
    Column("Mean 10-90 %, %", 10),
    Column("Its u, %", 9),
    Column("Dead band, A", 10),
    Column("Its u, A", 9),
    Column("Span, kPa", 10),
    Column("Scatter, kPa", 10),
    Column("Read from", 34),
    Column("Entry", 8),
    Column("SHA-256 of the file", 58),
)
_K: Final = 2.0
_PRESSURE_WORDS: Final = (
    "Every pressure that was read at a tap, against the window of its state and fluid temperature. Percent of reading "
    "and counts of the gauge make one rectangle; U is 95.45 % of its half-width. U and verdict are computed again by "
    "formulas of the row. Pressures in kPa above the surrounding air."
)
_SWEEP_WORDS: Final = (
    "Every sweep of a solenoid\u2019s current. Hysteresis is how far the branches lie apart at equal current, in "
    "percent of the span; it stands out where it is more than twice its standard uncertainty, and is not resolved "
    "otherwise. Judged by the largest width, or by the mean over 10 to 90 % of the span where the scatter is above a "
    "third of the limit. The file is kept in the folder blobs of the session under its hash."
)
_STANDS_OUT: Final = {True: "yes", False: "not resolved"}


def write_pressures(book: Book, judged: SessionJudgement, *, report_id: str) -> None:
    """Nothing where no pressure was read."""
    cases = [(row, row.pressure) for row in judged.rows if row.pressure is not None]
    if not cases:
        return
    sheet = begin(book, PRESSURES, _PRESSURE_WORDS, PRESSURE_COLUMNS)
    for number, (row, one) in enumerate(cases, start=HEADER_ROW + 1):
        write_row(sheet, number, _pressure_cells(row, one), PRESSURE_COLUMNS)
    finish(sheet, PRESSURE_COLUMNS, HEADER_ROW + len(cases), report_id=report_id)


def _pressure_cells(row: Row, one: PressureJudgement) -> list[Value]:
    taken, window, gauge = one.taken, one.window, gauge_of(one.taken)
    look = decimals(decimals_for(one.U_kpa))
    assumed = " (assumed)" if one.gauge_is_assumed else ""
    return [
        (taken.tap, TEXT),
        (VERDICT_TEXT[one.verdict], VERDICT),
        (taken.state, TEXT),
        (" ".join(row.reasons), WRAPPED),
        (" ".join(row.advice), WRAPPED),
        (taken.kpa_gauge, look),
        (one.U_kpa, look),
        (window.low_kpa if window is not None else None, GENERAL),
        (window.high_kpa if window is not None else None, GENERAL),
        (taken.fluid_celsius, TENTHS),
        ((warmth_words(window) or "any") if window is not None else None, TEXT),
        (gauge.percent, GENERAL),
        (max(gauge.counts, 0.5), GENERAL),
        (gauge.step, GENERAL),
        (guard_share(one.rule, combine([doubt_of(taken)])), LIVE),
        (Live("=0.9545*(L{row}/100*ABS(F{row})+M{row}*N{row})"), LIVE),
        (verdict_formula("F{row}", "O{row}*P{row}", low="H{row}", high="I{row}"), LIVE_ANSWER),
        (agrees_formula(("G{row}", "P{row}")), LIVE_ANSWER),
        (f"{taken.gauge_id or one.gauge}{assumed}", TEXT),
        (row.limit_source, WRAPPED),
        (float(row.entries[0]), WHOLE),
        (taken.note, WRAPPED),
    ]


def write_sweeps(book: Book, session: Session, judged: SessionJudgement, *, report_id: str) -> None:
    """Nothing where no solenoid was swept."""
    cases = [(row, row.sweep) for row in judged.rows if row.sweep is not None]
    if not cases:
        return
    tests = {item.n: item.body for item in session.items if isinstance(item.body, SweepTest)}
    sheet = begin(book, SWEEPS, _SWEEP_WORDS, SWEEP_COLUMNS)
    for number, (row, one) in enumerate(cases, start=HEADER_ROW + 1):
        write_row(sheet, number, _sweep_cells(row, one, tests[row.entries[0]]), SWEEP_COLUMNS)
    finish(sheet, SWEEP_COLUMNS, HEADER_ROW + len(cases), report_id=report_id)


def _sweep_cells(row: Row, one: SweepJudgement, test: SweepTest) -> list[Value]:
    value, found = one.hysteresis_pct, one.found
    look = decimals(decimals_for(_K * value.u))
    doubt = combine([Line("sweep", value.u, is_rectangular=False)])
    return [
        (test.device, TEXT),
        (VERDICT_TEXT[one.verdict], VERDICT),
        ("mean 10-90 %" if one.is_mean else "largest", TEXT),
        (" ".join(row.reasons), WRAPPED),
        (" ".join(row.advice), WRAPPED),
        (value.value, look),
        (value.u, GENERAL),
        (one.U_pct, look),
        (one.max_hysteresis_pct, GENERAL),
        (guard_share(one.rule, doubt), LIVE),
        (_STANDS_OUT[is_resolved(value)], TEXT),
        (Live("=2*G{row}"), LIVE),
        (Live('=IF(F{row}>2*G{row},"yes","not resolved")'), LIVE_ANSWER),
        (verdict_formula("F{row}", "J{row}*L{row}", high="I{row}"), LIVE_ANSWER),
        (agrees_formula(("H{row}", "L{row}")), LIVE_ANSWER),
        *_sized(found.hysteresis_pct_span.max),
        *_sized(found.hysteresis_pct_span.mean_10_90),
        *_sized(found.dead_band_ampere),
        (found.span_kpa, TENTHS),
        (found.noise_kpa, GENERAL),
        (f"{test.file_name}, {test.size_bytes} bytes", WRAPPED),
        (float(row.entries[0]), WHOLE),
        (test.sha256, MONO),
    ]


def _sized(one: Sized | None) -> list[Value]:
    look: Look = decimals(decimals_for(_K * one.u)) if one is not None else GENERAL
    return [(one.value if one is not None else None, look), (one.u if one is not None else None, GENERAL)]
