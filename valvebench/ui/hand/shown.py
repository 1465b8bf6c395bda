"""What the walk over an unknown connector shows, as plain frozen facts and words.  No Qt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from valvebench.bench.part_in_hand import Found, part_name
from valvebench.diagnose.matched import MatchedSet
from valvebench.diagnose.wiring import Wired, WiredKind, Wiring
from valvebench.diagnose.wiring_left import pairs_in_all
from valvebench.diagnose.wiring_readings import ISOLATION_OHM
from valvebench.diagnose.wiring_words import KIND_TEXT, only_unclear, pair_text, unclear_words
from valvebench.judge.judgement import Judgement
from valvebench.model.entry import Connector, Reading
from valvebench.model.format import celsius_text, ohm_text, value_text
from valvebench.model.format import doubt_text as expanded_text
from valvebench.model.words import CASE
from valvebench.physics.outliers import ODD_FROM

NOTHING_READ: Final = "Nothing is read yet."
AGREES_SO_FAR: Final = "Nothing contradicts itself so far. What is dotted could still be wired otherwise."
AGREES: Final = "Nothing contradicts itself, and nothing could be wired otherwise."
_ENOUGH_FOR_ODD: Final = 3
_MOST_AHEAD: Final = 6
_MOST_LINES: Final = 3


@dataclass(frozen=True, kw_only=True)
class QuestionShown:
    """What to do with the two leads, and why; empty words where nothing is asked."""

    clip: str = ""
    probe: str = ""
    why: str = ""
    name: str = ""
    unit: str = "\u03a9"
    black: str | None = None
    red: str | None = None
    is_moved: bool = False


@dataclass(frozen=True, kw_only=True)
class FoundRow:
    """One line of what was found."""

    between: str
    what: str
    ohm: str
    at_ref: str
    like: str
    is_at_20: bool = True
    tip: str = ""


@dataclass(frozen=True, kw_only=True)
class LinkShown:
    """A line between two nodes: solid where it is sure."""

    a: str
    b: str
    is_sure: bool


@dataclass(frozen=True, kw_only=True)
class FaceShown:
    """Pins with their places, what is known of each node in words, and the lines."""

    pins: tuple[tuple[str, float, float], ...] = ()
    has_case: bool = True
    links: tuple[LinkShown, ...] = ()
    unsettled: frozenset[str] = frozenset()
    commons: frozenset[str] = frozenset()
    unused: frozenset[str] = frozenset()
    notes: Mapping[str, str] = field(default_factory=dict)


# -- the question --------------------------------------------------------------------------


def why_words(wiring: Wiring, *, black: str, red: str) -> str:
    """What a pair is read for, and where the red tip goes next while black stays."""
    step = next((one for one in wiring.next if {one.black, one.red} == {black, red}), None)
    if step is None:
        return "A pair chosen by hand."
    others = [one.red for one in wiring.next if one.black == step.black and one.red != step.red]
    then = f" Then {', '.join(others[:_MOST_AHEAD])}." if others else ""
    return f"{step.why[:1].upper()}{step.why[1:]}{'' if step.why.endswith('?') else '.'}{then}"


def nothing_asked(found: Found | None, *, is_closed: bool) -> QuestionShown:
    """In place of a pair: the end of the walk, or of the session."""
    if found is None or is_closed:
        return QuestionShown(clip="This session is closed:", probe="nothing is asked", name="Reading")
    why = f"{done_words(found.wiring)} F4 gives them names; two pins chosen on the drawing are read again."
    return QuestionShown(clip="Nothing more to read:", probe="the wiring is found", why=why, name="Reading")


# -- the face ------------------------------------------------------------------------------


def face_shown(found: Found, connector: Connector | None) -> FaceShown:
    """The connector as far as it is known; nothing is solid that could be otherwise."""
    wiring = found.wiring
    degree = {node: sum(node in one.between for one in wiring.devices) for node in wiring.nodes}
    alone = {net[0] for net in wiring.nets if len(net) == 1}
    settled = set(wiring.nodes) - wiring.unsettled
    commons = frozenset(node for node in settled if degree[node] > 1)
    unused = frozenset(alone & settled)
    return FaceShown(
        pins=_places(wiring.pins, connector),
        has_case=CASE in wiring.nodes,
        links=tuple(_links(found)),
        unsettled=wiring.unsettled,
        commons=commons,
        unused=unused,
        notes={node: _note(wiring, node, degree[node], is_unused=node in unused) for node in wiring.nodes},
    )


def _places(pins: Sequence[str], connector: Connector | None) -> tuple[tuple[str, float, float], ...]:
    columns = connector.columns if connector is not None else 8
    return tuple((pin, float(i % columns), float(i // columns)) for i, pin in enumerate(pins))


def _note(wiring: Wiring, node: str, degree: int, *, is_unused: bool) -> str:
    if node in wiring.unsettled:
        return "not settled yet"
    if is_unused:
        return "open to all others"
    others = [other for one in wiring.devices if node in one.between for other in one.between if other != node]
    return f"common of {degree} parts" if degree > 1 else f"wired to {', '.join(others)}" if others else ""


def _links(found: Found) -> list[LinkShown]:
    """Parts, every other way they could be, and values read in nets whose wiring is not known."""
    wiring = found.wiring
    doubtful = _doubtful(wiring)
    links = [
        LinkShown(a=one.between[0], b=one.between[1], is_sure=frozenset(one.between) not in doubtful)
        for one in wiring.devices
    ]
    drawn = {frozenset(one.between) for one in wiring.devices}
    links += [LinkShown(a=a, b=b, is_sure=False) for a, b in _other_ways(wiring) if frozenset((a, b)) not in drawn]
    known = {node for net in wiring.nets if _is_treed(wiring, net) for node in net}
    read = {tuple(sorted(one.pair)) for one in found.source.readings if one.ohm < ISOLATION_OHM}
    links += [LinkShown(a=a, b=b, is_sure=False) for a, b in sorted(read) if not {a, b} & known]
    return links


def _is_treed(wiring: Wiring, net: Sequence[str]) -> bool:
    return any(set(one.between) & set(net) for one in wiring.devices)


def _doubtful(wiring: Wiring) -> set[frozenset[str]]:
    """Parts that could be otherwise: in a net that is not settled, or in a circuit that cannot be told."""
    either = {frozenset(wire) for unclear in wiring.cannot_tell for wires in unclear.either for wire in wires}
    pairs = {frozenset(one.between) for one in wiring.devices}
    return {pair for pair in pairs if pair & wiring.unsettled or pair in either}


def _other_ways(wiring: Wiring) -> list[tuple[str, str]]:
    """Where one part may hang here or there, both are drawn."""
    single = [one for one in wiring.cannot_tell if all(len(wires) == 1 for wires in one.either)]
    return [wire for one in single for wires in one.either for wire in wires]


# -- tables and sentences ------------------------------------------------------------------


def doubt_text(found: Found, wired: Wired) -> str:
    """Value and doubt: at the reference temperature where it was read straight, else as worked out."""
    judgement = found.judgement(wired)
    if judgement is not None and judgement.ohm_at_ref is not None:
        return value_text(judgement.ohm_at_ref, judgement.U_ohm_at_ref)
    return f"about {ohm_text(wired.ohm)}"


def _at_ref(found: Found, one: Wired) -> str:
    """The cell of the coils; of a part that is none it holds the doubt of what was read: nobody has stated its law."""
    judgement = found.judgement(one)
    if judgement is None or one.kind is WiredKind.COIL_LIKE:
        return doubt_text(found, one)
    expanded = judgement.U_ohm_at_ref
    return "" if expanded is None else expanded_text(expanded, beside_ohm=one.ohm)


def found_rows(found: Found) -> tuple[FoundRow, ...]:
    """The parts found so far."""
    odd = found.odd()
    return tuple(_found_row(found, one, is_odd=frozenset(one.between) in odd) for one in found.wiring.devices)


def _found_row(found: Found, one: Wired, *, is_odd: bool) -> FoundRow:
    like = ", ".join("\u2013".join(pair) for pair in one.matched_with)
    is_straight = found.judgement(one) is not None
    tip = "" if is_straight else "Worked out from readings of other pairs, not read straight."
    like = "odd one out" if is_odd else like
    return FoundRow(
        between=part_name(one),
        what=KIND_TEXT[one.kind],
        ohm=ohm_text(one.ohm),
        at_ref=_at_ref(found, one),
        like=like if is_straight or like else "not read straight",
        is_at_20=one.kind is WiredKind.COIL_LIKE and is_straight,
        tip=tip,
    )


def notes_shown(found: Found) -> tuple[str, ...]:
    """What cannot be told, what contradicts itself, and what like coils have to say."""
    if not found.source.readings:
        return (NOTHING_READ,)
    wiring = found.wiring
    told = only_unclear(wiring)
    lines = [f"{pair_text(one.between)}: {one.why}" for one in wiring.contradictions if not one.is_settled]
    lines += [unclear_words(one) for one in told[:_MOST_LINES]]
    if len(told) > _MOST_LINES:
        lines.append(f"{len(told) - _MOST_LINES} more cannot be told in the same way; all are dotted on the drawing.")
    lines += [words for one in found.sets if (words := odd_words(found, one))]
    lines += [f"Settled: {pair_text(one.between)}: {one.why}" for one in wiring.contradictions if one.is_settled]
    return tuple(lines) or ((AGREES if wiring.is_done else AGREES_SO_FAR),)


def odd_words(found: Found, one: MatchedSet) -> str:
    """Which of like coils is odd, with its number and doubt, or how large a difference would have shown."""
    count = len(one.members)
    if count < _ENOUGH_FOR_ODD:
        return ""
    odd = [member for member in one.members if member.is_odd]
    names = ", ".join(member.name for member in one.members)
    if not odd:
        least = ODD_FROM * max(member.u_ohm for member in one.members)
        return f"None of {names} is odd; a difference below {ohm_text(least)} would not show with this meter."
    judged = {part_name(wired): found.judgement(wired) for wired in found.wiring.devices}
    nearest = min(one.members, key=lambda member: abs(member.ohm - one.median_ohm))
    middle = _with_doubt(one.median_ohm, judged.get(nearest.name))
    told = "; ".join(f"{m.name} with {_with_doubt(m.ohm, judged.get(m.name))}, the middle is {middle}" for m in odd)
    shared = "What they share cancels: leads, gain, temperature."
    return f"Odd one out of {count} like coils: {told}. {shared} If it is of the same kind, suspect it; else say so."


def _with_doubt(ohm: float, judgement: Judgement | None) -> str:
    return value_text(ohm, judgement.U_ohm_at_ref if judgement is not None else None)


def count_words(found: Found) -> str:
    """How far the walk is, honestly."""
    wiring = found.wiring
    every = pairs_in_all(len(wiring.nodes))
    read = len({reading.pair for reading in found.source.readings})
    if wiring.is_done:
        return f"{read} of {every} pairs read; no more are needed."
    return f"{read} of {every} pairs read; at most {wiring.pairs_left} more, a few of them twice."


def settled_words(found: Found, reading: Reading) -> str:
    """What the newest reading settled."""
    wiring, pair = found.wiring, reading.pair
    named = f"{reading.to_node} and {reading.from_node}"
    named = named[:1].upper() + named[1:]
    net = next((net for net in wiring.nets if reading.from_node in net), ())
    doubt = next((one for one in wiring.contradictions if frozenset(one.between) == pair and not one.is_settled), None)
    if doubt is not None:
        return f"{named}: {doubt.why}"
    if reading.to_node not in net:
        return _parted_words(wiring, reading, named)
    part = next((one for one in wiring.devices if frozenset(one.between) == pair), None)
    if part is not None:
        return f"{named} are one {KIND_TEXT[part.kind]} part, {doubt_text(found, part)}{at_ref_text(found, part)}."
    return f"{named} hang together. {_left(found, net)}"


def at_ref_text(found: Found, part: Wired) -> str:
    """The temperature that value and doubt hold at; empty where it is the one of the reading."""
    judgement = found.judgement(part)
    at = judgement.ref_celsius if judgement is not None else None
    return f" at {celsius_text(at)}" if at is not None else ""


def _parted_words(wiring: Wiring, reading: Reading, named: str) -> str:
    free = [node for node in (reading.from_node, reading.to_node) if _is_free(wiring, node)]
    more = f" Nothing hangs on {' and '.join(free)}." if free else ""
    return f"{named} are not joined.{more}"


def _is_free(wiring: Wiring, node: str) -> bool:
    return (node,) in wiring.nets and node not in wiring.unsettled


def _left(found: Found, net: Sequence[str]) -> str:
    """Readings that a net still needs at most."""
    read = {reading.pair for reading in found.source.readings if reading.pair <= set(net)}
    left = pairs_in_all(len(net)) - len(read)
    return f"At most {left} more for this net of {len(net)}."


def done_words(wiring: Wiring) -> str:
    """The end of the walk."""
    free = [net[0] for net in wiring.nets if len(net) == 1 and net[0] != CASE]
    count = len(wiring.devices)
    parts = f"{count} part{'' if count == 1 else 's'}" if count else "Nothing"
    alone = f"; open to all others: {', '.join(free)}" if free else ""
    return f"{parts} found{alone}."
