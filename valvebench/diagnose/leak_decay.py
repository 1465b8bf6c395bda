"""A leak from a falling pressure in a known vessel: both laws fitted, every doubt counted."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_fit import memory
from valvebench.diagnose.leak_decay_words import Said, advice_for, reasons_for
from valvebench.diagnose.leak_fit import (
    AMBIENT,
    COUNT,
    DRIFT,
    LEFTOVER,
    LOG_TAU,
    RATE,
    RATIO,
    START,
    Fit,
    Priors,
    fit_law,
    loss_at,
    lost_kpa,
    pressure,
    shares,
)
from valvebench.diagnose.leak_hole import hole_of
from valvebench.diagnose.leak_known import K_TAU_CAPPED, TAU_S, needed_ml
from valvebench.diagnose.leak_record import FallingRun, Record, record_of, refuse_holes, rising
from valvebench.diagnose.leak_setup import (
    LEAK_B,
    U_LEAK_B,
    AirSetUp,
    check_gauge,
    gauge_text,
    line,
    meter_of,
    together,
    told_at,
    worth_telling,
)
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound, LeakLaw, LeakLine, LeakMethod
from valvebench.model.meter import Meter
from valvebench.physics.air import KELVIN, volume_at
from valvebench.physics.uncertainty import SQRT3

Array = NDArray[np.float64]

U_LOG_TAU: Final = 0.6
"""How soon gas takes on the temperature of its wall, by conduction in hoses of 8 to 15 mm (from memory)."""
DRIFT_KELVIN: Final = 1.0
U_RECORDED_KELVIN: Final = 0.1
_FILL_KELVIN: Final = 25.0
LEAST_LEFT_KELVIN: Final = 1.0
NOT_SAID_KELVIN: Final = 3.0
_SLOWEST_TAU_S: Final = 4.0
K_TAU_REFUSED: Final = 0.2
_LONG_S: Final = 30.0
_FALL: Final = 0.2
_LAW: Final = "law of the leak"
_LAW_MATTERS: Final = 0.12
"""Share of the doubt from which the law counts: where the run speaks for neither, the leak may be so far off."""
_SURE: Final = 0.95
ORIFICE_ODDS: Final = 2.0
"""Orifice to gap before anything was read: a short way out is the commoner one (common practice, no source).

Where a run cannot tell them apart any odds lean: at these a gap comes out 0.3 to 0.4 of its standard uncertainty
low, an orifice 0.1 to 0.2 high; over both, by the odds, the lean is none (simulated).
"""
_OUTER: Final = 3
_KNOWN_BEFORE: Final = 4.0
_FIRMLY_RISING: Final = 4.0
_MISFIT: Final = 0.03
_OWN_TERMS: Final = {
    LEFTOVER: "heat left from filling",
    LOG_TAU: "recovery of the gas",
    DRIFT: "temperature drift",
    RATIO: "critical ratio",
    AMBIENT: "ambient and zero",
}


class Vessel(NamedTuple):
    """What the pressure falls in: volume [ml] and its standard uncertainty [percent], how it was handled.

    `held_s` is how long the supply was kept open, `drift_celsius` how far the wall may drift (half-width),
    `blank_ml_min` the leak of the same hose plugged.
    """

    volume_ml: float
    volume_pct: float = 5.0
    held_s: float | None = None
    drift_celsius: float | None = None
    blank_ml_min: float | None = None


class _Laws(NamedTuple):
    """Both fits, how much the data speak for each (2,), and the noise of a sample [kPa]."""

    fits: tuple[Fit, Fit]
    weight: Array
    noise_kpa: float


Quantity = Callable[[Array, bool], float]
"""From parameters (7,) and whether the law is that of an orifice to a number."""


def decay_leak(run: FallingRun, *, vessel: Vessel, set_up: AirSetUp) -> LeakFound:
    """The leak of a vessel.

    Parameters
    ----------
    run : times [s] and pressures as the gauge shows them [kPa], temperature [degC] where there is one
    vessel : what is known of it

    Returns
    -------
    LeakFound
        Leak at the start pressure, or at `set_up.at_kpa_gauge` inside what was seen; the mean of the gas
        lost; no number where the pressure falls faster than the gas recovers its temperature.

    Raises
    ------
    BadInput : for a record nothing can be said of

    Source
    ------
    ISO 6358 and laminar flow for the two laws; JCGM 100 for the doubts, JCGM 101 spirit for two laws:
    their spread by the weight the data give each.
    """
    refuse_holes(run)
    unchecked = check_gauge(run.kpa, is_gauge=run.is_gauge, set_up=set_up, where="pressure")
    gauge = meter_of(set_up, run.kpa, run.unit_kpa)
    record = record_of(run, gauge, set_up)
    priors = _priors(record, vessel, set_up, is_gauge=run.is_gauge)
    laws = fitted(record, priors)
    return _Finder(record, priors, laws, vessel, set_up, gauge).found(unchecked)


def _priors(record: Record, vessel: Vessel, set_up: AirSetUp, *, is_gauge: bool) -> Priors:
    kelvin = record.celsius + KELVIN
    middle = np.zeros(COUNT)
    middle[LOG_TAU], middle[RATIO], middle[AMBIENT] = math.log(TAU_S), LEAK_B, set_up.ambient
    u = np.full(COUNT, np.inf)
    u[LEFTOVER] = leftover_kelvin(vessel.held_s) / kelvin
    u[LOG_TAU], u[RATIO] = U_LOG_TAU, U_LEAK_B
    u[DRIFT] = drift_kelvin(vessel, has_record=record.has_celsius) / kelvin
    zero = record.counts_kpa / SQRT3 if set_up.zero_kpa is None else record.counts_kpa / (2.0 * SQRT3)
    u[AMBIENT] = math.hypot(set_up.u_ambient, zero)
    return Priors(middle, u, is_gauge)


def leftover_kelvin(held_s: float | None) -> float:
    """How warm the gas may still be from filling, standard uncertainty [K]; the slowest hose counts."""
    if held_s is None:
        return NOT_SAID_KELVIN
    return max(LEAST_LEFT_KELVIN, _FILL_KELVIN * math.exp(-held_s / _SLOWEST_TAU_S))


def drift_kelvin(vessel: Vessel, *, has_record: bool) -> float:
    """How far the wall's temperature may move in the run unseen, standard uncertainty [K].

    Its bounds are a guess, so that it counts as a bell of that width and not as a rectangle of its own factor.
    """
    if vessel.drift_celsius is not None:
        return vessel.drift_celsius / SQRT3
    return U_RECORDED_KELVIN if has_record else DRIFT_KELVIN / SQRT3


def fitted(record: Record, priors: Priors) -> _Laws:
    """Both laws with one common noise; each by its own would be sure of the wrong one."""
    noise = max(record.floor_kpa, 1e-6 * float(record.kpa_abs[0]))
    starts: tuple[Array | None, Array | None] = (None, None)
    for _ in range(_OUTER):
        orifice = fit_law(record, priors, is_orifice=True, noise_kpa=noise, start=starts[0])
        gap = fit_law(record, priors, is_orifice=False, noise_kpa=noise, start=starts[1])
        fits, starts = (orifice, gap), (orifice.value, gap.value)
        now = min(_noise(record, priors, one) for one in fits)
        if abs(now / noise - 1.0) < 0.02:
            break
        noise = now
    chi2 = np.array([one.square / noise**2 + one.prior_square for one in fits])
    weight = np.array([ORIFICE_ODDS, 1.0]) * np.exp(-0.5 * (chi2 - chi2.min()))
    return _Laws(fits, weight / weight.sum(), noise)


def _noise(record: Record, priors: Priors, fit: Fit) -> float:
    """Standard deviation of a sample [kPa], memory of the residuals counted."""
    known = np.where(np.isfinite(priors.u), np.diag(fit.covariance) / priors.u**2, 0.0)
    free = float(COUNT - np.minimum(known, 1.0).sum())
    dof = max(record.t_s.size - free, 0.0)
    usual = record.floor_kpa
    variance = (_KNOWN_BEFORE * usual**2 + fit.square) / (_KNOWN_BEFORE + dof)
    variance *= memory(fit.residual, record.weight, free)
    return float(max(variance, usual**2, (1e-7 * record.kpa_abs[0]) ** 2) ** 0.5)


def _law_share(lines: list[LeakLine]) -> float:
    """How much of the doubt is not knowing the law, as a share of the standard uncertainty."""
    law = next((one.u_ml_min for one in lines if one.term == _LAW), 0.0)
    return law / whole if (whole := together(lines)) > 0.0 else 0.0


class _Finder:
    """Puts together what is said of one run."""

    def __init__(
        self, record: Record, priors: Priors, laws: _Laws, vessel: Vessel, set_up: AirSetUp, gauge: Meter
    ) -> None:
        self.record, self.priors, self.laws = record, priors, laws
        self.vessel, self.set_up, self.gauge = vessel, set_up, gauge
        best = laws.fits[int(np.argmax(laws.weight))]
        ends = pressure(best.value, record, is_orifice=best.is_orifice, is_gauge=False) / record.warmth
        ambient = set_up.ambient
        self.high, self.low = float(ends[0]), min(float(ends[-1]), float(ends[0]))
        self.at_abs = self.high if set_up.at_kpa_gauge is None else set_up.at_kpa_gauge + ambient
        self.best = best

    def found(self, unchecked: str) -> LeakFound:
        """Everything, checked for what must not be told (raises BadInput where the pressure rises)."""
        lines = self._lines(self._leak)
        leak = Sized(value=self._mixed(self._leak) - (self.vessel.blank_ml_min or 0.0), u=together(lines))
        mean_lines = self._lines(self._mean)
        mean = Sized(value=self._mixed(self._mean) - (self.vessel.blank_ml_min or 0.0), u=together(mean_lines))
        ambient = self.set_up.ambient
        if leak.value + (self.vessel.blank_ml_min or 0.0) < -_FIRMLY_RISING * leak.u:
            raise rising(float(self.record.kpa_abs[0]) - ambient, float(self.record.kpa_abs[-1]) - ambient)
        said = self._said(lines, leak, unchecked)
        hole = self._hole(leak) if said.is_told else None
        return LeakFound(
            method=LeakMethod.DECAY,
            n=self.record.n,
            leak_ml_min=leak if said.is_told else None,
            at_kpa_gauge=self.at_abs - ambient,
            mean_leak_ml_min=mean if not said.is_too_fast else None,
            from_kpa_gauge=self.high - ambient,
            to_kpa_gauge=self.low - ambient,
            ref_celsius=self.set_up.reference.celsius,
            ref_kpa_abs=self.set_up.reference.kpa_abs,
            law=self._law(),
            conductance_dm3_s_bar=hole[0] if hole else None,
            orifice_mm=hole[1] if hole else None,
            cd=self.set_up.cd,
            lines=tuple(lines) if said.is_told else (),
            u_noise_ml_min=next((one.u_ml_min for one in lines if one.term == "noise"), 0.0),
            k_tau=said.k_tau,
            is_capped=said.is_capped,
            gauge=gauge_text(self.gauge),
            gauge_is_assumed=self.set_up.gauge is None,
            reasons=reasons_for(said),
            advice=advice_for(said),
        )

    def _leak(self, value: Array, is_orifice: bool) -> float:  # noqa: FBT001  one signature for every quantity
        """Leak at the asked pressure [ml/min at the reference]."""
        return self._ml_min(self.at_abs * loss_at(value, self.at_abs, is_orifice=is_orifice))

    def _mean(self, value: Array, is_orifice: bool) -> float:  # noqa: FBT001  one signature for every quantity
        """Gas lost over the record, for each minute."""
        return self._ml_min(lost_kpa(value, self.record, is_orifice=is_orifice) / self.record.length_s)

    def _ml_min(self, kpa_s: float) -> float:
        amount = kpa_s * self.vessel.volume_ml * 60.0
        return float(volume_at(amount, celsius=self.record.celsius, reference=self.set_up.reference))

    def _mixed(self, quantity: Quantity) -> float:
        return float(sum(w * quantity(one.value, one.is_orifice) for one, w in self._weighted()))

    def _weighted(self) -> list[tuple[Fit, float]]:
        return list(zip(self.laws.fits, (float(w) for w in self.laws.weight), strict=True))

    def _lines(self, quantity: Quantity) -> list[LeakLine]:
        """The budget of a quantity: noise, what was known beforehand, the law, then what only scales."""
        noise, by_prior = 0.0, np.zeros(COUNT)
        values = []
        for fit, w in self._weighted():
            own, priors = shares(fit, self.priors, _slope(quantity, fit))
            noise, by_prior = noise + w * own, by_prior + w * priors
            values.append(quantity(fit.value, fit.is_orifice))
        value = self._mixed(quantity)
        apart = abs(values[0] - values[1]) * float(self.laws.weight[0] * self.laws.weight[1]) ** 0.5
        lines = [line("noise", noise**0.5), line(_LAW, apart)]
        lines += [line(term, by_prior[at] ** 0.5) for at, term in _OWN_TERMS.items()]
        kelvin = self.record.celsius + KELVIN
        lines.append(line("volume", 0.01 * self.vessel.volume_pct * value))
        lines.append(line("gauge", 0.01 * self.gauge.percent / SQRT3 * value, is_rectangular=True))
        lines.append(line("gas temperature", self.set_up.u_celsius / kelvin * value, is_rectangular=True))
        if self.vessel.blank_ml_min is not None:
            same = [one for one in lines if one.term in ("noise", _OWN_TERMS[DRIFT])]
            lines.append(line("blank test", together(same)))
        return worth_telling(lines)

    def _said(self, lines: list[LeakLine], leak: Sized, unchecked: str) -> Said:
        record, ambient = self.record, self.set_up.ambient
        k_tau = float(
            sum(
                w * abs(loss_at(one.value, self.high, is_orifice=one.is_orifice)) * math.exp(one.value[LOG_TAU])
                for one, w in self._weighted()
            )
        )
        is_seen = told_at(
            self.at_abs - ambient, lowest_kpa_abs=self.low, highest_kpa_abs=self.high, ambient_kpa_abs=ambient
        )
        fall = 1.0 - self.low / self.high
        is_short = record.length_s < _LONG_S and fall < _FALL
        return Said(
            k_tau=k_tau,
            is_seen=is_seen,
            is_too_fast=k_tau > K_TAU_REFUSED,
            is_fast=k_tau > K_TAU_CAPPED,
            is_short=is_short,
            is_law_open=_law_share(lines) > _LAW_MATTERS,
            is_misfit=self._is_misfit(),
            at_kpa_gauge=self.at_abs - ambient,
            from_kpa_gauge=self.high - ambient,
            to_kpa_gauge=self.low - ambient,
            length_s=record.length_s,
            fall=fall,
            leak=leak,
            u_drift=next((one.u_ml_min for one in lines if one.term == _OWN_TERMS[DRIFT]), 0.0),
            widest=max(lines, key=lambda one: one.u_ml_min).term if lines else "",
            volume_ml=self.vessel.volume_ml,
            needed_ml=self._needed_ml(),
            limit_ml_min=self.set_up.limit_ml_min,
            has_blank=self.vessel.blank_ml_min is not None,
            has_celsius=record.has_celsius,
            held_s=self.vessel.held_s,
            n=record.n,
            unchecked=unchecked,
        )

    def _needed_ml(self) -> float | None:
        """The smallest vessel in which a leak at the limit falls slowly enough to be followed."""
        limit, reference = self.set_up.limit_ml_min, self.set_up.reference
        if limit is None:
            return None
        return needed_ml(limit, kpa_abs=self.high, celsius=self.record.celsius, reference=reference)

    def _is_misfit(self) -> bool:
        """Whether the readings stay far from both laws: something was touched, or the supply was still open."""
        off = float((self.best.square / self.record.weight.sum()) ** 0.5)
        return off > 3.0 * self.record.counts_kpa and off > _MISFIT * abs(self.high - self.low)

    def _law(self) -> LeakLaw:
        if float(self.laws.weight.max()) < _SURE:
            return LeakLaw.CANT_TELL
        return LeakLaw.ORIFICE if self.best.is_orifice else LeakLaw.GAP

    def _hole(self, leak: Sized) -> tuple[Sized, Sized] | None:
        hole = hole_of(
            leak,
            from_kpa_abs=self.at_abs,
            to_kpa_abs=self.set_up.ambient,
            celsius=self.record.celsius,
            reference=self.set_up.reference,
            cd=self.set_up.cd,
        )
        return (hole.conductance, hole.orifice_mm) if hole is not None else None


def _slope(quantity: Quantity, fit: Fit) -> Array:
    """Derivatives of a quantity after every parameter (7,)."""
    slope = np.zeros(COUNT)
    steps = {START: 1e-5, LEFTOVER: 1e-5, LOG_TAU: 1e-3, RATIO: 1e-4, AMBIENT: 1e-3}
    for at, step in {RATE: 1e-4 * abs(fit.value[RATE]) + 1e-8, **steps}.items():
        up, down = fit.value.copy(), fit.value.copy()
        up[at] += step
        down[at] -= step
        slope[at] = (quantity(up, fit.is_orifice) - quantity(down, fit.is_orifice)) / (2.0 * step)
    return slope
