"""Decides how a session is finished: close in two steps, export with a way out, verify, the head.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, Protocol

from valvebench.bench.evidence import Verified
from valvebench.bench.handing import head_text
from valvebench.bench.papers import Paper
from valvebench.judge.session import SessionJudgement, session_sentence
from valvebench.ui.job.exports import Exporting, ExportPresenter, ExportView, Tell, failure_words
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.start.drops import as_path

CLOSE: Final = "Close the session"
CLOSE_NOW: Final = "Press again to close"
HEAD_NOTE: Final = "The first 16 digits are enough for tag and report. Copy takes all of it."
_NOTHING_MISSING: Final = "Nothing is missing."


def head_words(head: str) -> str:
    """The head in groups of 16 digits, which can be read out and written down."""
    return f"Head {head_text(head)}"


class FinishView(ExportView, Protocol):
    """What the presenter asks of the card."""

    def show_state(self, verdict_line: str, missing: str, *, is_closed: bool) -> None: ...
    def show_close(self, words: str) -> None: ...
    def show_head(self, head: str) -> None: ...
    def put_on_clipboard(self, text: str) -> None: ...


class Finishing(Exporting, Protocol):
    """What finishing a session asks of the world."""

    def verify(self, path: Path, *, head: str | None = None) -> Verified: ...


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
        compared_with: Callable[[], Path | None],
    ) -> None:
        self._view, self._keeper, self._folder, self._services = view, keeper, folder, services
        self._runner, self._closed = runner, closed
        self._is_asked = False
        self._missing = ""
        self.exports = ExportPresenter(view, folder, services, exporter, compared_with=compared_with)

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
        if judged is None or self._keeper.is_judging:
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
        self.exports.workbook(typed)

    def export_report(self, workbook: str) -> None:
        """Write the report as PDF beside the workbook, under its name."""
        self.stay_open()
        self.exports.paper(Paper.REPORT, as_path(workbook).with_suffix(".pdf"))

    def export_pictures(self, workbook: str, tell: Tell | None = None) -> None:
        """Draw the pictures beside the window, into a new folder beside the workbook; `tell` hears of it as well."""
        self.stay_open()
        self.exports.pictures(workbook, tell)

    def export_bundle(self, workbook: str) -> None:
        """Write the session as one file beside the window, beside the workbook."""
        self.stay_open()
        self.exports.bundle(workbook)

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
        self._view.say(failure_words(error), is_problem=True)
