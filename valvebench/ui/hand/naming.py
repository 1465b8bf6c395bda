"""Names are asked last: one part at a time, then the variant, then it is saved.  Knows no Qt."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Protocol

from valvebench.bench.part_in_hand import Found, connector_of, part_name
from valvebench.bench.variants import bytes_of
from valvebench.diagnose.wiring import Wired, WiredKind
from valvebench.diagnose.wiring_readings import Pair
from valvebench.diagnose.wiring_sets import proposed_sets
from valvebench.diagnose.wiring_variant import Said, kind_guess, variant_data
from valvebench.diagnose.wiring_words import KIND_TEXT
from valvebench.model.draft_file import draft_of
from valvebench.model.entry import Entry, Note
from valvebench.model.errors import BenchError, WorldFailed
from valvebench.model.format import ohm_text
from valvebench.model.variant_draft import Draft
from valvebench.ui.hand.shown import at_ref_text, doubt_text
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.pins.presenter import problem_text
from valvebench.ui.pins.shown import KIND_TEXT as DEVICE_TEXT

KINDS: Final = ("solenoid", "temperature_sensor", "speed_sensor", "switch", "link")
_NOUNS: Final = {
    WiredKind.COIL_LIKE: "Coil",
    WiredKind.SENSOR_LIKE: "Sensor",
    WiredKind.LINK: "Link",
    WiredKind.UNKNOWN: "Part",
}
_OWN_KEY: Final = "part-in-hand"
UNFINISHED: Final = "The wiring is not settled yet: {count} more readings at least. It can be saved as it stands."
MEASURED: Final = "Its limits say: measured on one good body. They are not the maker\u2019s."


@dataclass(frozen=True, kw_only=True)
class PartAsked:
    """One part to be named."""

    title: str
    about: str
    name: str
    kind: str
    kinds: tuple[tuple[str, str], ...]
    set_words: str = ""
    is_in_set: bool = True
    progress: str = ""


@dataclass(frozen=True, kw_only=True)
class PartTyped:
    """What stands in the fields of a part."""

    name: str
    kind: str = ""
    is_in_set: bool = True


@dataclass(frozen=True, kw_only=True)
class BodyAsked:
    """The variant as a whole."""

    title: str
    connector: str
    key: str
    about: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class BodyTyped:
    """What stands in the fields of the variant."""

    title: str
    connector: str = "A"
    key: str = ""


class NamingView(Protocol):
    """What the presenter asks of the page."""

    def show_part(self, part: PartAsked) -> None: ...
    def show_body(self, body: BodyAsked) -> None: ...
    def show_saved(self, title: str, words: str) -> None: ...
    def show_walk(self) -> None: ...
    def show_problem_at(self, field: str, words: str) -> None: ...
    def show_saving(self, words: str) -> None: ...


class Files(Protocol):
    """Writes variant files."""

    def save(self, path: Path, draft: Draft) -> None: ...


class NamingPresenter:
    """From a found wiring to a variant file."""

    def __init__(
        self,
        view: NamingView,
        keeper: Keeper,
        runner: Runs,
        files: Files,
        *,
        folder: Callable[[], Path],
        saved: Callable[[Path], None] = lambda _: None,
    ) -> None:
        self._view, self._keeper, self._runner, self._files = view, keeper, runner, files
        self._folder, self._on_saved = folder, saved
        self._found: Found | None = None
        self._sets: dict[tuple[str, str], str] = {}
        self._said: dict[Pair, Said] = {}
        self._place = 0
        self._body = BodyTyped(title="")
        self.path: Path | None = None

    @property
    def _devices(self) -> Sequence[Wired]:
        return self._found.wiring.devices if self._found is not None else ()

    def begin(self, found: Found) -> None:
        """Ask for the first part; what was said before of the same parts stands."""
        self._found, self._place = found, 0
        self._sets = proposed_sets(found.wiring.devices)
        self._ask()

    # -- one part after the other ----------------------------------------------------------

    def _ask(self) -> None:
        if self._place < len(self._devices):
            self._view.show_part(self._asked(self._devices[self._place]))
        else:
            self._ask_body()

    def _asked(self, part: Wired) -> PartAsked:
        said = self._said.get(frozenset(part.between), Said())
        a, b = part.between
        return PartAsked(
            title=f"What is between {a} and {b}?",
            about=self._about(part),
            name=said.name or self._default(part),
            kind=said.kind or kind_guess(part),
            kinds=tuple((kind, DEVICE_TEXT[kind]) for kind in KINDS),
            set_words=self._set_words(part),
            is_in_set=said.is_in_set,
            progress=f"{self._place + 1} of {len(self._devices)}",
        )

    def _about(self, part: Wired) -> str:
        if self._found is None:
            return ""
        odd = "; the odd one out of its set" if frozenset(part.between) in self._found.odd() else ""
        value = f"{doubt_text(self._found, part)}{at_ref_text(self._found, part)}"
        return f"{ohm_text(part.ohm)} as read, {value}, {KIND_TEXT[part.kind]}{odd}"

    def _default(self, part: Wired) -> str:
        """Coil 1, Coil 2, Sensor 1: a name one can live with."""
        noun = _NOUNS[part.kind]
        alike = [one for one in self._devices if _NOUNS[one.kind] == noun]
        return f"{noun} {alike.index(part) + 1}"

    def _set_words(self, part: Wired) -> str:
        name = self._sets.get(part.between)
        mates = [part_name(one) for one in self._devices if self._sets.get(one.between) == name and one is not part]
        return f"of one kind with {', '.join(mates)}" if name is not None and mates else ""

    def part_typed(self, typed: PartTyped) -> None:
        """Take the name of the part at hand and go on."""
        part = self._devices[self._place]
        name = typed.name.strip() or self._default(part)
        problem = self._name_problem(name, part)
        if problem:
            self._view.show_problem_at("name", problem)
            return
        self._take(part, typed, name)
        self._place += 1
        self._ask()

    def _take(self, part: Wired, typed: PartTyped, name: str) -> None:
        pair = frozenset(part.between)
        is_odd = self._found is not None and pair in self._found.odd() and typed.is_in_set
        self._said[pair] = Said(name=name, kind=typed.kind, is_in_set=typed.is_in_set, has_limits=not is_odd)

    def _name_problem(self, name: str, part: Wired) -> str:
        others = {self._name(one): part_name(one) for one in self._devices if one is not part}
        return f"{name} is between {others[name]} already: choose another name." if name in others else ""

    def _name(self, part: Wired) -> str:
        said = self._said.get(frozenset(part.between))
        return said.name if said is not None else self._default(part)

    def back(self) -> None:
        """One part back; from the first one back to the walk."""
        if self._place == 0:
            self.leave()
        else:
            self._place -= 1
            self._ask()

    def leave(self) -> None:
        """Back to the walk; names that were given stay."""
        self._view.show_walk()

    # -- the whole -------------------------------------------------------------------------

    def _ask_body(self) -> None:
        if self._found is None:
            return
        job = self._keeper.desk.job
        title = self._body.title or f"Body of job {job.job}"
        lines = [self._summary(), MEASURED]
        if not self._found.wiring.is_done:
            lines.insert(0, UNFINISHED.format(count=len(self._found.wiring.next)))
        if any(not said.has_limits for said in self._said.values()):
            lines.append("The odd one out lends no limits.")
        body = BodyAsked(title=title, connector=self._body.connector, key=self._body.key, about=tuple(lines))
        self._view.show_body(body)

    def _summary(self) -> str:
        return "; ".join(f"{self._name(one)} {part_name(one)}" for one in self._devices)

    def body_typed(self, typed: BodyTyped) -> None:
        """Save the variant: never over another one, and never said before it is on disk."""
        if self._found is None:
            return
        self._body = typed
        if not typed.title.strip():
            self._view.show_problem_at("title", "A variant needs a title: it stands on every page and report.")
            return
        key = key_of(typed.key or typed.title)
        draft = draft_of(self._data(key, typed))
        raw = bytes_of(draft)

        def work() -> Path:
            path = self._folder() / f"{key}.json"
            if path.exists():
                raise WorldFailed(f"{path.name} is there already. Choose another key; nothing was overwritten.")
            self._files.save(path, draft)
            return path

        self._view.show_saving("Saving \u2026")
        self._runner.run(work, done=lambda path: self._saved(path, raw), failed=self._not_saved)

    def _data(self, key: str, typed: BodyTyped) -> dict[str, object]:
        found = self._found
        if found is None:
            return {}
        connector = connector_of(self._keeper.desk.session)
        rows, columns = (connector.rows, connector.columns) if connector is not None else (1, len(found.wiring.pins))
        face = {"name": typed.connector.strip() or "A", "rows": rows, "columns": columns}
        said = {
            frozenset(one.between): self._said.get(frozenset(one.between), Said(name=self._name(one)))
            for one in found.wiring.devices
        }
        return variant_data(
            found.wiring,
            key=key,
            title=typed.title.strip(),
            instrument=found.source.instrument,
            said=said,
            instruments=found.source.instruments,
            face=face,
        )

    def _not_saved(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.show_saving("")
        self._view.show_problem_at("key", f"Not saved. {problem_text(error)}")

    def _saved(self, path: Path, raw: bytes) -> None:
        self.path = path
        self._on_saved(path)
        text = f"Variant {path.stem} made from these readings (SHA-256 {hashlib.sha256(raw).hexdigest()})."
        self._keeper.keep(Note(text=text), kept=self._noted, failed=self._not_noted)

    def _noted(self, _: Entry, __: object) -> None:
        if self.path is not None:
            self._view.show_saved(f"Saved as {self.path.name}", f"In {self.path.parent}. {MEASURED}")

    def _not_noted(self, error: Exception) -> None:
        """The file is there; that the journal does not name it is said."""
        if self.path is not None:
            words = f"In {self.path.parent}. The journal does not name it: {error}"
            self._view.show_saved(f"Saved as {self.path.name}", words)
        if not isinstance(error, BenchError):
            raise error


def key_of(text: str) -> str:
    """A key for file names from a title."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", text.strip()).strip("-._").lower()[:100] or _OWN_KEY
