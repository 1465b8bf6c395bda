"""A heat run's verdict: faults whatever the limits, and nothing inseparable passes.  Values are made up."""

from __future__ import annotations

import msgspec
import pytest

from valvebench.judge.heat import judge_heat
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, Sized
from valvebench.model.limits import NO_LIMITS, Limits
from valvebench.model.words import Lean, Verdict

BAND = Limits(low_ohm=4.75, high_ohm=5.75)
OPEN = HeatEvent(kind="open", t_s=60.0, probe_celsius=80.0, coil_celsius=77.0, heating=True)
RUN = HeatFound(
    n=100,
    kind=HeatKind.COPPER,
    slope_over_copper=Sized(value=1.0, u=0.01),
    r20_ohm=Sized(value=5.25, u=0.125),
    at_20_ohm=Sized(value=5.25, u=0.125),
    coldest_celsius=22.0,
    hottest_celsius=110.0,
    residual_ohm=0.01,
    separable=True,
    meter="0.5%+5x0.01",
)


def run(**changes):
    return msgspec.structs.replace(RUN, **changes)


def fixed(u):
    return run(kind=HeatKind.FIXED_SERIES, series_ohm=Sized(value=0.25, u=u))


def grows(u):
    return run(kind=HeatKind.GROWS_WITH_HEAT, excess_ohm_at_hottest=Sized(value=0.25, u=u))


@pytest.mark.parametrize(
    ("found", "limits", "expected"),
    [
        pytest.param(RUN, NO_LIMITS, Verdict.NO_LIMIT, id="copper without a limit"),
        pytest.param(RUN, BAND, Verdict.PASS, id="copper well inside"),
        pytest.param(run(at_20_ohm=Sized(value=5.5, u=0.125)), BAND, Verdict.PASS, id="on the guard line"),
        pytest.param(run(at_20_ohm=Sized(value=5.625, u=0.125)), BAND, Verdict.CANT_TELL, id="within U of the limit"),
        pytest.param(run(at_20_ohm=Sized(value=6.25, u=0.125)), BAND, Verdict.FAIL, id="outside with its doubt"),
        pytest.param(run(events=(OPEN,)), BAND, Verdict.FAIL, id="opened"),
        pytest.param(run(events=(OPEN,)), NO_LIMITS, Verdict.FAIL, id="opened without a limit"),
        pytest.param(fixed(0.0625), BAND, Verdict.FAIL, id="series beyond its U"),
        pytest.param(fixed(0.125), BAND, Verdict.PASS, id="series no larger than its U"),
        pytest.param(grows(0.0625), NO_LIMITS, Verdict.FAIL, id="excess beyond its U"),
        pytest.param(grows(0.125), NO_LIMITS, Verdict.NO_LIMIT, id="excess no larger than its U"),
        pytest.param(run(kind=HeatKind.NOT_SEPARABLE), BAND, Verdict.CANT_TELL, id="inseparable never passes"),
        pytest.param(run(kind=HeatKind.NOT_SEPARABLE), NO_LIMITS, Verdict.NO_LIMIT, id="inseparable without a limit"),
        pytest.param(run(at_20_ohm=Sized(value=float("nan"), u=0.1)), BAND, Verdict.NOT_USABLE, id="nan never passes"),
    ],
)
def test_verdict_of_a_heat_run(found, limits, expected):
    assert judge_heat(found, limits).verdict is expected


def test_an_undecided_run_leans():
    assert judge_heat(run(kind=HeatKind.NOT_SEPARABLE), BAND).lean is Lean.INSIDE
    assert judge_heat(run(at_20_ohm=Sized(value=5.875, u=0.125)), BAND).lean is Lean.OUTSIDE
    assert judge_heat(RUN, BAND).lean is None


def test_the_reason_names_the_opening_and_its_temperature():
    assert "opened once, first at 77 degrees" in judge_heat(run(events=(OPEN,)), BAND).reasons[0]


def test_limits_elsewhere_are_met_where_they_hold():
    """5.25 ohm at 20 degrees is 5.25 * 274.5 / 254.5 = 5.6626 at 40 (IEC 60034-1, 8.6.2)."""
    judged = judge_heat(RUN, msgspec.structs.replace(BAND, ref_celsius=40.0))
    assert judged.ohm_at_ref == pytest.approx(5.25 * 274.5 / 254.5)
    assert judged.verdict is Verdict.CANT_TELL
