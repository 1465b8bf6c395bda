"""One judged row as the Workings sheet needs it: way of measuring, raw inputs, where its raw values stand."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import Final

from valvebench.judge.judgement import Judgement
from valvebench.model.format import open_text
from valvebench.model.limits import ASSUMED_REF_HALF_WIDTH_CELSIUS
from valvebench.model.meter import Check, Instrument, VoltsRatio
from valvebench.model.words import ItemState, Verdict
from valvebench.physics.uncertainty import zero_of
from valvebench.report.cases import Case

RAW_TITLE: Final = "Raw values"
_WAY_TEXT: Final = {
    "neither": "leads not taken off",
    "nulled": "leads nulled",
    "four_wire": "four wires",
    "subtract": "tips taken off",
    "check": "check resistor",
    "volts": "volts ratio",
}


class Working:
    """One row of the sheet: which formulas it needs, and its raw inputs."""

    def __init__(self, case: Case, *, row: int, raw_first: int, set_up: int, pool_step: float) -> None:
        self.case, self.row = case, row
        self.set_up, self.pool_step = set_up, pool_step
        self.shown = () if case.reading.volts_x is not None or case.reading.open else tuple(_shown(case))
        self.raw_first = raw_first
        self.raw_last = raw_first + len(self.shown) - 1

    @cached_property
    def instrument(self) -> Instrument:
        """Meter, leads and check resistor."""
        return self.case.instrument

    @property
    def judgement(self) -> Judgement:
        """What the program said by the number alone: a contact or a diode is no matter of formulas."""
        return self.case.row.by_number or self.case.judgement

    @property
    def way(self) -> str:
        """Which way the value was found."""
        if self.instrument.volts is not None:
            return "volts"
        return "check" if self.instrument.check is not None else self.instrument.leads.value

    @property
    def is_open(self) -> bool:
        """Whether there is a range instead of a value."""
        return self.judgement.state is ItemState.OPEN

    @property
    def is_not_usable(self) -> bool:
        """Whether nothing is known of the coil temperature."""
        return self.judgement.verdict is Verdict.NOT_USABLE

    def raw(self, column: str) -> str:
        """The rows of the raw values that belong here, as a range."""
        return f"'{RAW_TITLE}'!${column}${self.raw_first}:${column}${self.raw_last}"


def _shown(case: Case) -> Iterable[tuple[int, float, float]]:
    """Entry, displayed value [ohm] and coil temperature of every single reading."""
    for one in case.group:
        reading = one.reading
        values = reading.repeats_ohm or ((reading.ohm,) if reading.ohm is not None else ())
        for ohm in values:
            yield one.item.n, ohm, reading.celsius


def way_text(work: Working) -> str:
    """The way of measuring in words, and that a contact or a diode has the last word elsewhere."""
    row = work.case.row
    alone = ", by the number alone" if row.by_number is not None and row.by_number.verdict is not row.verdict else ""
    if work.is_open:
        return f"open {open_text(work.judgement.range_ohm)}{alone}"
    given = ", u given" if work.instrument.u_ohm is not None else ""
    return f"{_WAY_TEXT[work.way]}{given}{alone}"


def inputs(work: Working) -> dict[str, float | None]:
    """Raw inputs by column; what a way of measuring does not use stays empty."""
    return _limit_inputs(work) | (_open_inputs(work) if work.is_open else _reading_inputs(work))


def _open_inputs(work: Working) -> dict[str, float | None]:
    return {"range": work.judgement.range_ohm}


def _limit_inputs(work: Working) -> dict[str, float | None]:
    limits = work.judgement.limits
    is_copper = limits.k_celsius is not None
    return {
        "k_celsius": limits.k_celsius,
        "ref": limits.ref_celsius if is_copper else None,
        "ref_half": ASSUMED_REF_HALF_WIDTH_CELSIUS if is_copper and not limits.is_ref_stated else None,
        "slope": limits.slope_per_celsius or None,
        "low": limits.low_ohm,
        "high": limits.high_ohm,
    }


def _reading_inputs(work: Working) -> dict[str, float | None]:
    instrument, reading = work.instrument, work.case.reading
    meter = instrument.volts.meter if instrument.volts is not None else instrument.meter
    return {
        "percent": meter.percent,
        "counts": meter.counts,
        "step": meter.step,
        "lead": instrument.lead_ohm,
        "allowance": instrument.lead_allowance_ohm if work.way == "neither" else None,
        "u_given": instrument.u_ohm,
        "half_width": reading.half_width_celsius() if reading.u_celsius is None else None,
        "u_celsius": reading.u_celsius,
        "set_up": work.set_up,
        "pool_step": work.pool_step,
        **_check_inputs(instrument, instrument.check),
        **_volts_inputs(instrument.volts),
    }


def _check_inputs(instrument: Instrument, check: Check | None) -> dict[str, float | None]:
    if check is None:
        return {}
    against_volts = instrument.volts is not None
    return {
        "check": check.ohm,
        "check_read": None if against_volts else check.read_ohm,
        "check_zero": None if against_volts else zero_of(instrument, check),
        "check_pct": check.pct,
    }


def _volts_inputs(volts: VoltsRatio | None) -> dict[str, float | None]:
    return {} if volts is None else {"volts_x": volts.volts_x, "volts_check": volts.volts_check}
