"""Decides what the card of two bodies shows.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final, NamedTuple, Protocol

from valvebench.bench.desk import Desk
from valvebench.bench.view import SessionView
from valvebench.diagnose.compared import Side
from valvebench.diagnose.comparison import Comparison, comparison
from valvebench.model.errors import BenchError
from valvebench.ui.findings.compared_shown import ComparedShown, compared_shown
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.services import Listed
from valvebench.ui.settings import Recent

COPIED: Final = "The comparison was copied as text."
COMPARING: Final = "Comparing \u2026"
NAME_ONE: Final = "Name the folder of another session; it holds journal.jsonl."
ITSELF: Final = "That is the session at hand: choose the one of the other body."

Look = Callable[[Path], SessionView]
Recents = Callable[[], Sequence[Recent]]


class ComparingView(Protocol):
    """What the presenter asks of the card."""

    def show_recent(self, recent: Sequence[Listed]) -> None: ...
    def show_comparison(self, shown: ComparedShown) -> None: ...
    def show_choice(self) -> None: ...
    def show_busy(self, words: str) -> None: ...
    def show_problem(self, words: str) -> None: ...
    def put_on_clipboard(self, text: str) -> None: ...
    def say(self, words: str) -> None: ...


class World(NamedTuple):
    """What comparing asks of the rest of the program; the sessions opened last by title, words and path."""

    folder: Path
    look: Look
    recent: Recents


class _Other(NamedTuple):
    """The other session as it was read, and where it lies."""

    folder: Path
    view: SessionView


class ComparingPresenter:
    """The open session beside another one; compared anew when it changes and somebody looks."""

    def __init__(self, view: ComparingView, desk: Desk, keeper: Keeper, *, runner: Runs, world: World) -> None:
        self._view, self._desk, self._runner, self._world = view, desk, runner, world
        self._other: _Other | None = None
        self._shown: ComparedShown | None = None
        self._asked = 0
        self._is_in_front = False
        self._is_old = False
        keeper.listen(self._changed)

    @property
    def folder(self) -> Path | None:
        """Where the other session lies; None while nothing is compared."""
        return self._other.folder if self._other is not None else None

    def start(self) -> None:
        """Offer the sessions opened last."""
        here = self._world.folder.absolute()
        listed = [Listed(one.title, one.about, Path(one.path)) for one in self._world.recent()]
        self._view.show_recent([one for one in listed if one.path.absolute() != here])

    def came_to_front(self) -> None:
        """Somebody looks."""
        self._is_in_front = True
        self.start()
        if self._is_old and self._other is not None:
            self._compare(self._other)

    def left(self) -> None:
        """Nobody looks any more."""
        self._is_in_front = False

    def _changed(self) -> None:
        self._is_old = True
        if self._is_in_front and self._other is not None:
            self._compare(self._other)

    def chosen(self, folder: Path) -> None:
        """Compare with the session in a folder."""
        if not folder.name:
            self._view.show_problem(NAME_ONE)
        elif folder.absolute() == self._world.folder.absolute():
            self._view.show_problem(ITSELF)
        else:
            self._run(lambda: _Other(folder, self._world.look(folder)))

    def again(self) -> None:
        """Choose another session."""
        self._asked += 1
        self._other = self._shown = None
        self._view.show_choice()

    def copy(self) -> None:
        """The comparison as text onto the clipboard."""
        if self._shown is not None:
            self._view.put_on_clipboard(self._shown.text(self._desk.job.job))
            self._view.say(COPIED)

    def _compare(self, other: _Other) -> None:
        self._run(lambda: other)

    def _run(self, look: Callable[[], _Other]) -> None:
        """Read the other session, if need be, and compare, beside the window."""
        self._asked += 1
        number, self._is_old = self._asked, False
        here = Side(self._desk.session, self._desk.variant)
        if self._shown is None:
            self._view.show_busy(COMPARING)

        def work() -> tuple[_Other, Comparison]:
            other = look()
            return other, comparison(here, Side(other.view.session, other.view.variant))

        self._runner.run(
            work,
            done=lambda found: self._done(number, *found),
            failed=lambda error: self._failed(number, error),
        )

    def _done(self, number: int, other: _Other, found: Comparison) -> None:
        if number != self._asked:
            return
        self._other = other
        shown = compared_shown(found, other.view.session)
        if shown != self._shown:
            self._shown = shown
            self._view.show_comparison(shown)

    def _failed(self, number: int, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        if number == self._asked:
            self._view.show_problem(str(error))
