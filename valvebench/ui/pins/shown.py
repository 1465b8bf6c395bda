"""What the Pins page shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, Final

import msgspec

from valvebench.judge.device_limits import limits_of
from valvebench.judge.diodes import Polar, Way
from valvebench.judge.resistance import to_reference
from valvebench.judge.sentences import headline
from valvebench.model.format import (
    OHM,
    celsius_text,
    high_limit_text,
    limits_text,
    low_limit_text,
    ohm_text,
    open_text,
    scale_of,
    value_text,
)
from valvebench.model.limits import Limits
from valvebench.model.variant import AnyDevice, Solenoid
from valvebench.model.words import VERDICT_TEXT, ItemState, Verdict
from valvebench.ui.pins.keys import LEVER_KEY

if TYPE_CHECKING:
    from valvebench.judge.judgement import Judgement
    from valvebench.judge.row import Row
    from valvebench.judge.targets import Target

KIND_TEXT: Final = {
    "solenoid": "Solenoid",
    "temperature_sensor": "Temperature sensor",
    "speed_sensor": "Speed sensor",
    "switch": "Switch",
    "diode": "Diode",
    "link": "Link",
    "electronics": "Electronics",
}
_COLDEST, _HOTTEST, _STEP = 10, 120, 5


class PairShown(msgspec.Struct, frozen=True, kw_only=True):
    """Which two nodes to probe, what for, what to expect."""

    black: str
    red: str
    what: str
    expect: str
    clip: str = "Probe"

    @property
    def probe(self) -> str:
        """The pair in large type."""
        return f"{self.red} and {self.black}"


class ReadingShown(msgspec.Struct, frozen=True, kw_only=True):
    """A ruler with its sentence; numbers in `unit`."""

    unit: str = OHM
    low: float | None = None
    high: float | None = None
    low_text: str = ""
    high_text: str = ""
    guard: float = 0.0
    value: float | None = None
    expanded: float | None = None
    open_above: float | None = None
    verdict: Verdict = Verdict.NOT_TAKEN
    value_text: str = ""
    sentence: str = ""


class RowShown(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the readings table; `number` is its first entry, `state` what it waits for without a verdict."""

    number: int
    between: str
    what: str
    ohm: str
    at_ref: str
    limits: str
    verdict: Verdict | None
    entries: tuple[int, ...] = ()
    tip: str = ""
    state: str = ""


class PlotShown(msgspec.Struct, frozen=True, kw_only=True):
    """Band and marks of one device against coil temperature, in `unit`."""

    title: str
    unit: str = OHM
    band: tuple[tuple[float, float | None, float | None], ...] = ()
    marks: tuple[tuple[float, float, float | None, Verdict], ...] = ()
    here_celsius: float | None = None
    empty: str = ""


def pair_shown(
    target: Target, device: AnyDevice | None, *, black: str, red: str, celsius: float | None, clip: str = "Probe"
) -> PairShown:
    """The pair with its device and expectation."""
    return PairShown(
        black=black, red=red, what=_what(target, device), expect=_expect(target.limits, celsius), clip=clip
    )


def with_lever(shown: PairShown, lever: str | None) -> PairShown:
    """The same with the position of the selector lever, which decides what the reading says."""
    words = f"lever in {lever}" if lever is not None else f"say where the lever stands: {LEVER_KEY}"
    return msgspec.structs.replace(shown, expect=f"{shown.expect}, {words}")


def with_diode(shown: PairShown, polar: Polar) -> PairShown:
    """The same with what a diode across the device does this way round."""
    does = {
        Way.BLOCKING: "the diode blocks",
        Way.FORWARD: "the diode may conduct",
        Way.UNKNOWN: "a diode lies across: read both ways",
    }[polar.way(shown.red)]
    return msgspec.structs.replace(shown, expect=f"{shown.expect}, red on {shown.red}: {does}")


def _what(target: Target, device: AnyDevice | None) -> str:
    if device is None:
        return "Isolation to the case" if target.what == "isolation" else f"{target.what[:1].upper()}{target.what[1:]}"
    duty = f", {device.duty.value.replace('_', '/')}" if isinstance(device, Solenoid) and device.duty else ""
    return f"{KIND_TEXT[target.kind]} {device.name}{duty}"


def _expect(limits: Limits, celsius: float | None) -> str:
    if not limits.is_stated:
        return limits.note or "no limit stated"
    factor = 1.0 if celsius is None else to_reference(limits, celsius)
    low = None if limits.low_ohm is None else limits.low_ohm / factor
    high = None if limits.high_ohm is None else limits.high_ohm / factor
    at = f" at {celsius_text(limits.ref_celsius if celsius is None else celsius)}" if _moves(limits) else ""
    if low is not None and high is not None:
        return f"expect {_range_text(low, high)}{at}"
    if low is not None:
        return f"expect open, or more than {ohm_text(low)}"
    return f"expect less than {ohm_text(high or 0.0)}"


def _range_text(low: float, high: float) -> str:
    if scale_of(low)[1] != scale_of(high)[1]:
        return f"{ohm_text(low)} to {ohm_text(high)}"
    low_number, high_number = (text.split(" ")[0] for text in (low_limit_text(low), high_limit_text(high)))
    return f"{low_number} to {high_number} {scale_of(high)[1]}{OHM}"


def _moves(limits: Limits) -> bool:
    return limits.k_celsius is not None or limits.slope_per_celsius != 0


def limits_shown(limits: Limits, ohm: float | None = None) -> ReadingShown:
    """The ruler before anything is typed; `ohm` helps to choose its unit where no limit does."""
    factor, unit = ruler_scale(limits, ohm)
    return _bare_ruler(limits, factor, unit)


@lru_cache(maxsize=256)
def _bare_ruler(limits: Limits, factor: float, unit: str) -> ReadingShown:
    """The same for every reading against these limits."""
    low, high = limits.low_ohm, limits.high_ohm
    return ReadingShown(
        unit=unit,
        low=_by(low, factor),
        high=_by(high, factor),
        low_text="" if low is None else low_limit_text(low),
        high_text="" if high is None else high_limit_text(high),
    )


def reading_shown(judgement: Judgement) -> ReadingShown:
    """The ruler with a judged reading, where the limits hold."""
    bare = limits_shown(judgement.limits, judgement.ohm_at_ref)
    factor, _ = ruler_scale(judgement.limits, judgement.ohm_at_ref)
    is_open = judgement.state is ItemState.OPEN
    return ReadingShown(
        unit=bare.unit,
        low=bare.low,
        high=bare.high,
        low_text=bare.low_text,
        high_text=bare.high_text,
        guard=0.0 if is_open else (judgement.guard_ohm or 0.0) / factor,
        value=None if is_open else _by(judgement.ohm_at_ref, factor),
        expanded=None if is_open else _by(judgement.U_ohm_at_ref, factor),
        open_above=_by(judgement.range_ohm, factor) if is_open else None,
        verdict=judgement.verdict,
        value_text=f"{open_text(judgement.range_ohm)}{OHM} (open)" if is_open else _value_words(judgement),
        sentence=_first(judgement),
    )


def _first(judgement: Judgement) -> str:
    return (judgement.reasons[0] if judgement.reasons else headline(judgement)).rstrip(".")


def _value_words(judgement: Judgement) -> str:
    if judgement.ohm_at_ref is None:
        return ""
    at = judgement.celsius if judgement.ref_celsius is None else judgement.ref_celsius
    return f"{value_text(judgement.ohm_at_ref, judgement.U_ohm_at_ref)} at {celsius_text(at)}"


def ruler_scale(limits: Limits, ohm: float | None) -> tuple[float, str]:
    """Divisor and unit of a ruler with these limits, or with this value [ohm] where there is none."""
    known = [x for x in (limits.high_ohm, limits.low_ohm, ohm) if x]
    factor, prefix = scale_of(known[0]) if known else (1.0, "")
    return factor, f"{prefix}{OHM}"


def rows_shown(rows: Iterable[Row]) -> list[RowShown]:
    """The readings between two nodes; what was heard, a heat run and a flex test stand on pages of their own."""
    return [_row_shown(row) for row in rows if row.from_node is not None and row.heat is None and row.flex is None]


def _row_shown(row: Row) -> RowShown:
    judgement = row.judgement
    between = f"{row.from_node}\u2013{row.to_node}"
    if judgement is None:
        return RowShown(
            number=row.entries[0],
            between=between,
            what=row.what,
            ohm="",
            at_ref="",
            limits="",
            verdict=row.verdict,
            entries=row.entries,
            tip="\n".join(row.reasons),
        )
    limits = judgement.limits
    return RowShown(
        number=row.entries[0],
        between=between,
        what=row.what if len(row.entries) == 1 else f"{row.what}, {len(row.entries)} times",
        ohm=_ohm_cell(row, judgement),
        at_ref=_at_ref_cell(judgement),
        limits="open" if row.what == "not wired" and limits.is_stated else limits_text(limits.low_ohm, limits.high_ohm),
        verdict=row.verdict,
        entries=row.entries,
        tip="\n".join((*row.reasons, *judgement.advice)),
    )


def _ohm_cell(row: Row, judgement: Judgement) -> str:
    if judgement.state is ItemState.OPEN:
        return open_text(judgement.range_ohm)
    shown = row.shown_ohm if row.shown_ohm is not None else judgement.ohm
    return "" if shown is None else ohm_text(shown).removesuffix(OHM).strip()


def _at_ref_cell(judgement: Judgement) -> str:
    if judgement.ohm_at_ref is None or judgement.state is ItemState.OPEN or judgement.limits.k_celsius is None:
        return ""
    return value_text(judgement.ohm_at_ref, judgement.U_ohm_at_ref, unit=False)


def keeping_row(number: int, *, between: str, what: str, ohm: str, words: str = "keeping", state: str = "") -> RowShown:
    """A row that is not on disk yet, or not judged yet: it has no mark and does not count."""
    return RowShown(
        number=number, between=between, what=what, ohm=ohm, at_ref=words, limits="", verdict=None, state=state
    )


def plot_shown(title: str, device: AnyDevice | None, rows: tuple[Row, ...], celsius: float | None) -> PlotShown:
    """Resistance against coil temperature of one device: the moving band and every reading."""
    if device is None:
        return PlotShown(title=title, empty="Isolation does not move with temperature in a known way.")
    band = tuple(_band(device))
    known = [bound for _, low, high in band for bound in (high, low) if bound]
    factor, prefix = scale_of(max(known)) if known else (1.0, "")
    return PlotShown(
        title=title,
        unit=f"{prefix}{OHM}",
        band=tuple((t, _by(low, factor), _by(high, factor)) for t, low, high in band),
        marks=tuple(mark for row in rows if (mark := _mark(row, factor)) is not None),
        here_celsius=celsius,
        empty="Readings appear here against the coil temperature.",
    )


def _by(ohm: float | None, factor: float) -> float | None:
    return None if ohm is None else ohm / factor


def _band(device: AnyDevice) -> list[tuple[float, float | None, float | None]]:
    """The limits over the temperatures a bench sees, straight for copper, from the table for a sensor."""
    points = []
    for celsius in range(_COLDEST, _HOTTEST + 1, _STEP):
        limits = limits_of(device, float(celsius))
        if limits.is_stated and _moves(limits):
            factor = to_reference(limits, float(celsius))
            low = None if limits.low_ohm is None else limits.low_ohm / factor
            high = None if limits.high_ohm is None else limits.high_ohm / factor
            points.append((float(celsius), low, high))
    return points


def _mark(row: Row, factor: float) -> tuple[float, float, float | None, Verdict] | None:
    judgement = row.judgement
    if judgement is None or judgement.ohm is None or judgement.state is ItemState.OPEN:
        return None
    back = to_reference(judgement.limits, judgement.celsius)
    expanded = judgement.U_ohm_at_ref
    return (
        judgement.celsius,
        judgement.ohm / factor,
        None if expanded is None else expanded / back / factor,
        row.verdict,
    )


def kept_sentence(row: RowShown) -> str:
    """One line on what was just kept."""
    verdict = VERDICT_TEXT[row.verdict] if row.verdict is not None else ""
    return f"Kept {row.between}, {row.what}: {row.ohm} {OHM}. {verdict}."
