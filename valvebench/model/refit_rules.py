"""What must hold of part numbers, fasteners and the fluid of a variant."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from valvebench.model.strict_json import Path
from valvebench.model.validate import Finding, finding
from valvebench.model.variant import Fastener, FluidWindow, PartNumber, Variant

COLDEST_CELSIUS: Final = -50.0
HOTTEST_CELSIUS: Final = 180.0


def refit_findings(variant: Variant) -> Iterator[Finding]:
    """Everything wrong with what is ordered, tightened and filled in."""
    yield from _number_findings(variant.part_numbers)
    for i, fastener in enumerate(variant.fasteners):
        yield from _fastener_findings(fastener, ("fasteners", i))
    if variant.fluid is not None:
        yield from _fluid_findings(variant.fluid)


def in_order(path: Path, low: float | None, high: float | None) -> Iterator[Finding]:
    """A lower limit that is not above the higher one."""
    if low is not None and high is not None and low > high:
        yield finding(path, f"{low:g}", f"not above the higher limit ({high:g})")


def _number_findings(parts: tuple[PartNumber, ...]) -> Iterator[Finding]:
    follows = {part.number: part.superseded_by for part in reversed(parts) if part.superseded_by}
    seen: set[str] = set()
    for i, part in enumerate(parts):
        if part.number in seen:
            yield finding(("part_numbers", i, "number"), repr(part.number), "a number named once")
        elif _leads_back(part.number, follows):
            advice = "Leave the newest number without one that took its place."
            path: Path = ("part_numbers", i, "superseded_by")
            yield finding(path, repr(part.superseded_by), "a number that does not lead back to this one", advice)
        seen.add(part.number)


def _leads_back(number: str, follows: Mapping[str, str]) -> bool:
    walked: set[str] = set()
    at = follows.get(number)
    while at is not None and at not in walked:
        if at == number:
            return True
        walked.add(at)
        at = follows.get(at)
    return False


def _fastener_findings(fastener: Fastener, path: Path) -> Iterator[Finding]:
    if fastener.count < 1:
        yield finding((*path, "count"), fastener.count, "at least 1")
    if fastener.order is not None and fastener.order < 1:
        yield finding((*path, "order"), fastener.order, "a turn from 1 on")


def _fluid_findings(fluid: FluidWindow) -> Iterator[Finding]:
    for key in ("low_celsius", "high_celsius"):
        celsius = getattr(fluid, key)
        if celsius is not None and not COLDEST_CELSIUS <= celsius <= HOTTEST_CELSIUS:
            yield finding(("fluid", key), f"{celsius:g}", "-50 to 180 degrees Celsius")
    yield from in_order(("fluid", "low_celsius"), fluid.low_celsius, fluid.high_celsius)
