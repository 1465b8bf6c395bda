"""Decides what the Job page shows of the complaint, and what to test first.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Final, NamedTuple, Protocol

from valvebench.bench.suspecting import Suspecting, Suspicion
from valvebench.model.entry import Complaint, Entry
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.session import Session
from valvebench.model.words import JobKind
from valvebench.ui.job.suspects_shown import (
    NOT_OPEN,
    WORKING,
    ComplaintShown,
    SuspectsShown,
    Taken,
    complaint_shown,
    sentence,
    suspects_shown,
)
from valvebench.ui.keeper import Keeper, Runs

NO_VARIANT: Final = "Without a variant there is no chart that says what changes in a shift."
FAILED: Final = "It could not be worked out. Readings and verdicts are kept. {why}"
FAULT_OF_OURS: Final = "This is a fault of the program: copy the details below and send them to whoever looks after it."
NOT_KEPT: Final = "Not saved: {error} What you typed still stands here."
SAME: Final = "The complaint stands so already."


class Suspects(NamedTuple):
    """Who works it out, on which worker; nobody where there is no variant."""

    runner: Runs
    suspecting: Suspecting | None


class _Answer(NamedTuple):
    """What was found, the items with a result, and whether nothing more comes."""

    found: Suspicion
    taken: frozenset[Taken]
    is_last: bool


class SuspectsView(Protocol):
    """What the presenter asks of the card."""

    def show_complaint(self, shown: ComplaintShown | None) -> None: ...
    def show_sentence(self, words: str) -> None: ...
    def show_suspects(self, shown: SuspectsShown) -> None: ...
    def show_busy(self, words: str) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class SuspectsPresenter:
    """The complaint of one open session; suspects are worked out beside the window while somebody looks."""

    def __init__(
        self, view: SuspectsView, keeper: Keeper, suspects: Suspects, *, corrected: Callable[[], None]
    ) -> None:
        self._view, self._keeper, self._runner, self._suspecting = view, keeper, *suspects
        self._corrected = corrected
        self._asked = 0
        self._is_in_front = self._is_busy = False
        self._of: Session | None = None
        self._words: tuple[str | None, str | None, str | None] | None = None
        self._shown: SuspectsShown | None = None
        keeper.listen(self._changed)

    def came_to_front(self) -> None:
        """Somebody looks."""
        self._is_in_front = True
        self.refresh()

    def left(self) -> None:
        """Nobody looks any more, or the session is left: what has not begun is not begun."""
        self._is_in_front = False
        self._asked += 1
        if self._is_busy:
            self._of = None

    def _changed(self) -> None:
        if self._is_in_front:
            self.refresh()

    def refresh(self) -> None:
        """Show complaint and suspects anew, where what counts has changed."""
        session = self._keeper.desk.session
        job = session.job_now
        has_complaint = job.kind is JobKind.COMPLAINT or bool(job.shift or job.when or job.feel)
        if not has_complaint:
            self._view.show_complaint(None)
            return
        self._show_complaint(session)
        if self._suspecting is None:
            self._view.show_suspects(SuspectsShown(changes=(NO_VARIANT,), rows=()))
        elif session is not self._of and self._keeper.book is not None:
            self._work_out(session, self._suspecting)

    def _show_complaint(self, session: Session) -> None:
        """Only where it changed: what is being typed stays."""
        job = session.job_now
        words = (job.shift, job.when, job.feel)
        if words == self._words and not session.is_closed:
            return
        self._words = words
        self._corrected()
        self._view.show_complaint(complaint_shown(job, self._keeper.desk.variant, is_open=not session.is_closed))
        self._view.show_sentence(sentence(*(word or "" for word in words)))

    # -- the complaint ---------------------------------------------------------------------

    def complaint_changed(self, shift: str, when: str, feel: str) -> None:
        """The sentence is read while it is typed."""
        self._view.show_sentence(sentence(shift, when, feel))

    def complaint_typed(self, shift: str, when: str, feel: str) -> None:
        """Keep the complaint as it turned out; what was said first stays readable."""
        if self._keeper.desk.is_closed:
            self._view.say(NOT_OPEN, is_problem=True)
            return
        words = (shift or None, when or None, feel or None)
        if words == self._words:
            self._view.say(SAME)
            return
        try:
            body = Complaint(shift=words[0], when=words[1], feel=words[2])
        except BadInput as error:
            self._view.say(error.problems[0].text(), is_problem=True)
            return
        self._keeper.keep(body, kept=lambda entry, _: self._kept(entry), failed=self._not_kept)

    def _kept(self, entry: Entry) -> None:
        self._view.say(f"Kept as entry {entry.n}. What was said first stays readable.")
        self.refresh()

    def _not_kept(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say(NOT_KEPT.format(error=error), is_problem=True)

    # -- working it out --------------------------------------------------------------------

    def _work_out(self, session: Session, suspecting: Suspecting) -> None:
        """First by the results alone, then with what explains the readings, which takes longer."""
        self._of, self._is_busy = session, True
        self._asked += 1
        number, book = self._asked, self._keeper.book
        if self._shown is None:
            self._view.show_busy(WORKING)

        def work(*, is_explaining: bool) -> _Answer | None:
            if book is None or number != self._asked:
                return None
            rows = book.rows()
            found = suspecting.suspect(
                session, rows, is_explaining=is_explaining, is_wanted=lambda: number == self._asked
            )
            return (
                _Answer(found, frozenset((row.key, row.at) for row in rows), is_explaining)
                if found is not None
                else None
            )

        for is_explaining in (False, True):
            self._runner.run(
                partial(work, is_explaining=is_explaining),
                done=lambda answer: self._done(number, answer),
                failed=lambda error: self._failed(number, error),
            )

    def _done(self, number: int, answer: _Answer | None) -> None:
        if answer is None or number != self._asked:
            return
        self._is_busy = not answer.is_last
        shown = suspects_shown(answer.found, taken=answer.taken)
        if shown != self._shown:
            self._shown = shown
            self._view.show_suspects(shown)

    def _failed(self, number: int, error: Exception) -> None:
        is_ours = not isinstance(error, BenchError)
        if number == self._asked:
            self._asked += 1  # the second part of the same question would fail alike
            self._of = self._shown = None
            why = FAULT_OF_OURS if is_ours else str(error)
            self._view.show_suspects(SuspectsShown(changes=(FAILED.format(why=why),), rows=()))
        if is_ours:
            raise error
