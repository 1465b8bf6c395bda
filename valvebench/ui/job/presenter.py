"""Decides what the Job page shows: the job, the bench set-up, and how the session is finished.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Protocol

from valvebench.bench.desk import Desk
from valvebench.bench.evidence import Verified
from valvebench.judge.advice import ways_to_decide
from valvebench.judge.device_limits import limits_of
from valvebench.judge.resistance import capability
from valvebench.judge.session import SessionJudgement, session_sentence
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.format import typed_text
from valvebench.model.meter import parse_meter
from valvebench.model.numbers import decimal, typed_ohm
from valvebench.model.variant import Coil
from valvebench.model.words import CASE, LeadState, Rule, TemperatureSource
from valvebench.ui.set_up import SetUp

_JOB_FIELDS: Final = (
    ("Job", "job"),
    ("Vehicle", "vehicle"),
    ("Odometer, km", "odometer_km"),
    ("Customer", "customer"),
    ("Part", "part"),
    ("Batch", "batch"),
    ("Date and trim code", "trim"),
    ("Body serial", "serial"),
    ("Shop's own mark", "mark"),
    ("Supplier", "supplier"),
    ("Comeback of", "comeback_of"),
    ("Shift", "shift"),
    ("When", "when"),
    ("Feel", "feel"),
)


@dataclass(frozen=True, kw_only=True)
class SetUpTyped:
    """The set-up as it stands in the form, all text."""

    meter: str = ""
    meter_id: str = ""
    leads: str = LeadState.NEITHER.value
    lead_ohm: str = ""
    range_ohm: str = ""
    celsius: str = ""
    temperature: str = TemperatureSource.UNKNOWN.value


class JobView(Protocol):
    """What the presenter asks of the page."""

    def show_job(self, lines: Sequence[tuple[str, str]]) -> None: ...
    def show_set_up(self, typed: SetUpTyped) -> None: ...
    def show_set_up_problems(self, problems: Mapping[str, str]) -> None: ...
    def show_capability(self, words: str) -> None: ...
    def show_state(self, verdict_line: str, missing: str, *, is_closed: bool) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class Runs(Protocol):
    """Runs work beside the window."""

    def run(
        self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]
    ) -> None: ...


class Finishing(Protocol):
    """What finishing a session asks of the world."""

    def verify(self, path: Path, *, head: str | None = None) -> Verified: ...
    def write_workbook(self, folder: Path, target: Path, *, rule: Rule | None = None) -> None: ...


class JobPresenter:
    """The job of one open session."""

    def __init__(
        self,
        view: JobView,
        desk: Desk,
        folder: Path,
        runner: Runs,
        services: Finishing,
        *,
        set_up: SetUp,
        set_up_changed: Callable[[SetUp], None],
        closed: Callable[[], None],
    ) -> None:
        self._view, self._desk, self._folder = view, desk, folder
        self._runner, self._services = runner, services
        self._set_up, self._set_up_changed, self._closed = set_up, set_up_changed, closed

    def start(self) -> None:
        """Show job and set-up."""
        job = self._desk.session.job
        lines = [(label, _text(getattr(job, name))) for label, name in _JOB_FIELDS]
        variant = self._desk.variant
        shown = [("Variant", variant.title if variant is not None else "none")]
        self._view.show_job([*(line for line in lines if line[1]), *shown])
        self.show_set_up(self._set_up)

    def show_set_up(self, set_up: SetUp) -> None:
        """Take up a set-up that was changed elsewhere."""
        self._set_up = set_up
        self._view.show_set_up(_typed(set_up))
        self._view.show_capability(capability_words(self._desk, set_up))

    def set_up_typed(self, typed: SetUpTyped) -> bool:
        """Take the form's set-up; says what is wrong beside each field, and whether all was right."""
        set_up, problems = read_set_up(typed, now=self._desk.now())
        self._view.show_set_up_problems(problems)
        if set_up is None:
            return False
        self._set_up = set_up
        self._set_up_changed(set_up)
        self._view.show_capability(capability_words(self._desk, set_up))
        return True

    def show_judged(self, judged: SessionJudgement) -> None:
        """Verdict with its scope, and what is missing."""
        missing = ", ".join(one.what for one in judged.missing)
        words = f"Still missing: {missing}." if missing else "Nothing is missing."
        self._view.show_state(session_sentence(judged), words, is_closed=self._desk.session.is_closed)

    def close(self) -> None:
        """Close the session; it can be finished or not, and says so."""
        desk = self._desk
        self._runner.run(desk.close, done=lambda _: self._has_closed(), failed=self._fail)

    def _has_closed(self) -> None:
        self._view.say(f"Closed. Head for tag and report: {self._desk.session.head}")
        self._closed()

    def export(self, target: Path) -> None:
        """Write the workbook beside the window."""
        self._view.say("Writing the workbook \u2026")
        folder = self._folder
        self._runner.run(
            lambda: self._services.write_workbook(folder, target),
            done=lambda _: self._view.say(f"Workbook written to {target}"),
            failed=self._fail,
        )

    def verify(self) -> None:
        """Check the session on disk against its own chain and present head."""
        folder, head = self._folder, self._desk.session.head
        self._runner.run(lambda: self._services.verify(folder, head=head), done=self._verified, failed=self._fail)

    def _verified(self, found: Verified) -> None:
        if found.ok:
            self._view.say(f"As it was written: {found.entries} entries, head {found.head}. {found.notes[-1]}")
        else:
            first = found.problems[0]
            self._view.say(f"Not as it was written: line {first.line}, {first.what}", is_problem=True)

    def _fail(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say(str(error), is_problem=True)


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)


def _typed(set_up: SetUp) -> SetUpTyped:
    return SetUpTyped(
        meter=set_up.meter or "",
        meter_id=set_up.meter_id or "",
        leads=set_up.leads.value,
        lead_ohm=_text(set_up.lead_ohm),
        range_ohm=typed_text(set_up.range_ohm),
        celsius=_text(set_up.celsius),
        temperature=(set_up.temperature or TemperatureSource.UNKNOWN).value,
    )


def read_set_up(typed: SetUpTyped, *, now: str) -> tuple[SetUp | None, dict[str, str]]:
    """The set-up from its form, or what is wrong with each field."""
    problems: dict[str, str] = {}
    meter = _read(problems, "meter", typed.meter, lambda text: parse_meter(text).text())
    lead_ohm = _read(problems, "lead_ohm", typed.lead_ohm, _ohm)
    range_ohm = _read(problems, "range_ohm", typed.range_ohm, _ohm)
    celsius = _read(problems, "celsius", typed.celsius, lambda text: decimal(text, where="coil temperature"))
    leads = LeadState(typed.leads)
    if leads is LeadState.SUBTRACT and lead_ohm is None and "lead_ohm" not in problems:
        problems["lead_ohm"] = "Read the tips shorted and type what the meter shows."
    set_up = SetUp(
        meter=meter,
        meter_id=typed.meter_id or None,
        leads=leads,
        lead_ohm=lead_ohm if leads is LeadState.SUBTRACT else None,
        range_ohm=range_ohm,
        celsius=celsius,
        temperature=TemperatureSource(typed.temperature),
        set_at=now,
    )
    problems |= _cannot_be(set_up) if not problems else {}
    return (None if problems else set_up), problems


def _cannot_be(set_up: SetUp) -> dict[str, str]:
    """A temperature no coil can have."""
    try:
        set_up.reading("1", CASE, ohm=1.0)
    except BadInput as error:
        return {"celsius": error.problems[0].text()}
    return {}


def _read(problems: dict[str, str], name: str, text: str, read: Callable[[str], Any]) -> Any:
    if not text:
        return None
    try:
        return read(text)
    except BadInput as error:
        problems[name] = error.problems[0].text()
        return None


def _ohm(text: str) -> float:
    found = typed_ohm(text)
    if found.ohm is None:
        return decimal(text, where="resistance")
    return found.ohm


def capability_words(desk: Desk, set_up: SetUp) -> str:
    """Which windings this meter can decide at all, and the cheapest thing that would help the others."""
    coils = [d for d in (desk.variant.devices if desk.variant is not None else ()) if isinstance(d, Coil)]
    with_limits = [d for d in coils if d.low_ohm is not None and d.high_ohm is not None]
    if not with_limits:
        return "No solenoid has both limits, so nothing can be said of the meter."
    undecided, ways = [], []
    for device in with_limits:
        limits = limits_of(device, 20.0 if set_up.celsius is None else set_up.celsius)
        measured = set_up.reading(*device.between, ohm=0.5 * ((device.low_ohm or 0.0) + (device.high_ohm or 0.0)))
        if not capability(measured, measured.instrument(), limits, Rule.PROVED):
            undecided.append(device.name)
            ways.append(ways_to_decide(measured, limits))
    can = len(with_limits) - len(undecided)
    words = f"This meter can decide {can} of {len(with_limits)} windings with limits."
    if not undecided:
        return words
    way = next((way for way in ways if way), None)
    advice = f" {way.rstrip(',')} would help." if way else " Compare the matched set, or old and new body."
    return f"{words} Not: {', '.join(undecided)}.{advice}"
