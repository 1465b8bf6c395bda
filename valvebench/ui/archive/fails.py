"""Decides what is told of failures: by variant, device, supplier or batch.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, NamedTuple, Protocol

from valvebench.bench.archived import Names
from valvebench.diagnose.failures import By, Count, total_of
from valvebench.model.errors import BenchError
from valvebench.ui.archive.long_work import NO_ARCHIVE
from valvebench.ui.archive.presenter import since_of
from valvebench.ui.archive.reach import NoArchive, Reach, Runs

if TYPE_CHECKING:
    from valvebench.bench.learning import Failures

BY_WORDS: Final = MappingProxyType(
    {By.DEVICE: "Device", By.VARIANT: "Variant", By.SUPPLIER: "Supplier", By.BATCH: "Batch"}
)
NOT_TOLD: Final = "not told"
NONE_KEPT: Final = "No kept session matches: there is nothing to count."
MOST_ROWS: Final = 50
FIRST: Final = "The first {shown} of {of} lines stand here. Choose a variant or a later day to see others."
LOOKING: Final = "Counting \u2026"
POST: Final = (
    "The post stands at all lines together: {failed} of {sessions} failed, {share} %. A full dot: the whole interval "
    "lies beside the post; of forty lines one may do so by chance."
)


class FailRow(NamedTuple):
    """One line: what was counted, how many sessions, how many failed, the share with its interval in percent.

    `all_pct` is the share of all lines together, also of those that are not shown.
    """

    name: str
    of: str
    sessions: int
    failed: int
    share_pct: float
    low_pct: float
    high_pct: float
    all_pct: float

    @property
    def cells(self) -> tuple[str, ...]:
        """As the table shows them."""
        share = f"{_pct(self.share_pct)} % ({_pct(self.low_pct)}\u2013{_pct(self.high_pct)})"
        return self.name, self.of, str(self.sessions), str(self.failed), share

    @property
    def stands_out(self) -> bool:
        """The whole interval lies beside the share of all together."""
        return self.low_pct > self.all_pct or self.high_pct < self.all_pct

    @property
    def told(self) -> str:
        """As it is read out: the count first, which a share of a few would hide."""
        standing = "cannot be told from"
        if self.stands_out:
            standing = "more often than" if self.low_pct > self.all_pct else "less often than"
        interval = f"{_pct(self.low_pct)} to {_pct(self.high_pct)} % (95 %)"
        return f"{self.failed} of {self.sessions} failed, {interval}; {standing} all together, {_pct(self.all_pct)} %"


class FailsView(Protocol):
    """What the presenter asks of this part."""

    def show_names(self, names: Names) -> None:
        """Variants to choose from."""
        ...

    def show_counts(self, rows: Sequence[FailRow], words: Sequence[str]) -> None:
        """The lines, what surely fails most first, and what has to be known about them."""
        ...

    def show_since_problem(self, words: str) -> None:
        """What is wrong with the day."""
        ...

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line."""
        ...


class FailsPresenter:
    """Counts beside the window; the newest request is answered."""

    def __init__(self, view: FailsView, reach: Reach, runner: Runs) -> None:
        self._view, self._reach, self._runner = view, reach, runner
        self._by, self._variant, self._since = By.DEVICE, "", ""
        self._names = Names((), ())
        self._asked = 0

    def changed(self, by: str, variant: str, since: str) -> None:
        """Other words of the form."""
        self._by, self._variant, self._since = By(by), variant, since
        self.refresh()

    def refresh(self) -> None:
        """Count anew."""
        since, problem = since_of(self._since)
        self._view.show_since_problem(problem)
        self._asked += 1
        number, by, variant = self._asked, self._by, self._variant or None
        self._view.say(LOOKING)

        def work() -> tuple[Failures, Names]:
            from valvebench.bench.learning import failures

            archive = self._reach.archive()
            return failures(archive, by, variant=variant, since=since), archive.names()

        def done(found: tuple[Failures, Names]) -> None:
            if number == self._asked:
                self._counted(*found)

        self._runner.run(work, done=done, failed=self._failed)

    def _counted(self, found: Failures, names: Names) -> None:
        if names != self._names:
            self._names = names
            self._view.show_names(names)
        sessions, failed = total_of(found.counts)
        all_pct = 100.0 * failed / sessions if sessions else 0.0
        rows = tuple(row_of(one, all_pct) for one in found.counts[:MOST_ROWS])
        post = POST.format(failed=failed, sessions=sessions, share=_pct(all_pct))
        cut = (FIRST.format(shown=len(rows), of=len(found.counts)),) if len(rows) < len(found.counts) else ()
        self._view.show_counts(rows, (post, *cut, *found.warnings) if rows else ())
        self._view.say("" if rows else NONE_KEPT)

    def _failed(self, error: Exception) -> None:
        self._view.show_counts((), ())
        if isinstance(error, NoArchive):
            self._view.say(NO_ARCHIVE)
        elif isinstance(error, BenchError):
            self._view.say(str(error), is_problem=True)
        else:
            raise error


def row_of(one: Count, all_pct: float) -> FailRow:
    """A count in words and percent, beside the share of all together."""
    return FailRow(
        name=one.name or NOT_TOLD,
        of=one.of,
        sessions=one.sessions,
        failed=one.failed,
        share_pct=100.0 * one.failed / one.sessions,
        low_pct=100.0 * one.low,
        high_pct=100.0 * one.high,
        all_pct=all_pct,
    )


def _pct(share_pct: float) -> str:
    """Whole percents; below one a tenth, since a few in a thousand are not none."""
    if 0 < share_pct < 0.1:
        return "<0.1"
    return f"{share_pct:.1f}" if 0 < share_pct < 1 else f"{share_pct:.0f}"
