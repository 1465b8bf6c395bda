"""Takes back what was kept on one page, and brings it back; both are entries.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple, Protocol

from valvebench.model.entry import AnyBody, Correct, Restore, Withdraw
from valvebench.model.errors import BenchError
from valvebench.ui.errors import error_words
from valvebench.ui.keeper import BUSY, CLOSED, Keeper


class Says(Protocol):
    """One line of the page."""

    def __call__(self, words: str, *, is_problem: bool = False) -> None:
        """Say it, in place of what stood there."""


class Told(NamedTuple):
    """What is said where nothing can be taken or brought back, and where it was; `{n}` is the number of the entry."""

    nothing: str
    nothing_back: str
    taken: str = "Entry {n} taken back. Both stay in the trail."
    brought: str = "Entry {n} brought back. Both stay in the trail."


OF_ANY_PAGE: Final = Told(
    "Nothing to undo.",
    "Nothing to redo.",
    "Withdrawn: entry {n}. Nothing is lost, both stay in the trail.",
    "Restored: entry {n}. Nothing is lost, both stay in the trail.",
)


def _any(_: AnyBody) -> bool:
    return True


class TakingBack:
    """Where a page has its own entries only these: the rest is taken back on the page that made it."""

    def __init__(
        self,
        keeper: Keeper,
        say: Says,
        *,
        done: Callable[[int, AnyBody], None],
        told: Told,
        is_own: Callable[[AnyBody], bool] = _any,
    ) -> None:
        """`done` hears which entry counts no longer, or again, with what it says, before that is said."""
        self._keeper, self._say, self._is_own, self._done, self._told = keeper, say, is_own, done, told

    def undo(self) -> None:
        """Take back the newest entry."""
        self._write_own(self._keeper.desk.undo_body(), self._told.nothing)

    def redo(self) -> None:
        """Bring back what was taken back last."""
        self._write_own(self._keeper.desk.redo_body(), self._told.nothing_back)

    def withdraw(self, number: int, why: str = "taken back at the bench") -> None:
        """Take back one entry of the page."""
        if self._can_write():
            self._write(Withdraw(entry=number, why=why))

    def _write_own(self, body: Withdraw | Restore | None, nothing: str) -> None:
        if not self._can_write():
            return
        if body is None or not self._is_own(self._made(body.entry)):
            self._say(nothing)
        else:
            self._write(body)

    def _can_write(self) -> bool:
        is_closed = self._keeper.desk.is_closed
        if is_closed or self._keeper.is_busy:
            self._say(CLOSED if is_closed else BUSY)
            return False
        return True

    def _made(self, number: int) -> AnyBody:
        """What an entry says; of a correction what it corrects."""
        body = self._keeper.desk.session.entries[number - 1].body
        return self._made(body.entry) if isinstance(body, Correct) else body

    def _write(self, body: Withdraw | Restore) -> None:
        self._keeper.keep(body, kept=lambda *_: self._kept(body), failed=self._not_kept)

    def _kept(self, body: Withdraw | Restore) -> None:
        self._done(body.entry, self._made(body.entry))
        words = self._told.taken if isinstance(body, Withdraw) else self._told.brought
        self._say(words.format(n=body.entry))

    def _not_kept(self, error: Exception) -> None:
        self._say(f"Not saved. {error_words(error)}", is_problem=True)
        if not isinstance(error, BenchError):
            raise error
