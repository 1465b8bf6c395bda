"""What an air test was taken with, and what every way of measuring a leak shares."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.model.errors import BadInput, bad
from valvebench.model.leak import LeakLine
from valvebench.model.meter import Meter
from valvebench.physics.air import KELVIN, KPA_OF, REFERENCES, STANDARD_AMBIENT_KPA_ABS, Reference
from valvebench.physics.uncertainty import SQRT3

Array = NDArray[np.float64]

ASSUMED_GAUGE: Final = Meter(percent=1.0, counts=1.0, step=1.0)
"""A shop gauge, percent of reading and kilopascal: common practice, no source."""
LEAK_B, U_LEAK_B = 0.35, 0.1
"""Critical ratio of a leak nobody knows: between a sharp edge and a nozzle (common practice, no source)."""
LOWEST_B: Final = 0.05
HIGHEST_B: Final = 0.6
BEYOND: Final = 0.1
"""How far beyond what was seen a leak may be told, as a share of absolute pressure."""
UNCHECKED: Final = "Gauge or absolute, and the unit, were not checked: say what the gauge reads when vented."
_U_BAROMETER_KPA: Final = 0.2
_U_AMBIENT_KPA: Final = 2.0
_TAKEN_CELSIUS: Final = 2.0
_ASSUMED_CELSIUS: Final = 5.0
_VENTED_MOST_KPA: Final = 20.0
_NEAR_AMBIENT: Final = 0.03
_OTHER_UNITS: Final = ("psi", "bar", "mbar", "mmhg", "inhg")
_FEW_FOR_STEP: Final = 20
_FEW_VALUES: Final = 3


class AirSetUp(NamedTuple):
    """Gauge, its vented reading [kPa], the air around, the temperature; where and how a leak is told."""

    gauge: Meter | None = None
    zero_kpa: float | None = None
    test_kpa_gauge: float | None = None
    celsius: float | None = None
    ambient_kpa_abs: float | None = None
    reference: Reference = REFERENCES["iso8778"]
    at_kpa_gauge: float | None = None
    cd: float = 1.0
    limit_ml_min: float | None = None
    """Only for the advice: a leak is held against its limit by `judge`."""

    @property
    def ambient(self) -> float:
        """The air around [kPa absolute]."""
        return self.ambient_kpa_abs if self.ambient_kpa_abs is not None else STANDARD_AMBIENT_KPA_ABS

    @property
    def u_ambient(self) -> float:
        """A barometer's doubt, or that of any place and weather (from memory) [kPa]."""
        return _U_BAROMETER_KPA if self.ambient_kpa_abs is not None else _U_AMBIENT_KPA

    @property
    def air_celsius(self) -> float:
        """Temperature of the gas; 20 where it was not taken."""
        return self.celsius if self.celsius is not None else 20.0

    @property
    def u_celsius(self) -> float:
        """Standard uncertainty of that, from a rectangle [K]."""
        return (_TAKEN_CELSIUS if self.celsius is not None else _ASSUMED_CELSIUS) / SQRT3


def meter_of(set_up: AirSetUp, kpa: Array, unit_kpa: float) -> Meter:
    """The gauge that was named, else a usual one with the step its readings show."""
    if set_up.gauge is not None:
        return set_up.gauge
    step = shown_step(kpa, unit_kpa)
    return Meter(percent=ASSUMED_GAUGE.percent, counts=ASSUMED_GAUGE.counts, step=step or max(unit_kpa * 0.01, 1.0))


def shown_step(kpa: Array, unit_kpa: float) -> float | None:
    """The step of a display, from many readings [kPa]; None where there are too few to tell."""
    if kpa.size < _FEW_FOR_STEP:
        return None
    shown = kpa[:2000] / unit_kpa
    if np.unique(shown).size < _FEW_VALUES:  # a display that hardly moves does not show its step
        return None
    for power in range(2, -5, -1):
        for size in (5.0, 2.0, 1.0):
            step = size * 10.0**power
            if np.ptp(shown) >= 2 * step and np.all(np.abs(shown / step - np.round(shown / step)) < 1e-6):
                return float(step * unit_kpa)
    return 1e-4 * unit_kpa


def last_digit_kpa(gauge: Meter) -> float:
    """Standard uncertainty of one reading that its display leaves, half a step at least [kPa]."""
    return max(gauge.counts, 0.5) * gauge.step / SQRT3


def gauge_text(meter: Meter) -> str:
    """The gauge as a sentence names it."""
    return f"{meter.text()} (kPa)"


def absolute(kpa: Array, *, is_gauge: bool, set_up: AirSetUp) -> Array:
    """What a gauge shows -> absolute pressure, its vented reading taken off [kPa]."""
    if set_up.zero_kpa is None:
        return kpa + set_up.ambient if is_gauge else kpa
    return np.asarray(kpa - set_up.zero_kpa + set_up.ambient, float)


def check_gauge(kpa: Array, *, is_gauge: bool, set_up: AirSetUp, where: str) -> str:
    """Hold the named kind and unit against the vented reading and the test pressure (raises BadInput).

    Returns a sentence where neither was given.
    """
    zero = set_up.zero_kpa
    if zero is not None:
        vented = zero if is_gauge else zero - set_up.ambient
        unit = _unit_of(zero, set_up.ambient)
        if abs(vented) > _VENTED_MOST_KPA or (is_gauge and unit == "psi"):
            raise _wrong_kind(zero, unit, is_gauge=is_gauge, ambient=set_up.ambient, where=where)
    if set_up.test_kpa_gauge is not None:
        first = float(absolute(kpa[:1], is_gauge=is_gauge, set_up=set_up)[0]) - set_up.ambient
        _check_test_pressure(first, set_up.test_kpa_gauge, where)
    if zero is None and set_up.test_kpa_gauge is None:
        return UNCHECKED
    return ""


def _unit_of(zero: float, ambient: float) -> str:
    """The unit in which a vented reading would be the air around; empty for kilopascal and for none.

    A psi of air, 14.7, is no offset of a gauge; a bar of it, 1.0, might be one.
    """
    near = (name for name in _OTHER_UNITS if abs(zero * KPA_OF[name] / ambient - 1.0) <= _NEAR_AMBIENT)
    return next(near, "")


def _wrong_kind(zero: float, unit: str, *, is_gauge: bool, ambient: float, where: str) -> BadInput:
    found = f"{zero:g} kPa when vented"
    expected = "about 0 kPa of a gauge that shows pressure above ambient"
    if not is_gauge:
        expected = f"about {ambient:.0f} kPa of a gauge that shows absolute pressure"
    return bad(where, found, expected, _likely(zero, unit, is_gauge=is_gauge, ambient=ambient))


def _likely(zero: float, unit: str, *, is_gauge: bool, ambient: float) -> str:
    if unit:
        return f"It would be the air around in {unit}, absolute: look at unit and kind in the name of the column."
    if is_gauge and abs(zero - ambient) <= _VENTED_MOST_KPA:
        return "It looks like an absolute gauge: take the air around off, or name the column of a file _abs."
    if not is_gauge and abs(zero) <= _VENTED_MOST_KPA:
        return "It looks like pressure above ambient: name the column _gauge."
    return ""


def _check_test_pressure(first: float, stated: float, where: str) -> None:
    if not stated > 0:
        raise bad("--test-kpa-gauge", f"{stated:g}", "the pressure above ambient that was set, more than 0")
    if abs(first - stated) <= 0.2 * stated:
        return
    guesses = {"psi": 6.894757, "bar": 100.0, "mbar": 0.1, "kPa": 1.0}
    hints = [name for name, kpa in guesses.items() if first and abs(first * kpa / stated - 1) <= 0.2 and kpa != 1.0]
    hints += ["the other of gauge and absolute"] * (abs(abs(first - stated) - STANDARD_AMBIENT_KPA_ABS) <= 0.1 * stated)
    advice = f"The numbers would fit {hints[0]}: look at the name of the column." if hints else "Look at unit and kind."
    raise bad(where, f"{first:.1f} kPa above ambient at the start", f"{stated:g} kPa within 20 %, as stated", advice)


def told_at(at_kpa_gauge: float, *, lowest_kpa_abs: float, highest_kpa_abs: float, ambient_kpa_abs: float) -> bool:
    """Whether a pressure lies within what was seen, 10 % of absolute pressure beyond counted."""
    at = at_kpa_gauge + ambient_kpa_abs
    return (1.0 - BEYOND) * lowest_kpa_abs <= at <= (1.0 + BEYOND) * highest_kpa_abs


def not_seen(at_kpa_gauge: float, low_gauge: float, high_gauge: float) -> tuple[str, str]:
    """Why a leak is not told at a pressure, and what to do."""
    reason = (
        f"{at_kpa_gauge:g} kPa lies outside what was seen ({low_gauge:.0f} to {high_gauge:.0f} kPa above ambient): "
        "no leak is told there."
    )
    return reason, f"Test at {at_kpa_gauge:g} kPa, or ask for the leak at a pressure that was seen."


def line(term: str, u_ml_min: float, *, is_rectangular: bool = False, dof: float | None = None) -> LeakLine:
    """One doubt, without its sign."""
    return LeakLine(term=term, u_ml_min=abs(float(u_ml_min)), is_rectangular=is_rectangular, dof=dof)


def scaled_lines(lines: list[LeakLine], factor: float) -> list[LeakLine]:
    """The same doubts of a leak that is so many times as large."""
    return [line(one.term, factor * one.u_ml_min, is_rectangular=one.is_rectangular, dof=one.dof) for one in lines]


def worth_telling(lines: list[LeakLine]) -> list[LeakLine]:
    """The same without what brings less than a hundred-millionth of the variance."""
    whole = together(lines)
    return [one for one in lines if one.u_ml_min > 1e-4 * whole]


def together(lines: list[LeakLine]) -> float:
    """Root of the sum of squares."""
    return float(sum(one.u_ml_min**2 for one in lines) ** 0.5)


def to_reference(ml_min_at_iso: Any, reference: Reference) -> Any:
    """A flow at 20 degrees Celsius and 100 kPa -> the same gas at the reference that was asked for."""
    iso = REFERENCES["iso8778"]
    return ml_min_at_iso * iso.kpa_abs / reference.kpa_abs * (reference.celsius + KELVIN) / (iso.celsius + KELVIN)
