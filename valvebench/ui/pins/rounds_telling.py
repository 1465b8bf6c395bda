"""Tells what the rounds say so far; like windings are compared beside the window.  No Qt."""

from __future__ import annotations

import gc
from collections.abc import Sequence

from valvebench.diagnose.heat_odd import Parting, partings
from valvebench.diagnose.heat_rounds import load
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.pins.rounds import Round, Stop
from valvebench.ui.pins.rounds_finds import finds_shown
from valvebench.ui.pins.rounds_ports import RoundsView


class Telling:
    """One comparison at a time; what it was asked for last is what stands in the end."""

    def __init__(self, view: RoundsView, keeper: Keeper, runner: Runs, stops: Sequence[Stop]) -> None:
        self._view, self._keeper, self._runner, self._stops = view, keeper, runner, stops
        self._told: tuple[Parting, ...] = ()
        self._told_of: tuple[Round, ...] | None = None
        self._asked: tuple[Round, ...] = ()
        self._is_loaded = self._is_under_way = False

    def load(self) -> None:
        """Nobody is in the middle of entry yet: what the first find needs is loaded now."""
        if not self._is_loaded:
            self._is_loaded = True
            self._runner.run(load, done=_loaded, failed=self._failed)

    def show(self, rounds: tuple[Round, ...]) -> None:
        """What is known of these rounds now, and the comparison of like windings when it is there."""
        book, self._asked = self._keeper.book, rounds
        if book is None:
            return
        self._view.show_finds(finds_shown(rounds, self._stops, book.rows_of_item, self._told))
        if rounds is self._told_of or self._is_under_way:
            return
        session, variant = self._keeper.desk.session, self._keeper.desk.variant
        self._is_under_way = True
        self._runner.run(
            lambda: partings(session, variant), done=lambda found: self._found(found, rounds), failed=self._failed
        )

    def stop(self) -> None:
        """The rounds are left: an answer that still comes is shown nowhere."""
        self._asked = ()

    def _found(self, found: tuple[Parting, ...], of: tuple[Round, ...]) -> None:
        self._is_under_way, self._told, self._told_of = False, found, of
        if self._asked:
            self.show(self._asked)

    def _failed(self, error: Exception) -> None:
        self._is_under_way = False
        raise error


def _loaded(is_new: bool) -> None:  # noqa: FBT001  what `load` answers
    """As after the start: what has been loaded is never garbage, and looking through it takes its time."""
    if is_new:
        gc.freeze()
