"""What the tables of a variant say that makes no sense together; nothing of it keeps a file from being saved.

Every doubt has the place it speaks of.  A gap that is meant (no clutch in neutral) stays silent.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from valvebench.model.strict_json import Path
from valvebench.model.variant import Diode, Electronics, Feature, Solenoid, Variant
from valvebench.model.words import CASE

REVERSE: Final = "R"
LOCK_UP: Final = "lock-up"
AT_REST: Final = frozenset({"P", "N"})
"""Positions in which nothing need be applied."""
_MOST_NAMED: Final = 3
"""Of a library's others, by name; the rest is counted."""
_NOT_FORWARD: Final = AT_REST | {REVERSE, LOCK_UP}


class Doubt(NamedTuple):
    """Something odd: the path in the file it speaks of, and what about it."""

    path: Path
    words: str


def doubts_of(variant: Variant) -> tuple[Doubt, ...]:
    """Everything odd about one variant, in the order of its tables."""
    return (
        *_pair_doubts(variant),
        *_reach_doubts(variant),
        *_port_doubts(variant),
        *_feature_doubts(variant),
        *_gear_doubts(variant),
        *_shift_doubts(variant),
        *_clutch_doubts(variant),
        *_solenoid_doubts(variant),
    )


def forward_gears(variant: Variant) -> tuple[str, ...]:
    """The forward gears from the first up; D is the first of them."""
    return tuple(gear for gear in variant.gears if gear not in _NOT_FORWARD)


def shifts_of(variant: Variant) -> tuple[tuple[str, str], ...]:
    """Every change that a driver asks for: from neutral both ways, then gear by gear."""
    forward = forward_gears(variant)
    out_of_neutral = [("N", gear) for gear in (*forward[:1], REVERSE) if {"N", gear} <= set(variant.gears)]
    return (*out_of_neutral, *pairwise(forward))


# --- devices and pins ---------------------------------------------------------------------


def _pair_doubts(variant: Variant) -> Iterator[Doubt]:
    """A diode belongs beside what it damps, and electronics are not probed: both may share two nodes."""
    first: dict[frozenset[str], str] = {}
    for i, device in enumerate(variant.devices):
        if isinstance(device, Diode | Electronics):
            continue
        pair = frozenset(device.between)
        if pair in first:
            words = f"on the same two nodes as {first[pair]}: no reading tells them apart"
            yield Doubt(("devices", i, "between"), words)
        first.setdefault(pair, device.name)


def _reach_doubts(variant: Variant) -> Iterator[Doubt]:
    """Devices that hang together, but on no pin and not on the casting."""
    reached = {CASE, *(pin.name for pin in variant.pins)}
    if len(reached) == 1:
        return
    rest = dict(enumerate(variant.devices))
    while found := [i for i, device in rest.items() if reached & set(device.between)]:
        for i in found:
            reached |= set(rest.pop(i).between)
    for i in rest:
        yield Doubt(("devices", i, "between"), "no pin leads to it")


def _port_doubts(variant: Variant) -> Iterator[Doubt]:
    for i, port in enumerate(variant.ports):
        if not port.feeds:
            yield Doubt(("ports", i, "feeds"), "feeds nothing: which clutch, valve or line?")


# --- features -----------------------------------------------------------------------------


def _feature_doubts(variant: Variant) -> Iterator[Doubt]:
    if not variant.features:
        yield Doubt(("features",), "none: nothing one can look at tells it from others")
        return
    if not any(feature.must_match for feature in variant.features):
        yield Doubt(("features", 0, "must_match"), "no point must match: nothing stops a part that does not fit")
    for i, feature in enumerate(variant.features):
        yield from _one_feature(feature, ("features", i))


def _one_feature(feature: Feature, path: Path) -> Iterator[Doubt]:
    if feature.this is None:
        yield Doubt((*path, "this"), "what is it on this body?")
    if len(feature.values) < 2:
        yield Doubt((*path, "values"), "tells nothing apart: name two things it can be")
    if not feature.ask:
        yield Doubt((*path, "ask"), "nothing says how to look at it")


# --- apply chart and solenoid chart -------------------------------------------------------


def _gear_doubts(variant: Variant) -> Iterator[Doubt]:
    for gear, clutches in variant.apply_chart.items():
        if not clutches and gear not in AT_REST:
            yield Doubt(("apply_chart", gear), "no clutch is on: nothing would be driven")
    if variant.gears and not variant.apply_chart:
        yield Doubt(("apply_chart",), "no apply chart: nothing says which clutches a shift changes")
    elif silent := [gear for gear in variant.gears if gear not in variant.apply_chart]:
        place = variant.gears.index(silent[0])
        yield Doubt(("gears", place), f"no line in the apply chart for {_listed(silent)}: write none if nothing is on")
    if not any(isinstance(device, Solenoid) for device in variant.devices):
        return
    if variant.gears and not variant.solenoid_chart:
        yield Doubt(("solenoid_chart",), "no solenoid chart: nothing says which solenoids a shift switches")
    elif silent := [gear for gear in variant.gears if gear not in variant.solenoid_chart]:
        place = variant.gears.index(silent[0])
        yield Doubt(("gears", place), f"no line in the solenoid chart for {_listed(silent)}")


def _shift_doubts(variant: Variant) -> Iterator[Doubt]:
    for old, new in shifts_of(variant):
        name = f"{old}-{new}"
        before, after = variant.apply_chart.get(old), variant.apply_chart.get(new)
        if before and after and set(before) == set(after):
            words = f"{name} changes no clutch: {_listed(after)} in both"
            yield Doubt(("apply_chart", new), words)
        states = variant.solenoid_chart.get(old), variant.solenoid_chart.get(new)
        if states[0] and states[0] == states[1]:
            yield Doubt(("solenoid_chart", new), f"{name} switches no solenoid: both lines are alike")


def _listed(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def _clutch_doubts(variant: Variant) -> Iterator[Doubt]:
    applied = {clutch for clutches in variant.apply_chart.values() for clutch in clutches}
    idle = [clutch for clutch in variant.clutches if clutch not in applied]
    if idle and variant.apply_chart:
        yield Doubt(("clutches",), f"{_listed(idle)}: on in no gear of the apply chart")


def _solenoid_doubts(variant: Variant) -> Iterator[Doubt]:
    if not variant.solenoid_chart:
        return
    seen: dict[str, set[str]] = defaultdict(set)
    for states in variant.solenoid_chart.values():
        for name, state in states.items():
            seen[name].add(state)
    for i, device in enumerate(variant.devices):
        if not isinstance(device, Solenoid):
            continue
        if device.name not in seen:
            yield Doubt(("devices", i, "name"), "in no line of the solenoid chart")
        elif len(variant.solenoid_chart) > 1 and len(seen[device.name]) == 1:
            only = next(iter(seen[device.name]))
            yield Doubt(("devices", i, "name"), f"never switches: {only} wherever the chart has it")


# --- one variant beside the others --------------------------------------------------------


def separating(one: Variant, other: Variant) -> tuple[str, ...]:
    """The features of which both say what is seen, and say different things."""
    return tuple(_separating(_seen(one), other))


def _seen(variant: Variant) -> dict[str, str]:
    return {feature.name: feature.this for feature in variant.features if feature.this is not None}


def _separating(seen: Mapping[str, str], other: Variant) -> Iterator[str]:
    for feature in other.features:
        if feature.this is not None and seen.get(feature.name, feature.this) != feature.this:
            yield feature.name


def library_doubts(variant: Variant, others: Iterable[Variant]) -> tuple[Doubt, ...]:
    """What is odd about a variant among the others: nothing seen tells them apart, or one number orders both.

    A library of hundreds asks this of every two: what is this variant's own is worked out once.
    """
    seen, numbers = _seen(variant), {part.number for part in variant.part_numbers}
    alike: list[Variant] = []
    sharing: dict[str, list[Variant]] = defaultdict(list)
    for other in others:
        if next(_separating(seen, other), None) is None:
            alike.append(other)
        for part in other.part_numbers:
            if part.number in numbers:
                sharing[part.number].append(other)
    return (*_alike_doubts(variant, alike), *_number_doubts(variant, sharing))


def _alike_doubts(variant: Variant, alike: Sequence[Variant]) -> Iterator[Doubt]:
    for other in alike[:_MOST_NAMED]:
        words = f"no feature tells it from {_named(other)}: {_what_would(variant, other)}"
        yield Doubt(("features",), words)
    if len(alike) > _MOST_NAMED:
        yield Doubt(("features",), f"no feature tells it from {len(alike) - _MOST_NAMED} more")


def _number_doubts(variant: Variant, sharing: Mapping[str, Sequence[Variant]]) -> Iterator[Doubt]:
    for i, part in enumerate(variant.part_numbers):
        if others := sharing.get(part.number, ()):
            named = [_named(other) for other in others[:_MOST_NAMED]]
            more = [f"{len(others) - _MOST_NAMED} more"] if len(others) > _MOST_NAMED else []
            yield Doubt(("part_numbers", i, "number"), f"{part.number} also orders {_listed([*named, *more])}")


def _named(other: Variant) -> str:
    return f"{other.key} ({other.title})"


def _what_would(one: Variant, other: Variant) -> str:
    """A difference one could see, where the tables hold one."""
    if len(one.pins) != len(other.pins):
        return f"the number of pins would, {len(one.pins)} here and {len(other.pins)} there"
    if len(one.ports) != len(other.ports):
        return f"the number of ports would, {len(one.ports)} here and {len(other.ports)} there"
    return "add one of which both say what is seen"
