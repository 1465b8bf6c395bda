"""What the rounds say so far: like windings against each other, each against copper, what is missing.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from valvebench.diagnose.heat_odd import Parting, Shift
from valvebench.judge.heat import HeatJudgement
from valvebench.judge.heat_rows import heat_key
from valvebench.judge.row import Row
from valvebench.model.format import MINUS, celsius_text, decimals_for, limits_text, value_text
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, Sized
from valvebench.model.words import Verdict
from valvebench.ui.pins.rounds import STEADY_KELVIN, Round, Stop
from valvebench.ui.pins.rounds_words import some

FEWEST_ROUNDS: Final = 5
SMALLEST_SPAN_KELVIN: Final = 10.0
"""What a comparison with copper needs at least; a test holds both against the comparison itself."""
_K: Final = 2.0
_BESIDE_LIMITS: Final = MappingProxyType({Verdict.FAIL: "outside", Verdict.CANT_TELL: "too close to tell"})
"""How copper alone can lie to its limits, where it does not pass."""
_WORST_FIRST: Final = (Verdict.FAIL, Verdict.CANT_TELL, Verdict.NOT_USABLE, Verdict.PASS, Verdict.NO_LIMIT)


@dataclass(frozen=True, kw_only=True)
class FindLine:
    """What the rounds say of one winding, held against copper; no verdict while they say nothing."""

    number: int
    name: str
    words: str
    limits: str = ""
    verdict: Verdict | None = None
    tip: str = ""


@dataclass(frozen=True, kw_only=True)
class FindsShown:
    """What like windings say of each other, or what is missing; then each winding alone."""

    headline: str = ""
    aside: str = ""
    lines: tuple[FindLine, ...] = ()


def finds_shown(
    rounds: Sequence[Round], stops: Sequence[Stop], rows_of: Callable[[str], Sequence[Row]], told: Sequence[Parting]
) -> FindsShown:
    """Everything the rounds say so far; `rows_of` gives the judged heat runs of a key."""
    lines = tuple(_line(place, stop, rounds, rows_of(heat_key(stop.name))) for place, stop in enumerate(stops))
    parted = [parting_words(one) for one in told]
    missing = advice(rounds, stops)
    said = sorted((words for words in parted if words), key=len, reverse=True)
    return FindsShown(headline=" ".join([*said[:1], *([missing] if missing else [])]), aside=_span(rounds), lines=lines)


def parting_words(one: Parting) -> str:
    """A matched set as it warms, in one sentence; nothing while it can't be told."""
    if one.keeps is None:
        return ""
    if one.keeps:
        return f"{some(one.members)} keep their ratios as they warm."
    others = [member for member in one.members if member != one.odd]
    if one.odd is None or one.shift is None:
        return f"{some(one.members)} do not keep their ratios: one of them moves."
    return f"{one.odd} parts from {some(others)}: {_change(one.shift)} at {celsius_text(one.shift.celsius)}."


def _change(shift: Shift) -> str:
    size, doubt = 100.0 * abs(shift.value), 100.0 * _K * shift.u
    places = decimals_for(doubt)
    more = "more" if shift.value > 0 else "less"
    return f"{size:.{places}f} \u00b1 {doubt:.{places}f} % {more}"


def advice(rounds: Sequence[Round], stops: Sequence[Stop]) -> str:
    """What is missing before every winding can be held against copper; nothing where nothing is."""
    whole = [one for one in rounds if all(stop.key in one.by_key for stop in stops)]
    left = FEWEST_ROUNDS - len(whole)
    if not rounds:
        return "Five rounds at different temperatures tell copper from a contact."
    if left > 0:
        more = "One more round" if left == 1 else f"{_COUNT[left].capitalize()} more rounds"
        return f"{more} at {'another temperature' if left == 1 else 'other temperatures'}, all pairs."
    span = _span_kelvin(rounds)
    if span < SMALLEST_SPAN_KELVIN:
        return f"Too little span: {span:.0f} \u00b0C from coldest to hottest. Go warmer."
    return "" if _cools(rounds) else "Then a round or two on the way down."


_COUNT: Final = ("no", "one", "two", "three", "four", "five")


def _span_kelvin(rounds: Sequence[Round]) -> float:
    all_celsius = [one.celsius for one in rounds]
    return max(all_celsius) - min(all_celsius) if all_celsius else 0.0


def _span(rounds: Sequence[Round]) -> str:
    if not rounds:
        return ""
    count = f"{len(rounds)} round{'' if len(rounds) == 1 else 's'}"
    all_celsius = [one.celsius for one in rounds]
    if len(rounds) == 1:
        return f"{count}, {celsius_text(all_celsius[0])}"
    coldest, hottest = celsius_text(min(all_celsius)), celsius_text(max(all_celsius))
    return f"{count}, {coldest.partition(' ')[0]} to {hottest}"


def _cools(rounds: Sequence[Round]) -> bool:
    hottest = max(rounds, key=lambda one: one.celsius)
    return any(one.number > hottest.number and one.celsius < hottest.celsius - STEADY_KELVIN for one in rounds)


def _line(place: int, stop: Stop, rounds: Sequence[Round], rows: Sequence[Row]) -> FindLine:
    told = [row for row in rows if row.heat is not None]
    if not told:
        return FindLine(number=place, name=stop.name, words=_not_yet(stop, rounds))
    row = min(told, key=lambda row: _WORST_FIRST.index(row.verdict) if row.verdict in _WORST_FIRST else -1)
    return FindLine(
        number=place,
        name=stop.name,
        words=_words(row.heat, row.verdict) if row.heat is not None else "",
        limits=limits_text(row.heat.limits.low_ohm, row.heat.limits.high_ohm) if row.heat is not None else "",
        verdict=row.verdict,
        tip="\n".join(row.reasons),
    )


def _not_yet(stop: Stop, rounds: Sequence[Round]) -> str:
    count = sum(stop.key in one.by_key for one in rounds)
    opened = next((one for one in rounds if any(kept.body.open for kept in one.by_key.get(stop.key, ()))), None)
    if opened is not None:
        return f"Open at {celsius_text(opened.celsius)}"
    return f"{count} of {FEWEST_ROUNDS} rounds" if count < FEWEST_ROUNDS else "Can't be compared yet"


def _words(judged: HeatJudgement, verdict: Verdict) -> str:
    found = judged.found
    opened = next((event for event in found.events if event.kind == "open"), None)
    if opened is not None:
        return _opened(opened)
    if found.kind is HeatKind.COPPER and verdict in _BESIDE_LIMITS:
        value = value_text(judged.ohm_at_ref, judged.U_ohm_at_ref)
        return f"Copper, {_BESIDE_LIMITS[verdict]}: {value} at {celsius_text(judged.limits.ref_celsius)}"
    return _KINDS[found.kind](found)


def _opened(event: HeatEvent) -> str:
    return f"Opens at {celsius_text(event.coil_celsius)}"


def _grows(found: HeatFound) -> str:
    hottest = celsius_text(round(found.hottest_celsius))
    return f"Grows with heat: {_ohm(found.excess_ohm_at_hottest)} more at {hottest}"


def _stays(found: HeatFound) -> str:
    return f"A contact that stays put: {_ohm(found.series_ohm)} in series"


def _copper(found: HeatFound) -> str:
    slope = found.slope_over_copper
    places = decimals_for(_K * slope.u)
    return f"Copper: slope {slope.value:.{places}f} \u00b1 {_K * slope.u:.{places}f} of it".replace("-", MINUS)


def _hidden(found: HeatFound) -> str:
    return f"Can't be separated: slope {found.slope_over_copper.value:.2f} of copper"


_KINDS: Final = {
    HeatKind.GROWS_WITH_HEAT: _grows,
    HeatKind.FIXED_SERIES: _stays,
    HeatKind.COPPER: _copper,
    HeatKind.NOT_SEPARABLE: _hidden,
}


def _ohm(size: Sized | None) -> str:
    return value_text(size.value, _K * size.u) if size is not None else ""
