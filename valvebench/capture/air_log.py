"""Files of air tests: which columns each needs, in which unit, gauge and absolute told apart by name."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

import numpy as np

from valvebench.bench.air_log import DecayLog, SteadyLog, SweepLog, VacuumLog
from valvebench.capture.columns import Array
from valvebench.capture.faults import Faults
from valvebench.capture.named import Check, Named, Table, plain, table_of
from valvebench.physics.air import KPA_OF

_UNITS: Final = ("kpa", "mpa", "mbar", "bar", "psi")
_SHORT: Final = MappingProxyType({"psig": "psi_gauge", "psia": "psi_abs", "barg": "bar_gauge", "bara": "bar_abs"})
_PRESSURE: Final = re.compile(rf"(?:(.*)_)?({'|'.join(_UNITS)})(?:_(gauge|abs|absolute))?")
_VACUUM: Final = re.compile(r"(?:.*_)?vacuum_(kpa|mbar|inhg|mmhg|torr)(?:_gauge)?")
_TIMES: Final = MappingProxyType(
    {
        **dict.fromkeys(("t_s", "time_s", "t_sec", "time_sec", "time_seconds"), 1.0),
        **dict.fromkeys(("t_ms", "time_ms"), 1e-3),
        **dict.fromkeys(("t_min", "time_min"), 60.0),
        **dict.fromkeys(("t_h", "time_h"), 3600.0),
        **dict.fromkeys(("t", "time", "clock", "timestamp", "date_time"), None),
    }
)
_CELSIUS: Final = frozenset(
    {"celsius", "c", "temperature_celsius", "temp_celsius", "probe_celsius", "temperature_c", "temp_c", "probe_c"}
)
_CURRENTS: Final = MappingProxyType({"ampere": 1.0, "a": 1.0, "ma": 1e-3, "milliampere": 1e-3})
_UP: Final = frozenset({"up", "rising", "rise", "increasing", "+"})
_DOWN: Final = frozenset({"down", "falling", "fall", "decreasing", "-"})
_SAY_WHICH: Final = "End its name in _gauge (above the air around) or _abs (absolute)."


def steady_log(raw: bytes, *, source: str) -> SteadyLog:
    """The two gauges of a steady test (raises BadInput)."""
    check = _needs({"supply": "the gauge before the restriction", "port": "the gauge behind it"}, "_kpa_gauge")
    table = table_of(raw, source=source, choose=_two_gauges, check=check, expected=_STEADY)
    supply, port = (_of(table, name) for name in ("supply", "port"))
    gauges = (_is_gauge(table, "supply"), _is_gauge(table, "port"))
    return SteadyLog(supply, port, gauges, _unit_kpa(table, "port"), table.not_used)


_STEADY: Final = "a header with supply_kpa_gauge and port_kpa_gauge"
_DECAY: Final = "a header with t_s and kpa_gauge, kpa_abs, psi_gauge or bar_gauge"
_SWEEP: Final = "a header with ampere, kpa_gauge and branch"
_VACUUM_HEADER: Final = "a header with vacuum_kpa or vacuum_inhg"


def vacuum_log(raw: bytes, *, source: str) -> VacuumLog:
    """The vacuum held on a bore (raises BadInput)."""
    check = _needs({"vacuum": "the vacuum below ambient"}, "_kpa")
    table = table_of(raw, source=source, choose=_vacuum, check=check, expected=_VACUUM_HEADER)
    return VacuumLog(_of(table, "vacuum"), _unit_kpa(table, "vacuum"), table.not_used)


def decay_log(raw: bytes, *, source: str) -> DecayLog:
    """A falling pressure with its time (raises BadInput)."""
    table = table_of(raw, source=source, choose=_decay, check=_check_decay, expected=_DECAY)
    return DecayLog(
        table.numbers["t_s"],
        _of(table, "pressure"),
        _is_gauge(table, "pressure"),
        table.numbers.get("celsius"),
        _unit_kpa(table, "pressure"),
        _unit_of(table, "pressure"),
        table.not_used,
    )


def sweep_log(raw: bytes, *, source: str) -> SweepLog:
    """Pressure against current, up and down (raises BadInput)."""
    table = table_of(raw, source=source, choose=_sweep, check=_check_sweep, expected=_SWEEP)
    is_up = _branches(table, source)
    kpa = _of(table, "pressure")
    return SweepLog(table.numbers["ampere"], kpa, is_up, _unit_kpa(table, "pressure"), table.not_used)


def _pressure(heading: str, name: str) -> Named | None:
    """A pressure of that name; without `gauge` or `abs` it is found and refused by the check."""
    match = _PRESSURE.fullmatch(_SHORT.get(heading, heading))
    if match is None or (name and match[1] != name):
        return None
    return Named(name or "pressure", "pressure", KPA_OF[match[2]])


def _two_gauges(heading: str) -> Named | None:
    return _pressure(heading, "supply") or _pressure(heading, "port")


def _vacuum(heading: str) -> Named | None:
    match = _VACUUM.fullmatch(heading)
    return Named("vacuum", "pressure", KPA_OF[match[1]]) if match else None


def _time(heading: str) -> Named | None:
    return Named("t_s", "time", _TIMES[heading]) if heading in _TIMES else None


def _decay(heading: str) -> Named | None:
    if heading in _CELSIUS:
        return Named("celsius", "probe")
    return _time(heading) or _pressure(heading, "")


def _sweep(heading: str) -> Named | None:
    last = heading.rpartition("_")[2]
    if last in _CURRENTS:
        return Named("ampere", "current", _CURRENTS[last])
    return Named("branch", "word") if heading in ("branch", "direction") else _pressure(heading, "")


def _needs(wanted: Mapping[str, str], ending: str) -> Check:
    def check(told: Mapping[str, str], cells: Sequence[str], faults: Faults) -> None:
        for field, what in wanted.items():
            if field not in told:
                faults.add("header", f"no {what} in {_list(cells)}", f"{field}{ending}")
            elif field != "vacuum":
                _refuse_unnamed(told[field], faults)

    return check


def _check_decay(told: Mapping[str, str], cells: Sequence[str], faults: Faults) -> None:
    if "t_s" not in told:
        faults.add("header", f"no time column in {_list(cells)}", "t_s, or a clock")
    if "pressure" not in told:
        faults.add("header", f"no pressure in {_list(cells)}", "kpa_gauge, kpa_abs, psi_gauge or bar_gauge")
    else:
        _refuse_unnamed(told["pressure"], faults)


def _check_sweep(told: Mapping[str, str], cells: Sequence[str], faults: Faults) -> None:
    for field, name in (("ampere", "ampere"), ("pressure", "kpa_gauge"), ("branch", "branch (up or down)")):
        if field not in told:
            faults.add("header", f"no {field} in {_list(cells)}", name)


def _refuse_unnamed(heading: str, faults: Faults) -> None:
    match = _PRESSURE.fullmatch(_SHORT.get(plain(heading), plain(heading)))
    if match is not None and match[3] is None:
        faults.add("header", heading, "a pressure that says whether it is gauge or absolute", _SAY_WHICH)


def _list(cells: Sequence[str]) -> str:
    return ascii(", ".join(cells)[:80])


def _of(table: Table, field: str) -> Array:
    return table.numbers[field]


def _is_gauge(table: Table, field: str) -> bool:
    match = _PRESSURE.fullmatch(_SHORT.get(plain(table.told[field]), plain(table.told[field])))
    return match is not None and match[3] == "gauge"


def _unit_of(table: Table, field: str) -> str:
    heading = plain(table.told[field])
    match = _VACUUM.fullmatch(heading) or _PRESSURE.fullmatch(_SHORT.get(heading, heading))
    if match is None:
        return "kpa"
    return match[1] if match.re is _VACUUM else match[2]


def _unit_kpa(table: Table, field: str) -> float:
    return KPA_OF[_unit_of(table, field)]


def _branches(table: Table, source: str) -> Array:
    faults = Faults(source)
    words = [word.lower() for word in table.words["branch"]]
    for word, line in zip(words, table.lines, strict=True):
        if word not in _UP and word not in _DOWN:
            found = ascii(word[:30]) if word else "nothing"
            faults.add("branch", found, "up (the current rises) or down (it falls)", line=line)
    faults.raise_if_any()
    return np.array([word in _UP for word in words], float)
