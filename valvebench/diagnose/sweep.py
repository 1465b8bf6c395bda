"""What a sweep of current up and down says of a solenoid: loop, straightness, dead band."""

from __future__ import annotations

import zlib
from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.leak_setup import shown_step
from valvebench.diagnose.sweep_fit import Joint, fit_joint
from valvebench.model.errors import bad
from valvebench.model.format import decimals_for
from valvebench.model.heat import Sized
from valvebench.model.leak import Hysteresis, Linearity, SweepFound
from valvebench.physics.sweep import off_best_line, off_terminal_line, width_in_current
from valvebench.physics.uncertainty import SQRT12

Array = NDArray[np.float64]

FEWEST: Final = 5
_GOOD: Final = 15
_DRAWS: Final = 400
_SEED: Final = zlib.crc32(b"sweep draws")
_LOW, _HIGH = 0.1, 0.9
_LEVELS: Final = 161
_FLAT: Final = 0.02
_LINE_FROM, _LINE_TO = 0.05, 0.35
_LINE_POINTS: Final = 3
_HARDLY: Final = 0.35
_K: Final = 2.0
_FAR_APART: Final = 0.5


class _Dead(NamedTuple):
    """Current at which a sweep leaves rest, the lowest pressure [kPa], whether only by a threshold, why there is none.

    Where it begins at rest the lowest pressure is the mean of its readings: a smooth curve dips below it at the knee.
    """

    ampere: Sized | None
    lowest_kpa: float
    is_threshold: bool = False
    why: str = ""


class _Sweep(NamedTuple):
    """Samples (n,), turned so that pressure grows with the current."""

    ampere: Array
    kpa: Array
    is_up: Array
    is_falling: bool


def find_sweep(
    ampere: Array, kpa: Array, is_up: Array, *, rated_ampere: float | None = None, unit_kpa: float = 1.0
) -> SweepFound:
    """What both branches say together.

    Parameters
    ----------
    ampere, kpa, is_up : (n,)
        Current [A], pressure [kPa], and whether the current was rising.
    rated_ampere : what hysteresis in current is a percentage of; the largest current where it is not stated

    Returns
    -------
    SweepFound
        Percentages with standard uncertainties; `resolved` only above twice these.

    Raises
    ------
    BadInput : with too few points, one branch, or no pressure that moves

    Source
    ------
    Hysteresis and linearity as in ISO 10770 (definitions from memory); dead band by a line through
    5 to 35 % of the span, extrapolated to rest: common practice, no source.
    """
    _refuse(ampere, kpa, is_up, rated_ampere)
    slope = np.polyfit(ampere, kpa, 1)[0]
    sweep = _Sweep(ampere, kpa if slope >= 0 else -kpa, is_up, slope < 0)
    step = shown_step(np.asarray(kpa, float), unit_kpa) or 0.0
    joint = _fit(sweep, step)
    if (span := float(np.ptp(joint.curve))) < 4.0 * joint.noise_kpa:
        raise bad("pressure", f"a span of {span:.3g} kPa within its own scatter", "a pressure that follows the current")
    rated = rated_ampere if rated_ampere is not None else float(np.abs(ampere).max())
    dead = _dead_band(sweep, joint)
    lowest, span = dead.lowest_kpa, float(joint.curve.max()) - dead.lowest_kpa
    if dead.ampere is not None:
        sweep, joint = _beyond_knee(sweep, joint, lowest + _LINE_FROM * span, step)
    of_span = _loop_in_pressure(sweep, joint, lowest, span)
    of_current = _loop_in_current(joint, lowest, span, rated)
    start = _line_start(sweep, joint, lowest + _LINE_FROM * span)
    straight = _linearity(joint, span, start)
    return SweepFound(
        n=ampere.size,
        hysteresis_pct_span=of_span,
        hysteresis_pct_current=of_current,
        linearity_pct=straight,
        linearity_from_ampere=start if straight else None,
        linearity_to_ampere=float(ampere.max()) if straight else None,
        dead_band_ampere=dead.ampere,
        dead_band_is_threshold=dead.is_threshold,
        span_kpa=span,
        rated_ampere=rated,
        rated_is_assumed=rated_ampere is None,
        noise_kpa=joint.noise_kpa,
        reasons=_reasons(sweep, joint, of_span, rated_ampere, dead.why),
        advice=_advice(sweep, of_span, joint),
    )


class SweepCurve(NamedTuple):
    """The joint curve with its loop (g,) where it is told: currents [A], middle, rising and falling branch [kPa]."""

    ampere: tuple[float, ...]
    kpa: tuple[float, ...]
    rising_kpa: tuple[float, ...]
    falling_kpa: tuple[float, ...]


def sweep_curve(ampere: Array, kpa: Array, is_up: Array, *, unit_kpa: float = 1.0) -> SweepCurve:
    """The curve that `find_sweep` tells the loop of, to be drawn over the readings.

    Parameters
    ----------
    ampere, kpa, is_up : (n,)
        Samples that `find_sweep` took: current [A], pressure [kPa], whether the current was rising.
    """
    sign = 1.0 if np.polyfit(ampere, kpa, 1)[0] >= 0 else -1.0
    sweep = _Sweep(ampere, sign * kpa, is_up, sign < 0)
    step = shown_step(np.asarray(kpa, float), unit_kpa) or 0.0
    joint = _fit(sweep, step)
    dead = _dead_band(sweep, joint)
    if dead.ampere is not None:
        span = float(joint.curve.max()) - dead.lowest_kpa
        _, joint = _beyond_knee(sweep, joint, dead.lowest_kpa + _LINE_FROM * span, step)
    middle, half = sign * joint.curve, 0.5 * sign * joint.loop
    told = (joint.ampere, middle, middle - half, middle + half)
    return SweepCurve(*(tuple(float(one) for one in values) for values in told))


def _fit(sweep: _Sweep, step_kpa: float) -> Joint:
    return fit_joint(sweep.ampere, sweep.kpa, sweep.is_up, floor_kpa=step_kpa / SQRT12, draws=_DRAWS, seed=_SEED)


def _beyond_knee(sweep: _Sweep, joint: Joint, level_kpa: float, step_kpa: float) -> tuple[_Sweep, Joint]:
    """The part of a sweep where both branches have left rest, fitted anew: no smooth curve follows the knee.

    What a curve leaves of the knee would be taken for a loop where the points of the branches differ.
    """
    lower = joint.curve - 0.5 * np.abs(joint.loop)
    inside = sweep.ampere >= joint.ampere[int(np.argmax(lower > level_kpa))]
    counts = [np.unique(sweep.ampere[inside & ((sweep.is_up > 0.5) == up)]).size for up in (True, False)]
    if min(counts) < FEWEST:
        return sweep, joint
    above = _Sweep(sweep.ampere[inside], sweep.kpa[inside], sweep.is_up[inside], sweep.is_falling)
    return above, _fit(above, step_kpa)


def _refuse(ampere: Array, kpa: Array, is_up: Array, rated_ampere: float | None) -> None:
    for name, values in (("ampere", ampere), ("pressure", kpa)):
        if not np.all(np.isfinite(values)):
            raise bad(name, f"no number in sample {int(np.argmin(np.isfinite(values))) + 1}", "a number in each")
    if rated_ampere is not None and not rated_ampere > 0:
        raise bad("--rated-ampere", f"{rated_ampere:g}", "more than 0")
    ranges = []
    for name, own in (("up", ampere[is_up > 0.5]), ("down", ampere[is_up <= 0.5])):
        if np.unique(own).size < FEWEST:
            found = f"{np.unique(own).size} different currents on the branch {name}"
            raise bad("branch", found, f"at least {FEWEST} on each", "Sweep up and down through the same currents.")
        ranges.append((float(own.min()), float(own.max())))
    common = min(ranges[0][1], ranges[1][1]) - max(ranges[0][0], ranges[1][0])
    if common < _FAR_APART * float(np.ptp(ampere)):
        found = f"{ranges[0][0]:g} to {ranges[0][1]:g} A up, {ranges[1][0]:g} to {ranges[1][1]:g} A down"
        raise bad("branch", found, "both branches over the same currents")
    if float(np.ptp(kpa)) == 0:
        raise bad("pressure", f"{kpa[0]:g} kPa in every sample", "a pressure that follows the current")


def _widest(fit: Array, drawn: Array, joint: Joint) -> Sized:
    """The largest width (g,) on the side of the mean; what reaches to the other side is no loop, and is doubt."""
    side = 1.0 if float(fit.mean()) >= 0 else -1.0
    one = _unbiased(float((side * fit).max()), (side * drawn).max(axis=1), joint)
    return Sized(value=one.value, u=float(np.hypot(one.u, max(0.0, -float((side * fit).min())))))


def _unbiased(fit: float, drawn: Array, joint: Joint) -> Sized:
    """A largest value grows with noise: what draws about the fit add to it is taken off again."""
    grown = joint.seen_share * (float(drawn.mean()) - fit)
    return Sized(value=max(0.0, fit - grown), u=float(drawn.std()))


def _loop_in_pressure(sweep: _Sweep, joint: Joint, lowest: float, span: float) -> Hysteresis:
    """At equal current, over 10 to 90 % of the span and the currents that both branches went through.

    Nearer to the knee and to the ends uneven points look like a loop.
    """
    up, down = sweep.ampere[sweep.is_up > 0.5], sweep.ampere[sweep.is_up <= 0.5]
    both = (joint.ampere >= max(up.min(), down.min())) & (joint.ampere <= min(up.max(), down.max()))
    rise = (joint.curve - lowest) / span
    middle = both & (rise >= _LOW) & (rise <= _HIGH)
    scale = 100.0 / span
    widest = _widest(scale * joint.loop[middle], scale * joint.loops[:, middle], joint)
    means = scale * joint.loops[:, middle].mean(axis=1)
    mean = Sized(value=abs(scale * float(joint.loop[middle].mean())), u=float(means.std()))
    return _hysteresis(widest, mean)


def _loop_in_current(joint: Joint, lowest: float, span: float, rated: float) -> Hysteresis | None:
    """At equal pressure, over 10 to 90 % of the span."""
    levels = lowest + span * np.linspace(_LOW, _HIGH, _LEVELS)
    seen = _seen(joint, levels)
    if not seen.any():
        return None

    def widths(curve: Array, loop: Array) -> Array:
        apart = width_in_current(joint.ampere, curve - 0.5 * loop, curve + 0.5 * loop, levels)
        return np.asarray(100.0 / rated * apart, float)

    fit = widths(joint.curve, joint.loop)
    drawn = np.array([widths(curve, loop) for curve, loop in zip(joint.curves, joint.loops, strict=True)])
    widest = _widest(fit[seen], drawn[:, seen], joint)
    means = drawn[:, seen].mean(axis=1)
    mean = Sized(value=abs(float(fit[seen].mean())), u=float(means.std()))
    return _hysteresis(widest, mean)


def _seen(joint: Joint, levels: Array) -> NDArray[np.bool_]:
    """Pressures that both branches reach."""
    rising, falling = joint.curve - 0.5 * joint.loop, joint.curve + 0.5 * joint.loop
    low = max(float(rising.min()), float(falling.min()))
    high = min(float(rising.max()), float(falling.max()))
    return np.asarray((levels >= low) & (levels <= high), bool)


def _hysteresis(widest: Sized, mean: Sized) -> Hysteresis:
    """Where the mean does not show a loop, no single place does: the largest is as unsure as it is large."""
    is_resolved = mean.value > _K * mean.u
    if not is_resolved:
        widest = Sized(value=widest.value, u=max(widest.u, widest.value / _K))
    return Hysteresis(max=widest, mean_10_90=mean, resolved=is_resolved)


def _line_start(sweep: _Sweep, joint: Joint, level_kpa: float) -> float:
    """The first reading beyond 5 % of the span [A]: in the dead band the knee would be the result."""
    passed = float(joint.ampere[int(np.argmax(joint.curve > level_kpa))])
    beyond = sweep.ampere[sweep.ampere >= passed]
    return float(beyond.min()) if beyond.size else passed


def _linearity(joint: Joint, span: float, start: float) -> Linearity | None:
    """From beyond the knee on: else the knee would be the result."""
    inside = joint.ampere >= start
    if inside.sum() < joint.ampere.size // 2:
        return None
    ampere, scale = joint.ampere[inside], 100.0 / span
    of: dict[str, Callable[[Array, Array], Array]] = {"minimax": off_best_line, "terminal": off_terminal_line}
    sizes = {
        name: _unbiased(
            scale * float(off(ampere, joint.curve[None, inside])[0]),
            scale * off(ampere, joint.curves[:, inside]),
            joint,
        )
        for name, off in of.items()
    }
    return Linearity(minimax=sizes["minimax"], terminal=sizes["terminal"])


def _dead_band(sweep: _Sweep, joint: Joint) -> _Dead:
    """Where the rising branch leaves rest."""
    span = float(np.ptp(joint.curve))
    order = np.argsort(sweep.ampere[sweep.is_up > 0.5], kind="stable")
    ampere, kpa = (one[sweep.is_up > 0.5][order] for one in (sweep.ampere, sweep.kpa))
    # where the smooth curve has left rest: a single reading leaves it by its noise
    rising = joint.curve - 0.5 * joint.loop
    left_rest = joint.ampere[int(np.argmax(rising > rising.min() + _FLAT * span))]
    flat = kpa[ampere < left_rest]
    if flat.size < 1 or (flat.size < 2 and not _begins_at_rest(ampere, kpa, span)):
        why = "The sweep does not begin at rest: no dead band is told."
        return _Dead(None, float(joint.curve.min()), why=why)
    rest, u_rest = float(flat.mean()), joint.noise_kpa / flat.size**0.5
    rise = (kpa - rest) / span
    on_line = (rise >= _LINE_FROM) & (rise <= _LINE_TO)
    if np.unique(ampere[on_line]).size >= _LINE_POINTS:
        return _Dead(_by_line(ampere[on_line], kpa[on_line], rest, (joint.noise_kpa, u_rest)), rest)
    threshold = _by_threshold(ampere, rise, joint.noise_kpa / span)
    return _Dead(threshold, rest, is_threshold=True, why="Dead band by a threshold of 2 % of the span.")


def _begins_at_rest(ampere: Array, kpa: Array, span: float) -> bool:
    """Whether the first step of current moves the pressure far less than an even step of the sweep would."""
    step = float(ampere[1] - ampere[0])
    return float(kpa[1] - kpa[0]) < _HARDLY * span * step / float(np.ptp(ampere))


def _by_line(ampere: Array, kpa: Array, rest: float, noise_kpa: tuple[float, float]) -> Sized:
    middle = float(ampere.mean())
    x = ampere - middle
    slope = float(x @ kpa / (x @ x))
    level = float(kpa.mean())
    away = (rest - level) / slope
    left = kpa - level - slope * x
    own = max(noise_kpa[0], float((left @ left / max(kpa.size - 2, 1)) ** 0.5))
    variance = own**2 * (1.0 / kpa.size + away**2 / float(x @ x)) + noise_kpa[1] ** 2
    return Sized(value=middle + away, u=variance**0.5 / abs(slope))


def _by_threshold(ampere: Array, rise: Array, noise: float) -> Sized:
    at = int(np.argmax(rise > _FLAT))
    before, after = max(at - 1, 0), at
    steep = (rise[after] - rise[before]) / max(float(ampere[after] - ampere[before]), 1e-12)
    value = float(ampere[before] + (_FLAT - rise[before]) / steep) if steep > 0 else float(ampere[after])
    u = float(np.hypot((ampere[after] - ampere[before]) / SQRT12, noise / max(steep, 1e-12)))
    return Sized(value=value, u=u)


def _reasons(sweep: _Sweep, joint: Joint, of_span: Hysteresis, rated_ampere: float | None, why: str) -> tuple[str, ...]:
    mean = of_span.mean_10_90
    places = decimals_for(_K * mean.u)
    told = f"{mean.value:.{places}f} \u00b1 {_K * mean.u:.{places}f} %"
    reasons = [
        f"Hysteresis {told} of the span, mean over 10 to 90 %."
        if of_span.resolved
        else f"Hysteresis not resolved: {told} of the span, mean over 10 to 90 %."
    ]
    if sweep.is_falling:
        reasons.append("The pressure falls as the current rises: its loop and line are told turned over.")
    if of_span.resolved and float(joint.loop.mean()) < 0:
        reasons.append("The rising branch lies above the falling one: are the branches exchanged?")
    if rated_ampere is None:
        reasons.append("Rated current not stated: percentages of current are of the largest that was set.")
    return (*reasons, *([why] if why else []))


def _advice(sweep: _Sweep, of_span: Hysteresis, joint: Joint) -> tuple[str, ...]:
    advice = []
    fewest = min(int((sweep.is_up > 0.5).sum()), int((sweep.is_up <= 0.5).sum()))
    if fewest < _GOOD:
        advice.append("Take 15 points or more on each branch: with fewer the doubt is wide.")
    if not of_span.resolved and joint.noise_kpa > 0:
        advice.append("Set the same currents up and down, each approached from one side, without turning back.")
    return tuple(advice)
