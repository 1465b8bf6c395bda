"""What is shown of a logger's file before it is taken in, as plain frozen facts.  No Qt, no arrays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from valvebench.bench.heat_find import TakenWith
from valvebench.bench.heat_log import LogColumn, LogHead
from valvebench.bench.heat_take import Said
from valvebench.model.errors import BadInput, bad
from valvebench.model.format import value_text
from valvebench.model.heat import HeatKind
from valvebench.model.meter import parse_meter
from valvebench.model.numbers import decimal
from valvebench.model.variant import Variant
from valvebench.ui.heat.shown import K95, coil_named, coils_of, events_count

LEAVE_OUT: Final = ""
MOST_COLUMNS_SHOWN: Final = 8
_NAMELESS: Final = "this part"
_LARGEST_PROBE_KELVIN: Final = 50.0
HOLDS_WORDS: Final = {
    "time": "time",
    "probe": "probe",
    "ohm": "resistance",
    "device": "device of the line",
    "other": "not used",
}
SAID_WORDS: Final = {
    HeatKind.COPPER: "As copper",
    HeatKind.FIXED_SERIES: "A part in series that stays put",
    HeatKind.GROWS_WITH_HEAT: "Grows with heat",
    HeatKind.NOT_SEPARABLE: "Cannot be separated",
}


@dataclass(frozen=True, kw_only=True)
class Options:
    """What the person said of the log, as typed."""

    is_settled: bool = False
    is_soaked: bool = False
    meter: str = ""
    celsius_accuracy: str = "2"


@dataclass(frozen=True, kw_only=True)
class FileShown:
    """How a file is written: what was detected, in pairs of label and words; headings and first lines."""

    name: str
    detected: tuple[tuple[str, str], ...]
    headings: tuple[str, ...]
    lines: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class ColumnShown:
    """One run of the file: its column, the device it is taken for, the choices, and what it says."""

    column: str
    label: str
    device: str
    choices: tuple[tuple[str, str], ...]
    words: str
    is_usable: bool


def file_shown(name: str, head: LogHead) -> FileShown:
    """How the file is written."""
    holds = [_column_words(one) for one in head.columns]
    above = f"{head.passed_over} lines above the header passed over" if head.passed_over else ""
    pairs = (
        ("Cells parted by", head.separator),
        ("Decimal sign", head.decimal_sign or "none seen"),
        ("Time", head.time or "no column of it"),
        ("Columns", "; ".join(holds)),
        ("Header", above or "the first line"),
    )
    most = MOST_COLUMNS_SHOWN
    return FileShown(
        name=name,
        detected=pairs,
        headings=tuple(one.heading for one in head.columns[:most]),
        lines=tuple(tuple((*line, *[""] * most)[: min(most, len(head.columns))]) for line in head.lines),
    )


def _column_words(one: LogColumn) -> str:
    unit = f" in {one.unit}" if one.unit else ""
    return f"{one.heading}: {HOLDS_WORDS[one.holds]}{unit}"


def matched_device(variant: Variant | None, column: str) -> str:
    """The device a column is about: by its name; the only one where there is no choice; else nobody's guess."""
    coils = coils_of(variant)
    if variant is None:
        return column or _NAMELESS
    found = coil_named(variant, column)
    if found is not None:
        return found.name
    return coils[0].name if not column and len(coils) == 1 else LEAVE_OUT


def column_shown(variant: Variant | None, column: str, device: str, said: Said | None) -> ColumnShown:
    """One run of the file."""
    names = [coil.name for coil in coils_of(variant)] if variant is not None else [column or _NAMELESS]
    return ColumnShown(
        column=column,
        label=f"Column {column}" if column else "The resistance",
        device=device,
        choices=((LEAVE_OUT, "Leave out"), *((name, name) for name in names)),
        words=_said_words(said),
        is_usable=said is not None and said.found is not None,
    )


def _said_words(said: Said | None) -> str:
    if said is None:
        return "Reading \u2026"
    found = said.found
    if found is None:
        return f"Cannot be used: {said.problem}"
    value = value_text(found.at_20_ohm.value, K95 * found.at_20_ohm.u)
    return f"{SAID_WORDS[found.kind]}, {value} at 20 \u00b0C, {found.n} readings{events_count(found)}."


def read_options(options: Options) -> tuple[TakenWith | None, Mapping[str, str]]:
    """The options as they count, or what is wrong with each field that cannot be used."""
    problems: dict[str, str] = {}
    meter, kelvin = options.meter.strip() or None, 0.0
    try:
        if meter is not None:
            parse_meter(meter)
    except BadInput as error:
        problems["meter"] = error.problems[0].text()
    try:
        kelvin = decimal(options.celsius_accuracy, where="probe accuracy")
        if not 0 < kelvin <= _LARGEST_PROBE_KELVIN:
            raise bad("probe accuracy", options.celsius_accuracy, "more than 0, at most 50 degrees, such as 2")
    except BadInput as error:
        problems["celsius_accuracy"] = error.problems[0].text()
    if problems:
        return None, problems
    return TakenWith(options.is_settled, options.is_soaked, meter, kelvin), problems
