"""Decides how a sweep is taken in, read out and kept.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Final, Protocol

from valvebench.bench.air_log import AirFiles
from valvebench.bench.desk import Desk
from valvebench.judge.row import Row
from valvebench.judge.sweep import SweepJudgement, judge_sweep
from valvebench.judge.sweep_rows import SWEEP_KEY, sweep_row
from valvebench.model.air_tests import SweepTest
from valvebench.model.entry import AnyBody, Entry
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.numbers import number_meanings
from valvebench.model.session import Item
from valvebench.model.variant import Solenoid
from valvebench.model.words import Duty
from valvebench.ui.errors import error_words, raised
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.sweep.reading import PASTED, Looked, look, look_again, pasted_bytes
from valvebench.ui.sweep.shown import (
    CurveShown,
    FoundShown,
    LineShown,
    found_shown,
    line_shown,
    supply_words,
)
from valvebench.ui.taking_back import TakingBack, Told

STILL_KEEPING: Final = "Still keeping the last entry."
SAY_WHICH: Final = "Say first which solenoid was swept."
NO_SOLENOID: Final = "is no solenoid of this variant: choose one from the list."
NOTHING_TO_KEEP: Final = "Open a file or paste a table first."
KEEP_IT: Final = "Nothing is kept yet: Enter keeps this sweep with the job."
NOT_AMPERE: Final = "Rated current: a number of ampere, such as 1.0."
GONE: Final = "The file of that sweep is missing or changed: what it says stands in its entry, but it cannot be drawn."
NOTHING_HERE: Final = "The newest entry is no sweep: take it back where it was made."


class SweepView(Protocol):
    """What the presenter asks of the page."""

    def show_devices(self, names: Sequence[str], current: str) -> None: ...
    def show_supply(self, words: str) -> None: ...
    def show_curve(self, curve: CurveShown) -> None: ...
    def show_found(self, found: FoundShown) -> None: ...
    def show_lines(self, lines: Sequence[LineShown]) -> None: ...
    def set_rated(self, text: str) -> None: ...
    def set_ready(self, *, is_ready: bool) -> None: ...
    def set_enabled(self, *, is_enabled: bool) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...
    def let_draw(self) -> None: ...


class SweepPresenter:
    """One solenoid at a time; a sweep that was read waits for Enter."""

    def __init__(
        self,
        view: SweepView,
        desk: Desk,
        keeper: Keeper,
        *,
        reader: Runs,
        files: AirFiles,
        prepare: Callable[[], object],
    ) -> None:
        self._view, self._desk, self._keeper = view, desk, keeper
        self._reader, self._files, self._prepare = reader, files, prepare
        variant = desk.variant
        self._solenoids = [one for one in variant.devices if isinstance(one, Solenoid)] if variant is not None else []
        self._device = self._rated = self._gauge_id = ""
        self._source: tuple[bytes, str] | None = None
        self._looked: Looked | None = None
        self._asked = 0
        self.taking_back = TakingBack(
            keeper, view.say, is_own=_is_own, done=self._taken_back, told=Told(NOTHING_HERE, NOTHING_HERE)
        )

    # -- coming and going ------------------------------------------------------------------

    def start(self) -> None:
        """Bring in what draws, beside the window, and show the first solenoid that is swept at all."""
        self._reader.run(self._prepare, done=self._prepared, failed=raised)
        ranked = sorted(self._solenoids, key=lambda one: one.duty is Duty.ON_OFF)
        kept = self._items()
        self._device = _device_of(kept[-1]) if kept else ranked[0].name if ranked else ""
        self._view.show_devices([one.name for one in ranked], self._device)
        self._view.set_enabled(is_enabled=not self._desk.is_closed)
        self._view.say(CLOSED if self._desk.is_closed else "")
        self._show_lines()
        self._show_device()

    def _prepared(self, _: object) -> None:
        self._view.let_draw()

    def choose(self, key: str) -> None:
        """The solenoid that an item of the session is about."""
        name = key.removeprefix(SWEEP_KEY)
        if key.startswith(SWEEP_KEY) and name:
            self._view.show_devices([one.name for one in self._solenoids], name)
            self.device_chosen(name)

    def refresh(self) -> None:
        """The page comes to the front: another page may have changed the session."""
        self._view.set_enabled(is_enabled=not self._desk.is_closed)
        self._show_lines()

    # -- the solenoid ----------------------------------------------------------------------

    def device_chosen(self, name: str) -> None:
        """Another solenoid: a sweep that waits is read anew for it, else its newest kept one is shown."""
        if name == self._device:
            return
        self._device = name
        if self._source is not None:
            self._look()
        self._show_device()

    def _show_device(self) -> None:
        coil = self._coil(self._device)
        self._view.show_supply(supply_words(coil.max_ampere if coil is not None else None))
        if self._source is not None:
            return
        own = [item for item in self._items() if _device_of(item) == self._device]
        if own:
            self._show_kept(own[-1])
        else:
            self._show_nothing()

    def _show_nothing(self) -> None:
        self._looked = None
        self._view.set_ready(is_ready=False)
        self._view.show_curve(CurveShown())
        self._view.show_found(FoundShown())

    def _coil(self, name: str) -> Solenoid | None:
        return next((one for one in self._solenoids if one.name == name), None)

    def _items(self) -> list[Item]:
        return [item for item in self._desk.session.items_of("sweep") if isinstance(item.body, SweepTest)]

    def _judged(self, body: SweepTest) -> SweepJudgement:
        coil = self._coil(body.device)
        limit = coil.max_hysteresis_pct if coil is not None else None
        return judge_sweep(body.found, limit, rule=self._keeper.rule)

    def _show_lines(self) -> None:
        lines = []
        for item in self._items():
            row = sweep_row(self._desk.variant, item, self._keeper.rule)
            if row is not None and row.sweep is not None:
                lines.append(line_shown(item.n, _device_of(item), row.sweep, "\n".join(row.reasons)))
        self._view.show_lines(lines)

    # -- what is typed beside it -----------------------------------------------------------

    def fields_typed(self, rated: str, gauge_id: str) -> None:
        """Rated current and gauge: the sweep that waits is read anew."""
        if (rated, gauge_id) == (self._rated, self._gauge_id):
            return
        self._rated, self._gauge_id = rated, gauge_id
        if self._source is not None:
            self._look()

    def _fields(self) -> dict[str, Any] | None:
        """What the entry says beside the readings; None, and told, where it cannot be."""
        if not self._device.strip():
            self._view.say(SAY_WHICH, is_problem=True)
            return None
        if self._desk.variant is not None and self._coil(self._device.strip()) is None:
            self._view.say(f"{self._device.strip()} {NO_SOLENOID}", is_problem=True)
            return None
        fields: dict[str, Any] = {"device": self._device.strip()}
        if self._rated.strip():
            values = number_meanings(self._rated)
            if not values or not values[0] > 0:
                self._view.say(NOT_AMPERE, is_problem=True)
                return None
            fields["rated_ampere"] = values[0]
        if self._gauge_id.strip():
            fields["gauge_id"] = self._gauge_id.strip()
        return fields

    # -- taking in -------------------------------------------------------------------------

    def file_named(self, path: str) -> None:
        """A file that was opened or dropped."""
        if not path or self._is_closed():
            return
        name = Path(path)
        self._view.say(f"Reading {name.name} \u2026")
        self._asked += 1
        asked = self._asked
        self._reader.run(
            lambda: self._files.bytes_of(name),
            done=lambda raw: self._came(asked, raw, name.name),
            failed=lambda error: self._not_read(asked, error),
        )

    def _came(self, asked: int, raw: bytes, name: str) -> None:
        if asked == self._asked:
            self._source = (raw, name)
            self._look()

    def pasted(self, text: str) -> None:
        """A table from a spreadsheet."""
        if self._is_closed():
            return
        try:
            raw = pasted_bytes(text)
        except BadInput as error:
            self._view.say(error_words(error), is_problem=True)
            return
        self._source = (raw, PASTED)
        self._look()

    def _is_closed(self) -> bool:
        if self._desk.is_closed:
            self._view.say(CLOSED, is_problem=True)
        return self._desk.is_closed

    def _look(self) -> None:
        fields, source = self._fields(), self._source
        self._looked = None
        self._view.set_ready(is_ready=False)
        if fields is None or source is None:
            return
        self._asked += 1
        asked, variant, files = self._asked, self._desk.variant, self._files
        self._view.say(f"Reading {source[1]} \u2026")
        self._reader.run(
            lambda: look(*source, fields, variant, files=files),
            done=lambda looked: self._seen(asked, looked),
            failed=lambda error: self._not_read(asked, error),
        )

    def _seen(self, asked: int, looked: Looked) -> None:
        """Only the newest is shown: another solenoid or file may have been named meanwhile."""
        if asked != self._asked:
            return
        self._looked = looked
        self._view.show_curve(looked.curve)
        self._view.show_found(found_shown(self._judged(looked.body), aside=_aside(looked.body)))
        self._view.set_ready(is_ready=True)
        self._view.say(KEEP_IT)

    def _not_read(self, asked: int, error: Exception) -> None:
        if asked == self._asked:
            self._source = None
            self._show_device()
            self._view.say(error_words(error), is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    # -- keeping ---------------------------------------------------------------------------

    def keep(self) -> None:
        """Enter: the file is kept first, then its entry."""
        if self._is_closed():
            return
        if self._looked is None or self._keeper.is_busy:
            self._view.say(STILL_KEEPING if self._keeper.is_busy else NOTHING_TO_KEEP, is_problem=True)
            return
        looked = self._looked
        self._keeper.keep(looked.body, kept=self._kept, failed=self._not_kept, picture=looked.raw)

    def _kept(self, entry: Entry, _: tuple[Row, ...]) -> None:
        self._source = self._looked = None
        self._view.set_ready(is_ready=False)
        self._show_lines()
        self._view.say(f"Kept as entry {entry.n}, its file with the session.")

    def _not_kept(self, error: Exception) -> None:
        self._view.say(f"Not saved. {error_words(error)} Enter tries again.", is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    # -- what is kept ----------------------------------------------------------------------

    def line_chosen(self, number: int) -> None:
        """A kept sweep is drawn again."""
        item = self._desk.find_item(number)
        if item is not None and isinstance(item.body, SweepTest):
            self._source = None
            self._device = item.body.device
            self._view.show_devices([one.name for one in self._solenoids], self._device)
            coil = self._coil(self._device)
            self._view.show_supply(supply_words(coil.max_ampere if coil is not None else None))
            self._show_kept(item)

    def _show_kept(self, item: Item) -> None:
        body = item.body
        if not isinstance(body, SweepTest):
            return
        self._looked = None
        self._asked += 1
        asked, desk, files = self._asked, self._desk, self._files
        self._view.set_ready(is_ready=False)
        self._view.show_curve(CurveShown())
        self._view.show_found(found_shown(self._judged(body), aside=f"entry {item.n}"))

        def again() -> Looked | None:
            raw = desk.photo(body.sha256)
            return look_again(raw, body, files=files) if raw is not None else None

        self._reader.run(again, done=lambda looked: self._drawn(asked, looked), failed=raised)

    def _drawn(self, asked: int, looked: Looked | None) -> None:
        if asked != self._asked:
            return
        if looked is None:
            self._view.say(GONE, is_problem=True)
        else:
            self._view.show_curve(looked.curve)

    def withdraw(self, number: int) -> None:
        """A kept sweep no longer counts."""
        self.taking_back.withdraw(number, "taken back on the page of sweeps")

    def _taken_back(self, _: int, __: AnyBody) -> None:
        self._show_lines()
        self._show_device()


def _is_own(body: AnyBody) -> bool:
    return isinstance(body, SweepTest)


def _device_of(item: Item) -> str:
    return item.body.device if isinstance(item.body, SweepTest) else ""


def _aside(body: SweepTest) -> str:
    return f"{body.found.n} readings, not kept yet"
