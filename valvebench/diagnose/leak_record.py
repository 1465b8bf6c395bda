"""A falling pressure as it was read: what cannot be used is refused, the rest gathered into blocks."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.leak_setup import AirSetUp, absolute, shown_step
from valvebench.model.errors import BadInput, bad
from valvebench.model.meter import Meter
from valvebench.physics.air import KELVIN
from valvebench.physics.uncertainty import SQRT3, SQRT12

Array = NDArray[np.float64]

MOST_BLOCKS: Final = 250
_FEW_TYPED: Final = 5
_GAP: Final = 5.0
_FEW_FOR_GAP: Final = 6
_LEAST_KPA: Final = 2.0
_RISE: Final = 0.1
_TYPED: Final = "Take at least a second reading, some time after the first."


class FallingRun(NamedTuple):
    """Times [s], pressures as shown [kPa], whether these are above ambient, temperature beside them [degC]."""

    t_s: Array
    kpa: Array
    is_gauge: bool
    celsius: Array | None = None
    unit_kpa: float = 1.0


class Record(NamedTuple):
    """A run that can be used, in blocks (m,): time from the start, absolute pressure, samples in each.

    `warmth` is the wall's temperature over that at the start; `floor_kpa` the least noise of one
    sample, `counts_kpa` what the gauge's last digits are good for.
    """

    t_s: Array
    kpa_abs: Array
    weight: Array
    warmth: Array
    n: int
    floor_kpa: float
    counts_kpa: float
    celsius: float
    has_celsius: bool

    @property
    def length_s(self) -> float:
        """From the first sample to the last."""
        return float(self.t_s[-1] - self.t_s[0])


def record_of(run: FallingRun, gauge: Meter, set_up: AirSetUp) -> Record:
    """The run in blocks (raises BadInput with a plain message where nothing can be said)."""
    t_s, kpa = np.asarray(run.t_s, float), np.asarray(run.kpa, float)
    kpa_abs = absolute(kpa, is_gauge=run.is_gauge, set_up=set_up)
    counts_kpa = max(gauge.counts, 0.5) * gauge.step
    _refuse_pressures(kpa_abs, counts_kpa, set_up)
    edges = np.unique(np.linspace(0, t_s.size, min(t_s.size, MOST_BLOCKS) + 1).astype(int))
    weight = np.diff(edges).astype(float)
    t_mean, p_mean = (np.add.reduceat(values, edges[:-1]) / weight for values in (t_s - t_s[0], kpa_abs))
    warmth, celsius = np.ones_like(t_mean), set_up.air_celsius
    if run.celsius is not None:
        felt = np.add.reduceat(np.asarray(run.celsius, float), edges[:-1]) / weight + KELVIN
        warmth, celsius = felt / felt[0], float(felt[0] - KELVIN)
    floor = _floor(kpa, gauge, run.unit_kpa)
    return Record(t_mean, p_mean, weight, warmth, t_s.size, floor, counts_kpa, celsius, run.celsius is not None)


def refuse_holes(run: FallingRun) -> None:
    """Refuse times that do not grow and samples without a number, before anything is computed (raises BadInput)."""
    _refuse_times(np.asarray(run.t_s, float))
    for name, values in (("pressure", run.kpa), ("celsius", run.celsius)):
        if values is not None and not np.all(np.isfinite(values)):
            raise bad(name, f"no number in sample {int(np.argmin(np.isfinite(values))) + 1}", "a number in each")


def _floor(kpa: Array, gauge: Meter, unit_kpa: float) -> float:
    """Least noise of a sample [kPa]: few readings by the gauge's counts, many by their step.

    A display that hardly moves gives its rounding again and again: as many samples count as the
    display changed, and the two ends.
    """
    if kpa.size < _FEW_TYPED:
        return gauge.counts * gauge.step / SQRT3 if gauge.counts > 0 else gauge.step / SQRT12
    step = shown_step(kpa, unit_kpa) or gauge.step
    seen = min(kpa.size, int(np.count_nonzero(np.diff(kpa))) + 2)
    return float(step / SQRT12 * (kpa.size / seen) ** 0.5)


def _refuse_times(t_s: Array) -> None:
    if t_s.size < 2:
        raise bad("file", f"{t_s.size} reading", "two readings or more", _TYPED)
    if not np.all(np.isfinite(t_s)):
        raise bad("t_s", f"no number in sample {int(np.argmin(np.isfinite(t_s))) + 1}", "a time in seconds")
    steps = np.diff(t_s)
    if float(steps.min()) < 0:
        at = int(np.argmax(steps < 0))
        raise bad(
            "t_s", f"{t_s[at + 1]:g} s after {t_s[at]:g} s (sample {at + 2})", "times that grow", "One run a file."
        )
    if float(steps.min()) == 0:
        at = int(np.argmax(steps == 0))
        raise bad("t_s", f"{t_s[at]:g} s twice (sample {at + 2})", "each time once", "Write fractions of a second.")
    if t_s.size >= _FEW_FOR_GAP and float(steps.max()) > _GAP * float(np.median(steps)):
        raise _gap(t_s, steps)


def _gap(t_s: Array, steps: Array) -> BadInput:
    at = int(np.argmax(steps))
    found = f"nothing between {t_s[at]:g} s and {t_s[at + 1]:g} s (sample {at + 2})"
    usual = f"a reading about every {np.median(steps):.3g} s, as in the rest"
    return bad("t_s", found, usual, "Cut the file to the part before the gap or after it.")


def _refuse_pressures(kpa_abs: Array, counts_kpa: float, set_up: AirSetUp) -> None:
    ambient = set_up.ambient
    slack = 2.0 * counts_kpa + (3.0 * set_up.u_ambient if set_up.zero_kpa is None else 0.0)
    if float(kpa_abs.min()) < ambient - slack:
        at = int(np.argmin(kpa_abs))
        found = f"{kpa_abs[at] - ambient:.4g} kPa against the air around (sample {at + 1})"
        raise bad("pressure", found, "pressure above ambient throughout", "Gauge named absolute, or a vacuum?")
    above = float(kpa_abs[0]) - ambient
    if above < max(_LEAST_KPA, 2.0 * counts_kpa):
        found = f"{above:.4g} kPa above ambient at the start"
        raise bad("pressure", found, f"at least {max(_LEAST_KPA, 2.0 * counts_kpa):g} kPa", "Was the vessel filled?")
    rise = float(kpa_abs[-1] - kpa_abs[0])
    if rise > max(_RISE * above, 4.0 * counts_kpa):
        raise rising(float(kpa_abs[0]) - ambient, float(kpa_abs[-1]) - ambient)


def rising(from_kpa: float, to_kpa: float) -> BadInput:
    """A pressure that grows is no decay."""
    found = f"a rise from {from_kpa:.4g} to {to_kpa:.4g} kPa above ambient"
    advice = "Is the supply still open, or the part being warmed?"
    return bad("pressure", found, "a pressure that falls or stays", advice)
