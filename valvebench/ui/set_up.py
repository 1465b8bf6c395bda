"""What the next reading is taken with: meter, leads, coil temperature.  No Qt."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final

from valvebench.model.entry import AnyBody, MeterCheck, Reading, body_from
from valvebench.model.flex import FlexTest
from valvebench.model.format import OHM, celsius_text, ohm_text
from valvebench.model.meter import DEFAULT_PRESET, PRESETS, parse_meter
from valvebench.model.session import Session
from valvebench.model.words import LEAD_TEXT, TEMPERATURE_TEXT, LeadState, TemperatureSource

STALE_AFTER_MIN: Final = 30
"""A part on the bench drifts toward the room: common practice, no source."""
STALE: Final = "older than 30 min: measure it again"
_MINUTES_SHOWN: Final = 120
_HOURS_SHOWN: Final = 48 * 60


@dataclass(frozen=True, kw_only=True)
class SetUp:
    """Ohm and degrees Celsius; `set_at` is when the coil temperature was entered, RFC 3339."""

    celsius: float | None = None
    temperature: TemperatureSource | None = None
    meter: str | None = None
    meter_id: str | None = None
    leads: LeadState = LeadState.NEITHER
    lead_ohm: float | None = None
    range_ohm: float | None = None
    set_at: str | None = None

    def reading(self, from_node: str, to_node: str, **value: Any) -> Reading:
        """A reading between two nodes taken with this set-up (raises BadInput)."""
        fields: dict[str, Any] = {
            "celsius": 20.0 if self.celsius is None else self.celsius,
            "temperature": self.temperature,
            "meter": self.meter,
            "meter_id": self.meter_id,
            "leads": self.leads,
            "lead_ohm": self.lead_ohm if self.leads is LeadState.SUBTRACT else None,
        }
        return Reading(from_node=from_node, to_node=to_node, **(fields | value))

    def meter_check(self, **given: float | None) -> MeterCheck:
        """A known resistor read with this set-up (raises BadInput); `given` as in the entry [ohm, percent]."""
        tips = self.lead_ohm if self.leads is LeadState.SUBTRACT else None
        known = {"meter": self.meter, "meter_id": self.meter_id, "leads": self.leads.value, "lead_ohm": tips}
        fields = {name: value for name, value in {**known, **given}.items() if value is not None}
        body = body_from("meter-check", fields)
        if not isinstance(body, MeterCheck):
            raise TypeError("a meter check makes a MeterCheck")
        return body

    def meter_text(self) -> str:
        """The meter as the strip shows it."""
        meter = parse_meter(self.meter) if self.meter else PRESETS[DEFAULT_PRESET]
        return f"Meter {meter.percent:g} % + {meter.counts:g} \u00d7 {meter.step:g} {OHM}"

    def leads_text(self) -> str:
        """The lead state as the strip shows it below the meter, and whether that one is only assumed."""
        tips = f", {ohm_text(self.lead_ohm)}" if self.leads is LeadState.SUBTRACT and self.lead_ohm is not None else ""
        assumed = "" if self.meter else "assumed; "
        return f"{assumed}{LEAD_TEXT[self.leads]}{tips}"

    def celsius_words(self) -> tuple[str, str]:
        """Coil temperature and how it is known, as the strip shows them."""
        if self.celsius is None:
            return "No temperature", "set it before the first reading"
        return celsius_text(self.celsius), TEMPERATURE_TEXT[self.temperature or TemperatureSource.UNKNOWN]


def celsius_words_at(set_up: SetUp, now: str) -> tuple[str, str]:
    """Coil temperature with its age at `now` (RFC 3339); an old one says so in place of how it is known."""
    head, how = set_up.celsius_words()
    if set_up.celsius is None or set_up.set_at is None:
        return head, how
    minutes = _age_min(set_up.set_at, now)
    if minutes < 1:
        return head, how
    age = f"{minutes} min" if minutes < _MINUTES_SHOWN else f"{minutes // 60} h" if minutes < _HOURS_SHOWN else "days"
    return f"{head}, {age} ago", STALE if minutes > STALE_AFTER_MIN else how


def is_stale_at(set_up: SetUp, now: str) -> bool:
    """Whether the coil temperature was entered too long before `now` (RFC 3339) to be still the same."""
    return set_up.set_at is not None and _age_min(set_up.set_at, now) > STALE_AFTER_MIN


def _age_min(since: str, now: str) -> int:
    return int((datetime.fromisoformat(now) - datetime.fromisoformat(since)).total_seconds() // 60)


def last_set_up(session: Session) -> SetUp:
    """The set-up of the newest reading, or reading of a flex test; a new session begins without one."""
    newest = next((item for item in reversed(session.items) if _has_set_up(item.body)), None)
    if newest is None or not isinstance(newest.body, Reading | FlexTest):
        return SetUp()
    body = newest.body
    return SetUp(
        celsius=body.celsius,
        temperature=body.temperature,
        meter=body.meter,
        meter_id=body.meter_id,
        leads=body.leads,
        lead_ohm=body.lead_ohm,
        range_ohm=_last_open_range(session),
        set_at=newest.at,
    )


def _has_set_up(body: AnyBody) -> bool:
    return isinstance(body, Reading) or (isinstance(body, FlexTest) and body.celsius is not None)


def _last_open_range(session: Session) -> float | None:
    bodies = (item.body for item in reversed(session.items))
    return next((b.range_ohm for b in bodies if isinstance(b, Reading) and b.open and b.range_ohm), None)


def with_range(set_up: SetUp, range_ohm: float) -> SetUp:
    """The same with the range that an open reading is seen on."""
    return replace(set_up, range_ohm=range_ohm)
