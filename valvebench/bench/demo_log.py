"""A simulated logger's file as entries of heat runs, the same bytes on every computer."""

from __future__ import annotations

import math
from typing import Any, Final

import msgspec

from valvebench.bench.desk import PROGRAM
from valvebench.bench.heat_find import LogFile
from valvebench.bench.heat_log import HeatLog
from valvebench.bench.heat_runs import RunGiven, run_body
from valvebench.model.heat import HeatFound, HeatTest
from valvebench.model.variant import Variant
from valvebench.simulate.meter import OhmMeter
from valvebench.simulate.warming import Logged

_DIGITS: Final = 6


def log_of(logged: Logged) -> HeatLog:
    """What a reader finds in the file."""
    import numpy as np

    from valvebench.diagnose.heat_data import HeatRun

    t_s, probe = np.array(logged.t_s), np.array(logged.probe_celsius)
    ohms = {name: [math.inf if one is None else one for one in values] for name, values in logged.ohm.items()}
    runs = {name: HeatRun(probe, np.array(values), t_s) for name, values in ohms.items()}
    return HeatLog(runs, has_shared_lines=True)


def runs_of(logged: Logged, meter: OhmMeter, variant: Variant, *, file_name: str) -> tuple[HeatTest, ...]:
    """The heat-run entry of each column of a logger's file."""
    log, file, accuracy = log_of(logged), LogFile(logged.csv(), file_name), meter.accuracy(meter.ranges[0])
    given = [RunGiven(device=name, meter=accuracy) for name in log.runs]
    bodies = [run_body(log, one, variant, file=file, program=PROGRAM) for one in given]
    return tuple(msgspec.structs.replace(body, found=_shortened(body.found)) for body in bodies)


def _shortened(found: HeatFound) -> HeatFound:
    """Six digits of every number: the last ones differ from one processor to the next."""
    return msgspec.convert(short(msgspec.to_builtins(found)), HeatFound)


def short(value: Any) -> Any:
    """Six digits of every number in decoded data."""
    if isinstance(value, dict):
        return {name: short(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [short(part) for part in value]
    return float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else value
