"""What an air test found, as it is kept and shown."""

from __future__ import annotations

from enum import Enum

from valvebench.model.heat import Kept, Sized


class LeakMethod(Enum):
    """How a leak was measured."""

    STEADY = "steady"
    VACUUM = "vacuum"
    DECAY = "decay"


class LeakLaw(Enum):
    """What kind of hole a leak behaves like."""

    ORIFICE = "orifice"
    GAP = "gap"
    CANT_TELL = "cannot_tell"


class LeakLine(Kept, kw_only=True):
    """One doubt of a leak: standard uncertainty, whether it has equal chance within its bounds, degrees of freedom."""

    term: str
    u_ml_min: float
    is_rectangular: bool = False
    dof: float | None = None


class LeakFound(Kept, kw_only=True):
    """Everything an air test says of one leak; None is "cannot be said", never nought.

    `lines` are the doubts of `leak_ml_min`; `u_noise_ml_min` is the part of them that more looks
    at the same run could have chosen from.  `is_capped`: nothing better than *Can't tell* may
    follow from it.
    """

    method: LeakMethod
    n: int
    leak_ml_min: Sized | None
    at_kpa_gauge: float
    mean_leak_ml_min: Sized | None = None
    from_kpa_gauge: float
    to_kpa_gauge: float
    ref_celsius: float
    ref_kpa_abs: float
    law: LeakLaw = LeakLaw.CANT_TELL
    conductance_dm3_s_bar: Sized | None = None
    orifice_mm: Sized | None = None
    cd: float = 1.0
    lines: tuple[LeakLine, ...] = ()
    u_noise_ml_min: float = 0.0
    k_tau: float | None = None
    is_capped: bool = False
    gauge: str
    gauge_is_assumed: bool = False
    reasons: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()


class Hysteresis(Kept, kw_only=True):
    """Loop of a sweep: its largest width and its mean over 10 to 90 % of the span, in percent."""

    max: Sized
    mean_10_90: Sized
    resolved: bool


class Linearity(Kept, kw_only=True):
    """Largest distance from a straight line, percent of the span: from the best line, and from the one between ends."""

    minimax: Sized
    terminal: Sized


class SweepFound(Kept, kw_only=True):
    """Everything a sweep of current says of one solenoid; None is "cannot be said"."""

    n: int
    hysteresis_pct_span: Hysteresis
    hysteresis_pct_current: Hysteresis | None
    linearity_pct: Linearity | None
    linearity_from_ampere: float | None = None
    linearity_to_ampere: float | None = None
    dead_band_ampere: Sized | None
    dead_band_is_threshold: bool = False
    span_kpa: float
    rated_ampere: float
    rated_is_assumed: bool = True
    noise_kpa: float
    reasons: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
