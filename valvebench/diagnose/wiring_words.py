"""What was found of a wiring, in words that page and report share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from valvebench.diagnose.wiring import Unclear, WiredKind, Wires, Wiring

KIND_TEXT: Final = {
    WiredKind.COIL_LIKE: "coil-like",
    WiredKind.SENSOR_LIKE: "sensor-like",
    WiredKind.LINK: "link",
    WiredKind.UNKNOWN: "unusual value",
}


def pair_text(pair: Sequence[str]) -> str:
    """Two nodes."""
    return "\u2013".join(pair)


def only_unclear(wiring: Wiring) -> tuple[Unclear, ...]:
    """What cannot be told, without pairs to repeat: those are said among the contradictions."""
    doubts = {(doubt.between, doubt.why) for doubt in wiring.contradictions}
    return tuple(one for one in wiring.cannot_tell if (one.between, one.why) not in doubts)


def unclear_words(one: Unclear) -> str:
    """Both circuits that the readings allow."""
    first, second = (_wires_text(wires) for wires in one.either[:2])
    return f"Can\u2019t tell: {one.why} Either {first}, or {second}."


def _wires_text(wires: Wires) -> str:
    return " and ".join(pair_text(wire) for wire in wires) or "nothing"
