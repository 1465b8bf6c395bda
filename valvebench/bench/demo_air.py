"""The demo jobs of air as a number: an old body and a new one, two gauges, a vacuum, a falling pressure, a sweep."""

from __future__ import annotations

import random
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Any, Final

import msgspec

from valvebench.bench.air_log import DecayLog, SweepLog
from valvebench.bench.demo_bench import complaint, taped
from valvebench.bench.demo_log import short
from valvebench.bench.desk import PROGRAM
from valvebench.bench.heat_find import LogFile
from valvebench.bench.leak_runs import leak_from, sweep_body, typed_leak_body
from valvebench.bench.story import Story, Telling
from valvebench.model.air_tests import LeakTest, PressureTaken, SweepTest
from valvebench.model.entry import FluidFound, Note, body_from
from valvebench.model.variant import Variant
from valvebench.simulate import quillon
from valvebench.simulate.air import Gauge, Hole, Vessel, held_vacuum_kpa, supply_kpa_gauge, swept_kpa
from valvebench.simulate.seed import dice

STATED_KPA: Final = 250.0
"""What the variant states for its ports and seats: the supply is raised until they stand at it, and no further."""
RESTRICTIONS: Final = MappingProxyType({"P6": 0.004})
"""Behind what each port is tested [dm3/(s bar)]: the one that may leak most needs the largest."""
PORT_RESTRICTION: Final = 0.001
SEAT_RESTRICTION: Final = 0.0003
"""Small enough for a seat."""
_ML_MIN_KPA: Final = 600.0
"""60 s, 1000 ml and 0.01 bar to the kPa."""
SEATS: Final = MappingProxyType({"old": 0.05, "new": 0.05})
"""What the seat of Plover passes [ml/min/kPa absolute]."""
LEAKS: Final = MappingProxyType(
    {
        "old": {"P3": 0.3, "P4": 0.2, "P5": 0.35, "P6": 2.0},
        "new": {"P3": 0.3, "P4": 0.2, "P5": 0.35, "P6": 0.6},
    }
)
"""What each port really passes [ml/min/kPa absolute]."""
PRESSURES: Final = (
    ("Line", 512.0, "idle", 24.0),
    ("Line", 435.0, "idle", 78.0),
    ("Line", 1190.0, "load", 81.0),
    ("Dipper", 1010.0, "load", 81.0),
)
"""Read in the vehicle: what P6 loses is missing at the clutch it feeds."""
PUMP_ML_MIN_KPA: Final = 100.0
BLANK_KPA: Final = 85.0
BORE: Final = Hole(c_ml_min_kpa=2.4)
"""What the pump draws on, the same on both bodies."""
KNOWN_HOLE: Final = Hole(c_ml_min_kpa=23.4, b=0.528)
"""A round hole of 0.5 mm: an ideal nozzle passes 343.2 m/s times 0.5787 of its area, choked, at 20 degrees."""
DRIFT_KELVIN_S: Final = -1.0 / 60.0
VESSEL_ML: Final = 50.0
LOOP_AMPERE: Final = 0.03
_Test = LeakTest | SweepTest
_GAUGES: Final = "shop pair"
_ACCURACY: Final = "0.5%+1x0.1"
_STEADY: Final = MappingProxyType({"gauge": _ACCURACY, "gauge_id": _GAUGES, "zero_kpa": 0.0, "celsius": 20.0})
_SAFE: Final = "Regulated dry air at 3 bar, eye protection, vented before opening."


def _taken(body: _Test) -> _Test:
    """Six digits of what was found: the last ones differ from one processor to the next."""
    return msgspec.convert(msgspec.to_builtins(body) | {"found": short(msgspec.to_builtins(body.found))}, type(body))


def _two_gauges(named: dict[str, str], c: float, leak: Hole, variant: Variant, chance: random.Random) -> _Test:
    """A port or a seat behind a restriction of `c` dm3/(s bar)."""
    gauge = Gauge(off_percent=0.2, noise_kpa=0.05)
    supply = supply_kpa_gauge(STATED_KPA, Hole(c_ml_min_kpa=_ML_MIN_KPA * c, b=0.5), leak)
    fields: dict[str, Any] = {
        **_STEADY,
        **named,
        "restriction_c": c,
        "restriction_b": 0.5,
        "supply_kpa_gauge": [gauge.shows(supply, chance) for _ in range(2)],
        "port_kpa_gauge": [gauge.shows(STATED_KPA, chance) for _ in range(2)],
    }
    return _taken(typed_leak_body(fields, variant, program=PROGRAM))


def _vacuum(port: str, leak: Hole, variant: Variant, chance: random.Random) -> _Test:
    gauge = Gauge(noise_kpa=0.05)
    shown = {
        "blank_kpa": BLANK_KPA,
        "known_kpa": gauge.shows(held_vacuum_kpa(BLANK_KPA, PUMP_ML_MIN_KPA, KNOWN_HOLE), chance),
        "vacuum_kpa": [gauge.shows(held_vacuum_kpa(BLANK_KPA, PUMP_ML_MIN_KPA, leak), chance) for _ in range(3)],
    }
    fields = {**_STEADY, "port": port, "method": "vacuum", "known_hole_mm": 0.5, **shown}
    return _taken(typed_leak_body(fields, variant, program=PROGRAM))


def _drifting(port: str, variant: Variant, chance: random.Random) -> tuple[bytes, _Test]:
    """A tight port whose hose cools by a kelvin a minute: it falls as a leak of half a millilitre a minute would."""
    import numpy as np

    gauge = Gauge(noise_kpa=0.03, step_kpa=0.01)
    vessel = Vessel(volume_ml=VESSEL_ML, wall_kelvin_s=DRIFT_KELVIN_S)
    times = [0.5 * n for n in range(121)]
    kpa = [
        gauge.shows(p, chance) for p in vessel.fall(STATED_KPA, Hole(c_ml_min_kpa=0.0), every_s=0.5, count=len(times))
    ]
    raw = "\n".join(["t_s,kpa_gauge", *(f"{t:.1f},{p:.2f}" for t, p in zip(times, kpa, strict=True)), ""]).encode()
    log = DecayLog(np.array(times), np.array(kpa), is_gauge=True)
    said = {"port": port, "method": "decay", "volume_ml": VESSEL_ML, "held_s": 20.0, "max_ml_min": 5.0}
    fields = {"gauge": "0.5%+1x0.01", "zero_kpa": 0.0, "gauge_id": "logger", "hose_id": "short hose", **said}
    body = leak_from(log, LogFile(raw, f"{port.lower()}-closed.csv"), fields, variant, program=PROGRAM)
    return raw, _taken(body)


def _sweep(device: str, variant: Variant, chance: random.Random) -> tuple[bytes, _Test]:
    import numpy as np

    gauge = Gauge(noise_kpa=1.0, step_kpa=0.1)
    currents = [round(0.04 * n, 2) for n in range(26)]
    rows = [
        (a, gauge.shows(swept_kpa(a, is_up=up, loop_ampere=LOOP_AMPERE), chance), up)
        for up in (True, False)
        for a in (currents if up else currents[::-1])
    ]
    lines = [f"{a:.2f},{kpa:.1f},{'up' if up else 'down'}" for a, kpa, up in rows]
    raw = "\n".join(["ampere,kpa_gauge,branch", *lines, ""]).encode()
    ampere, kpa_gauge, is_up = (np.array(column, float) for column in zip(*rows, strict=True))
    log = SweepLog(ampere, kpa_gauge, is_up)
    fields = {"device": device, "rated_ampere": 1.0, "gauge_id": "logger"}
    return raw, _taken(sweep_body(log, LogFile(raw, "heron-sweep.csv"), fields, variant, program=PROGRAM))


def _pressure(tap: str, kpa: float, state: str, celsius: float) -> PressureTaken:
    said = {"tap": tap, "kpa_gauge": kpa, "fluid_celsius": celsius, "state": state, "gauge": "1%+1x5"}
    body = body_from("pressure", {**said, "note": "in the vehicle, before the body came out"})
    if not isinstance(body, PressureTaken):
        raise TypeError("pressure makes a PressureTaken")
    return body


def _tell_old(story: Telling) -> None:
    chance = dice("air, old body")
    story.say(FluidFound(colour="amber", smell="none", level="right", debris="none"))
    story.say(*(_pressure(*one) for one in PRESSURES), Note(text=_SAFE))
    story.wait(20)
    _tell_ports(story, "old", chance)
    story.keep(*_drifting("P5", story.variant, chance))
    story.keep(*_sweep("Heron", story.variant, chance))


def _tell_new(story: Telling) -> None:
    story.say(Note(text=f"The new body within two hours, on the same gauges. {_SAFE}"))
    _tell_ports(story, "new", dice("air, new body"))


def _tell_ports(story: Telling, which: str, chance: random.Random) -> None:
    for port, c in LEAKS[which].items():
        restriction = RESTRICTIONS.get(port, PORT_RESTRICTION)
        story.say(_two_gauges({"port": port}, restriction, Hole(c_ml_min_kpa=c), story.variant, chance))
    story.say(_vacuum("P4", BORE, story.variant, chance))
    seat = Hole(c_ml_min_kpa=SEATS[which])
    story.say(_two_gauges({"device": "Plover"}, SEAT_RESTRICTION, seat, story.variant, chance))


OLD_AIR: Final = Story(
    folder="2233-air-old-body",
    about="leaks as numbers: P6 leaks, its clutch lacks pressure; a cooling hose on P5 only looks like a leak: Fail",
    begins=datetime(2026, 3, 10, 8, 0, tzinfo=UTC),
    set_up=taped,
    body=quillon.sound_body,
    tell=_tell_old,
    # P6 feeds Dipper, which applies from second to third
    job=complaint(
        "2233", vehicle="Harbour shuttle 3", odometer_km=190220.0, serial="0416-18", shift="2-3", feel="flare"
    ),
)
NEW_AIR: Final = Story(
    folder="2234-air-new-body",
    about="the new body on the same gauges an hour later, to be compared with 2233-air-old-body: P6 differs",
    begins=datetime(2026, 3, 10, 9, 0, tzinfo=UTC),
    set_up=taped,
    body=quillon.sound_body,
    tell=_tell_new,
    job=MappingProxyType(
        {"job": "2234", "kind": "bench_check", "customer": "stock", "part": "QT-2", "serial": "0512-40"}
    ),
)
