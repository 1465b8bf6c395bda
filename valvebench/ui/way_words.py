"""The cheap ways in a person's words, the same on every page.  No Qt."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from valvebench.judge.ways import Way, WayKind
from valvebench.model.format import OHM, ohm_text
from valvebench.model.meter import Check

_WORDS: Final = MappingProxyType(
    {
        WayKind.NULL: "Null the leads, same range",
        WayKind.PROBE: "Tape a probe to the can, soaked",
        WayKind.CHECK: "Check resistor, same leads",
        WayKind.VOLTS: "Volts ratio against a resistor",
    }
)


def way_words(way: Way, *, known: Check | None = None) -> str:
    """What is done; `known` is a resistor that is at hand."""
    if way.kind is WayKind.FINER:
        return f"Range or meter with {way.instrument.meter.step:g} {OHM} steps"
    if known is not None and way.kind is WayKind.CHECK:
        return f"Check resistor {ohm_text(known.ohm)}, same leads"
    return _WORDS[way.kind]
