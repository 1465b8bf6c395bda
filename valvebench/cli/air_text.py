"""What air tests with numbers say as rows of a session: JSON, and the line for a person."""

from __future__ import annotations

from typing import Any, NamedTuple

from valvebench.cli.leak_text import leak_data
from valvebench.judge.leak_rows import LEAK_WORDS, SEAT_WORDS, leak_words
from valvebench.judge.row import Row
from valvebench.judge.sweep import SweepJudgement, hysteresis_words
from valvebench.judge.sweep_rows import SWEEP_WORDS
from valvebench.judge.tap import PressureJudgement, window_words
from valvebench.judge.tap_rows import TAP_KEY
from valvebench.model.format import plus_minus
from valvebench.model.heat import Sized


class AirLine(NamedTuple):
    """Place, name, number and limits of a row."""

    place: str
    what: str
    number: str
    limits: str


def air_data(row: Row) -> dict[str, Any]:
    """`leak`, `pressure` and `sweep` of a row, null where it is none of these."""
    return {
        "leak": leak_data(row.leak) if row.leak is not None else None,
        "pressure": _pressure_data(row.pressure) if row.pressure is not None else None,
        "sweep": _sweep_data(row.sweep) if row.sweep is not None else None,
    }


def _pressure_data(judged: PressureJudgement) -> dict[str, Any]:
    taken, window = judged.taken, judged.window
    return {
        "tap": taken.tap,
        "state": taken.state,
        "kpa_gauge": taken.kpa_gauge,
        "U_kpa": judged.U_kpa,
        "k_coverage": judged.k_coverage,
        "fluid_celsius": taken.fluid_celsius,
        "low_kpa": window.low_kpa if window is not None else None,
        "high_kpa": window.high_kpa if window is not None else None,
        "gauge": judged.gauge,
        "gauge_is_assumed": judged.gauge_is_assumed,
        "plain_verdict": judged.plain_verdict,
    }


def _sweep_data(judged: SweepJudgement) -> dict[str, Any]:
    loop, dead = judged.found.hysteresis_pct_span, judged.found.dead_band_ampere
    return {
        "hysteresis_pct_span": {
            "max": _sized(loop.max),
            "mean_10_90": _sized(loop.mean_10_90),
            "resolved": loop.resolved,
        },
        "judged_by": "mean_10_90" if judged.is_mean else "max",
        "U_pct": judged.U_pct,
        "max_hysteresis_pct": judged.max_hysteresis_pct,
        "dead_band_ampere": _sized(dead) if dead is not None else None,
        "span_kpa": judged.found.span_kpa,
        "plain_verdict": judged.plain_verdict,
    }


def _sized(one: Sized) -> dict[str, float]:
    return {"value": one.value, "u": one.u}


def air_line(row: Row) -> AirLine | None:
    """The parts of a row's line; None where it is no air test with a number."""
    if row.leak is not None:
        limit = row.leak.max_ml_min
        words = leak_words(row.leak.found, row.leak.U_ml_min)
        what = row.what.removesuffix(LEAK_WORDS).removesuffix(SEAT_WORDS)
        return AirLine("seat" if row.port is None else "leak", what, words, f"< {limit:g}" if limit is not None else "")
    if row.pressure is not None:
        judged = row.pressure
        number = plus_minus(judged.taken.kpa_gauge, judged.U_kpa, unit="kPa")
        limits = window_words(judged.window) if judged.window is not None else ""
        return AirLine("tap", row.what.removeprefix(TAP_KEY), number, limits)
    if row.sweep is not None:
        limit = row.sweep.max_hysteresis_pct
        words = hysteresis_words(row.sweep.hysteresis_pct, row.sweep.U_pct)
        return AirLine(
            "sweep", row.what.removesuffix(SWEEP_WORDS), words, f"< {limit:g} %" if limit is not None else ""
        )
    return None
