"""A heat run against copper: what kind it is, how large, and what happened on the way."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_data import Blocks, HeatRun, HeatSetUp, Samples, assumed_meter, in_blocks, usable
from valvebench.diagnose.heat_events import Step, is_step, likely_step, openings, wild_samples
from valvebench.diagnose.heat_fit import LAG, STEPS, Found, Problem, fit_series
from valvebench.diagnose.heat_part import Doubts, Part, numbers_of
from valvebench.diagnose.heat_settled import tell_settled
from valvebench.diagnose.heat_tell import tell
from valvebench.diagnose.heat_words import advice_for, reasons_for
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, Sized

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

_MOST_STEPS: Final = 8
_LOOK: Final = 3
"""Samples to each side that say whether it was heating."""
_ROUNDS: Final = 2


class Cleaned(NamedTuple):
    """A run with its wild samples left out and its steps known, ready to be fitted."""

    samples: Samples
    is_used: Flags
    steps: tuple[Step, ...]
    blocks: Blocks

    @property
    def left_out(self) -> int:
        """How many wild samples."""
        return int(self.samples.is_value.sum() - self.is_used.sum())


def analyse(run: HeatRun, set_up: HeatSetUp | None = None) -> HeatFound:
    """Compare the run of one device with copper.

    Parameters
    ----------
    run : samples, probe [degC], resistance [ohm], times [s] or None for rounds at settled temperatures
    set_up : conductor constant [degC], meter, half-width of the probe [K], whether it started soaked

    Returns
    -------
    HeatFound
        Kind and sizes with standard uncertainties: statistics from the full Jacobian, inflated
        for residuals with a memory; meter gain, counts and probe offset added as common terms.

    Raises
    ------
    BadInput : with one plain message where nothing can be said.

    Source
    ------
    Conductor law: IEC 60034-1, 8.6.2.  Uncertainty: JCGM 100:2008, 5.2.  The order of the
    questions asked is ours: common practice, no source.
    """
    given = set_up or HeatSetUp()
    samples = usable(run)
    meter = given.meter or assumed_meter(samples.step_ohm)
    doubts = Doubts(meter, given.celsius_half_width, given.k_celsius)
    cleaned, part = _cleaned_and_told(samples, given, doubts)
    numbers = numbers_of(part, doubts, cleaned.blocks)
    best = part.growth.found if part.growth is not None else part.found
    return HeatFound(
        n=int(samples.t_s.size),
        kind=part.kind,
        **numbers,
        lag_s=_lag(part, samples),
        residual_ohm=_residual_sd(cleaned, best),
        separable=part.kind is not HeatKind.NOT_SEPARABLE,
        left_out=cleaned.left_out,
        meter=meter.text(),
        meter_is_assumed=given.meter is None,
        k_celsius=given.k_celsius,
        events=_events(cleaned, best),
        reasons=reasons_for(part, numbers, cleaned.left_out),
        advice=advice_for(part, is_meter_known=given.meter is not None),
    )


def _problem(cleaned: Cleaned, set_up: HeatSetUp) -> Problem:
    return Problem(
        cleaned.blocks,
        set_up.k_celsius,
        has_lag=not cleaned.samples.is_settled,
        knows_start=set_up.is_soaked or cleaned.samples.is_settled,
        steps=_step_columns(cleaned),
        offset_weight=0.0,
    )


def _step_columns(cleaned: Cleaned) -> Array:
    """For each step which part of each block lies after it, (m, s)."""
    first, count = cleaned.blocks.first, cleaned.samples.t_s.size
    size = np.diff(np.append(first, count))
    columns = [np.clip((first + size - step.sample) / size, 0.0, 1.0) for step in cleaned.steps]
    return np.column_stack(columns) if columns else np.zeros((first.size, 0))


def _cleaned_and_told(samples: Samples, set_up: HeatSetUp, doubts: Doubts) -> tuple[Cleaned, Part]:
    cleaned = Cleaned(samples, samples.is_value, (), in_blocks(samples, samples.is_value))
    if samples.is_settled:
        weight, part = tell_settled(_problem(cleaned, set_up), doubts, samples.step_ohm)
        return cleaned._replace(is_used=weight > 0, blocks=cleaned.blocks._replace(weight=weight)), part
    cleaned, series = _cleaned(cleaned, set_up)
    return cleaned, tell(_problem(cleaned, set_up), series, doubts)


def _cleaned(cleaned: Cleaned, set_up: HeatSetUp) -> tuple[Cleaned, Found]:
    """Leave out wild samples, then take in steps one by one, clearest first."""
    samples, series = cleaned.samples, fit_series(_problem(cleaned, set_up))
    at = np.flatnonzero(samples.is_value)
    for _ in range(_ROUNDS):  # asked anew each time: one far reading bends the first fit, and others seem far
        is_used = samples.is_value.copy()
        is_used[at[wild_samples(_raw_residual(cleaned, series)[at], samples.step_ohm)]] = False
        if np.array_equal(is_used, cleaned.is_used):
            break
        cleaned = cleaned._replace(is_used=is_used, blocks=in_blocks(samples, is_used))
        series = fit_series(_problem(cleaned, set_up))
    return _with_steps(cleaned, series, set_up)


def _with_steps(cleaned: Cleaned, series: Found, set_up: HeatSetUp) -> tuple[Cleaned, Found]:
    at, step_ohm = np.flatnonzero(cleaned.is_used), cleaned.samples.step_ohm
    for _ in range(_MOST_STEPS):
        likely = likely_step(_raw_residual(cleaned, series)[at], step_ohm)
        if likely is None:
            break
        more = cleaned._replace(steps=(*cleaned.steps, Step(int(at[likely.sample]), likely.ohm)))
        found = fit_series(_problem(more, set_up))
        fitted = likely._replace(ohm=float(found.value[-1]))
        if not is_step(_raw_residual(more, found)[at], fitted, step_ohm):
            break
        cleaned, series = more, found
    return cleaned, series


def _raw_residual(cleaned: Cleaned, found: Found) -> Array:
    """Residuals of every sample [ohm], (n,), from the fit to the blocks."""
    samples, blocks = cleaned.samples, cleaned.blocks
    if blocks.t_s.size == samples.t_s.size:
        return found.residual
    after = np.zeros(samples.t_s.size)
    for step, height in _heights(cleaned, found):
        after[step.sample :] += height
    in_block = _step_columns(cleaned) @ found.value[STEPS:]
    smooth = np.interp(samples.t_s, blocks.t_s, blocks.ohm - found.residual - in_block)
    residual: Array = samples.ohm - smooth - after
    return residual


def _heights(cleaned: Cleaned, found: Found) -> list[tuple[Step, float]]:
    return [(step, float(ohm)) for step, ohm in zip(cleaned.steps, found.value[STEPS:], strict=True)]


def _lag(part: Part, samples: Samples) -> Sized | None:
    if samples.is_settled or part.kind is HeatKind.NOT_SEPARABLE:
        return None
    found = part.growth.found if part.growth is not None else part.found
    return Sized(value=float(found.value[LAG]), u=float(found.u[LAG]))


def _residual_sd(cleaned: Cleaned, found: Found) -> float:
    """Standard deviation of single samples about the fit [ohm]."""
    blocks, samples = cleaned.blocks, cleaned.samples
    if blocks.t_s.size == samples.t_s.size:
        used = found.residual[blocks.weight > 0]
        return float(np.sqrt(used @ used / max(1, used.size - found.value.size)))
    return float(np.std(_raw_residual(cleaned, found)[cleaned.is_used]))


def _events(cleaned: Cleaned, found: Found) -> tuple[HeatEvent, ...]:
    samples = cleaned.samples
    coil = np.interp(samples.t_s, cleaned.blocks.t_s, found.coil_celsius)
    opened = [(first, None) for first, _ in openings(samples)]
    stepped = [(step.sample, ohm) for step, ohm in _heights(cleaned, found)]
    return tuple(_event(samples, coil, at, size) for at, size in sorted([*opened, *stepped], key=lambda e: e[0]))


def _event(samples: Samples, coil: Array, at: int, size_ohm: float | None) -> HeatEvent:
    before, after = max(0, at - _LOOK), min(coil.size - 1, at + _LOOK)
    return HeatEvent(
        kind="open" if size_ohm is None else "step",
        t_s=None if samples.is_settled else float(samples.t_s[at]),
        probe_celsius=float(samples.celsius[at]),
        coil_celsius=float(coil[at]),
        heating=bool(coil[after] > coil[before]),
        size_ohm=size_ohm,
    )
