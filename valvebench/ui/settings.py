"""What the program remembers of its user: one table of name, type, default and text.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Annotated, Any, Final, Literal, NamedTuple, Protocol, get_type_hints

import msgspec
from msgspec import Meta
from msgspec.structs import replace

from valvebench.model.errors import BadInput, BenchError, WorldFailed, bad
from valvebench.model.strict_json import dumps, loads

MOST_RECENT: Final = 10
_LONGEST: Final = 200
LOWEST_ZOOM: Final = 0.8
HIGHEST_ZOOM: Final = 2.0
PaletteName = Literal["light", "dark", "high_contrast"]
Words = Annotated[str, Meta(max_length=200)]
Ohm = Annotated[float, Meta(gt=0)]
Place = Annotated[str, Meta(max_length=4096)]


class Recent(msgspec.Struct, frozen=True, kw_only=True):
    """A session opened before: where it lies, its job, and what else tells it apart."""

    path: Place
    title: Words
    about: Words = ""
    is_pinned: bool = False


class Settings(msgspec.Struct, frozen=True, kw_only=True):
    """The table: each line is name, type, default and, in its own words, what it does."""

    palette: Annotated[PaletteName, Meta(description="Colours")] = "light"
    zoom: Annotated[float, Meta(ge=LOWEST_ZOOM, le=HIGHEST_ZOOM, description="Size of everything")] = 1.0
    by: Annotated[Words, Meta(description="Your name, written into every entry")] = ""
    jobs_folder: Annotated[Place, Meta(description="Folder for new jobs")] = ""
    variants_folder: Annotated[Place, Meta(description="Folder of your own variant files")] = ""
    archive_folder: Annotated[Place, Meta(description="Folder of the archive of closed sessions")] = ""
    check_ohm: Annotated[Ohm | None, Meta(description="Your check resistor, \u03a9")] = None
    check_pct: Annotated[float, Meta(ge=0, description="Its tolerance, %")] = 0.1
    last_folder: Annotated[Place, Meta(description="Folder a file was last chosen from")] = ""
    recent: Annotated[tuple[Recent, ...], Meta(max_length=MOST_RECENT, description="Sessions opened last")] = ()
    # Any: a place that makes no sense must not cost the settings; `window_place` reads it.
    window: Annotated[Any, Meta(description="Where the window was left")] = None


class Setting(NamedTuple):
    """One line of the table."""

    name: str
    type: Any
    default: Any
    text: str


def _described(hint: Any) -> str:
    return next((one.description for one in hint.__metadata__ if one.description), "")


def table() -> tuple[Setting, ...]:
    """Every setting: name, type, default, text."""
    hints = get_type_hints(Settings, include_extras=True)
    fields = msgspec.structs.fields(Settings)
    return tuple(Setting(f.name, hints[f.name], f.default, _described(hints[f.name])) for f in fields)


class SettingsFile(Protocol):
    """Where the settings are kept."""

    def read(self) -> bytes | None:
        """The bytes; None where nothing was kept yet (raises WorldFailed)."""
        ...

    def write(self, raw: bytes) -> None:
        """Put new bytes in place (raises WorldFailed)."""
        ...

    def set_aside(self) -> Path:
        """Move what is there out of the way."""
        ...


class Runs(Protocol):
    """Runs work beside the window."""

    def run(self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        """Run `work`; then call `done` with its result or `failed` with its error."""
        ...


def read_settings(raw: bytes) -> tuple[Settings, tuple[str, ...]]:
    """The settings in a file and what was wrong with it; what is wrong has its default."""
    try:
        data = loads(raw, source="settings")
    except BadInput as error:
        return Settings(), (str(error),)
    if not isinstance(data, dict):
        return Settings(), ("settings: not a table of names.",)
    taken: dict[str, Any] = {}
    problems: list[str] = []
    for line in table():
        if line.name in data:
            _take(line, data[line.name], taken, problems)
    return Settings(**taken), tuple(problems)


def _take(line: Setting, value: object, taken: dict[str, Any], problems: list[str]) -> None:
    try:
        taken[line.name] = msgspec.convert(value, line.type)
    except msgspec.ValidationError as error:
        problems.append(f"{line.name}: {error}.")


def settings_bytes(settings: Settings) -> bytes:
    """The file of settings."""
    return dumps(msgspec.to_builtins(settings)) + b"\n"


class SettingsHolder:
    """The settings in force; each change is written beside the window, through the one saver."""

    def __init__(self, file: SettingsFile, runner: Runs, *, say: Callable[[str], None]) -> None:
        self._file, self._runner, self._say = file, runner, say
        self.now = Settings()
        self.problem = ""

    def load(self) -> Settings:
        """Read the file; damage is told in `problem` and never stops the program."""
        try:
            raw = self._file.read()
            if raw is not None:
                self.now, problems = read_settings(raw)
                self.problem = self._set_aside(problems) if problems else ""
        except WorldFailed as error:
            self.problem = f"The settings could not be read; the usual ones are used. {error}"
        return self.now

    def _set_aside(self, problems: tuple[str, ...]) -> str:
        aside = self._file.set_aside()
        more = f" and {len(problems) - 1} more" if len(problems) > 1 else ""
        return f"The settings were damaged ({problems[0].rstrip('.')}{more}). They were set aside as {aside}."

    def change(self, **changes: Any) -> Settings:
        """Take and keep new values (raises BadInput naming what cannot be)."""
        self.now = checked(replace(self.now, **changes))
        raw = settings_bytes(self.now)
        self._runner.run(lambda: self._file.write(raw), done=_nothing, failed=self._failed)
        return self.now

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._say(f"The settings hold until the window is closed, but were not kept. {error}")

    def opened(self, folder: Path, *, title: str, about: str) -> None:
        """Remember a session as the newest one; a path that is no text cannot be kept in a file."""
        path = str(folder.absolute())
        if not path.isascii() and path.encode("utf-8", "replace").decode() != path:
            return
        is_pinned = any(one.is_pinned for one in self.now.recent if one.path == path)
        session = Recent(path=path, title=title[:_LONGEST], about=about[:_LONGEST], is_pinned=is_pinned)
        others = tuple(one for one in self.now.recent if one.path != session.path)
        self.change(recent=_fitting((session, *others)))

    def pin(self, path: str, *, is_pinned: bool) -> None:
        """A pinned session stays in the list whatever is opened after it."""
        self._keep_recent(replace(one, is_pinned=is_pinned) if one.path == path else one for one in self.now.recent)

    def clear_recent(self) -> None:
        """Forget the sessions that are not pinned; the sessions themselves stay as they are."""
        self._keep_recent(one for one in self.now.recent if one.is_pinned)

    def recent_sessions(self) -> tuple[Recent, ...]:
        """The sessions opened last, the newest first."""
        return self.now.recent

    def forget_missing(self, there: frozenset[str]) -> None:
        """Forget recent sessions that are gone; a pinned one may lie on a stick that comes back."""
        self._keep_recent(one for one in self.now.recent if one.is_pinned or one.path in there)

    def _keep_recent(self, sessions: Iterable[Recent]) -> None:
        left = tuple(sessions)
        if left != self.now.recent:
            self.change(recent=left)


def _fitting(sessions: tuple[Recent, ...]) -> tuple[Recent, ...]:
    """As many as are remembered, newest first; the oldest that is not pinned goes."""
    kept = list(sessions)
    while len(kept) > MOST_RECENT:
        loose = [one for one in kept[1:] if not one.is_pinned]
        kept.remove(loose[-1] if loose else kept[-1])
    return tuple(kept)


def checked(settings: Settings) -> Settings:
    """The same settings, each within its bounds (raises BadInput)."""
    raw = settings_bytes(settings)
    found, problems = read_settings(raw)
    if problems:
        raise bad("settings", problems[0], "a value within its bounds")
    return found


def _nothing(_: object) -> None:
    """A setting that is kept needs no word."""
