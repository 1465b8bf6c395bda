"""Decides which values over time are drawn.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, NamedTuple, Protocol

from valvebench.bench.archived import DeviceName, Names
from valvebench.model.errors import BenchError
from valvebench.model.format import value_text
from valvebench.model.words import JOBS_TEXT, VERDICT_TEXT, JobKind, Verdict
from valvebench.ui.archive.long_work import NO_ARCHIVE
from valvebench.ui.archive.reach import NoArchive, Reach, Runs

if TYPE_CHECKING:
    from valvebench.bench.trending import Charted

NONE_READ: Final = "No device was read in any kept session yet."
NO_CHECKS: Final = "No meter was checked against a resistor in any kept session yet."
NONE_OF_KIND: Final = "No kept session of this kind of job holds a value of {device}."
JOB_WORDS: Final = MappingProxyType(
    {"": "Every kind", **{kind.value: text.capitalize() for kind, text in JOBS_TEXT.items()}}
)
LOOKING: Final = "Reading the values \u2026"
MOST_ROWS: Final = 200
_CASE: Final = "case_connector"


class TrendRow(NamedTuple):
    """One value in the table, the newest first."""

    number: int
    id: str
    when: str
    value: str
    note: str
    verdict: Verdict | None
    tip: str = ""

    @property
    def cells(self) -> tuple[str, ...]:
        """As the table shows them; the last one is the mark."""
        return self.when, self.value, self.note, ""


class TrendView(Protocol):
    """What the presenter asks of this part."""

    def show_devices(self, devices: Sequence[tuple[str, str]], chosen: str) -> None:
        """What can be chosen: a word for each, and its text."""
        ...

    def show_meters(self, meters: Sequence[str], chosen: int) -> None:
        """The meters that were checked."""
        ...

    def show_chart(self, charted: Charted | None, rows: Sequence[TrendRow]) -> None:
        """One row of values; None for none."""
        ...

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line."""
        ...


class TrendPresenter:
    """Values of a device, or checks of a meter; the newest request is answered."""

    def __init__(self, view: TrendView, reach: Reach, runner: Runs) -> None:
        self._view, self._reach, self._runner = view, reach, runner
        self._devices: tuple[DeviceName, ...] = ()
        self._device: DeviceName | None = None
        self._job: JobKind | None = None
        self._meters: tuple[Charted, ...] = ()
        self._asked = 0
        self._is_meters = False

    def refresh(self) -> None:
        """What can be chosen, looked up beside the window; the first is drawn."""
        if self._is_meters:
            self.meters_chosen()
        else:
            self._ask(lambda: self._reach.archive().names(), self._named)

    def _ask(self, work: Callable[[], Any], done: Callable[[Any], None]) -> None:
        self._asked += 1
        number = self._asked

        def finished(found: Any) -> None:
            if number == self._asked:
                done(found)

        self._runner.run(work, done=finished, failed=self._failed)

    def _named(self, names: Names) -> None:
        self._devices = names.devices
        if self._device not in self._devices:
            self._device = self._devices[0] if self._devices else None
        listed = [(str(place), device_text(one)) for place, one in enumerate(self._devices)]
        chosen = str(self._devices.index(self._device)) if self._device is not None else ""
        self._view.show_devices(listed, chosen)
        self._draw()

    def device_chosen(self, word: str) -> None:
        """One of the devices."""
        if word.isdecimal() and int(word) < len(self._devices):
            self._device = self._devices[int(word)]
            self._draw()

    def job_chosen(self, word: str) -> None:
        """Only values of one kind of job; an empty word for all."""
        self._job = JobKind(word) if word else None
        self._draw()

    def devices_asked(self) -> None:
        """Devices rather than meters."""
        self._is_meters = False
        self.refresh()

    def _draw(self) -> None:
        device, job = self._device, self._job
        if device is None:
            self._view.show_chart(None, ())
            self._view.say(NONE_READ)
            return
        self._view.say(LOOKING)

        def work() -> tuple[Charted, tuple[TrendRow, ...]]:
            from valvebench.bench.trending import device_chart

            charted = device_chart(self._reach.archive(), device.variant, device.device, at=device.at, job=job)
            return charted, rows_of(charted)

        self._ask(work, lambda found: self._drawn(*found, none=NONE_OF_KIND.format(device=device.device)))

    def _drawn(self, charted: Charted, rows: Sequence[TrendRow], *, none: str = "") -> None:
        self._view.show_chart(charted if rows else None, rows)
        self._view.say("" if rows else none)

    def meters_chosen(self) -> None:
        """The meters, those that drift first."""
        self._is_meters = True
        self._view.say(LOOKING)

        def work() -> tuple[Charted, ...]:
            from valvebench.bench.trending import meter_charts

            return meter_charts(self._reach.archive())

        self._ask(work, self._metered)

    def _metered(self, meters: tuple[Charted, ...]) -> None:
        self._meters = meters
        self._view.show_meters([one.title for one in meters], 0)
        if meters:
            self._drawn(meters[0], rows_of(meters[0]))
        else:
            self._view.show_chart(None, ())
            self._view.say(NO_CHECKS)

    def meter_chosen(self, place: int) -> None:
        """One of the meters."""
        if 0 <= place < len(self._meters):
            self._drawn(self._meters[place], rows_of(self._meters[place]))

    def _failed(self, error: Exception) -> None:
        self._view.show_chart(None, ())
        if isinstance(error, NoArchive):
            self._view.say(NO_ARCHIVE)
        elif isinstance(error, BenchError):
            self._view.say(str(error), is_problem=True)
        else:
            raise error


def device_text(one: DeviceName) -> str:
    """A device as a person chooses it."""
    at = "" if one.at == _CASE else f", {one.at.replace('_', ' ')}"
    return f"{one.device} of {one.variant}{at}"


def rows_of(charted: Charted) -> tuple[TrendRow, ...]:
    """The newest values, what is odd said in words."""
    places = range(len(charted.ohm) - 1, max(-1, len(charted.ohm) - 1 - MOST_ROWS), -1)
    return tuple(_row(charted, place) for place in places)


def _row(charted: Charted, place: int) -> TrendRow:
    when = datetime.fromtimestamp(charted.days[place] * 86_400, UTC).date().isoformat()
    ohm, reach, verdict = charted.ohm[place], charted.reach[place], charted.verdicts[place]
    value = value_text(ohm, reach, unit=False) if reach is not None else f"{ohm:.4g}"
    strange = "odd" if verdict is not None else "beyond"
    odd = strange if place in charted.odd else ""
    moved = "drift from here" if place == charted.moved_at else ""
    note = ", ".join(part for part in (odd, moved) if part)
    tip = VERDICT_TEXT[verdict] if verdict is not None else ""
    return TrendRow(place, charted.ids[place], when, value, note, verdict, tip)
