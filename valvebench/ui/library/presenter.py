"""Decides what the page of the variant library shows and does.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final, Protocol

from valvebench.bench.library import Library, OnShelf, Refused, Removed, TakenIn, Trouble
from valvebench.model.errors import BenchError
from valvebench.model.variant import Variant
from valvebench.ui.library.shown import (
    Compared,
    LibraryRow,
    Told,
    compared,
    found,
    row_of,
    taken_in_words,
    told_of,
)

ONLY_YOURS: Final = "An example comes with the program and stays. Duplicate it to have one of your own."
CHOOSE_ONE: Final = "Choose a variant in the list first."
NOT_READABLE: Final = "This file cannot be used: what is wrong with it stands at the right."
NOTHING_REMOVED: Final = "Nothing was removed here that could come back."
ASK_REMOVE: Final = (
    "Remove {title}? The file is set aside as {name}.removed in the same folder, its photos stay, "
    "and no session changes. Ctrl+Z brings it back."
)
REMOVED: Final = "{title} was removed. Ctrl+Z brings it back."
BACK: Final = "{name} is back."
COPIED: Final = "A copy of {title}, with a key of its own."
ONE_ONLY: Final = "There is no other variant to compare with yet."
TEXT_COPIED: Final = "The differences were copied as text."
HANDED_ON: Final = "{name} was exported{photos}."
ALL_HANDED_ON: Final = "{count} variants of your own were exported."


class LibraryView(Protocol):
    """What the presenter asks of the page."""

    def show_rows(self, rows: Sequence[LibraryRow], *, chosen: Path | None, of: int) -> None: ...
    def show_told(self, title: str, about: str, lines: Sequence[Told]) -> None: ...
    def show_refused(self, what: str, troubles: Sequence[Trouble]) -> None: ...
    def show_others(self, others: Sequence[tuple[str, str]]) -> None: ...
    def show_compared(self, shown: Compared) -> None: ...
    def ask_remove(self, words: str) -> None: ...
    def ask_export(self, suggested: str) -> None: ...
    def stop_asking(self) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...
    def put_on_clipboard(self, text: str) -> None: ...


class Runs(Protocol):
    """Runs work beside the window."""

    def run(
        self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]
    ) -> None: ...


class Ways(Protocol):
    """Where the page leads: the editor on a file or on a copy of it, and whoever offers variants."""

    def edit(self, path: Path) -> None: ...
    def edit_copy(self, path: Path) -> None: ...
    def shelves_changed(self, shelves: Sequence[OnShelf]) -> None: ...


class LibraryPresenter:
    """The list of variants, the one that is chosen, and what is done with it."""

    def __init__(self, view: LibraryView, library: Callable[[], Library], runner: Runs, ways: Ways) -> None:
        self._view, self._library, self._runner, self._ways = view, library, runner, ways
        self._shelves: tuple[OnShelf, ...] = ()
        self._rows: tuple[LibraryRow, ...] = ()
        self._typed = ""
        self._chosen: Path | None = None
        self._compared: Compared | None = None
        self._removed: list[Removed] = []

    # -- the list --------------------------------------------------------------------------

    def refresh(self, *, choose: Path | None = None) -> None:
        """Read the folders anew, beside the window."""
        self._run(lambda: self._library().files(), lambda shelves: self._read(shelves, choose))

    def _read(self, shelves: tuple[OnShelf, ...], choose: Path | None) -> None:
        self._shelves = shelves
        self._rows = tuple(row_of(shelf) for shelf in shelves)
        self._chosen = choose or self._chosen
        self._ways.shelves_changed(shelves)
        self._show()

    def typed(self, text: str) -> None:
        """Show only what holds these words."""
        self._typed = text
        self._show()

    def _show(self) -> None:
        rows = found(self._rows, self._typed)
        paths = [row.path for row in rows]
        if self._chosen not in paths:
            self._chosen = paths[0] if paths else None
        self._view.show_rows(rows, chosen=self._chosen, of=len(self._rows))
        self._tell()

    def chosen(self, path: Path) -> None:
        """Tell about another one."""
        if path != self._chosen:
            self._chosen = path
            self._view.say("")
            self._tell()

    def _tell(self) -> None:
        self._compared = None
        self._view.stop_asking()
        shelf = self._shelf()
        if shelf is None:
            self._view.show_told("", "", ())
            return
        where = "an example, comes with the program" if shelf.is_example else f"{shelf.path.name}, one of your own"
        self._view.show_told(row_of(shelf).title, where, told_of(shelf))

    def _shelf(self) -> OnShelf | None:
        return next((shelf for shelf in self._shelves if shelf.path == self._chosen), None)

    def _usable(self) -> tuple[OnShelf, Variant] | None:
        """The chosen one where something can be done with it; else what stands in the way is said."""
        shelf = self._shelf()
        if shelf is None or shelf.variant is None:
            self._view.say(CHOOSE_ONE if shelf is None else NOT_READABLE, is_problem=True)
            return None
        return shelf, shelf.variant

    # -- what is done with one -------------------------------------------------------------

    def open_asked(self) -> None:
        """Into the editor: one's own file itself, of an example a copy."""
        if (usable := self._usable()) is not None:
            shelf, _ = usable
            (self._ways.edit_copy if shelf.is_example else self._ways.edit)(shelf.path)

    def duplicate_asked(self) -> None:
        """A copy among one's own."""
        if (usable := self._usable()) is not None:
            shelf, variant = usable
            self._run(
                lambda: self._library().duplicate(shelf.path),
                lambda path: self._done(COPIED.format(title=variant.title), choose=path),
            )

    def remove_asked(self) -> None:
        """Ask first."""
        shelf = self._shelf()
        if shelf is None:
            self._view.say(CHOOSE_ONE, is_problem=True)
        elif shelf.is_example:
            self._view.say(ONLY_YOURS, is_problem=True)
        else:
            self._view.ask_remove(ASK_REMOVE.format(title=row_of(shelf).title, name=shelf.path.name))

    def remove_confirmed(self) -> None:
        """Set it aside."""
        self._view.stop_asking()
        shelf = self._shelf()
        if shelf is not None and not shelf.is_example:
            title = row_of(shelf).title
            self._run(lambda: self._library().remove(shelf.path), lambda removed: self._is_removed(removed, title))

    def _is_removed(self, removed: Removed, title: str) -> None:
        self._removed.append(removed)
        self._done(REMOVED.format(title=title))

    def keep_asked(self) -> None:
        """Not removed after all."""
        self._view.stop_asking()

    def undo(self) -> None:
        """Bring back what was removed last."""
        if not self._removed:
            self._view.say(NOTHING_REMOVED)
            return
        removed = self._removed[-1]
        self._run(lambda: self._library().bring_back(removed), lambda _: self._is_back(removed))

    def _is_back(self, removed: Removed) -> None:
        self._removed.remove(removed)
        self._done(BACK.format(name=removed.path.name), choose=removed.path)

    # -- in and out ------------------------------------------------------------------------

    def files_chosen(self, paths: Sequence[Path]) -> None:
        """Take files in."""
        self._run(lambda: self._library().take_in(paths), self._taken_in)

    def folder_chosen(self, folder: Path) -> None:
        """Take a whole folder in."""
        self._run(lambda: self._library().take_in_folder(folder), self._taken_in)

    def _taken_in(self, taken: TakenIn) -> None:
        self._done(taken_in_words(taken), choose=taken.new[0] if taken.new else None)

    def export_asked(self) -> None:
        """Ask where the chosen one goes."""
        if (usable := self._usable()) is not None:
            self._view.ask_export(usable[0].path.name)

    def export_chosen(self, target: Path) -> None:
        """Hand on the chosen one."""
        if (usable := self._usable()) is not None:
            shelf, _ = usable
            self._run(
                lambda: self._library().hand_on(shelf.path, target),
                lambda count: self._view.say(HANDED_ON.format(name=target.name, photos=_with_photos(count))),
            )

    def export_all_chosen(self, folder: Path) -> None:
        """Hand on all of one's own."""
        self._run(
            lambda: self._library().hand_on_all(folder),
            lambda count: self._view.say(ALL_HANDED_ON.format(count=count)),
        )

    # -- two side by side ------------------------------------------------------------------

    def compare_asked(self) -> None:
        """Offer the others."""
        if (usable := self._usable()) is None:
            return
        shelf, _ = usable
        others = [other for other in self._shelves if other.variant is not None and other.path != shelf.path]
        if not others:
            self._view.say(ONE_ONLY, is_problem=True)
            return
        named = [(str(other.path), _name(other, others)) for other in others]
        self._view.show_others(named)
        self.compare_with(others[0].path)

    def compare_with(self, path: Path) -> None:
        """Lay the chosen one beside another."""
        other = next((shelf for shelf in self._shelves if shelf.path == path), None)
        usable = self._usable()
        if usable is None or other is None or other.variant is None:
            return
        self._compared = compared(usable[1], other.variant)
        self._view.show_compared(self._compared)

    def compare_left(self) -> None:
        """Back to what is told of the chosen one."""
        self._tell()

    def copy_compared(self) -> None:
        """The differences as text onto the clipboard."""
        if self._compared is not None:
            self._view.put_on_clipboard(self._compared.text())
            self._view.say(TEXT_COPIED)

    # -- beside the window -----------------------------------------------------------------

    def _done(self, words: str, *, choose: Path | None = None) -> None:
        self._view.say(words)
        self.refresh(choose=choose)

    def _run(self, work: Callable[[], Any], done: Callable[[Any], None]) -> None:
        self._runner.run(work, done=done, failed=self._fail)

    def _fail(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        if isinstance(error, Refused):
            self._view.say(error.what, is_problem=True)
            self._view.show_refused(error.what, error.troubles)
        else:
            self._view.say(str(error).splitlines()[0], is_problem=True)


def _with_photos(count: int) -> str:
    return f" with {count} photo{'' if count == 1 else 's'}" if count else ""


def _name(shelf: OnShelf, among: Sequence[OnShelf]) -> str:
    """The title, with the key where another one has the same title."""
    title = row_of(shelf).title
    is_shared = sum(row_of(other).title == title for other in among) > 1
    return f"{title} ({shelf.variant.key})" if is_shared and shelf.variant is not None else title
