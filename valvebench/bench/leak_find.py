"""What the readings of an air test say, from a log and the fields a person gave; arrays come in only when asked."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from valvebench.bench.air_log import DecayLog, SteadyLog, VacuumLog
from valvebench.model.errors import BadInput, Problem
from valvebench.model.leak import LeakFound
from valvebench.model.meter import parse_meter

if TYPE_CHECKING:
    from valvebench.diagnose.leak_setup import AirSetUp
    from valvebench.diagnose.leak_steady import Restriction

OWN_FIELDS: Final = MappingProxyType(
    {
        "steady": ("restriction_mm", "restriction_c", "restriction_b", "restriction_pct"),
        "vacuum": ("blank_kpa", "known_kpa", "known_hole_mm", "known_pct"),
        "decay": ("volume_ml", "volume_pct", "held_s", "drift_celsius", "blank_ml_min"),
    }
)
"""What is said of each method, and of no other."""
_NEEDED: Final = MappingProxyType({"vacuum": ("blank_kpa", "known_kpa", "known_hole_mm"), "decay": ("volume_ml",)})
_WHAT: Final = MappingProxyType(
    {
        "blank_kpa": "vacuum against a blank, below ambient [kPa]",
        "known_kpa": "vacuum against the known hole, below ambient [kPa]",
        "known_hole_mm": "that hole [mm]",
        "volume_ml": "vessel, hose and fittings together [ml]",
    }
)
_MORE_THAN_NOUGHT: Final = (
    *("restriction_mm", "restriction_c", "restriction_pct", "known_hole_mm", "known_pct", "volume_ml", "volume_pct"),
    *("drift_celsius", "ambient_kpa_abs", "cd"),
)
_RANGES: Final = (
    ("celsius", -30.0, 100.0),
    ("ambient_kpa_abs", 50.0, 115.0),
    ("restriction_b", 0.05, 0.6),
    ("restriction_pct", 0.0, 50.0),
    ("known_pct", 0.0, 50.0),
    ("volume_pct", 0.0, 50.0),
    ("cd", 0.3, 1.0),
    ("held_s", 0.0, 1e5),
    ("max_ml_min", 0.0, 1e7),
    ("blank_ml_min", 0.0, 1e6),
)

AirLog = SteadyLog | VacuumLog | DecayLog


def flag_of(field: str) -> str:
    """A field as an option spells it."""
    return f"--{field.replace('_', '-')}"


def check_leak(method: str, fields: Mapping[str, Any]) -> None:
    """Refuse what means nothing together, all at once (raises BadInput)."""
    foreign = {one for name, own in OWN_FIELDS.items() if name != method for one in own} & fields.keys()
    problems = [
        Problem(where=flag_of(name), found=f"it beside --method {method}", expected="options of that method")
        for name in sorted(foreign)
    ]
    problems += [
        Problem(where=flag_of(name), found=f"{fields[name]:g}", expected="more than 0")
        for name in _MORE_THAN_NOUGHT
        if name in fields and not fields[name] > 0
    ]
    problems += [
        Problem(where=flag_of(name), found=f"{fields[name]:g}", expected=f"{low:g} to {high:g}")
        for name, low, high in _RANGES
        if name in fields and not low <= fields[name] <= high
    ]
    problems += _missing(method, fields)
    if problems:
        raise BadInput(problems)


def _missing(method: str, fields: Mapping[str, Any]) -> list[Problem]:
    if method == "steady":
        both = [name for name in ("restriction_mm", "restriction_c") if name in fields]
        if len(both) == 1:
            return []
        found = "both" if both else "neither"
        return [Problem(where="--restriction-mm or --restriction-c", found=found, expected="one of them")]
    wanted = [name for name in _NEEDED[method] if name not in fields]
    return [Problem(where=flag_of(name), found="nothing", expected=_WHAT[name]) for name in wanted]


def leak_found(log: AirLog, fields: Mapping[str, Any]) -> LeakFound:
    """What a log says of its leak; heavy, so ask beside the window.

    Parameters
    ----------
    log : two gauges, a held vacuum or a falling pressure
    fields : gauge, restriction, volume and the like, as options spell them; checked by `check_leak`

    Raises
    ------
    BadInput : with its own message for every way a log can be unusable

    Source
    ------
    `diagnose.leak_steady`, `diagnose.leak_vacuum`, `diagnose.leak_decay`.
    """
    if isinstance(log, SteadyLog):
        return _steady(log, fields)
    return _vacuum(log, fields) if isinstance(log, VacuumLog) else _decay(log, fields)


def _set_up(fields: Mapping[str, Any]) -> AirSetUp:
    from valvebench.diagnose.leak_setup import AirSetUp
    from valvebench.physics.air import REFERENCES

    gauge = fields.get("gauge")
    names = ("zero_kpa", "test_kpa_gauge", "celsius", "ambient_kpa_abs", "at_kpa_gauge", "cd")
    return AirSetUp(
        gauge=parse_meter(gauge, where="--gauge") if isinstance(gauge, str) else gauge,
        **{name: fields[name] for name in names if name in fields},
        reference=REFERENCES[fields.get("reference", "iso8778")],
        limit_ml_min=fields.get("max_ml_min"),
    )


def _restriction(fields: Mapping[str, Any]) -> Restriction:
    from valvebench.diagnose.leak_steady import U_KNOWN_B, Restriction, bore

    pct = fields.get("restriction_pct", 3.0)
    if "restriction_mm" in fields:
        found = bore(fields["restriction_mm"], pct=pct, cd=fields.get("cd", 1.0))
    else:
        found = Restriction(fields["restriction_c"], pct)
    return found._replace(b=fields["restriction_b"], u_b=U_KNOWN_B) if "restriction_b" in fields else found


def _steady(log: SteadyLog, fields: Mapping[str, Any]) -> LeakFound:
    from valvebench.diagnose.leak_steady import steady_leak

    return steady_leak(
        log.supply_kpa,
        log.port_kpa,
        is_gauge=log.is_gauge,
        restriction=_restriction(fields),
        set_up=_set_up(fields),
        unit_kpa=log.unit_kpa,
    )


def _vacuum(log: VacuumLog, fields: Mapping[str, Any]) -> LeakFound:
    from valvebench.diagnose.leak_steady import bore
    from valvebench.diagnose.leak_vacuum import Pump, vacuum_leak

    hole = bore(fields["known_hole_mm"], pct=fields.get("known_pct", 3.0), cd=fields.get("cd", 1.0))
    pump = Pump(fields["blank_kpa"], fields["known_kpa"], hole)
    return vacuum_leak(log.vacuum_kpa, pump=pump, set_up=_set_up(fields), unit_kpa=log.unit_kpa)


def _decay(log: DecayLog, fields: Mapping[str, Any]) -> LeakFound:
    from valvebench.diagnose.leak_decay import Vessel, decay_leak
    from valvebench.diagnose.leak_record import FallingRun

    run = FallingRun(log.t_s, log.kpa, log.is_gauge, log.celsius, log.unit_kpa)
    names = ("volume_pct", "held_s", "drift_celsius", "blank_ml_min")
    vessel = Vessel(fields["volume_ml"], **{name: fields[name] for name in names if name in fields})
    return decay_leak(run, vessel=vessel, set_up=_set_up(fields))
