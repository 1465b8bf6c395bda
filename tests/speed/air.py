"""A decay of 100,000 pressures followed by both laws, against one plain straight line through their logarithm."""

from __future__ import annotations

import numpy as np

from tests.data.air_truth import AMBIENT, emptied
from tests.speed.measure import Row, interleaved, row, timed
from valvebench.diagnose.leak_decay import Vessel, decay_leak
from valvebench.diagnose.leak_record import FallingRun
from valvebench.diagnose.leak_setup import AirSetUp

COUNT, LENGTH_S = 100_000, 60.0


def log_of(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Times [s] and pressures above ambient [kPa], the same at every run."""
    coarse_s, coarse_kpa = emptied(100.0, volume_ml=50.0, kpa_gauge=300.0, t_s=LENGTH_S, hz=10.0)
    t_s = np.linspace(0.0, LENGTH_S, count)
    return t_s, np.interp(t_s, coarse_s, coarse_kpa) + 0.3 * np.random.default_rng(20).normal(size=count)


def rows() -> list[Row]:
    t_s, kpa = log_of(COUNT)
    set_up = AirSetUp(celsius=20.0, ambient_kpa_abs=AMBIENT)
    run = FallingRun(t_s, kpa, is_gauge=True)
    pairs = interleaved(
        timed(lambda: decay_leak(run, vessel=Vessel(50.0, held_s=15.0), set_up=set_up)),
        timed(lambda: np.polyfit(t_s, np.log(kpa + AMBIENT), 1)),
    )
    return [
        row("leak of 100,000 pressures / numpy.polyfit of their logarithm", pairs, figure=figure, limit=limit)
        for figure, limit in (("wall", 4.0), ("cpu", None))
    ]
