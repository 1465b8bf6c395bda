"""Decides what the Job page shows of fluid, notes and photos as found.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple, Protocol

from valvebench.model.entry import AnyBody, Entry, FluidFound, Note, Photo, Withdraw
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.session import Item
from valvebench.model.words import COOLER_TEXT, Cooler
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.start.drops import as_path

# Words of the trade: common practice, no source.
FLUID: Final = (
    ("colour", "Colour", ("clear red", "dark red", "brown", "black", "milky", "not known")),
    ("smell", "Smell", ("none", "burnt", "varnish", "fuel", "coolant")),
    ("level", "Level as found", ("right", "low", "high", "none left", "not checked")),
    (
        "debris",
        "Debris in pan and filter",
        ("none", "fine grey paste on the magnets", "friction flakes", "metal flakes", "chips", "plastic pieces"),
    ),
)
COOLER: Final = "cooler"
COOLER_WORDS: Final = MappingProxyType(
    {"": "Not recorded", **{cooler.value: text.capitalize() for cooler, text in COOLER_TEXT.items()}}
)
PHOTO_OF: Final = (
    "shop's own mark",
    "pan and filter",
    "connector",
    "plate",
    "stamped or cast marks",
    "body as delivered",
    "damage",
)
FLUID_PART, NOTE_PART, PHOTO_PART, LIST_PART = "fluid", "note", "photo", "list"
NOT_KEPT: Final = "Not saved: {error} What you typed still stands here."
CLOSED: Final = "The session is closed: a photo belongs to a new job that names this one as its comeback."
NO_PICTURE: Final = "Name the picture: choose it, drop it on the window, or type where it lies."


class FoundLine(NamedTuple):
    """One thing kept: its entry, what it is, its words, and when by whom."""

    n: int
    what: str
    words: str
    aside: str
    is_photo: bool = False


class FoundView(Protocol):
    """What the presenter asks of the card."""

    def show_lines(self, lines: Sequence[FoundLine], *, is_closed: bool) -> None: ...
    def show_picture(self, n: int, raw: bytes | None) -> None: ...
    def show_path(self, path: str) -> None: ...
    def clear(self, part: str) -> None: ...
    def say(self, part: str, words: str, *, is_problem: bool = False) -> None: ...


class ReadsFiles(Protocol):
    """Reads a file the person named."""

    def read_file(self, path: Path) -> bytes: ...


class FoundPresenter:
    """Fluid, notes and photos of one open session."""

    def __init__(self, view: FoundView, keeper: Keeper, runner: Runs, files: ReadsFiles) -> None:
        self._view, self._keeper, self._runner, self._files = view, keeper, runner, files
        self._pictured: set[int] = set()

    def refresh(self) -> None:
        """Show everything kept of these kinds, and fetch the pictures that are not shown yet."""
        session = self._keeper.desk.session
        items = session.items_of("fluid", "note", "photo")
        self._pictured &= {item.n for item in items}
        self._view.show_lines([_line(item) for item in items], is_closed=session.is_closed)
        for item in items:
            if isinstance(item.body, Photo) and item.n not in self._pictured:
                self._fetch(item.n, item.body.sha256)

    def _fetch(self, n: int, sha256: str) -> None:
        self._pictured.add(n)
        desk = self._keeper.desk
        self._runner.run(
            lambda: desk.photo(sha256),
            done=lambda raw: self._view.show_picture(n, raw),
            failed=lambda error: self._fail(LIST_PART, error),
        )

    def fluid_typed(self, words: Mapping[str, str]) -> None:
        """Keep fluid and debris as found, and what was done about the cooler (a word of `Cooler`)."""
        given = {name: text for name, text in words.items() if text and name != COOLER}
        cooler = words.get(COOLER, "")
        try:
            body = FluidFound(**given, cooler=Cooler(cooler) if cooler else None)
        except BadInput as error:
            self._view.say(FLUID_PART, error.problems[0].text(), is_problem=True)
            return
        self._keep(FLUID_PART, body)

    def note_typed(self, text: str) -> None:
        """Keep free words."""
        if not text:
            self._view.say(NOTE_PART, "Type what is to be remembered.", is_problem=True)
            return
        self._keep(NOTE_PART, Note(text=text))

    def photo_named(self, path: Path) -> None:
        """A picture that was chosen or dropped; what it shows is asked next."""
        if self._keeper.desk.is_closed:
            self._view.say(PHOTO_PART, CLOSED, is_problem=True)
            return
        self._view.show_path(str(path))
        self._view.say(PHOTO_PART, "Say what it shows, then keep it.")

    def photo_typed(self, text: str, of: str) -> None:
        """Read a picture beside the window and keep it."""
        if not text:
            self._view.say(PHOTO_PART, NO_PICTURE, is_problem=True)
            return
        path = as_path(text)
        self._view.say(PHOTO_PART, "Reading the picture \u2026")
        self._runner.run(
            lambda: self._files.read_file(path),
            done=lambda raw: self._photo_read(raw, path.name, of or "not said"),
            failed=lambda error: self._fail(PHOTO_PART, error),
        )

    def _photo_read(self, raw: bytes, file_name: str, of: str) -> None:
        try:
            body = self._keeper.desk.photo_body(raw, file_name=file_name, of=of)
        except BenchError as error:
            self._fail(PHOTO_PART, error)
            return
        self._keep(PHOTO_PART, body, picture=raw)

    def _keep(self, part: str, body: AnyBody, *, picture: bytes | None = None) -> None:
        self._keeper.keep(
            body,
            kept=lambda entry, _: self._kept(part, entry),
            failed=lambda error: self._fail(part, error),
            picture=picture,
        )

    def _kept(self, part: str, entry: Entry) -> None:
        self._view.clear(part)
        self._view.say(part, f"Kept as entry {entry.n}.")
        self.refresh()

    def take_back(self, n: int) -> None:
        """An entry no longer counts; it stays readable in the journal."""
        self._change(Withdraw(entry=n, why="taken back"), f"Entry {n} is taken back; Ctrl+Y restores it.")

    def undo(self) -> None:
        """Take back the newest entry that counts."""
        body = None if self._keeper.is_busy else self._keeper.desk.undo_body()
        if body is None:
            self._view.say(LIST_PART, "Nothing to take back.")
            return
        self._change(body, f"Entry {body.entry} is taken back; Ctrl+Y restores it.")

    def redo(self) -> None:
        """Restore what was taken back last."""
        body = None if self._keeper.is_busy else self._keeper.desk.redo_body()
        if body is None:
            self._view.say(LIST_PART, "Nothing to restore.")
            return
        self._change(body, f"Entry {body.entry} counts again.")

    def _change(self, body: AnyBody, words: str) -> None:
        def kept(_: Entry, __: Any) -> None:
            self.refresh()
            self._view.say(LIST_PART, words)

        self._keeper.keep(body, kept=kept, failed=lambda error: self._fail(LIST_PART, error))

    def _fail(self, part: str, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say(part, NOT_KEPT.format(error=error) if part != LIST_PART else str(error), is_problem=True)


_WORDS: Final[Mapping[type, Callable[[Any], tuple[str, str]]]] = {
    FluidFound: lambda body: ("Fluid", "; ".join(_fluid_words(body))),
    Note: lambda body: ("Note", body.text),
    Photo: lambda body: ("Photo", f"{body.of} ({body.file_name})"),
}


def _fluid_words(body: FluidFound) -> list[str]:
    cooler = [f"cooler {COOLER_TEXT[body.cooler]}"] if body.cooler is not None else []
    return [*(f"{name} {getattr(body, name)}" for name, _, _ in FLUID if getattr(body, name)), *cooler]


def _line(item: Item) -> FoundLine:
    what, words = _WORDS[type(item.body)](item.body)
    return FoundLine(item.n, what, words, f"entry {item.n}, {item.by}", isinstance(item.body, Photo))
