"""Takes measured leaks back and brings them back; both are entries.  No Qt."""

from __future__ import annotations

from collections.abc import Callable

from valvebench.bench.desk import Desk
from valvebench.judge.row import Row
from valvebench.model.air_tests import LeakTest
from valvebench.model.entry import AnyBody, Entry, Withdraw
from valvebench.model.errors import BenchError
from valvebench.ui.keeper import Keeper
from valvebench.ui.leak import page
from valvebench.ui.leak.shown import refusal_words

Say = Callable[[str, bool], None]


class TakingBack:
    """Only of leaks: what was kept on another page is taken back there."""

    def __init__(self, desk: Desk, keeper: Keeper, *, taken: Callable[[LeakTest], None], say: Say) -> None:
        """`taken` hears of a test that no longer counts, or counts again; `say` of words and whether they are bad."""
        self._desk, self._keeper, self._taken, self._say = desk, keeper, taken, say

    def undo(self) -> None:
        """Take back the newest entry where it is a measured leak."""
        body = self._desk.undo_body()
        self._write(body if body is not None and self._test(body.entry) is not None else None, page.NOTHING_HERE)

    def redo(self) -> None:
        """Bring back what was taken back last."""
        body = self._desk.redo_body()
        self._write(body if body is not None and self._test(body.entry) is not None else None, page.NOTHING_BACK)

    def _test(self, number: int) -> LeakTest | None:
        body = self._desk.session.entries[number - 1].body
        return body if isinstance(body, LeakTest) else None

    def _write(self, body: AnyBody | None, nothing: str) -> None:
        if body is None or self._keeper.is_busy:
            self._say(nothing if body is None else page.STILL_KEEPING, True)
            return
        self._keeper.keep(body, kept=self._written, failed=self._not_written)

    def _written(self, entry: Entry, _: tuple[Row, ...]) -> None:
        number = getattr(entry.body, "entry", 0)
        test = self._test(number)
        if test is not None:
            self._taken(test)
        word = "taken" if isinstance(entry.body, Withdraw) else "brought"
        self._say(f"Entry {number} {word} back. Both stay in the trail.", False)

    def _not_written(self, error: Exception) -> None:
        self._say(f"Not saved. {refusal_words(error)}", True)
        if not isinstance(error, BenchError):
            raise error
