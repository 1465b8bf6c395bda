"""Keeps entries of the open session, one at a time, and its judged rows up to date.  No Qt.

Every page records through the one keeper, so that a second entry never overtakes the first
and every page hears of a change.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

from valvebench.bench.desk import Desk, Prepared
from valvebench.judge.book import Book
from valvebench.judge.rows import Row
from valvebench.judge.session import SessionJudgement
from valvebench.model.entry import AnyBody, Entry
from valvebench.model.errors import BenchError, WorldFailed
from valvebench.model.words import Rule

BUSY = "Still keeping the last entry. Try again in a moment."
_UNCHAINED = frozenset({"correct", "withdraw", "restore", "meter-check", "close"})
"""Kinds after which more than the rows of one pair can change: everything is judged anew."""

Kept = Callable[[Entry, tuple[Row, ...]], None]
Failed = Callable[[Exception], None]


class Runs(Protocol):
    """Runs work beside the window."""

    def run(self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Failed) -> None:
        """Run `work`; then call `done` with its result or `failed` with its error."""
        ...


class Keeper:
    """The desk, its book of rows, and the one entry that is on its way to the disk."""

    def __init__(self, desk: Desk, runner: Runs, *, rule: Rule = Rule.PROVED) -> None:
        self.desk, self.rule = desk, rule
        self.book: Book | None = None
        self._runner = runner
        self._on_its_way: Prepared | None = None
        self._is_sent = False
        self._listeners: list[Callable[[], None]] = []

    @property
    def is_busy(self) -> bool:
        """Whether an entry is on its way."""
        return self._on_its_way is not None

    def listen(self, listener: Callable[[], None]) -> None:
        """Be told after every change of what counts."""
        self._listeners.append(listener)

    def judgement(self) -> SessionJudgement | None:
        """The session's verdict now; None until it was judged."""
        return self.book.judgement() if self.book is not None else None

    def judge(self, *, done: Callable[[], None], failed: Failed) -> None:
        """Judge the whole session beside the window."""
        session, variant, rule = self.desk.session, self.desk.variant, self.rule

        def judged(book: Book) -> None:
            self.book = book
            done()
            self._tell()

        self._runner.run(
            lambda: Book(session, variant, rule=None if rule is Rule.PROVED else rule), done=judged, failed=failed
        )

    def prepare(self, body: AnyBody) -> Prepared:
        """Check an entry and hold the place for it (raises BadInput; WorldFailed while one is on its way)."""
        if self._on_its_way is not None:
            raise WorldFailed(BUSY)
        self._on_its_way, self._is_sent = self.desk.prepare(body), False
        return self._on_its_way

    def let_go(self) -> None:
        """Give up the place of an entry that was never sent, as after a fault of ours."""
        if not self._is_sent:
            self._on_its_way = None

    def send(self, prepared: Prepared, *, kept: Kept, failed: Failed, picture: bytes | None = None) -> None:
        """Write a prepared entry beside the window, its picture before it; it counts when it is on disk."""
        self._is_sent = True
        self._runner.run(
            lambda: self._write(prepared, picture),
            done=lambda _: self._written(prepared, kept, failed),
            failed=lambda error: self._not_written(error, failed),
        )

    def _write(self, prepared: Prepared, picture: bytes | None) -> None:
        if picture is not None:
            self.desk.keep_picture(picture)
        self.desk.write(prepared)

    def keep(self, body: AnyBody, *, kept: Kept, failed: Failed, picture: bytes | None = None) -> None:
        """Prepare and send in one step; what is wrong with the body goes to `failed` too."""
        try:
            prepared = self.prepare(body)
        except BenchError as error:
            failed(error)
            return
        self.send(prepared, kept=kept, failed=failed, picture=picture)

    def _written(self, prepared: Prepared, kept: Kept, failed: Failed) -> None:
        self._on_its_way = None
        entry = self.desk.accept(prepared)
        if entry.kind in _UNCHAINED or self.book is None:
            self.judge(done=lambda: kept(entry, ()), failed=failed)
            return
        item = self.desk.find_item(entry.n)
        kept(entry, self.book.take(item) if item is not None else ())
        self._tell()

    def _not_written(self, error: Exception, failed: Failed) -> None:
        self._on_its_way = None
        failed(error)

    def _tell(self) -> None:
        for listener in self._listeners:
            listener()
