"""`valvebench leak FILE`: how much air a port or a bore loses, as a number."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from valvebench.cli.leak_text import as_text, leak_data
from valvebench.cli.options import EXIT_OF_VERDICT, Option, Parser, answer, fields, number, one_of
from valvebench.cli.services import MakeServices, Services
from valvebench.judge.leak import judge_leak
from valvebench.model.errors import BadInput, Problem, bad, nearest
from valvebench.model.leak import LeakFound, LeakMethod
from valvebench.model.meter import Meter, parse_meter
from valvebench.model.words import Rule

if TYPE_CHECKING:
    from valvebench.diagnose.leak_setup import AirSetUp
    from valvebench.diagnose.leak_steady import Restriction


def _gauge(text: str, name: str) -> Meter:
    return parse_meter(text, where=name)


def _reference(text: str, name: str) -> str:
    known = ("iso8778", "dry0")
    if text not in known:
        raise bad(name, repr(text), "iso8778 (20 degrees Celsius, 100 kPa) or dry0 (0, 101.325)", nearest(text, known))
    return text


_METHOD: Final = Option("--method", "method", one_of(LeakMethod), "steady, vacuum or decay")
_COMMON: Final = (
    Option("--gauge", "gauge", _gauge, 'accuracy "P%%+NxR": percent, counts, step [kPa] (1%%+1x1)'),
    Option("--zero-kpa", "zero_kpa", number, "what the gauge shows when vented [kPa]"),
    Option("--test-kpa-gauge", "test_kpa_gauge", number, "the test pressure that was set [kPa]"),
    Option("--celsius", "celsius", number, "temperature of the gas (20) [degrees Celsius]"),
    Option("--ambient-kpa-abs", "ambient_kpa_abs", number, "the air around (101.325) [kPa]"),
    Option("--reference", "reference", _reference, "iso8778 (20 degrees Celsius, 100 kPa; default) or dry0"),
    Option("--at-kpa-gauge", "at_kpa_gauge", number, "pressure the leak is told at, inside what was seen [kPa]"),
    Option("--cd", "cd", number, "discharge coefficient of holes (1)"),
    Option("--max-ml-min", "max_ml_min", number, "the most that is allowed [ml/min]"),
    Option("--rule", "rule", one_of(Rule), "proved (default), proved5 or plain"),
)
_STEADY: Final = (
    Option("--restriction-mm", "restriction_mm", number, "bore of the known restriction [mm]"),
    Option("--restriction-c", "restriction_c", number, "its conductance [dm3/(s bar)]"),
    Option("--restriction-b", "restriction_b", number, "its critical pressure ratio"),
    Option("--restriction-pct", "restriction_pct", number, "standard uncertainty of its conductance (3) [percent]"),
)
_VACUUM: Final = (
    Option("--blank-kpa", "blank_kpa", number, "vacuum against a blank, below ambient [kPa]"),
    Option("--known-kpa", "known_kpa", number, "vacuum against the known hole, below ambient [kPa]"),
    Option("--known-hole-mm", "known_hole_mm", number, "that hole [mm]"),
    Option("--known-pct", "known_pct", number, "standard uncertainty of its conductance (3) [percent]"),
)
_DECAY: Final = (
    Option("--volume-ml", "volume_ml", number, "vessel, hose and fittings together [ml]"),
    Option("--volume-pct", "volume_pct", number, "standard uncertainty of that (5) [percent]"),
    Option("--held-s", "held_s", number, "how long the supply was kept open before it was closed [s]"),
    Option("--drift-celsius", "drift_celsius", number, "how far the wall's temperature may move in the run (1) [K]"),
    Option("--blank-ml-min", "blank_ml_min", number, "leak of the same hose plugged, at the same pressure [ml/min]"),
)
_OWN: Final[Mapping[str, tuple[Option, ...]]] = {"steady": _STEADY, "vacuum": _VACUUM, "decay": _DECAY}
_OPTIONS: Final = (_METHOD, *_STEADY, *_VACUUM, *_DECAY, *_COMMON)
_MORE_THAN_NOUGHT: Final = (
    *("restriction_mm", "restriction_c", "restriction_pct", "known_hole_mm", "known_pct", "volume_ml", "volume_pct"),
    *("drift_celsius", "ambient_kpa_abs", "cd"),
)


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print how much leaks, and whether that is allowed."""
    parser = Parser("leak", "How much air leaks: two gauges at rest, a held vacuum, or a falling pressure.")
    parser.add_argument("file", type=Path, help="readings (CSV or .xlsx) with a header line")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    options = fields(arguments, _OPTIONS)
    _check(options)
    found, not_used = _found(services(), arguments.file, options)
    judgement = judge_leak(found, options.get("max_ml_min"), rule=Rule(options.get("rule", Rule.PROVED.value)))
    answer(arguments.json, leak_data(judgement), as_text(judgement, not_used))
    return EXIT_OF_VERDICT[judgement.verdict]


def _check(options: Mapping[str, Any]) -> None:
    """Refuse what means nothing together, all at once (raises BadInput)."""
    if "method" not in options:
        raise bad("--method", "nothing", "steady, vacuum or decay")
    flag_of = {option.field: option.flag for option in _OPTIONS}
    method = options["method"]
    foreign = {one.field for name, own in _OWN.items() if name != method for one in own} & options.keys()
    problems = [
        Problem(where=flag_of[name], found=f"it beside --method {method}", expected="options of that method")
        for name in sorted(foreign)
    ]
    problems += [
        Problem(where=flag_of[name], found=f"{options[name]:g}", expected="more than 0")
        for name in _MORE_THAN_NOUGHT
        if name in options and not options[name] > 0
    ]
    problems += _out_of_range(options) + _missing(options)
    if problems:
        raise BadInput(problems)


def _out_of_range(options: Mapping[str, Any]) -> list[Problem]:
    ranges = (
        ("--celsius", "celsius", -30.0, 100.0),
        ("--ambient-kpa-abs", "ambient_kpa_abs", 50.0, 115.0),
        ("--restriction-b", "restriction_b", 0.05, 0.6),
        ("--restriction-pct", "restriction_pct", 0.0, 50.0),
        ("--known-pct", "known_pct", 0.0, 50.0),
        ("--volume-pct", "volume_pct", 0.0, 50.0),
        ("--cd", "cd", 0.3, 1.0),
        ("--held-s", "held_s", 0.0, 1e5),
        ("--max-ml-min", "max_ml_min", 0.0, 1e7),
        ("--blank-ml-min", "blank_ml_min", 0.0, 1e6),
    )
    return [
        Problem(where=flag, found=f"{options[name]:g}", expected=f"{low:g} to {high:g}")
        for flag, name, low, high in ranges
        if name in options and not low <= options[name] <= high
    ]


def _missing(options: Mapping[str, Any]) -> list[Problem]:
    method = options["method"]
    if method == "steady":
        both = [name for name in ("restriction_mm", "restriction_c") if name in options]
        if len(both) != 1:
            found = "both" if both else "neither"
            return [Problem(where="--restriction-mm or --restriction-c", found=found, expected="one of them")]
        return []
    wanted = {"vacuum": _VACUUM[:3], "decay": _DECAY[:1]}[method]
    return [Problem(where=one.flag, found="nothing", expected=one.text) for one in wanted if one.field not in options]


def _set_up(options: Mapping[str, Any]) -> AirSetUp:
    from valvebench.diagnose.leak_setup import AirSetUp
    from valvebench.physics.air import REFERENCES

    names = ("gauge", "zero_kpa", "test_kpa_gauge", "celsius", "ambient_kpa_abs", "at_kpa_gauge", "cd")
    plain = {name: options[name] for name in names if name in options}
    return AirSetUp(
        **plain,
        reference=REFERENCES[options.get("reference", "iso8778")],
        limit_ml_min=options.get("max_ml_min"),
    )


def _restriction(options: Mapping[str, Any]) -> Restriction:
    from valvebench.diagnose.leak_steady import U_KNOWN_B, Restriction, bore

    pct = options.get("restriction_pct", 3.0)
    if "restriction_mm" in options:
        found = bore(options["restriction_mm"], pct=pct, cd=options.get("cd", 1.0))
    else:
        found = Restriction(options["restriction_c"], pct)
    return found._replace(b=options["restriction_b"], u_b=U_KNOWN_B) if "restriction_b" in options else found


def _found(world: Services, path: Path, options: Mapping[str, Any]) -> tuple[LeakFound, Sequence[str]]:
    of = {"steady": _steady, "vacuum": _vacuum, "decay": _decay}[options["method"]]
    try:
        return of(world, path, options)
    except BadInput as error:
        raise BadInput(error.problems, source=error.source or str(path)) from error


def _steady(world: Services, path: Path, options: Mapping[str, Any]) -> tuple[LeakFound, Sequence[str]]:
    from valvebench.diagnose.leak_steady import steady_leak

    log = world.read_steady_log(path)
    found = steady_leak(
        log.supply_kpa,
        log.port_kpa,
        is_gauge=log.is_gauge,
        restriction=_restriction(options),
        set_up=_set_up(options),
        unit_kpa=log.unit_kpa,
    )
    return found, log.not_used


def _vacuum(world: Services, path: Path, options: Mapping[str, Any]) -> tuple[LeakFound, Sequence[str]]:
    from valvebench.diagnose.leak_steady import bore
    from valvebench.diagnose.leak_vacuum import Pump, vacuum_leak

    log = world.read_vacuum_log(path)
    hole = bore(options["known_hole_mm"], pct=options.get("known_pct", 3.0), cd=options.get("cd", 1.0))
    pump = Pump(options["blank_kpa"], options["known_kpa"], hole)
    return vacuum_leak(log.vacuum_kpa, pump=pump, set_up=_set_up(options), unit_kpa=log.unit_kpa), log.not_used


def _decay(world: Services, path: Path, options: Mapping[str, Any]) -> tuple[LeakFound, Sequence[str]]:
    from valvebench.diagnose.leak_decay import Vessel, decay_leak
    from valvebench.diagnose.leak_record import FallingRun

    log = world.read_decay_log(path)
    run_of_one = FallingRun(log.t_s, log.kpa, log.is_gauge, log.celsius, log.unit_kpa)
    names = ("volume_pct", "held_s", "drift_celsius", "blank_ml_min")
    vessel = Vessel(options["volume_ml"], **{name: options[name] for name in names if name in options})
    return decay_leak(run_of_one, vessel=vessel, set_up=_set_up(options)), log.not_used
