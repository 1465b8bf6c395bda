"""Decides what the Job page shows of job and bench set-up.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol

from valvebench.model.entry import OpenJob
from valvebench.model.errors import BadInput
from valvebench.model.format import typed_text
from valvebench.model.meter import Check, parse_meter
from valvebench.model.numbers import decimal
from valvebench.model.words import CASE, JobKind, LeadState, TemperatureSource
from valvebench.ui.job.capability import WayCount, capability_words, way_counts
from valvebench.ui.job.numbers import typed_number
from valvebench.ui.keeper import Keeper
from valvebench.ui.set_up import SetUp

READ_TIPS: Final = "Read the tips shorted and type what the meter shows."
_KINDS: Final = {
    JobKind.COMPLAINT: "Complaint",
    JobKind.BENCH_CHECK: "Bench check, no vehicle",
    JobKind.ENQUIRY: "Enquiry",
}
_JOB_FIELDS: Final = (
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
)


@dataclass(frozen=True, kw_only=True)
class SetUpTyped:
    """The set-up as it stands in the form, all text; `is_celsius_anew` where the temperature was typed again."""

    meter: str = ""
    meter_id: str = ""
    leads: str = LeadState.NEITHER.value
    lead_ohm: str = ""
    range_ohm: str = ""
    celsius: str = ""
    temperature: str = TemperatureSource.UNKNOWN.value
    is_celsius_anew: bool = False


class JobView(Protocol):
    """What the presenter asks of the page."""

    def show_job(self, title: str, lines: Sequence[tuple[str, str]]) -> None: ...
    def show_set_up(self, typed: SetUpTyped) -> None: ...
    def show_set_up_problems(self, problems: Mapping[str, str]) -> None: ...
    def show_capability(self, words: str, ways: Sequence[WayCount]) -> None: ...


class JobPresenter:
    """Job and set-up of one open session; `check_now` tells the meter check that serves."""

    def __init__(
        self,
        view: JobView,
        keeper: Keeper,
        *,
        set_up: SetUp,
        set_up_changed: Callable[[SetUp], None],
        check_now: Callable[[], Check | None] = lambda: None,
    ) -> None:
        self._view, self._keeper, self.set_up = view, keeper, set_up
        self._set_up_changed, self._check_now = set_up_changed, check_now
        self._lines: list[tuple[str, str]] = []

    def start(self) -> None:
        """Show job and set-up."""
        self.show_job()
        self.show_set_up(self.set_up)

    def refresh(self) -> None:
        """Show anew what other pages, or a corrected complaint, may have changed."""
        self.show_job()
        self.show_capability()

    def show_job(self) -> None:
        """What came in, where it changed: a complaint can be corrected."""
        job, variant = self._keeper.desk.session.job_now, self._keeper.desk.variant
        lines = [*job_lines(job), ("Variant", variant.title if variant is not None else "none")]
        if lines != self._lines:
            self._lines = lines
            self._view.show_job(f"Job {job.job}", lines)

    def show_set_up(self, set_up: SetUp) -> None:
        """Take up a set-up that was changed elsewhere."""
        self.set_up = set_up
        self._view.show_set_up(_typed(set_up))
        self.show_capability()

    def show_capability(self) -> None:
        """Say anew which windings this meter can decide."""
        variant, check = self._keeper.desk.variant, self._check_now()
        words = capability_words(variant, self.set_up, check=check)
        self._view.show_capability(words, way_counts(variant, self.set_up, check=check))

    def set_up_typed(self, typed: SetUpTyped) -> bool:
        """Take the form's set-up; says what is wrong beside each field, and whether all was right."""
        set_up, problems = read_set_up(typed, now=self._keeper.desk.now(), before=self.set_up)
        self._view.show_set_up_problems(problems)
        if set_up is None:
            return False
        self.set_up = set_up
        self._set_up_changed(set_up)
        self.show_capability()
        return True


def job_lines(job: OpenJob) -> list[tuple[str, str]]:
    """What came in, label and words, without what was not said."""
    complaint = ", ".join(part for part in (job.shift, job.when, job.feel) if part)
    air = "asked for" if job.require_air else ""
    lines = [
        ("Kind", _KINDS[job.kind]),
        ("Complaint", complaint),
        *((label, _text(getattr(job, name))) for label, name in _JOB_FIELDS),
        ("Air tests", air),
    ]
    return [line for line in lines if line[1]]


def _text(value: object) -> str:
    if value is None:
        return ""
    return f"{value:.12g}" if isinstance(value, float) else str(value)


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


def read_set_up(typed: SetUpTyped, *, now: str, before: SetUp | None = None) -> tuple[SetUp | None, dict[str, str]]:
    """The set-up from its form, or what is wrong with each field; an unchanged temperature keeps its age."""
    problems: dict[str, str] = {}
    meter = _read(problems, "meter", typed.meter, lambda text: parse_meter(text).text())
    lead_ohm = _read(problems, "lead_ohm", typed.lead_ohm, typed_number)
    range_ohm = _read(problems, "range_ohm", typed.range_ohm, typed_number)
    celsius = _read(problems, "celsius", typed.celsius, lambda text: decimal(text, where="coil temperature"))
    leads = LeadState(typed.leads)
    if leads is LeadState.SUBTRACT and lead_ohm is None and "lead_ohm" not in problems:
        problems["lead_ohm"] = READ_TIPS
    set_up = SetUp(
        meter=meter,
        meter_id=typed.meter_id or None,
        leads=leads,
        lead_ohm=lead_ohm if leads is LeadState.SUBTRACT else None,
        range_ohm=range_ohm,
        celsius=celsius,
        temperature=TemperatureSource(typed.temperature),
        set_at=_set_at(typed, celsius, now, before),
    )
    problems |= _cannot_be(set_up) if not problems else {}
    return (None if problems else set_up), problems


def _set_at(typed: SetUpTyped, celsius: float | None, now: str, before: SetUp | None) -> str:
    """When the coil temperature was entered: looking at the form again does not make it fresh."""
    if typed.is_celsius_anew or before is None or before.set_at is None:
        return now
    is_same = celsius == before.celsius and TemperatureSource(typed.temperature) is before.temperature
    return before.set_at if is_same else now


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
