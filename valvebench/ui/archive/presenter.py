"""Decides what is found in the archive and what is told of it.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

from valvebench.bench.archived import Asked, Fate, ListedPage, Names, OpenListed, Shown
from valvebench.bench.ports import Archive
from valvebench.bench.view import SessionView
from valvebench.model.errors import BenchError
from valvebench.model.words import Verdict
from valvebench.ui.archive.reach import NoArchive, Places, Reach, Runs
from valvebench.ui.archive.shown import FoundRow, SessionTold, found_row, open_row, told_of

A_PAGE: Final = 30
EMPTY: Final = (
    "There is no archive yet. It is made when the first session is closed, in {place}. "
    "To bring back one that was saved before, go to Keep safe."
)
NOTHING: Final = "Nothing found. Fewer words or other filters find more."
NO_DAY: Final = "a day such as 2031-05-06, or 2031-05, or 2031"
NONE_CHOSEN: Final = "Choose a session in the list first."
OPEN_ONE: Final = "Job {job} is not closed: Enter goes on with it."
GONE: Final = "This session was open when it was last seen; its folder is no longer there."
NOT_COMEBACK: Final = "Only a closed session can have come back. Open this one and close it first."
LOOKING: Final = "Looking \u2026"


class Filters(NamedTuple):
    """The filters as they stand, all text; empty for all."""

    variant: str = ""
    verdict: str = ""
    outcome: str = ""
    since: str = ""


class FindView(Protocol):
    """What the presenter asks of the page."""

    def show_rows(self, rows: Sequence[FoundRow], *, chosen: str, about: str, has_next: bool) -> None: ...
    def show_told(self, told: SessionTold | None, words: str = ..., *, can_open: bool = False) -> None: ...
    def show_names(self, names: Names) -> None: ...
    def show_since_problem(self, words: str) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class Leads(Protocol):
    """Where the page leads."""

    def open_session(self, folder: Path, *, is_archived: bool) -> None: ...
    def open_outcome(self, folder: Path) -> None: ...
    def begin_comeback(self, folder: Path, view: SessionView) -> None: ...


class _Answer(NamedTuple):
    """What a search found."""

    page: ListedPage
    open_now: tuple[OpenListed, ...]
    names: Names


class FindPresenter:
    """One box, a few filters, a list by pages, and everything about the chosen session."""

    def __init__(self, view: FindView, reach: Reach, places: Places, runner: Runs, leads: Leads) -> None:
        self._view, self._reach, self._places, self._runner, self._leads = view, reach, places, runner, leads
        self._text, self._filters = "", Filters()
        self._asked = self._told = 0
        self._befores: list[str | None] = [None]
        self._next: str | None = None
        self._rows: tuple[FoundRow, ...] = ()
        self._names = Names((), ())
        self._chosen: FoundRow | None = None

    # -- finding ---------------------------------------------------------------------------

    def typed(self, text: str) -> None:
        """Other words: the newest request is the one that is answered."""
        self._text = text
        self._from_start()

    def filters_changed(self, filters: Filters) -> None:
        """Other filters."""
        self._filters = filters
        self._from_start()

    def _from_start(self) -> None:
        self._befores = [None]
        self.refresh()

    def next_page(self) -> None:
        """Older ones."""
        if self._next is not None:
            self._befores.append(self._next)
            self.refresh()

    def previous_page(self) -> None:
        """Newer ones."""
        if len(self._befores) > 1:
            self._befores.pop()
            self.refresh()

    def refresh(self) -> None:
        """Look again, beside the window."""
        self._asked += 1
        number, asked = self._asked, self._question()
        text, is_first = self._text, len(self._befores) == 1

        def work() -> _Answer | None:
            if number != self._asked:  # something newer was asked meanwhile
                return None
            archive = self._reach.archive()
            has_filter = any(self._filters)
            open_now = self._open_now(archive) if is_first and not has_filter else ()
            open_now = tuple(one for one in open_now if text.strip().casefold() in one.job.casefold())
            return _Answer(archive.find(asked), open_now, archive.names())

        self._runner.run(work, done=partial(self._found, number), failed=partial(self._not_found, number))

    def _open_now(self, archive: Archive) -> tuple[OpenListed, ...]:
        """Sessions that are not closed; one that was closed meanwhile, by a command or without room, is added."""
        listed = archive.open_sessions()
        closed = [one for one in listed if one.state == "closed"]
        for one in closed:
            with suppress(BenchError):  # it stays listed as not added yet
                self._reach.archives.keep(archive, one.path)
        return archive.open_sessions() if closed else listed

    def _question(self) -> Asked:
        since, problem = since_of(self._filters.since)
        self._view.show_since_problem(problem)
        filters = self._filters
        return Asked(
            text=self._text,
            variant=filters.variant or None,
            verdict=Verdict(filters.verdict) if filters.verdict else None,
            outcome=Fate(filters.outcome) if filters.outcome else None,
            since=since,
            after=self._befores[-1],
            most=A_PAGE,
        )

    def _found(self, number: int, answer: _Answer | None) -> None:
        if number != self._asked or answer is None:
            return
        if answer.names != self._names:
            self._names = answer.names
            self._view.show_names(answer.names)
        self._next = answer.page.next
        rows = (*map(open_row, answer.open_now), *map(found_row, answer.page.sessions))
        self._show(rows)
        self._view.say("" if rows else NOTHING)

    def _show(self, rows: tuple[FoundRow, ...]) -> None:
        self._rows = rows
        kept = self._chosen if self._chosen in rows else None
        self._chosen = kept or (rows[0] if rows else None)
        number = len(self._befores)
        about = "" if number == 1 and self._next is None else f"page {number}"
        chosen = _key(self._chosen) if self._chosen is not None else ""
        self._view.show_rows(rows, chosen=chosen, about=about, has_next=self._next is not None)
        self._tell()

    def _not_found(self, number: int, error: Exception) -> None:
        if number != self._asked:
            return
        self._next = None
        self._show(())
        if isinstance(error, NoArchive):
            self._view.say(EMPTY.format(place=self._reach.place))
        else:
            self._fail(error)

    # -- the chosen one --------------------------------------------------------------------

    def chosen(self, key: str) -> None:
        """A line of the list."""
        self._chosen = next((row for row in self._rows if _key(row) == key), None)
        self._tell()

    def linked(self, ident: str) -> None:
        """A session that belongs to the chosen one, wherever it stands in the list."""
        self._ask(lambda: self._reach.archive().show(ident), self._link_told)

    def _link_told(self, shown: Shown) -> None:
        self._chosen = found_row(shown.session)
        self._view.show_told(told_of(shown))

    def _tell(self) -> None:
        """Everything about the chosen one, beside the window; the newest request is answered."""
        self._told += 1
        number, row = self._told, self._chosen
        if row is None:
            self._view.show_told(None)
            return
        if not row.id:
            words = GONE if row.is_gone else OPEN_ONE.format(job=row.job)
            self._view.show_told(None, words, can_open=not row.is_gone)
            return

        def work() -> Shown | None:
            return self._reach.archive().show(row.id) if number == self._told else None

        def done(shown: Shown | None) -> None:
            if number == self._told and shown is not None:
                self._view.show_told(told_of(shown))

        self._ask(work, done)

    # -- where it leads --------------------------------------------------------------------

    def open(self) -> None:
        """Open the chosen one: a closed one to look at, an open one to go on with."""
        self._lead(partial(self._leads.open_session, is_archived=True))

    def outcome(self) -> None:
        """Open the chosen one where it is said what became of the part."""
        self._lead(self._leads.open_outcome)

    def _lead(self, lead: Callable[[Path], None]) -> None:
        row = self._chosen
        if row is None:
            self._view.say(NONE_CHOSEN, is_problem=True)
        elif row.path is not None and row.is_gone:
            self._view.say(GONE, is_problem=True)
        elif row.path is not None:
            self._leads.open_session(row.path, is_archived=False)
        else:
            self._ask(partial(self._folder, row.id), lead)

    def open_id(self, ident: str) -> None:
        """Open a kept session by its identity, as from one of its values."""
        self._ask(partial(self._folder, ident), partial(self._leads.open_session, is_archived=True))

    def comeback(self) -> None:
        """Begin a new job as comeback of the chosen one."""
        row = self._chosen
        if row is None:
            self._view.say(NONE_CHOSEN, is_problem=True)
        elif not row.id:
            self._view.say(NOT_COMEBACK, is_problem=True)
        else:
            self._ask(partial(self._folder_and_view, row.id), lambda found: self._leads.begin_comeback(*found))

    def _folder(self, ident: str) -> Path:
        return self._places.folder_of(self._reach.archive(), ident)

    def _folder_and_view(self, ident: str) -> tuple[Path, SessionView]:
        folder = self._folder(ident)
        return folder, self._places.look(folder)

    def _ask(self, work: Callable[[], Any], done: Callable[[Any], None]) -> None:
        self._runner.run(work, done=done, failed=self._fail)

    def _fail(self, error: Exception) -> None:
        if isinstance(error, NoArchive):
            self._view.say(EMPTY.format(place=self._reach.place))
        elif isinstance(error, BenchError):
            self._view.say(str(error), is_problem=True)
        else:
            raise error


def _key(row: FoundRow) -> str:
    """What a line is known by."""
    return row.id or str(row.path)


def since_of(text: str) -> tuple[str | None, str]:
    """The first day that is meant, and what is wrong with what was typed; half a day is no error, only not used."""
    typed = text.strip()
    parts = typed.split("-")
    if not typed:
        return None, ""
    try:
        year, month, month_day = (*(int(part) for part in parts), *(1, 1))[:3]
        if len(parts) > 3 or len(parts[0]) != 4:
            return None, NO_DAY
        return date(year, month, month_day).isoformat(), ""
    except ValueError:
        return None, NO_DAY
