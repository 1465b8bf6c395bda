"""A logger's run kept with a session: chosen from its file, compared with copper, made into an entry."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final, NamedTuple

import msgspec

from valvebench.bench.heat_find import USUAL_PROBE_KELVIN, LogFile, TakenWith, find_of, heat_test
from valvebench.bench.heat_log import HeatLog
from valvebench.model.errors import bad, nearest
from valvebench.model.heat import HeatTest
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.variant import Solenoid, SpeedSensor, Variant

_WIDEST_KELVIN: Final = 50.0
_SAID_OF: Final = ("note", "program")
"""Fields that nothing found in the run depends on."""

LogOf = Callable[..., HeatLog]
"""From the bytes of a file, with `source` and `is_rounds`, to its runs (raises BadInput)."""


class RunGiven(NamedTuple):
    """What a person says of a run: device, column of the file, start, meter, half-width of the probe [K]."""

    device: str
    column: str | None = None
    is_settled: bool = False
    is_soaked: bool = False
    meter: str | None = None
    celsius_accuracy: float = USUAL_PROBE_KELVIN
    note: str | None = None

    @property
    def taken(self) -> TakenWith:
        """What of it belongs to the log."""
        return TakenWith(self.is_settled, self.is_soaked, self.meter, self.celsius_accuracy)


def run_body(log: HeatLog, given: RunGiven, variant: Variant | None, *, file: LogFile, program: str) -> HeatTest:
    """The entry of a run, with what is found in it; heavy, so ask beside the window.

    Parameters
    ----------
    log : the runs of the file
    given : what the person says of it
    variant : names the devices and gives the conductor constant; None: any name, copper
    file : as it is kept

    Returns
    -------
    HeatTest

    Raises
    ------
    BadInput : with one plain message, where the device is none of the variant's, the column cannot
        be meant, or nothing can be said of the run.

    Source
    ------
    `bench.heat_find.find_of`.
    """
    if not 0 < given.celsius_accuracy <= _WIDEST_KELVIN:
        raise bad("celsius-accuracy", f"{given.celsius_accuracy:g}", f"more than 0, at most {_WIDEST_KELVIN:g}")
    column = column_of(log, given)
    found = find_of(log.runs[column], given.taken, winding_k(variant, given.device))
    return heat_test(file, given.device, given.taken, found, column=column, program=program, note=given.note)


def winding_k(variant: Variant | None, device: str) -> float:
    """The conductor constant of a winding [degC] (raises BadInput where the variant has no such winding)."""
    if variant is None:
        return COPPER_K_CELSIUS
    windings = {one.name: one for one in variant.devices if isinstance(one, Solenoid | SpeedSensor)}
    if device not in windings:
        expected = f"a winding of the variant: {', '.join(windings) or 'it has none'}"
        raise bad("device", repr(device), expected, nearest(device, windings))
    return windings[device].k


def column_of(log: HeatLog, given: RunGiven) -> str:
    """Which run of the file is meant, empty where it holds one without a name (raises BadInput)."""
    names = list(log.runs)
    if log.is_single:
        if given.column is not None:
            advice = "Leave the column out, or name it in the header as NAME_ohm."
            raise bad("column", repr(given.column), "none: the file names no device", advice)
        return ""
    wanted = given.device if given.column is None else given.column
    if wanted in log.runs:
        return wanted
    found = repr(wanted) if given.column is not None else f"{', '.join(names)}, and none is called {given.device}"
    expected = f"one of {', '.join(names)}" if given.column is not None else "the column that is meant"
    raise bad("column", found, expected, nearest(wanted, names) or "Name it by its column.")


def changed_run(
    body: HeatTest, changes: Mapping[str, Any], variant: Variant | None, *, raw: bytes | None, log_of: LogOf
) -> dict[str, Any]:
    """The fields of a corrected run; what touches the find reads the kept file again.

    Returns
    -------
    dict
        Fields of the entry, None where one is not set any more; the column stays unless it is named.

    Raises
    ------
    BadInput : where the file is gone or changed, or nothing can be said of it in this way.
    """
    if set(changes) <= set(_SAID_OF):
        return dict(changes)
    if raw is None:
        raise bad(f"blobs/{body.sha256[:12]}...", "missing or changed", "the file of the run, to look at it again")
    present = {name: getattr(body, name) for name in RunGiven._fields}
    given = RunGiven(**(present | dict(changes)))
    log = log_of(raw, source=body.file_name, is_rounds=given.is_settled)
    made = run_body(log, given, variant, file=LogFile(raw, body.file_name), program=body.program)
    return dict.fromkeys(HeatTest.__struct_fields__) | dict(msgspec.to_builtins(made))
