"""Tables of switch codes: the selector switch by position, the pressure switches by gear.  One shape serves both."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Final

from valvebench.model.errors import nearest
from valvebench.model.validate import Finding, finding
from valvebench.model.variant import CodeRow, Switch, Variant
from valvebench.model.words import CodeState

TABLES: Final = ("selector_codes", "pressure_codes")
"""The keys of a variant file that hold such a table."""


def code_at(rows: Sequence[CodeRow], position: str | None) -> CodeRow | None:
    """The row of a position, whatever its letters' case; None where the table does not have it."""
    if position is None:
        return None
    wanted = position.strip().casefold()
    return next((row for row in rows if row.position.casefold() == wanted), None)


def state_of(row: CodeRow, switch: str) -> CodeState:
    """How one switch stands in a position."""
    return row.switches.get(switch, CodeState.EITHER)


def switches_of(rows: Sequence[CodeRow]) -> tuple[str, ...]:
    """Every switch a table names, in the order of its first row that does."""
    return tuple(dict.fromkeys(name for row in rows for name in row.switches))


def asked_of(row: CodeRow) -> tuple[str, ...]:
    """The switches that a position says something about."""
    return tuple(name for name, state in row.switches.items() if state is not CodeState.EITHER)


def twins(rows: Sequence[CodeRow]) -> tuple[tuple[str, str], ...]:
    """Pairs of positions that no reading of the switches can tell apart."""
    return tuple((one.position, two.position) for one, two in combinations(rows, 2) if not _differ(one, two))


def _differ(one: CodeRow, two: CodeRow) -> bool:
    """Whether a switch is closed in one and open in the other; one that does not matter tells nothing."""
    surely = {CodeState.OPEN, CodeState.CLOSED}
    return any({one.switches[name], two.switches[name]} == surely for name in one.switches.keys() & two.switches.keys())


def code_findings(variant: Variant) -> Iterator[Finding]:
    """What is wrong with both tables, each problem at its place."""
    switches = [device.name for device in variant.devices if isinstance(device, Switch)]
    for table in TABLES:
        yield from _table_findings(table, getattr(variant, table), switches)


def _table_findings(table: str, rows: Sequence[CodeRow], switches: Sequence[str]) -> Iterator[Finding]:
    seen: set[str] = set()
    for i, row in enumerate(rows):
        name = row.position.strip().casefold()
        if name in seen:
            yield finding((table, i, "position"), repr(row.position), "a position that has one row")
        seen.add(name)
        if not row.switches:
            yield finding((table, i, "switches"), "nothing", "open, closed or either for at least one switch")
        for switch in row.switches:
            if switch not in switches:
                advice = nearest(switch, switches)
                yield finding((table, i, "switches", switch), repr(switch), "a switch of this variant", advice)
