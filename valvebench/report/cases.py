"""Judged rows beside the readings they were judged from."""

from __future__ import annotations

from dataclasses import dataclass

from valvebench.judge.judgement import Judgement
from valvebench.judge.row import Row
from valvebench.judge.rows import Taken, combined, like_groups, set_up, taken_readings
from valvebench.judge.session import SessionJudgement
from valvebench.model.entry import Reading
from valvebench.model.meter import Instrument
from valvebench.model.session import Session
from valvebench.model.variant import Variant


@dataclass(frozen=True, kw_only=True)
class Case:
    """One judged row of resistance: its readings, and the one reading that stands for them."""

    row: Row
    judgement: Judgement
    group: tuple[Taken, ...]
    reading: Reading

    @property
    def instrument(self) -> Instrument:
        """Meter, leads and check resistor; spreads of repeats are not in it."""
        return self.reading.instrument(check=self.group[0].check)

    @property
    def set_up(self) -> tuple[str, str]:
        """Meter and lead state: what a pooled spread belongs to."""
        return set_up(self.reading)


def cases_of(session: Session, variant: Variant | None, judged: SessionJudgement) -> tuple[Case, ...]:
    """Every judged row that came from readings of resistance, in the order of the entries."""
    rows = {row.entries: row for row in judged.rows if row.judgement is not None}
    groups = {tuple(one.item.n for one in group): group for group in like_groups(taken_readings(session, variant))}
    found = [_case(row, groups[entries]) for entries, row in rows.items() if entries in groups]
    return tuple(case for case in found if case is not None)


def _case(row: Row, group: list[Taken]) -> Case | None:
    if row.judgement is None:
        return None
    return Case(row=row, judgement=row.judgement, group=tuple(group), reading=combined(group))
