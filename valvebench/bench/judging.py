"""A session judged with everything it holds, typed rounds of a heat run and flex tests included."""

from __future__ import annotations

from valvebench.diagnose.flex_series import find_in, flex_of
from valvebench.diagnose.heat_rounds import finds_in, heat_of, rounds_found
from valvebench.judge.book import Book
from valvebench.judge.flex_rows import FlexFind, SeriesKey
from valvebench.judge.heat_rows import HeatFind
from valvebench.judge.rows import Taken
from valvebench.judge.session import SessionJudgement, judge_session
from valvebench.model.session import Item, Session
from valvebench.model.variant import Variant
from valvebench.model.words import Rule


def judged_whole(session: Session, variant: Variant | None, rule: Rule | None) -> SessionJudgement:
    """The whole session judged; a long run of typed rounds takes a moment, so ask beside the window."""
    return judge_session(session, variant, rule=rule, heat=heat_of(session, variant), flex=flex_of(session.items))


def book_of(session: Session, variant: Variant | None, rule: Rule | None) -> Book:
    """The same as rows that can be kept up to date; ask beside the window."""
    return Book(session, variant, rule=rule, heat=heat_of(session, variant), flex=flex_of(session.items))


def finds_of(variant: Variant | None, device: str, taken: tuple[Taken, ...]) -> tuple[HeatFind, ...]:
    """What the typed rounds of one device say, from `Book.in_rounds`; ask beside the window."""
    return finds_in(rounds_found(variant, device, taken))


def flex_find_of(key: SeriesKey, items: tuple[Item, ...]) -> FlexFind:
    """What one flex test says, from `Book.in_series`; ask beside the window."""
    return find_in(key, items)
