"""One judged line of a session."""

from __future__ import annotations

import msgspec

from valvebench.judge.flex import FlexJudgement
from valvebench.judge.heat import HeatJudgement
from valvebench.judge.judgement import Judgement
from valvebench.judge.leak import LeakJudgement
from valvebench.judge.sweep import SweepJudgement
from valvebench.judge.tap import PressureJudgement
from valvebench.model.words import Lean, Verdict


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One judged line of a session: ohm and degrees Celsius are in its judgement.

    That of a heat run is `heat`, of a flex test `flex`, of air tests `leak`, `pressure` and `sweep`.  `next_steps` is
    the advice beside theirs.  `by_number` is what the number alone says, where a contact or a diode that it was read
    through has the last word.
    """

    entries: tuple[int, ...]
    key: str
    what: str
    kind: str
    verdict: Verdict
    from_node: str | None = None
    to_node: str | None = None
    at: str | None = None
    port: str | None = None
    celsius: float | None = None
    judgement: Judgement | None = None
    heat: HeatJudgement | None = None
    flex: FlexJudgement | None = None
    leak: LeakJudgement | None = None
    pressure: PressureJudgement | None = None
    sweep: SweepJudgement | None = None
    limit_source: str | None = None
    covers: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    by_number: Judgement | None = None
    next_steps: tuple[str, ...] = ()
    shown_ohm: float | None = None
    is_corrected: bool = False

    @property
    def lean(self) -> Lean | None:
        """The side an undecided row leans to."""
        judged = self.judgement or self.heat or self.flex or self.leak or self.pressure or self.sweep
        return judged.lean if judged is not None else None

    @property
    def advice(self) -> tuple[str, ...]:
        """What to do next, the cheapest first."""
        if self.judgement is not None:
            return self.judgement.advice
        many = self.heat or self.flex or self.leak or self.sweep
        return (*many.found.advice, *self.next_steps) if many is not None else self.next_steps


def row_order(row: Row) -> tuple[int, bool]:
    """Sorts rows by their first entries; what many readings say together comes after the first of them."""
    return row.entries[0], row.heat is not None
