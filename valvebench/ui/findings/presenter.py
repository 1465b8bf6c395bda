"""Decides what the Findings page shows.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Protocol

from valvebench.bench.desk import Desk
from valvebench.model.entry import Reading
from valvebench.model.words import Verdict
from valvebench.ui.findings.shown import FindingsShown, findings_shown, troubled
from valvebench.ui.keeper import Keeper

EMPTY: Final = (
    "Here the session's verdict stands with its reasons, each on its ruler, and with what is still missing. "
    "Nothing was measured yet."
)
JUDGING: Final = "Judging \u2026"
COPIED: Final = "Copied as text."


class FindingsView(Protocol):
    """What the presenter asks of the page."""

    def show_findings(self, findings: FindingsShown) -> None: ...
    def show_empty(self, words: str, *, is_waiting: bool = False) -> None: ...
    def put_on_clipboard(self, text: str) -> None: ...
    def say(self, words: str) -> None: ...


class FindingsPresenter:
    """The verdict of one open session; it works out the page only while somebody looks at it."""

    def __init__(self, view: FindingsView, desk: Desk, keeper: Keeper, *, explained: Callable[[], str] = str) -> None:
        self._view, self._desk, self._keeper, self._explained = view, desk, keeper, explained
        self._is_in_front = False
        self._is_stale = True
        self._shown: FindingsShown | None = None
        keeper.listen(self._changed)

    def start(self) -> None:
        """Show what is known now."""
        self.refresh()

    def came_to_front(self) -> None:
        """Somebody looks at the page."""
        self._is_in_front = True
        if self._is_stale:
            self.refresh()

    def left(self) -> None:
        """Nobody looks at the page any more."""
        self._is_in_front = False

    def _changed(self) -> None:
        self._is_stale = True
        if self._is_in_front:
            self.refresh()

    def refresh(self) -> None:
        """Show the verdict with its reasons anew."""
        self._is_stale = False
        self._view.say("")
        judged, book = self._keeper.judgement(), self._keeper.book
        if judged is None or book is None:
            self._show_nothing(JUDGING, is_waiting=True)
        elif not self._has_readings() and all(verdict is Verdict.NOT_TAKEN for verdict in judged.items.values()):
            self._show_nothing(EMPTY)
        else:
            rows = {key: book.rows_of_item(key) for key in troubled(judged)}
            self._show(findings_shown(judged, rows, is_closed=self._desk.session.is_closed))

    def _has_readings(self) -> bool:
        """Whether anything was read, a pair that no whole check asks for counted in."""
        return any(isinstance(item.body, Reading) for item in self._desk.session.items)

    def _show_nothing(self, words: str, *, is_waiting: bool = False) -> None:
        self._shown = None
        self._view.show_empty(words, is_waiting=is_waiting)

    def _show(self, findings: FindingsShown) -> None:
        if findings != self._shown:
            self._shown = findings
            self._view.show_findings(findings)

    def copy(self) -> None:
        """The whole page as text onto the clipboard."""
        if self._shown is not None:
            text = self._shown.text(self._desk.session.job.job)
            self._view.put_on_clipboard("\n\n".join(part for part in (text, self._explained()) if part))
            self._view.say(COPIED)
