"""What the results of a session say about each cause: rows, explanations and what was found in the vehicle."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_words import chance_text, fault_text
from valvebench.diagnose.explained import HARNESS, Explained, Explanation, HeatWord
from valvebench.diagnose.suspected import Finding, Findings, Mark
from valvebench.diagnose.suspects_fluid import fluid_findings
from valvebench.diagnose.suspects_weights import Cause
from valvebench.judge.codes import CODE_KEY
from valvebench.judge.row import Row
from valvebench.judge.session import item_verdict
from valvebench.judge.tap_rows import TAP_KEY
from valvebench.judge.targets import wanted_air
from valvebench.model.entry import FluidFound
from valvebench.model.format import celsius_text
from valvebench.model.variant import Port, Solenoid, TemperatureSensor, Variant
from valvebench.model.words import VERDICT_TEXT, AccessPoint, Place, Verdict, When

LINE: Final = "line"
"""What a port feeds that no single clutch has for itself."""
_SEEN: Final = 0.5
_EXPLAINS: Final = "What explains the readings"
_STEADY: Final = frozenset({When.COLD, When.ALWAYS})
"""A complaint that is there cold shows in a cold reading."""
_MARKS: Final = MappingProxyType({Verdict.FAIL: Mark.POINTS, Verdict.PASS: Mark.GOOD})
_CAUSES: Final = MappingProxyType(
    {
        Fault.DEVICE_OPEN: Cause.SOLENOID_WINDING,
        Fault.DEVICE_SHORT: Cause.SOLENOID_WINDING,
        Fault.VALUE_LOW: Cause.SOLENOID_WINDING,
        Fault.VALUE_HIGH: Cause.SOLENOID_WINDING,
        Fault.LEAK: Cause.SOLENOID_WINDING,
        Fault.TERMINAL_OPEN: Cause.SOLENOID_CONTACT,
        Fault.TERMINAL_RESISTIVE: Cause.SOLENOID_CONTACT,
    }
)
_NOT_THE_PART: Final = frozenset(
    {Fault.LEADS, Fault.TEMPERATURE, Fault.MIRRORED, Fault.SWAP, Fault.OTHER_VARIANT, Fault.ONE_BAD_READING}
)
"""Answers that take a failed reading for something else than a fault of its device."""
_GROWS: Final = frozenset({HeatWord.GROWS, HeatWord.OPEN, HeatWord.STEP, HeatWord.PARTS, HeatWord.FIXED})
_HEAT_WORDS: Final = MappingProxyType(
    {
        HeatWord.GROWS: "grows with heat",
        HeatWord.OPEN: "opens as it warms",
        HeatWord.STEP: "jumps as it warms",
        HeatWord.PARTS: "parts from its matched set as it warms",
        HeatWord.FIXED: "has a resistance too much that stays as it warms",
    }
)


class Evidence(NamedTuple):
    """What was taken so far: judged rows, fluid as found with its entry, and what explains the readings if known."""

    rows: tuple[Row, ...] = ()
    fluid: tuple[tuple[int, FluidFound], ...] = ()
    explained: Explained | None = None


NOTHING_TAKEN: Final = Evidence()


class _Bench(NamedTuple):
    """What all parts of the gathering look at."""

    variant: Variant
    when: When | None
    warm_celsius: float
    by_key: dict[str, list[Row]]
    excuse: str


def findings_of(evidence: Evidence, variant: Variant, *, when: When | None, warm_celsius: float) -> Findings:
    """What the results say about each cause.

    Parameters
    ----------
    evidence : rows and explanations of the session
    variant : whose solenoids, clutches and ports are meant
    when : when the complaint shows; a cold pass proves little about one that shows hot
    warm_celsius : from here a good reading counts as hot [degC]

    Returns
    -------
    Findings
        For each cause and name; a fail counts as pointing at it unless the readings are better explained by leads,
        temperature, pins or one bad reading.
    """
    by_key: dict[str, list[Row]] = defaultdict(list)
    for row in evidence.rows:
        by_key[row.key].append(row)
    bench = _Bench(variant, when, warm_celsius, by_key, _excuse(evidence.explained, variant))
    found: dict[tuple[Cause, str], list[Finding]] = defaultdict(list)
    for device in variant.devices:
        if isinstance(device, Solenoid):
            _solenoid(bench, device.name, found)
        elif isinstance(device, TemperatureSensor):
            found[Cause.TEMPERATURE_SENSOR, device.name] += _sensor(bench, device.name)
    for port in variant.ports:
        _port(bench, port, found)
    _leave_open(bench, found)
    _in_vehicle(bench, evidence, found)
    if evidence.explained is not None:
        _explained(evidence.explained, variant, bench, found)
    return {key: tuple(dict.fromkeys(own)) for key, own in found.items() if own}


def _excuse(explained: Explained | None, variant: Variant) -> str:
    first = explained.explanations[0] if explained is not None and explained.explanations else None
    if first is None or explained is None or not explained.readings:
        return ""
    if first.fault not in _NOT_THE_PART or first.p < _SEEN:
        return ""
    return fault_text(first.fault, first.where, variant, first.when)


def _entries(rows: Iterable[Row]) -> tuple[int, ...]:
    return tuple(sorted({n for row in rows for n in row.entries}))


def _mark(verdict: Verdict) -> Mark:
    return _MARKS.get(verdict, Mark.UNSURE)


def _told(what: str, rows: Sequence[Row], mark: Mark | None = None, words: str = "") -> Finding:
    """A finding of rows of one item, the worst of them."""
    verdict = item_verdict(rows)
    said = words or f"{what}: {VERDICT_TEXT[verdict]}"
    return Finding(mark or _mark(verdict), f"{said}.", _entries(rows))


def _is_steady(bench: _Bench) -> bool:
    return bench.when in _STEADY


# -- one solenoid --------------------------------------------------------------------------


def _solenoid(bench: _Bench, name: str, found: dict[tuple[Cause, str], list[Finding]]) -> None:
    rows = bench.by_key.get(f"device {name}", [])
    at = {point: [row for row in rows if row.at == point.value] for point in AccessPoint}
    own, outer = at[AccessPoint.DEVICE_TERMINALS], at[AccessPoint.CASE_CONNECTOR]
    plug = at[AccessPoint.VEHICLE_PLUG]
    where = "connector" if outer else "vehicle plug"
    found[Cause.SOLENOID_WINDING, name] += _winding(bench, name, own, outer or plug, where)
    found[Cause.SOLENOID_CONTACT, name] += _contact(bench, name, own, outer or plug, where)
    found[Cause.SOLENOID_STICKS, name] += [
        _told(words, bench.by_key[key])
        for key, words in ((f"function {name}", f"{name} by function"), (f"sweep {name}", f"{name}, sweep of current"))
        if key in bench.by_key
    ]
    found[Cause.WIRING, name] += _harness(bench, name, plug, outer)


def _excused(bench: _Bench, what: str, rows: Sequence[Row]) -> Finding | None:
    if bench.excuse and item_verdict(rows) is Verdict.FAIL:
        words = f"{what} fails, but something else explains the readings better: {bench.excuse}."
        return Finding(Mark.UNSURE, words, _entries(rows))
    return None


def _winding(bench: _Bench, name: str, own: Sequence[Row], outer: Sequence[Row], where: str) -> list[Finding]:
    """Its copper: read at rest, and in a heat run that failed by its limits alone."""
    found: list[Finding] = []
    rows = own or outer
    if rows:
        what = f"{name} at its own terminals" if own else f"{name} at the {where}"
        told = _excused(bench, what, rows) or _told(what, rows)
        if told.mark is Mark.GOOD and not (_is_steady(bench) or _warmest(rows) >= bench.warm_celsius):
            told = told._replace(mark=Mark.PARTLY, words=f"{what}: Pass, but not hot.")
        found.append(told)
    runs = [row for row in bench.by_key.get(f"heat {name}", ()) if row.heat is not None and not row.heat.is_fault]
    return [*found, *(_warmed(bench, row) for row in runs if row.verdict in _MARKS)]


def _warmest(rows: Sequence[Row]) -> float:
    return max((row.celsius for row in rows if row.celsius is not None), default=-math.inf)


def _contact(bench: _Bench, name: str, own: Sequence[Row], outer: Sequence[Row], where: str) -> list[Finding]:
    found: list[Finding] = []
    is_own_bad = bool(own) and item_verdict(own) is Verdict.FAIL
    if outer and not is_own_bad:
        found.append(_at_connector(bench, name, own, outer, where))
    runs = bench.by_key.get(f"heat {name}", ())
    found += [_warmed(bench, row) for row in runs if not _fails_by_limits(row)]
    device = bench.variant.device_named(name)
    pair = set(device.between) if device is not None else set()
    flexed = [row for rows in bench.by_key.values() for row in rows if row.flex is not None]
    found += [_flexed(row) for row in flexed if {row.from_node, row.to_node} == pair]
    return _with_both(bench, found)


def _fails_by_limits(row: Row) -> bool:
    """A run of copper alone that lies outside the band: that is its winding."""
    return row.heat is not None and row.verdict is Verdict.FAIL and not row.heat.is_fault


def _at_connector(bench: _Bench, name: str, own: Sequence[Row], outer: Sequence[Row], where: str) -> Finding:
    excused = _excused(bench, f"{name} at the {where}", outer)
    if excused is not None:
        return excused
    told = _told(f"{name} at the {where}", outer)
    if told.mark is Mark.POINTS and own and item_verdict(own) is Verdict.PASS:
        words = f"{name} fails at the {where} and not at its own terminals."
        return told._replace(words=words, entries=_entries([*own, *outer]))
    if told.mark is not Mark.GOOD or _is_steady(bench):
        return told
    at = f" at {celsius_text(round(_warmest(outer), 1))} at most" if math.isfinite(_warmest(outer)) else ""
    words = f"{name} at the {where}: Pass{at}; only a heat run tells what heat does to its contact."
    return told._replace(mark=Mark.PARTLY, words=words)


def _warmed(bench: _Bench, row: Row) -> Finding:
    """A heat run; warmed too little, a pass proves nothing about a hot complaint."""
    told = _told(row.what, [row])
    if row.heat is None or told.mark is not Mark.GOOD:
        return told
    hottest = row.heat.found.hottest_celsius
    if hottest >= bench.warm_celsius:
        return told._replace(words=f"{row.what}: Pass, copper only up to {celsius_text(round(hottest, 1))}.")
    return told._replace(
        mark=Mark.PARTLY, words=f"{row.what}: Pass, but warmed to {celsius_text(round(hottest, 1))} only."
    )


def _flexed(row: Row) -> Finding:
    """A steady series says that it does not come and go, and nothing of its value."""
    told = _told(row.what, [row])
    return told._replace(mark=Mark.PARTLY) if told.mark is Mark.GOOD else told


def _with_both(bench: _Bench, found: list[Finding]) -> list[Finding]:
    """A contact that is bad at times only is proved good by nothing less than heat and flexing together."""
    if bench.when is not When.SOMETIMES or not any(one.mark is Mark.GOOD for one in found):
        return found
    if any("flex" in one.words and one.mark is Mark.PARTLY for one in found):
        return found
    return [one._replace(mark=Mark.PARTLY) if one.mark is Mark.GOOD else one for one in found]


def _harness(bench: _Bench, name: str, plug: Sequence[Row], outer: Sequence[Row]) -> list[Finding]:
    if not plug:
        return []
    what = f"{name} at the vehicle plug"
    told = _excused(bench, what, plug) or _told(what, plug)
    if told.mark is Mark.POINTS and outer and item_verdict(outer) is Verdict.FAIL:
        return [told._replace(mark=Mark.UNSURE, words=f"{what} fails, and at the case connector too.")]
    is_hot = any(row.celsius is not None and row.celsius >= bench.warm_celsius for row in plug)
    if told.mark is Mark.GOOD and not (is_hot or _is_steady(bench)):
        return [told._replace(mark=Mark.PARTLY, words=f"{what}: Pass, but not hot.")]
    return [told._replace(mark=Mark.PARTLY)] if told.mark is Mark.GOOD else [told]


def _sensor(bench: _Bench, name: str) -> list[Finding]:
    rows = bench.by_key.get(f"device {name}", [])
    if not rows:
        return []
    told = _excused(bench, name, rows) or _told(name, rows)
    is_hot = any(row.celsius is not None and row.celsius >= bench.warm_celsius for row in rows)
    if told.mark is Mark.GOOD and bench.when is When.HOT and not is_hot:
        return [told._replace(mark=Mark.PARTLY, words=f"{name}: Pass, but not hot.")]
    return [told]


# -- ports, and what is found in the vehicle -----------------------------------------------


def _port(bench: _Bench, port: Port, found: dict[tuple[Cause, str], list[Finding]]) -> None:
    rows = [row for own in bench.by_key.values() for row in own if row.port == port.name]
    if not rows or port.feeds is None:
        return
    by_key: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        by_key[row.key].append(row)
    feeds = "the line" if port.feeds == LINE else port.feeds
    told = [_of_port(bench, own, f"{_capital(own[0].what)}, which feeds {feeds}") for own in by_key.values()]
    if port.feeds == LINE:
        found[Cause.LINE_PRESSURE, ""] += [
            one._replace(mark=Mark.UNSURE) if one.mark is not Mark.POINTS else one for one in told
        ]
    elif port.feeds in bench.variant.clutches:
        cause = Cause.CLUTCH_CIRCUIT if port.place is Place.CASE else Cause.VALVE_BORE
        found[cause, port.feeds] += told


def _leave_open(bench: _Bench, found: dict[tuple[Cause, str], list[Finding]]) -> None:
    """A circuit is proved good only once everything that is asked of every port of it was taken."""
    for (cause, clutch), own in found.items():
        if cause not in (Cause.CLUTCH_CIRCUIT, Cause.VALVE_BORE):
            continue
        place = Place.CASE if cause is Cause.CLUTCH_CIRCUIT else Place.BODY
        ports = {port.name for port in bench.variant.ports if port.feeds == clutch and port.place is place}
        wanted = {one.key for one in wanted_air(bench.variant) if one.port in ports}
        if not wanted <= bench.by_key.keys():
            own[:] = [one._replace(mark=Mark.PARTLY) if one.mark is Mark.GOOD else one for one in own]


def _of_port(bench: _Bench, rows: Sequence[Row], what: str) -> Finding:
    told = _told(what, rows)
    is_number = any(row.leak is not None for row in rows)
    if told.mark is not Mark.GOOD or is_number or _is_steady(bench):
        return told
    words = f"{what}: Pass by ear; thin hot oil finds a leak that air by ear does not."
    return told._replace(mark=Mark.PARTLY, words=words)


def _in_vehicle(bench: _Bench, evidence: Evidence, found: dict[tuple[Cause, str], list[Finding]]) -> None:
    for cause, one in fluid_findings(evidence.fluid):
        found[cause, ""].append(one)
    for key, rows in bench.by_key.items():
        if key.startswith(TAP_KEY):
            _tap(bench, key, rows, found)
    codes = {key: rows for key, rows in bench.by_key.items() if key.startswith(CODE_KEY)}
    wanted = {f"{CODE_KEY}{code.position}" for code in bench.variant.selector_codes}
    told = [_told(_capital(rows[0].what), rows) for rows in codes.values()]
    is_whole = wanted <= set(codes)
    found[Cause.LEVER_SWITCH, ""] += [
        one._replace(mark=Mark.PARTLY) if one.mark is Mark.GOOD and not is_whole else one for one in told
    ]


def _tap(bench: _Bench, key: str, rows: Sequence[Row], found: dict[tuple[Cause, str], list[Finding]]) -> None:
    """A tap at a clutch speaks of that clutch's circuit, in body and case alike; every other one of the line."""
    told = _told(_capital(rows[0].what), rows)
    is_hot = any(row.celsius is not None and row.celsius >= bench.warm_celsius for row in rows)
    if told.mark is Mark.GOOD and bench.when is When.HOT and not is_hot:
        told = told._replace(mark=Mark.PARTLY, words=f"{_capital(rows[0].what)}: Pass, but not hot.")
    clutch = _clutch_shown(bench.variant, key)
    if clutch is None:
        found[Cause.LINE_PRESSURE, ""].append(told)
        return
    told = told._replace(mark=Mark.PARTLY) if told.mark is Mark.GOOD else told  # a leak may be fed well enough at rest
    for cause in (Cause.VALVE_BORE, Cause.CLUTCH_CIRCUIT):
        found[cause, clutch].append(told)


def _clutch_shown(variant: Variant, key: str) -> str | None:
    """The clutch at the tap of an item; None where it shows something else or several."""
    named = [tap for tap in variant.taps if key.startswith(f"{TAP_KEY}{tap.name} (")]
    words = {word.strip(".,;:") for tap in named for word in f"{tap.name} {tap.shows}".split()}
    clutches = [clutch for clutch in variant.clutches if clutch in words]
    return clutches[0] if len(clutches) == 1 else None


# -- explanations --------------------------------------------------------------------------


def _explained(
    explained: Explained, variant: Variant, bench: _Bench, found: dict[tuple[Cause, str], list[Finding]]
) -> None:
    if explained.readings and not explained.is_strained:
        for one in explained.explanations:
            if one.p >= _SEEN and one.fault in _CAUSES:
                _answer(one, variant, found)
                _clear_windings(one, variant, found)
    for heat in explained.heat:
        if heat.found in _GROWS:
            words = f"{heat.device} {_HEAT_WORDS[heat.found]}, up to {celsius_text(round(heat.celsius, 1))}."
            found[Cause.SOLENOID_CONTACT, heat.device].append(Finding(Mark.POINTS, words, heat.entries))
    for flexed in explained.flexed:
        device = variant.device_between(flexed.from_node, flexed.to_node)
        if device is not None and not bench.by_key:  # with rows at hand the row itself has told it
            words = f"{device.name} opens or jumps while {flexed.flexed} was flexed."
            found[Cause.SOLENOID_CONTACT, device.name].append(Finding(Mark.POINTS, words))


def _answer(one: Explanation, variant: Variant, found: dict[tuple[Cause, str], list[Finding]]) -> None:
    """An answer that holds at least half, with the places that the readings cannot tell from it."""
    words = f"{_EXPLAINS}: {fault_text(one.fault, one.where, variant, one.when)}, {chance_text(one.p)}."
    for fault, where, when in ((one.fault, one.where, one.when), *one.same_as):
        cause = Cause.SOLENOID_CONTACT if when is not None else _CAUSES.get(fault)
        if HARNESS in where:
            cause = Cause.WIRING
        if cause is None:
            continue
        for device in variant.devices:
            is_meant = device.name in where or any(node in where for node in device.between)
            if isinstance(device, Solenoid) and is_meant:
                found[cause, device.name].append(Finding(Mark.POINTS, words))


def _clear_windings(one: Explanation, variant: Variant, found: dict[tuple[Cause, str], list[Finding]]) -> None:
    """A fail at the connector that its contact explains says nothing of the winding."""
    places = ((one.fault, one.where), *((place.fault, place.where) for place in one.same_as))
    blamed = {name for fault, where in places if _CAUSES.get(fault) is Cause.SOLENOID_WINDING for name in where}
    for device in variant.devices:
        own = found.get((Cause.SOLENOID_WINDING, device.name), [])
        contact = found.get((Cause.SOLENOID_CONTACT, device.name), [])
        if one.when is None and blamed & {device.name, *device.between}:
            continue
        if any(told.words.startswith(_EXPLAINS) for told in contact):
            own[:] = [
                told._replace(
                    mark=Mark.UNSURE, words=f"{device.name} fails at the connector, which its contact explains."
                )
                if told.words in (f"{device.name} at the {where}: Fail." for where in ("connector", "vehicle plug"))
                else told
                for told in own
            ]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
