"""A heat run of a million samples: the fit with its lag against one straight line by `numpy.polyfit`."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.speed.measure import Row, interleaved, row, timed
from valvebench.diagnose.heat_data import HeatRun, HeatSetUp
from valvebench.diagnose.heat_run import analyse
from valvebench.model.meter import Meter
from valvebench.physics.lag import lag_response

COUNT, PAIRS = 1_000_000, 5
SERIES_OHM, LAG_S = 0.3, 60.0
SET_UP = HeatSetUp(meter=Meter(percent=0.2, counts=2, step=0.001), celsius_half_width=0.5)


def made(count: int, *, is_even: bool) -> HeatRun:
    """One hour up and down, 5.2 ohm of copper with a series part; data that is made up, the same at every run."""
    dice = np.random.default_rng(20)
    gaps = np.ones(count - 1) if is_even else dice.uniform(0.2, 1.8, count - 1)
    t_s = np.concatenate(([0.0], np.cumsum(gaps))) * (3600.0 / gaps.sum())
    probe = np.interp(t_s, [0.0, 2000.0, 3600.0], [22.0, 110.0, 50.0])
    coil = lag_response(t_s, probe, tau_s=LAG_S)
    ohm = 5.2 * (234.5 + coil) / 254.5 + SERIES_OHM + dice.normal(size=count) * 0.01
    return HeatRun(probe, ohm, t_s)


def ours(run: HeatRun) -> Any:
    """Everything that is found: kind, sizes with their doubts, lag, wild samples and events."""
    return analyse(run, SET_UP)


def rival(run: HeatRun) -> Any:
    """A line through resistance over temperature, without lag, doubt or events."""
    return np.polyfit(run.probe_celsius, run.ohm, 1)


def rows() -> list[Row]:
    found = []
    for name, is_even, limit in (("even", True, 6.0), ("uneven", False, 12.0)):
        run = made(COUNT, is_even=is_even)
        pairs = interleaved(timed(lambda run=run: ours(run)), timed(lambda run=run: rival(run)), pairs=PAIRS)  # type: ignore[misc]
        series = ours(run).series_ohm
        note = f"series {series.value:.4f} of {SERIES_OHM} ohm" if series is not None else "no series part found"
        label = f"heat run of 1,000,000, {name} times / polyfit"
        found += [
            row(label, pairs, figure="wall", limit=limit, note=note),
            row(label, pairs, figure="cpu", note="for information"),
        ]
    return found
