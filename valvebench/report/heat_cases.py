"""Heat runs as the workbook needs them: the judged row, and the readings or the log it came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, NamedTuple

from valvebench.diagnose.heat_rounds import Rounds, device_in_round, rounds_in
from valvebench.judge.heat import HeatJudgement
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.model.entry import Reading
from valvebench.model.heat import HeatEvent, HeatFound, HeatTest
from valvebench.model.session import Session
from valvebench.model.variant import Variant

if TYPE_CHECKING:  # arrays would make the room slow to open
    from valvebench.diagnose.heat_data import HeatRun

NO_VARIANT: Final = "Without a variant nobody knows which winding was read: they count as readings, each by itself."
NO_WINDING: Final = "More than one winding lies between these nodes, or none: they count as readings, each by itself."
Logs = Mapping[int, "HeatRun"]
"""The run of each heat-run entry whose file is still as it was, by the number of the entry."""
NO_LOGS: Final[Logs] = MappingProxyType({})


@dataclass(frozen=True, kw_only=True)
class HeatCase:
    """One judged heat run: from a logger's file, or from readings typed round by round."""

    row: Row
    heat: HeatJudgement
    device: str
    log: HeatTest | None = None
    rounds: Rounds | None = None

    @property
    def found(self) -> HeatFound:
        """What was found in it."""
        return self.heat.found

    @property
    def events(self) -> tuple[HeatEvent, ...]:
        """Openings and steps, in the order of the run."""
        return self.found.events


class Waiting(NamedTuple):
    """A device read in rounds that say nothing yet, and why; without a name readings that are of no winding alone."""

    device: str
    entries: tuple[int, ...]
    why: str


def has_heat(session: Session) -> bool:
    """Whether anything was kept of a heat run."""
    bodies = [item.body for item in session.items]
    return any(isinstance(b, HeatTest) or (isinstance(b, Reading) and b.round is not None) for b in bodies)


def heat_cases(
    session: Session, variant: Variant | None, judged: SessionJudgement
) -> tuple[tuple[HeatCase, ...], tuple[Waiting, ...]]:
    """Every judged heat run in the order of its first entry, and rounds that say nothing yet."""
    rows = {row.entries: row for row in judged.rows if row.heat is not None}
    cases = [_of_log(rows, item.n, item.body) for item in session.items if isinstance(item.body, HeatTest)]
    waiting: list[Waiting] = []
    for device, all_found in rounds_in(session, variant).items():
        for found in all_found:
            if found.find is None:
                why = " ".join(problem.text() for problem in found.problems)
                waiting.append(Waiting(device, tuple(sorted(found.rounds.entries)), why))
            else:
                cases.append(_of_rounds(rows, device, found.find.entries, found.rounds))
    there = [case for case in cases if case is not None]
    waiting += _of_no_winding(session, variant)
    return tuple(sorted(there, key=lambda case: case.row.entries[0])), tuple(waiting)


def _of_no_winding(session: Session, variant: Variant | None) -> list[Waiting]:
    """Readings in rounds that are about no winding alone: they count as readings, each by itself."""
    in_rounds = [(i.n, i.body) for i in session.items if isinstance(i.body, Reading) and i.body.round is not None]
    others = tuple(n for n, reading in in_rounds if device_in_round(variant, reading) is None)
    why = NO_VARIANT if variant is None else NO_WINDING
    return [Waiting("", others, why)] if others else []


def _of_log(rows: Mapping[tuple[int, ...], Row], number: int, body: HeatTest) -> HeatCase | None:
    row = rows.get((number,))
    if row is None or row.heat is None:
        return None
    return HeatCase(row=row, heat=row.heat, device=body.device, log=body)


def _of_rounds(
    rows: Mapping[tuple[int, ...], Row], device: str, entries: tuple[int, ...], rounds: Rounds
) -> HeatCase | None:
    row = rows.get(entries)
    if row is None or row.heat is None:
        return None
    return HeatCase(row=row, heat=row.heat, device=device, rounds=rounds)
