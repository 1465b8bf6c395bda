"""`valvebench leak FILE`: how much air a port or a bore loses, as a number."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from valvebench.bench.leak_find import AirLog, check_leak, leak_found
from valvebench.cli.leak_text import as_text, leak_data
from valvebench.cli.options import EXIT_OF_VERDICT, Option, Parser, answer, fields, number, one_of
from valvebench.cli.services import MakeServices, Services
from valvebench.judge.leak import judge_leak
from valvebench.model.errors import BadInput, bad, nearest
from valvebench.model.leak import LeakFound, LeakMethod
from valvebench.model.meter import Meter, parse_meter
from valvebench.model.words import Rule


def _gauge(text: str, name: str) -> Meter:
    return parse_meter(text, where=name)


def _reference(text: str, name: str) -> str:
    known = ("iso8778", "dry0")
    if text not in known:
        raise bad(name, repr(text), "iso8778 (20 degrees Celsius, 100 kPa) or dry0 (0, 101.325)", nearest(text, known))
    return text


METHOD: Final = Option("--method", "method", one_of(LeakMethod), "steady, vacuum or decay")
COMMON: Final = (
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
LEAK_OPTIONS: Final = (*_STEADY, *_VACUUM, *_DECAY, *COMMON)
_OPTIONS: Final = (METHOD, *LEAK_OPTIONS)


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
    check_leak(options["method"], options)


def _found(world: Services, path: Path, options: Mapping[str, Any]) -> tuple[LeakFound, Sequence[str]]:
    of: Mapping[str, Callable[[Path], AirLog]] = {
        "steady": world.read_steady_log,
        "vacuum": world.read_vacuum_log,
        "decay": world.read_decay_log,
    }
    log = of[options["method"]](path)
    try:
        return leak_found(log, options), log.not_used
    except BadInput as error:
        raise BadInput(error.problems, source=error.source or str(path)) from error
