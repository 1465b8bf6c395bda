"""Leaks and sweeps as entries: typed in one go, or from a file that is kept before its entry."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final, NamedTuple

import msgspec

from valvebench.bench.air_log import AirFiles, DecayLog, SteadyLog, SweepLog, VacuumLog
from valvebench.bench.heat_find import LogFile
from valvebench.bench.leak_find import OWN_FIELDS, AirLog, check_leak, leak_found
from valvebench.judge.leak import WATCHED, watched
from valvebench.judge.leak_rows import hole_of, stated_kpa_gauge
from valvebench.model.air_tests import TYPED_OF, LeakTest, SweepTest
from valvebench.model.entry import body_from, sha256_of
from valvebench.model.errors import BadInput, bad, nearest
from valvebench.model.leak import LeakFound, LeakMethod
from valvebench.model.variant import Solenoid, Variant

_LONGEST_NAME: Final = 200
_SAID_OF: Final = frozenset({"note", "gauge_id", "hose_id", "rule"})
"""Fields that nothing found in the readings depends on."""
_TYPED: Final = tuple(name for names in TYPED_OF.values() for name in names)
_INSTEAD: Final = (
    *(("restriction_mm", "restriction_c"), ("restriction_c", "restriction_mm")),
    *(("port", "device"), ("device", "port")),
)
"""Corrected to the one, the other is gone."""
_SAID_OF_SWEEP: Final = frozenset({"device", "note", "gauge_id"})


class AirReading(NamedTuple):
    """Where readings come from: the files there are, and the one that is meant (None: typed values)."""

    files: AirFiles
    file: LogFile | None = None


def leak_body(reading: AirReading, fields: Mapping[str, Any], variant: Variant | None, *, program: str) -> LeakTest:
    """The entry of a leak test, with what is found in it; heavy, so ask beside the window.

    Parameters
    ----------
    reading : a file as it will be kept, or typed values in `fields`
    fields : port or device, method, set-up and typed readings, as the entry spells them and in the unit of the name
    variant : says at which pressure the port's limit holds; None: the pressure of the test

    Raises
    ------
    BadInput : where a field is wrong, or the readings yield no number that means anything
    """
    given = {name: value for name, value in fields.items() if value is not None}
    method = str(given.setdefault("method", LeakMethod.STEADY.value))
    check_leak(method, given)
    return leak_from(_log_of(reading, method, given), reading.file, given, variant, program=program)


def typed_leak_body(fields: Mapping[str, Any], variant: Variant | None, *, program: str) -> LeakTest:
    """As `leak_body`, of typed readings, for which no file is read (raises BadInput)."""
    check_leak(str(fields.get("method", LeakMethod.STEADY.value)), fields)
    given = {"method": LeakMethod.STEADY.value, **fields}
    return leak_from(_typed_log(given["method"], given), None, given, variant, program=program)


def leak_from(
    log: AirLog, file: LogFile | None, given: Mapping[str, Any], variant: Variant | None, *, program: str
) -> LeakTest:
    """The entry of a log that was read, kept as `file` where it came from one (raises BadInput)."""
    found = _found_at_port(log, given, variant)
    data = {**given, "found": msgspec.to_builtins(found), "program": program}
    if file is not None:
        data |= _kept_as(file)
    body = body_from("leak", data, source="record leak")
    if not isinstance(body, LeakTest):
        raise TypeError("leak makes a LeakTest")
    return body


def _kept_as(file: LogFile) -> dict[str, Any]:
    return {"sha256": sha256_of(file.raw), "file_name": file.name[-_LONGEST_NAME:], "size_bytes": len(file.raw)}


def _found_at_port(log: AirLog, given: Mapping[str, Any], variant: Variant | None) -> LeakFound:
    """At the pressure that was asked for, else where the port's limit holds if that was seen, else where it began."""
    port = hole_of(variant, port=given.get("port"), device=given.get("device"))
    stated = stated_kpa_gauge(port, LeakMethod(given["method"])) if port is not None else None
    if "at_kpa_gauge" in given or stated is None:
        return leak_found(log, given)
    found = leak_found(log, {**given, "at_kpa_gauge": stated})
    return found if found.leak_ml_min is not None else leak_found(log, given)


def _log_of(reading: AirReading, method: str, given: Mapping[str, Any]) -> AirLog:
    typed = [name for name in _TYPED if name in given]
    if reading.file is None:
        return _typed_log(method, given)
    if typed:
        raise bad("record leak", "typed readings and a file", "one of them", "Leave one out.")
    files = reading.files
    of: Mapping[str, Callable[..., AirLog]]
    of = {"steady": files.steady_of, "vacuum": files.vacuum_of, "decay": files.decay_of}
    return of[method](reading.file.raw, source=reading.file.name)


def _typed_log(method: str, given: Mapping[str, Any]) -> AirLog:
    import numpy as np

    names = TYPED_OF[LeakMethod(method)]
    counts = {len(given.get(name, ())) for name in names}
    flags = " and ".join(_FLAG_OF[name] for name in names)
    if len(counts) > 1 or not counts - {0}:
        found = ", ".join(f"{len(given.get(name, ()))} of {_FLAG_OF[name]}" for name in names)
        raise bad("record leak", found, f"a file, or {flags}, as many of each")
    columns = [np.array(given[name], float) for name in names]
    if method == "steady":
        return SteadyLog(columns[0], columns[1], (True, True))
    return VacuumLog(columns[0]) if method == "vacuum" else DecayLog(columns[0], columns[1], is_gauge=True)


_FLAG_OF: Final = MappingProxyType(
    {
        "supply_kpa_gauge": "--supply-kpa-gauge",
        "port_kpa_gauge": "--port-kpa-gauge",
        "vacuum_kpa": "--vacuum-kpa",
        "t_s": "--times",
        "kpa_gauge": "--kpa-gauge",
    }
)


def changed_leak(
    body: LeakTest, changes: Mapping[str, Any], variant: Variant | None, *, raw: bytes | None, files: AirFiles
) -> dict[str, Any]:
    """The fields of a corrected leak test; what touches the find looks at the readings again.

    Returns
    -------
    dict
        Fields of the entry, None where one is not set any more.

    Raises
    ------
    BadInput : where the file is gone or changed, or the readings say nothing so.
    """
    if body.is_seat or "device" in changes:
        check_solenoid(variant, str(changes.get("device") or body.device))
    if set(changes) <= _SAID_OF:
        return dict(changes)
    if body.is_logged and raw is None:
        raise bad(f"blobs/{(body.sha256 or '')[:12]}...", "missing or changed", "the file, to look at it again")
    present: dict[str, Any] = msgspec.to_builtins(body)
    for name in ("found", "program", "sha256", "file_name", "size_bytes"):
        present.pop(name, None)
    fields = present | dict(changes)
    if "method" in changes:
        fields = _of_method(fields, str(changes["method"]), changes)
    for one, other in _INSTEAD:
        if one in changes and other not in changes:
            fields.pop(other, None)
    file = LogFile(raw, body.file_name or "file") if body.is_logged and raw is not None else None
    made = leak_body(AirReading(files, file), fields, variant, program=body.program)
    if WATCHED in body.found.reasons and made.method is body.method:
        made = msgspec.structs.replace(made, found=watched(made.found))
    return dict.fromkeys(LeakTest.__struct_fields__) | dict(msgspec.to_builtins(made))


def _of_method(fields: Mapping[str, Any], method: str, changes: Mapping[str, Any]) -> dict[str, Any]:
    """The fields without what belonged to the method that was corrected."""
    others = {one for name, own in OWN_FIELDS.items() if name != method for one in own}
    others |= {one for name, own in TYPED_OF.items() if name.value != method for one in own}
    return {name: value for name, value in fields.items() if name not in others or name in changes}


def sweep_body(
    log: SweepLog, file: LogFile, fields: Mapping[str, Any], variant: Variant | None, *, program: str
) -> SweepTest:
    """The entry of a sweep, with what is found in it; heavy, so ask beside the window (raises BadInput)."""
    from valvebench.diagnose.sweep import find_sweep

    given = {name: value for name, value in fields.items() if value is not None}
    check_solenoid(variant, str(given.get("device")))
    rated = given.get("rated_ampere")
    if rated is not None and not rated > 0:
        raise bad("--rated-ampere", f"{rated:g}", "more than 0")
    more = {} if rated is None else {"rated_ampere": rated}
    try:
        found = find_sweep(log.ampere, log.kpa, log.is_up, unit_kpa=log.unit_kpa, **more)
    except BadInput as error:
        raise BadInput(error.problems, source=error.source or file.name) from error
    data = {**given, **_kept_as(file), "found": msgspec.to_builtins(found), "program": program}
    body = body_from("sweep", data, source="record sweep")
    if not isinstance(body, SweepTest):
        raise TypeError("sweep makes a SweepTest")
    return body


def check_solenoid(variant: Variant | None, device: str) -> None:
    """Refuse a name nobody knows before a long file is read (raises BadInput)."""
    if variant is None:
        return
    known = [one.name for one in variant.devices if isinstance(one, Solenoid)]
    if device not in known:
        expected = f"a solenoid of the variant: {', '.join(known) or 'it has none'}"
        raise bad("--device", repr(device), expected, nearest(device, known))


def changed_sweep(
    body: SweepTest, changes: Mapping[str, Any], variant: Variant | None, *, raw: bytes | None, files: AirFiles
) -> dict[str, Any]:
    """The fields of a corrected sweep; what touches the find reads the kept file again (raises BadInput)."""
    check_solenoid(variant, str(changes.get("device") or body.device))
    if set(changes) <= _SAID_OF_SWEEP:
        return dict(changes)
    if raw is None:
        raise bad(f"blobs/{body.sha256[:12]}...", "missing or changed", "the file, to look at it again")
    names = ("device", "rated_ampere", "gauge_id", "note")
    fields = {name: getattr(body, name) for name in names} | dict(changes)
    log = files.sweep_of(raw, source=body.file_name)
    made = sweep_body(log, LogFile(raw, body.file_name), fields, variant, program=body.program)
    return dict.fromkeys(SweepTest.__struct_fields__) | dict(msgspec.to_builtins(made))
