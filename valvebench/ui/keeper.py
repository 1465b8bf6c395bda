"""Keeps entries of the open session, one at a time, and its judged rows up to date.  No Qt.

Every page records through the one keeper, so that a second entry never overtakes the first
and every page hears of a change.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, Protocol

from valvebench.bench.desk import Desk, Prepared
from valvebench.bench.judging import book_of, finds_of, flex_find_of
from valvebench.diagnose.heat_rounds import device_in_round
from valvebench.judge.book import Book
from valvebench.judge.flex_rows import FlexFind, series_key
from valvebench.judge.heat_rows import HeatFind
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.model.entry import AnyBody, Entry, Reading
from valvebench.model.errors import BenchError, WorldFailed
from valvebench.model.session import Item
from valvebench.model.words import Rule
from valvebench.ui.errors import raised

CLOSED: Final = "This session is closed: nothing is added to it any more."
BUSY: Final = "Still keeping the last entry. Try again in a moment."
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
        self._held: AnyBody | None = None
        self._is_sent = False
        self._under_way = 0
        self._listeners: list[Callable[[], None]] = []

    @property
    def is_busy(self) -> bool:
        """Whether an entry is on its way, or its place is held."""
        return self._on_its_way is not None or self._held is not None

    @property
    def is_closing(self) -> bool:
        """Whether the entry on its way is the one that closes the session."""
        return self._on_its_way is not None and self._on_its_way.entry.kind == "close"

    @property
    def is_judging(self) -> bool:
        """Whether an answer is on its way that may change the verdict: nothing is closed on the one at hand."""
        return self._under_way > 0

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

        self._ask(lambda: book_of(session, variant, None if rule is Rule.PROVED else rule), judged, failed)

    def _ask(self, work: Callable[[], Any], done: Callable[[Any], None], failed: Failed) -> None:
        """Work out something the verdict hangs on, beside the window."""
        self._under_way += 1

        def answered(result: Any) -> None:
            self._under_way -= 1
            done(result)

        def not_answered(error: Exception) -> None:
            self._under_way -= 1
            failed(error)

        self._runner.run(work, done=answered, failed=not_answered)

    def prepare(self, body: AnyBody) -> Prepared:
        """Check an entry and hold the place for it (raises BadInput; WorldFailed while one is on its way)."""
        if self.is_busy:
            raise WorldFailed(BUSY)
        self._on_its_way, self._is_sent = self.desk.prepare(body), False
        return self._on_its_way

    def hold(self, body: AnyBody) -> None:
        """Check an entry and hold the place for it; its line is made by `prepare_held`, once the verdict is painted.

        Raises BadInput; WorldFailed while another is on its way.
        """
        if self.is_busy:
            raise WorldFailed(BUSY)
        self.desk.check(body)
        self._held = body

    def prepare_held(self) -> Prepared:
        """Make the line of the entry whose place is held (raises WorldFailed where none is)."""
        body, self._held = self._held, None
        if body is None:
            raise WorldFailed("The entry was given up after a fault. Type it again.")
        return self.prepare(body)

    def let_go(self) -> None:
        """Give up the place of an entry that was never sent, as after a fault of ours."""
        self._held = None
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
        self._look_at_rounds(self.book, entry.body)
        if item is not None:
            self._look_at_flex(self.book, item)

    def _look_at_rounds(self, book: Book, body: AnyBody) -> None:
        """A reading in a round may change what the rounds of its device say: found beside the window."""
        variant = self.desk.variant
        device = device_in_round(variant, body) if isinstance(body, Reading) else None
        if device is None:
            return
        taken = book.in_rounds(device)

        def found(finds: tuple[HeatFind, ...]) -> None:
            # a newer reading of the device, or another book, has its own answer on the way
            if self.book is book and book.in_rounds(device) == taken:
                book.set_heat(device, finds)
                self._tell()

        self._ask(lambda: finds_of(variant, device, taken), found, raised)

    def _look_at_flex(self, book: Book, item: Item) -> None:
        """One more reading of a flex test changes what its series says: found beside the window."""
        key = series_key(item)
        if key is None:
            return
        items = book.in_series(key)

        def found(find: FlexFind) -> None:
            # a newer reading of the series, or another book, has its own answer on the way
            if self.book is book and book.in_series(key) == items:
                book.set_flex(find)
                self._tell()

        self._ask(lambda: flex_find_of(key, items), found, raised)

    def _not_written(self, error: Exception, failed: Failed) -> None:
        self._on_its_way = None
        failed(error)

    def _tell(self) -> None:
        for listener in self._listeners:
            listener()
