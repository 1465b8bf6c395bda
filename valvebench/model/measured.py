"""One resistance as it was measured: what the meter showed, at which temperature, with what."""

from __future__ import annotations

import math
from operator import attrgetter
from typing import Annotated, Final, dataclass_transform

import msgspec

from valvebench.model.errors import BadReading, Problem
from valvebench.model.meter import (
    DEFAULT_PRESET,
    DEFAULT_VOLTS_METER,
    PRESETS,
    Check,
    Instrument,
    Meter,
    VoltsRatio,
    parse_meter,
)
from valvebench.model.words import TEMPERATURE_HALF_WIDTH_CELSIUS, LeadState, Rule, TemperatureSource

LOWEST_CELSIUS: Final = -50.0
HIGHEST_CELSIUS: Final = 180.0
_LARGEST_OHM: Final = 1e12
_LOWEST_SHOWN_OHM: Final = -1.0  # a nulled meter may show a little less than nothing

Quantity = Annotated[float, msgspec.Meta(ge=0)]


@dataclass_transform(frozen_default=True, kw_only_default=True)  # heirs of a frozen Struct are frozen
class Measured(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True, forbid_unknown_fields=True):
    """A reading without its place.  Ohm, degrees Celsius, volt; u_* are standard uncertainties.

    `ohm` is what the meter showed.  Defaults: the meter preset `tenths` (assumed), leads
    `neither`, temperature not measured.
    """

    celsius: float
    ohm: float | None = None
    open: bool = False
    range_ohm: float | None = None
    repeats_ohm: tuple[float, ...] = ()
    temperature: TemperatureSource | None = None
    celsius_accuracy: Quantity | None = None
    u_celsius: Quantity | None = None
    meter: str | None = None
    meter_is_assumed: bool = False
    meter_id: str | None = None
    leads: LeadState = LeadState.NEITHER
    lead_ohm: Quantity | None = None
    lead_allowance_ohm: Quantity = 0.2
    check_ohm: float | None = None
    check_read_ohm: float | None = None
    check_pct: Quantity = 0.1
    zero_read_ohm: float | None = None
    volts_x: float | None = None
    volts_check: float | None = None
    volts_meter: str | None = None
    u_ohm: Quantity | None = None
    low_ohm: Quantity | None = None
    high_ohm: Quantity | None = None
    ref_celsius: float | None = None
    ref_not_stated: bool = False
    k_celsius: float | None = None
    rule: Rule | None = None

    def __post_init__(self) -> None:
        """An object that exists can be judged; everything wrong is reported at once."""
        if _is_plain(self):
            return
        problems = [*_value_problems(self), *_instrument_problems(self), *_limit_problems(self)]
        if problems:
            raise BadReading(problems)

    @property
    def displayed_ohm(self) -> float | None:
        """What the meter showed, the mean of repeated readings [ohm]; None for open."""
        return mean(self.repeats_ohm) if self.repeats_ohm else self.ohm

    def meter_spec(self) -> Meter:
        """Accuracy of the ohm range used."""
        return parse_meter(self.meter) if self.meter is not None else PRESETS[DEFAULT_PRESET]

    def meter_key(self) -> str:
        """Which instrument: its name, else the text of its accuracy."""
        return self.meter_id or self.meter_spec().text()

    def half_width_celsius(self) -> float | None:
        """Half-width of the coil temperature [K]; None when it cannot be used at all."""
        if self.celsius_accuracy is not None:
            return self.celsius_accuracy
        return TEMPERATURE_HALF_WIDTH_CELSIUS[self.temperature or TemperatureSource.UNKNOWN]

    def instrument(self, *, check: Check | None = None, pooled_sd_ohm: float | None = None) -> Instrument:
        """Meter, leads and check resistor of this reading; `check` serves where it has none of its own."""
        return Instrument(
            meter=self.meter_spec(),
            leads=self.leads,
            lead_ohm=self.lead_ohm,
            lead_allowance_ohm=self.lead_allowance_ohm,
            check=self._own_check() or check,
            volts=self._volts(),
            u_ohm=self.u_ohm,
            repeats=max(1, len(self.repeats_ohm)),
            repeats_sd_ohm=repeats_sd(self.repeats_ohm, pooled_sd_ohm),
        )

    def _own_check(self) -> Check | None:
        if self.check_ohm is None:
            return None
        read_ohm = self.check_read_ohm if self.check_read_ohm is not None else self.check_ohm
        return Check(ohm=self.check_ohm, read_ohm=read_ohm, pct=self.check_pct, zero_ohm=self.zero_read_ohm)

    def _volts(self) -> VoltsRatio | None:
        if self.volts_x is None or self.volts_check is None:
            return None
        meter = parse_meter(self.volts_meter or DEFAULT_VOLTS_METER, where="volts meter")
        return VoltsRatio(volts_x=self.volts_x, volts_check=self.volts_check, meter=meter)


def repeats_sd(repeats_ohm: tuple[float, ...], pooled_sd_ohm: float | None) -> float | None:
    """Their own spread from five readings on, else the pooled one of meter and leads [ohm]."""
    enough = 5
    count = len(repeats_ohm)
    return (squares_about_mean(repeats_ohm) / (count - 1)) ** 0.5 if count >= enough else pooled_sd_ohm


def mean(values: tuple[float, ...]) -> float:
    """Arithmetic mean; the library's own is exact in fractions and a hundred times slower."""
    return math.fsum(values) / len(values)


def squares_about_mean(values: tuple[float, ...]) -> float:
    """Sum of squared deviations from the mean; nought for a single value."""
    middle = mean(values) if values else 0.0
    return math.fsum((value - middle) ** 2 for value in values)


def _problem(where: str, found: object, expected: str, what_to_do: str = "") -> Problem:
    return Problem(where=where, found=str(found), expected=expected, what_to_do=what_to_do)


_RARE_FIELDS: Final = attrgetter(
    "repeats_ohm",
    "open",
    "u_celsius",
    "lead_allowance_ohm",
    "check_ohm",
    "check_read_ohm",
    "check_pct",
    "zero_read_ohm",
    "volts_x",
    "volts_check",
    "volts_meter",
    "u_ohm",
    "low_ohm",
    "high_ohm",
    "ref_celsius",
    "k_celsius",
)
_RARE_UNSET: Final = ((), False, None, 0.2, None, None, 0.1, *(None,) * 9)


def _is_plain(m: Measured) -> bool:
    """One displayed value, and nothing beside it that could be wrong: most readings, let through early."""
    return (
        m.ohm is not None
        and _LOWEST_SHOWN_OHM <= m.ohm <= _LARGEST_OHM
        and LOWEST_CELSIUS <= m.celsius <= HIGHEST_CELSIUS
        and _RARE_FIELDS(m) == _RARE_UNSET
        and (m.temperature is None or m.celsius_accuracy is None)
        and (m.lead_ohm is not None) == (m.leads is LeadState.SUBTRACT)
        and (m.range_ohm is None or 0 <= m.range_ohm <= _LARGEST_OHM)
        and (m.celsius_accuracy is None or 0 <= m.celsius_accuracy <= _LARGEST_OHM)
        and (m.lead_ohm is None or 0 <= m.lead_ohm <= _LARGEST_OHM)
        and (m.meter is None or not _text_problems(m))
    )


def _value_problems(m: Measured) -> list[Problem]:
    problems = [
        _problem(name, number, "a finite number")
        for name, number in ((n, getattr(m, n)) for n in m.__struct_fields__)
        if isinstance(number, float) and not math.isfinite(number)
    ]
    if not LOWEST_CELSIUS <= m.celsius <= HIGHEST_CELSIUS:
        hint = "Is it in degrees Fahrenheit?" if m.celsius > HIGHEST_CELSIUS else ""
        problems.append(
            _problem("celsius", f"{m.celsius:g}", "a coil temperature from -50 to 180 degrees Celsius", hint)
        )
    given = [m.ohm is not None or bool(m.repeats_ohm), m.open, m.volts_x is not None or m.volts_check is not None]
    if sum(given) != 1:
        found = "nothing" if not any(given) else "more than one"
        problems.append(_problem("reading", found, "one of ohm, open on a stated range, or two voltages"))
    if m.open and not (m.range_ohm is not None and m.range_ohm > 0):
        problems.append(
            _problem(
                "range-ohm", "nothing", "the range it was open on", "Open proves only 'above the range that was set'."
            )
        )
    shown = (*m.repeats_ohm, *(() if m.ohm is None else (m.ohm,)))
    problems += [
        _problem("ohm", f"{ohm:g}", "a resistance from 0 to 1e12 ohm", "Null the leads again if the meter shows less.")
        for ohm in shown
        if not _LOWEST_SHOWN_OHM <= ohm <= _LARGEST_OHM
    ]
    return problems


def _instrument_problems(m: Measured) -> list[Problem]:
    return [*_lead_problems(m), *_check_problems(m), *_text_problems(m), *_temperature_problems(m)]


def _lead_problems(m: Measured) -> list[Problem]:
    if m.leads is LeadState.SUBTRACT and m.lead_ohm is None:
        return [_problem("lead-ohm", "nothing", "the reading with the tips shorted", "Leads 'subtract' needs it.")]
    if m.leads is not LeadState.SUBTRACT and m.lead_ohm is not None:
        return [
            _problem(
                "lead-ohm",
                f"{m.lead_ohm:g} with leads '{m.leads.value}'",
                "no lead resistance in this lead state",
                "Choose leads 'subtract', or leave it out: taking it off twice is a common mistake.",
            )
        ]
    return []


def _check_problems(m: Measured) -> list[Problem]:
    volts = (m.volts_x, m.volts_check)
    if any(v is not None for v in volts):
        return _volts_problems(m)
    if m.check_ohm is None and m.check_read_ohm is None:
        return []
    if m.check_ohm is None or m.check_read_ohm is None:
        missing = "check-ohm" if m.check_ohm is None else "check-read"
        return [_problem(missing, "nothing", "both the resistor's value and its reading with the same leads")]
    return check_problems(m.check_ohm, m.check_read_ohm, m.zero_read_ohm, leads=m.leads, lead_ohm=m.lead_ohm)


def check_problems(
    check_ohm: float, read_ohm: float, zero_ohm: float | None, *, leads: LeadState, lead_ohm: float | None
) -> list[Problem]:
    """What is wrong with a check resistor and its readings [ohm]."""
    if not check_ohm > 0:
        return [_problem("check-ohm", f"{check_ohm:g}", "a resistance above zero")]
    if zero_ohm is None and leads is LeadState.NEITHER:
        advice = "Read the tips shorted (zero-read), null the leads, or use four wires."
        return [_problem("check-ohm", "no reading of the tips", "what the meter shows with the tips shorted", advice)]
    zero = zero_ohm if zero_ohm is not None else (lead_ohm or 0.0)
    if not read_ohm - zero > 0:
        return [_problem("check-read", f"{read_ohm:g}", f"more than the tips alone ({zero:g} ohm)")]
    return []


def _volts_problems(m: Measured) -> list[Problem]:
    problems = [
        _problem(name, "nothing" if volts is None else f"{volts:g}", "a voltage above zero, both of them")
        for name, volts in (("volts-x", m.volts_x), ("volts-check", m.volts_check))
        if volts is None or not volts > 0
    ]
    if m.check_ohm is None or not m.check_ohm > 0:
        problems.append(_problem("check-ohm", m.check_ohm or "nothing", "the resistor the ratio is taken against"))
    return problems


def _text_problems(m: Measured) -> list[Problem]:
    problems: list[Problem] = []
    for where, text in (("meter", m.meter), ("volts-meter", m.volts_meter)):
        try:
            parse_meter(text, where=where) if text is not None else None
        except ValueError as error:
            problems += getattr(error, "problems", ())
    return problems


def _temperature_problems(m: Measured) -> list[Problem]:
    given = [m.temperature is not None, m.celsius_accuracy is not None, m.u_celsius is not None]
    if sum(given) > 1:
        return [_problem("temperature", "more than one statement", "one of temperature, celsius-accuracy or u-celsius")]
    return []


def _limit_problems(m: Measured) -> list[Problem]:
    problems = []
    if m.low_ohm is not None and m.high_ohm is not None and m.low_ohm > m.high_ohm:
        problems.append(_problem("low", f"{m.low_ohm:g}", f"not above high ({m.high_ohm:g})"))
    if m.ref_celsius is not None and m.ref_not_stated:
        problems.append(_problem("ref-celsius", f"{m.ref_celsius:g}", "no reference temperature beside 'not stated'"))
    if m.ref_celsius is not None and not LOWEST_CELSIUS <= m.ref_celsius <= HIGHEST_CELSIUS:
        problems.append(_problem("ref-celsius", f"{m.ref_celsius:g}", "a temperature from -50 to 180 degrees Celsius"))
    if m.k_celsius is not None and not m.k_celsius > -LOWEST_CELSIUS:
        problems.append(
            _problem("k", f"{m.k_celsius:g}", "a conductor constant such as 234.5 (copper) or 225 (aluminium)")
        )
    return problems
