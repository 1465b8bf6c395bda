"""Decides what the card of matched sets shows.  Knows no Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

from valvebench.bench.desk import Desk
from valvebench.bench.matched import MatchedSets, matched_of
from valvebench.diagnose.matched import MatchedSet, Member
from valvebench.diagnose.matched_words import ANSWER_TEXT, about, sentence_of, title_of
from valvebench.model.format import OHM, value_text
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.widgets.whisker_rows import Whisker

UNIT: Final = f"{OHM} at 20 \u00b0C"


@dataclass(frozen=True, kw_only=True)
class SetShown:
    """One set at one temperature: its title, what stands out, and its lines around the median [ohm]."""

    title: str
    sentence: str
    about: str
    median_ohm: float
    whiskers: tuple[Whisker, ...]


@dataclass(frozen=True, kw_only=True)
class SetsShown:
    """The whole card; without sets it is not shown."""

    note: str = ""
    sets: tuple[SetShown, ...] = ()


class MatchedView(Protocol):
    """What the presenter asks of the card."""

    def show_sets(self, shown: SetsShown) -> None: ...


class MatchedPresenter:
    """The matched sets of one open session, worked out beside the window while somebody looks."""

    def __init__(self, view: MatchedView, desk: Desk, keeper: Keeper, *, runner: Runs) -> None:
        self._view, self._desk, self._runner = view, desk, runner
        self._is_in_front = False
        self._asked = 0
        self._shown = SetsShown()
        keeper.listen(self._changed)

    def came_to_front(self) -> None:
        """Somebody looks."""
        self._is_in_front = True
        self._work_out()

    def left(self) -> None:
        """Nobody looks any more."""
        self._is_in_front = False

    def _changed(self) -> None:
        if self._is_in_front:
            self._work_out()

    def _work_out(self) -> None:
        self._asked += 1
        number, session, variant = self._asked, self._desk.session, self._desk.variant
        self._runner.run(
            lambda: matched_of(session, variant), done=lambda found: self._done(number, found), failed=_raise
        )

    def _done(self, number: int, found: MatchedSets) -> None:
        shown = sets_shown(found)
        if number == self._asked and shown != self._shown:
            self._shown = shown
            self._view.show_sets(shown)


def _raise(error: Exception) -> None:
    """Nothing of it touches the world: whatever fails is a fault of ours."""
    raise error


def sets_shown(found: MatchedSets) -> SetsShown:
    """The card of what was found; sets with an odd one first."""
    if not found.sets:
        return SetsShown()
    odd_first = sorted(found.sets, key=lambda one: not any(member.is_odd for member in one.members))
    return SetsShown(note=found.note, sets=tuple(_set_shown(one) for one in odd_first))


def _set_shown(one: MatchedSet) -> SetShown:
    return SetShown(
        title=title_of(one),
        sentence=sentence_of(one),
        about=about(one),
        median_ohm=one.median_ohm,
        whiskers=tuple(_whisker(member) for member in one.members),
    )


def _whisker(member: Member) -> Whisker:
    return Whisker(
        name=member.name,
        value=member.ohm,
        reach=member.expanded_ohm,
        words=value_text(member.ohm, member.expanded_ohm),
        answer=ANSWER_TEXT[True] if member.is_odd else "",
        stands_out=member.is_odd is True,
    )
