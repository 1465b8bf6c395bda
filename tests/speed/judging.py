"""A million readings judged in one call, against numpy written by hand and against `uncertainties`."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.special import ndtr
from uncertainties import ufloat

from tests.speed.measure import Row, interleaved, row, timed
from valvebench.judge import decide
from valvebench.judge.many import Judgements, judge_many
from valvebench.model.limits import Limits
from valvebench.model.meter import Instrument, Meter
from valvebench.model.words import Rule

COUNT, FEW = 1_000_000, 2_000
LOW, HIGH, K, REF, PERCENT, COUNTS, STEP, ALLOWANCE, HALF_WIDTH = 4.9, 5.5, 234.5, 20.0, 0.9, 2.0, 0.1, 0.2, 3.0
INSTRUMENT = Instrument(meter=Meter(percent=PERCENT, counts=COUNTS, step=STEP), lead_allowance_ohm=ALLOWANCE)
LIMITS = Limits(low_ohm=LOW, high_ohm=HIGH, ref_celsius=REF, k_celsius=K)
COLUMNS = ("verdict", "plain", "lean", "ohm_at_ref", "u_ohm_at_ref", "k_coverage", "p_inside")


def readings(count: int) -> tuple[Any, Any]:
    """Displayed values [ohm] around the band and coil temperatures [degC], the same at every run."""
    random = np.random.default_rng(20)
    return random.uniform(4.5, 8.0, count), random.uniform(15.0, 90.0, count)


def ours(shown: Any, celsius: Any) -> Judgements:
    return judge_many(
        shown,
        celsius,
        low_ohm=LOW,
        high_ohm=HIGH,
        limits=LIMITS,
        instrument=INSTRUMENT,
        half_width_celsius=HALF_WIDTH,
        rule=Rule.PROVED,
    )


def by_hand(shown: Any, celsius: Any) -> dict[str, Any]:
    """The same arithmetic as anyone would write it down: budget, k, limits, verdict code, chance."""
    factor = (K + REF) / (K + celsius)
    value = (shown - ALLOWANCE / 2) * factor
    meter = ((PERCENT / 100 * np.abs(shown) + COUNTS * STEP) * factor) ** 2 / 3
    leads = (ALLOWANCE / 2 * factor) ** 2 / 3
    temperature = (HALF_WIDTH * np.abs(value) / (K + celsius)) ** 2 / 3
    variance = meter + leads + temperature
    largest = np.maximum(np.maximum(meter, leads), temperature)
    dominated = largest > 3.33**2 * (variance - largest)
    u = np.sqrt(variance)
    k = np.where(dominated, 0.9545 * np.sqrt(3), 2.0)
    guard, slack = k * u, 1e-9 * np.abs(value)
    plain = (value >= LOW - slack) & (value <= HIGH + slack)
    passed = (value >= LOW + guard - slack) & (value <= HIGH - guard + slack)
    failed = (value < LOW - guard - slack) | (value > HIGH + guard + slack)
    straddles = (value - guard < LOW) & (value + guard > HIGH)
    verdict = np.where(passed, decide.PASS, np.where(failed, decide.FAIL, decide.CANT_TELL))
    verdict = np.where(np.isnan(value) | np.isnan(guard), decide.NOT_USABLE, verdict)
    lean = np.where(verdict == decide.CANT_TELL, np.where(straddles, 3, np.where(plain, 1, 2)), 0)
    to_low, to_high = (LOW - value) / u, (HIGH - value) / u
    width = 2 * np.sqrt(3)
    flat = np.clip(to_high / width + 0.5, 0, 1) - np.clip(to_low / width + 0.5, 0, 1)
    return {
        "verdict": verdict,
        "plain": np.where(plain, decide.PASS, decide.FAIL),
        "lean": lean,
        "ohm_at_ref": value,
        "u_ohm_at_ref": u,
        "k_coverage": k,
        "p_inside": np.where(dominated, flat, ndtr(to_high) - ndtr(to_low)),
    }


def no_more_than_asked(shown: Any, celsius: Any) -> tuple[Any, ...]:
    """Budget, k, limits, verdict code and chance alone: no lean, no plain comparison, no decimal slack."""
    factor = (K + REF) / (K + celsius)
    value = (shown - ALLOWANCE / 2) * factor
    meter = (PERCENT / 100 * shown + COUNTS * STEP) / 3**0.5 * factor
    leads = ALLOWANCE / 2 / 3**0.5 * factor
    temperature = HALF_WIDTH / 3**0.5 * value / (K + celsius)
    variance = meter**2 + leads**2 + temperature**2
    largest = np.maximum(np.maximum(meter, leads), temperature) ** 2
    dominated = largest > 3.33**2 * (variance - largest)
    u = np.sqrt(variance)
    k = np.where(dominated, 0.9545 * 3**0.5, 2.0)
    guard = k * u
    passed = (value >= LOW + guard) & (value <= HIGH - guard)
    failed = (value < LOW - guard) | (value > HIGH + guard)
    verdict = np.where(passed, decide.PASS, np.where(failed, decide.FAIL, decide.CANT_TELL))
    to_low, to_high = (LOW - value) / u, (HIGH - value) / u
    flat = np.clip(to_high / 12**0.5 + 0.5, 0, 1) - np.clip(to_low / 12**0.5 + 0.5, 0, 1)
    return value, u, k, verdict, np.where(dominated, flat, ndtr(to_high) - ndtr(to_low))


def by_hand_in_chunks(shown: Any, celsius: Any) -> list[dict[str, Any]]:
    """The same again with our trick of staying in the processor's cache."""
    return [by_hand(shown[i : i + 16384], celsius[i : i + 16384]) for i in range(0, len(shown), 16384)]


def one_by_one(shown: Any, celsius: Any) -> list[tuple[float, float, bool]]:
    """Value, expanded uncertainty and verdict of each reading by the library `uncertainties`."""
    found = []
    for display, coil in zip(shown, celsius, strict=True):
        meter = ufloat(0.0, (PERCENT / 100 * display + COUNTS * STEP) / 3**0.5)
        leads = ufloat(ALLOWANCE / 2, ALLOWANCE / 2 / 3**0.5)
        temperature = ufloat(coil, HALF_WIDTH / 3**0.5)
        value = (display + meter - leads) * (K + REF) / (K + temperature)
        guard = 2 * value.std_dev
        found.append((value.nominal_value, guard, LOW + guard <= value.nominal_value <= HIGH - guard))
    return found


def differences() -> float:
    """Largest relative difference to the hand-written columns; codes must be equal to the last one."""
    shown, celsius = readings(100_000)
    mine, theirs = ours(shown, celsius), by_hand(shown, celsius)
    worst = 0.0
    for name in COLUMNS:
        a, b = np.asarray(getattr(mine, name), float), np.asarray(theirs[name], float)
        if name in ("verdict", "plain", "lean") and not np.array_equal(a, b):
            raise AssertionError(f"{name} differs in {np.count_nonzero(a != b)} places")
        worst = max(worst, float(np.max(np.abs(a - b) / np.maximum(np.abs(b), 1e-3))))
    return worst


def rows() -> list[Row]:
    note = f"results equal, floats to {differences():.0e}"
    many, few = readings(COUNT), readings(FEW)
    plain = interleaved(timed(lambda: ours(*many)), timed(lambda: by_hand(*many)))
    chunks = interleaved(timed(lambda: ours(*many)), timed(lambda: by_hand_in_chunks(*many)))
    least = interleaved(timed(lambda: ours(*many)), timed(lambda: no_more_than_asked(*many)))
    single = interleaved(timed(lambda: ours(*many)), timed(lambda: one_by_one(*few)), pairs=3)
    return [
        row("judge 1,000,000 / numpy by hand", plain, figure="wall", limit=1.5, note=note),
        row("judge 1,000,000 / numpy by hand", plain, figure="cpu", note=note),
        row("judge 1,000,000 / numpy without lean and plain", least, figure="wall", limit=1.5),
        row("judge 1,000,000 / the same in chunks", chunks, figure="wall", note="for information: a harder rival"),
        row(
            "times faster a reading than uncertainties",
            single,
            figure="wall",
            limit=100,
            scale=FEW / COUNT,
            at_least=True,
            note=f"{FEW} readings",
        ),
    ]
