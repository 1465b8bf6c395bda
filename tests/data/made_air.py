"""Invented entries of air tests with numbers, for tests of what is made of them.  Every number is made up."""

from __future__ import annotations

from valvebench.model.air_tests import LeakTest, PressureTaken, SweepTest
from valvebench.model.heat import Sized
from valvebench.model.leak import Hysteresis, LeakFound, LeakLine, LeakMethod, SweepFound


def leak_found(ml_min: float | None = 240.0, *, u: float = 8.0, at: float = 250.0, **changes: object) -> LeakFound:
    """A leak with one normal doubt, so that its factor is 2; told at `at` kPa gauge."""
    found = {
        "method": LeakMethod.STEADY,
        "n": 1,
        "leak_ml_min": Sized(value=ml_min, u=u) if ml_min is not None else None,
        **dict.fromkeys(("at_kpa_gauge", "from_kpa_gauge", "to_kpa_gauge"), at),
        "ref_celsius": 20.0,
        "ref_kpa_abs": 100.0,
        "lines": (LeakLine(term="restriction", u_ml_min=u),),
        "gauge": "1%+1x1 (kPa)",
    }
    return LeakFound(**{**found, **changes})


def leak_test(
    port: str | None, ml_min: float | None = 240.0, *, u: float = 8.0, at: float = 250.0, **said: object
) -> LeakTest:
    """A typed test of two gauges; `said` goes into the entry."""
    given = {
        "supply_kpa_gauge": (300.0,),
        "port_kpa_gauge": (at,),
        "restriction_c": 0.001,
        "found": leak_found(ml_min, u=u, at=at),
    }
    return LeakTest(port=port, **{**given, **said})


def seat_test(device: str, ml_min: float | None = 20.0, *, u: float = 1.0, at: float = 250.0) -> LeakTest:
    """The same, into the seat of a solenoid."""
    return leak_test(None, ml_min, u=u, at=at, device=device)


def vacuum_test(port: str, ml_min: float, *, u: float = 8.0, vacuum: float = 30.0, **said: object) -> LeakTest:
    """A typed test of a held vacuum."""
    found = leak_found(ml_min, u=u, at=-vacuum, method=LeakMethod.VACUUM)
    given = {"blank_kpa": 85.0, "known_kpa": 50.0, "known_hole_mm": 0.5, "vacuum_kpa": (vacuum,), "found": found}
    return LeakTest(port=port, method=LeakMethod.VACUUM, **{**given, **said})


def pressure(
    kpa: float, tap: str = "Line", *, celsius: float = 80.0, state: str = "idle", **said: object
) -> PressureTaken:
    """A pressure read with a gauge of 1 kPa counts and nothing else."""
    return PressureTaken(tap=tap, kpa_gauge=kpa, fluid_celsius=celsius, state=state, **{"gauge": "0%+1x1", **said})


def sweep_test(device: str, pct: float = 3.0, *, u: float = 0.5, noise_kpa: float = 1.0, **said: object) -> SweepTest:
    """A sweep of 500 kPa span whose loop is `pct` percent wide, a little less on average."""
    loop = Hysteresis(max=Sized(value=pct, u=u), mean_10_90=Sized(value=0.75 * pct, u=u), resolved=bool(pct > 2 * u))
    found = SweepFound(
        n=42,
        hysteresis_pct_span=loop,
        hysteresis_pct_current=None,
        linearity_pct=None,
        dead_band_ampere=None,
        span_kpa=500.0,
        rated_ampere=1.0,
        noise_kpa=noise_kpa,
    )
    file = {"sha256": "cd" * 32, "file_name": "sweep.csv", "size_bytes": 512}
    return SweepTest(device=device, found=found, **{**file, **said})
