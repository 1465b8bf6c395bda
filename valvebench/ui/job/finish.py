"""Decides how a session is finished: close in two steps, export with a way out, verify, the head.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, Protocol

from valvebench.bench.evidence import Verified
from valvebench.judge.session import SessionJudgement, session_sentence
from valvebench.model.errors import BenchError, WorldFailed
from valvebench.model.words import Rule
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.start.drops import as_path

CLOSE: Final = "Close the session"
CLOSE_NOW: Final = "Press again to close"
CANCELLED: Final = "Export cancelled; no workbook was written."
_NOTHING_MISSING: Final = "Nothing is missing."

Step = Callable[[str], bool]


class FinishView(Protocol):
    """What the presenter asks of the card."""

    def show_state(self, verdict_line: str, missing: str, *, is_closed: bool) -> None: ...
    def show_close(self, words: str) -> None: ...
    def show_head(self, head: str) -> None: ...
    def show_busy(self, *, is_busy: bool) -> None: ...
    def show_written(self, path: Path | None) -> None: ...
    def open_folder(self, folder: Path) -> None: ...
    def put_on_clipboard(self, text: str) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class Finishing(Protocol):
    """What finishing a session asks of the world."""

    def verify(self, path: Path, *, head: str | None = None) -> Verified: ...
    def write_workbook(
        self, folder: Path, target: Path, *, rule: Rule | None = None, step: Step | None = None
    ) -> bool: ...


class Export:
    """One workbook on its way: where it stands, and whether it is still wanted.

    The worker writes `words`, the window reads it; neither waits for the other.
    """

    def __init__(self, target: Path) -> None:
        self.target, self.words, self.is_wanted, self.ticks = target, "Reading the session", True, 0

    def step(self, words: str) -> bool:
        """Called by the worker before each step; whether to go on."""
        self.words = words
        return self.is_wanted


class FinishPresenter:
    """The end of one open session; `exporter` runs beside the worker that keeps entries."""

    def __init__(
        self,
        view: FinishView,
        keeper: Keeper,
        folder: Path,
        services: Finishing,
        *,
        runner: Runs,
        exporter: Runs,
        closed: Callable[[], None],
    ) -> None:
        self._view, self._keeper, self._folder, self._services = view, keeper, folder, services
        self._runner, self._exporter, self._closed = runner, exporter, closed
        self._is_asked = False
        self._export: Export | None = None
        self._missing = ""
        self._written: Path | None = None

    def start(self) -> None:
        """Show a closed session's head."""
        if self._keeper.desk.is_closed:
            self._view.show_head(self._keeper.desk.session.head)

    def show_judged(self, judged: SessionJudgement) -> None:
        """Verdict with its scope, and what is missing; a change takes a half-made closing back."""
        missing = ", ".join(one.what for one in judged.missing)
        self._missing = f"Still missing: {missing}." if missing else _NOTHING_MISSING
        self.stay_open()
        is_closed = self._keeper.desk.is_closed
        self._view.show_state(session_sentence(judged), self._missing, is_closed=is_closed)

    # -- close -----------------------------------------------------------------------------

    def close(self) -> None:
        """First say what is missing; pressed again, close the session, finished or not."""
        judged = self._keeper.judgement()
        if judged is None:
            self._view.say("Still judging. Try again in a moment.")
        elif not self._is_asked:
            self._ask()
        else:
            self.stay_open()
            body = self._keeper.desk.close_body(judged)
            self._keeper.keep(body, kept=lambda *_: self._has_closed(), failed=self._fail)

    def _ask(self) -> None:
        self._is_asked = True
        self._view.show_close(CLOSE_NOW)
        after = "Once closed, only outcome and handing over can be added."
        self._view.say(f"{self._missing} Press again to close. {after}")

    def stay_open(self) -> None:
        """Take a half-made closing back, as when something else is done."""
        if self._is_asked:
            self._is_asked = False
            self._view.show_close(CLOSE)
            self._view.say("")

    def _has_closed(self) -> None:
        head = self._keeper.desk.session.head
        self._view.show_head(head)
        self._view.say("Closed. Write the head on tag and report, or give it to the customer.")
        self._closed()

    def copy_head(self) -> None:
        """The head onto the clipboard."""
        self._view.put_on_clipboard(self._keeper.desk.session.head)
        self._view.say("Head copied.")

    # -- export ----------------------------------------------------------------------------

    def export(self, typed: str) -> None:
        """Write the workbook beside the window."""
        self.stay_open()
        if self._export is not None:
            return
        export = self._export = Export(as_path(typed))
        self._view.show_written(None)
        self._view.show_busy(is_busy=True)
        self._view.say("Writing the workbook \u2026")
        self._exporter.run(
            lambda: self._services.write_workbook(self._folder, export.target, step=export.step),
            done=lambda is_written: self._exported(export, is_written=is_written),
            failed=lambda error: self._not_exported(export, error),
        )

    def tick(self) -> None:
        """A second of waiting has passed: say where the workbook stands."""
        if self._export is not None:
            self._export.ticks += 1
            self._view.say(f"Writing the workbook: {self._export.words}, {self._export.ticks} s \u2026")

    def cancel(self) -> None:
        """Stop waiting; nothing is written under its name."""
        if self._export is not None:
            self._export.is_wanted = False
            self._end(CANCELLED)

    def _end(self, words: str, *, is_problem: bool = False) -> None:
        self._export = None
        self._view.show_busy(is_busy=False)
        self._view.say(words, is_problem=is_problem)

    def _exported(self, export: Export, *, is_written: bool) -> None:
        if export is not self._export:
            if is_written:  # it was being put in place when the person cancelled
                self._view.say(f"The workbook had been written before it could be cancelled: {export.target}")
            return
        self._written = export.target
        self._end(f"Workbook written to {export.target}")
        self._view.show_written(export.target)

    def _not_exported(self, export: Export, error: Exception) -> None:
        if export is self._export:
            self._export = None
            self._view.show_busy(is_busy=False)
            self._fail(error)

    def show_in_folder(self) -> None:
        """Open the folder that holds the workbook."""
        if self._written is not None:
            self._view.open_folder(self._written.parent)

    # -- verify ----------------------------------------------------------------------------

    def verify(self) -> None:
        """Check the session on disk against its own chain and present head."""
        self.stay_open()
        folder, head = self._folder, self._keeper.desk.session.head
        self._runner.run(lambda: self._services.verify(folder, head=head), done=self._verified, failed=self._fail)

    def _verified(self, found: Verified) -> None:
        if found.ok:
            self._view.say(f"As it was written: {found.entries} entries, head {found.head}. {found.notes[-1]}")
        else:
            first = found.problems[0]
            self._view.say(f"Not as it was written: line {first.line}, {first.what}", is_problem=True)

    def _fail(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        lost = " Nothing that was kept is lost." if isinstance(error, WorldFailed) else ""
        self._view.say(f"{error}{lost}", is_problem=True)
