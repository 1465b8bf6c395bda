"""A pressure at a tap -> verdict."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from valvebench.judge import decide
from valvebench.model.air_tests import PressureTaken
from valvebench.model.format import celsius_text, plus_minus
from valvebench.model.meter import Meter, parse_meter
from valvebench.model.variant import Tap, TapWindow
from valvebench.model.words import VERDICT_TEXT, Lean, Rule, Verdict
from valvebench.physics.uncertainty import Doubt, Line, combine, rectangle

ASSUMED_GAUGE: Final = Meter(percent=1.0, counts=1.0, step=1.0)
"""A shop gauge, percent of reading and kilopascal: common practice, no source."""


class PressureJudgement(NamedTuple):
    """Verdict of one pressure, with its expanded uncertainty and the window it is held against [kPa]."""

    taken: PressureTaken
    window: TapWindow | None
    rule: Rule
    verdict: Verdict
    lean: Lean | None
    plain_verdict: Verdict | None
    gauge: str
    gauge_is_assumed: bool
    k_coverage: float
    U_kpa: float
    reasons: tuple[str, ...]


def same_state(a: str, b: str) -> bool:
    """Whether two texts name one state: capitals and blanks around do not matter."""
    return a.strip().casefold() == b.strip().casefold()


def gauge_of(taken: PressureTaken) -> Meter:
    """The gauge that was named, else a usual one."""
    return parse_meter(taken.gauge) if taken.gauge is not None else ASSUMED_GAUGE


def gain_kpa(taken: PressureTaken) -> float:
    """Half-width of the gauge's percent of reading [kPa]."""
    return 0.01 * gauge_of(taken).percent * abs(taken.kpa_gauge)


def counts_kpa(taken: PressureTaken) -> float:
    """Half-width of the gauge's counts [kPa]; half a step where it states none."""
    gauge = gauge_of(taken)
    return max(gauge.counts, 0.5) * gauge.step


def doubt_of(taken: PressureTaken) -> Line:
    """Percent of reading and counts of the gauge as one rectangle [kPa] (JCGM 100:2008, 4.3.7)."""
    return rectangle("gauge", gain_kpa(taken) + counts_kpa(taken))


def judge_pressure(tap: Tap | None, taken: PressureTaken, *, rule: Rule = Rule.PROVED) -> PressureJudgement:
    """Hold a pressure against the window of its state and temperature.

    Parameters
    ----------
    tap : with its windows; None where the variant has no such tap
    taken : pressure [kPa gauge], fluid temperature [degC] and state

    Returns
    -------
    PressureJudgement
        *No limit* where no window holds there; exactly on a limit is inside.

    Source
    ------
    JCGM 106:2012 for the comparison.
    """
    window = window_of(tap, taken)
    gauge, doubt = gauge_of(taken), combine([doubt_of(taken)])
    expanded = float(doubt.k95 * doubt.u)
    verdict, lean, plain = _verdict(window, taken, doubt, rule)
    return PressureJudgement(
        taken=taken,
        window=window,
        rule=rule,
        verdict=verdict,
        lean=lean,
        plain_verdict=plain,
        gauge=gauge.text(),
        gauge_is_assumed=taken.gauge is None,
        k_coverage=float(doubt.k95),
        U_kpa=expanded,
        reasons=(f"{VERDICT_TEXT[verdict]}: {_why(tap, window, taken, verdict, expanded)}",),
    )


def window_of(tap: Tap | None, taken: PressureTaken) -> TapWindow | None:
    """The window that holds at a state and a fluid temperature; a temperature on its edge is inside."""
    windows = tap.windows if tap is not None else ()
    return next((one for one in windows if same_state(one.state, taken.state) and _is_warm(one, taken)), None)


def _is_warm(window: TapWindow, taken: PressureTaken) -> bool:
    low = -math.inf if window.low_celsius is None else window.low_celsius
    high = math.inf if window.high_celsius is None else window.high_celsius
    return low <= taken.fluid_celsius <= high


def _verdict(
    window: TapWindow | None, taken: PressureTaken, doubt: Doubt, rule: Rule
) -> tuple[Verdict, Lean | None, Verdict | None]:
    if window is None or (window.low_kpa is None and window.high_kpa is None):
        return Verdict.NO_LIMIT, None, Verdict.NO_LIMIT
    low = -math.inf if window.low_kpa is None else window.low_kpa
    high = math.inf if window.high_kpa is None else window.high_kpa
    decision = decide.decide(taken.kpa_gauge, guard=decide.guard_width(doubt, rule), low=low, high=high)
    return decide.VERDICTS[decision.verdict], decide.LEANS[decision.lean], decide.VERDICTS[decision.plain]


def _why(tap: Tap | None, window: TapWindow | None, taken: PressureTaken, verdict: Verdict, expanded: float) -> str:
    told = f"{plus_minus(taken.kpa_gauge, expanded, unit='kPa')}, {taken.state}, {celsius_text(taken.fluid_celsius)}"
    if window is None:
        return f"{told}; {_no_window(tap, taken)}."
    limits = window_words(window)
    if not limits:
        return f"{told}; the window for this state has no limit."
    where = {Verdict.PASS: f"is inside {limits} with its doubt", Verdict.FAIL: f"is outside {limits} with its doubt"}
    return f"{told} {where.get(verdict, f'is too close to an end of {limits} to be proved either way')}."


def _no_window(tap: Tap | None, taken: PressureTaken) -> str:
    if tap is None:
        return "this variant has no such tap"
    if not tap.windows:
        return "nothing says what this tap should show"
    own = [one for one in tap.windows if same_state(one.state, taken.state)]
    if not own:
        states = ", ".join(dict.fromkeys(one.state for one in tap.windows))
        return f"windows are stated for {states} only"
    ranges = ", ".join(warmth_words(one) for one in own)
    return f"its window holds for fluid at {ranges} only"


def window_words(window: TapWindow) -> str:
    """`420 to 480 kPa`, one end alone, or nothing."""
    if window.low_kpa is not None and window.high_kpa is not None:
        return f"{window.low_kpa:g} to {window.high_kpa:g} kPa"
    if window.low_kpa is not None:
        return f"at least {window.low_kpa:g} kPa"
    return f"at most {window.high_kpa:g} kPa" if window.high_kpa is not None else ""


def warmth_words(window: TapWindow) -> str:
    """The fluid temperatures of a window; nothing where it holds at any."""
    if window.low_celsius is not None and window.high_celsius is not None:
        return f"{window.low_celsius:g} to {celsius_text(window.high_celsius)}"
    if window.low_celsius is not None:
        return f"{celsius_text(window.low_celsius)} and above"
    return f"{celsius_text(window.high_celsius)} and below" if window.high_celsius is not None else ""
