"""A session looked at, never changed."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from valvebench.bench.judging import judged_whole
from valvebench.judge.session import SessionJudgement
from valvebench.model.session import Session, closing_rule
from valvebench.model.variant import Variant
from valvebench.model.words import Rule


@dataclass(frozen=True, kw_only=True)
class SessionView:
    """What counts in a session, with the variant frozen in it."""

    session: Session
    variant: Variant | None

    def judged(self, rule: Rule | None = None) -> SessionJudgement:
        """The whole session judged."""
        return judged_whole(self.session, self.variant, rule or closing_rule(self.session))


class DemoMade(NamedTuple):
    """Where the demo jobs and their workbooks are."""

    sessions: tuple[Path, ...]
    workbooks: tuple[Path, ...]
