"""`valvebench heat FILE`: a warmed part against copper."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import msgspec

from valvebench.cli.heat_text import as_text, device_data
from valvebench.cli.options import EXIT_OF_VERDICT, Option, Parser, answer, fields, number, one_of, words
from valvebench.cli.services import MakeServices, Services
from valvebench.judge.device_limits import limits_of
from valvebench.judge.heat import HeatJudgement, judge_heat
from valvebench.judge.heat_rows import has_other_path, judge_beside
from valvebench.model.errors import BadInput, Problem, bad, nearest
from valvebench.model.heat import HeatFound
from valvebench.model.limits import ASSUMED_REF_CELSIUS, COPPER_K_CELSIUS, Limits
from valvebench.model.meter import Meter, parse_meter
from valvebench.model.variant import Coil, Variant
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Rule, Verdict

if TYPE_CHECKING:
    from valvebench.bench.heat_log import HeatLog
    from valvebench.diagnose.heat_data import HeatRun
    from valvebench.diagnose.heat_matched import Ratio


def _meter(text: str, name: str) -> Meter:
    return parse_meter(text, where=name)


_OPTIONS: Final = (
    Option("--low", "low_ohm", number, "lowest allowed [ohm]"),
    Option("--high", "high_ohm", number, "highest allowed [ohm]"),
    Option("--ref-celsius", "ref_celsius", number, "where the limits hold (20) [degrees Celsius]"),
    Option("--variant", "variant", words, "variant file whose devices have the names of the columns"),
    Option("--device", "device", words, "which device of the variant, where the file names none"),
    Option("--k", "k_celsius", number, "conductor constant (234.5, copper) [degrees Celsius]"),
    Option("--meter", "meter", _meter, 'accuracy "P%%+NxR": percent, counts, step [ohm]'),
    Option("--celsius-accuracy", "celsius_accuracy", number, "half-width of the probe (2) [K]"),
    Option("--soaked-start", "is_soaked", None, "the part had the temperature of the probe when the log began"),
    Option("--rounds", "is_rounds", None, "each line was read after the temperature had settled; times do not count"),
    Option("--rule", "rule", one_of(Rule), "proved (default), proved5 or plain"),
)


class Held(NamedTuple):
    """What a device is held against, and whether another path runs beside it in its variant."""

    limits: Limits
    has_other_path: bool = False


class Answered(NamedTuple):
    """What is said of one device; without a find the problems say why."""

    found: HeatFound | None
    judgement: HeatJudgement | None
    problems: tuple[Problem, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The verdict, *Not usable* where nothing could be found."""
        return self.judgement.verdict if self.judgement is not None else Verdict.NOT_USABLE


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print what the run of each device says against copper."""
    parser = Parser("heat", "A warmed part against copper; seconds, degrees Celsius, ohm.")
    parser.add_argument("file", type=Path, help="log (CSV or .xlsx) with t_s, probe_celsius, ohm")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    options = fields(arguments, _OPTIONS)
    _check(options)
    world = services()
    log = world.read_heat_log(arguments.file, is_rounds=bool(options.get("is_rounds")))
    limits = _limits(world, options, list(log.runs))
    answers = {name: _answer(one, options, limits[name]) for name, one in log.runs.items()}
    _refuse_where_nothing_can_be_said(answers, str(arguments.file))
    ratios = _matched(log, options)
    answer(arguments.json, _data(log, answers, ratios), as_text(answers, ratios, log.not_used))
    return _exit_code(answers)


def _check(options: Mapping[str, Any]) -> None:
    """Refuse options that mean nothing together, all at once (raises BadInput)."""
    problems: list[Problem] = []
    low, high = options.get("low_ohm"), options.get("high_ohm")
    if low is not None and high is not None and low > high:
        problems.append(Problem(where="--low", found=f"{low:g} above --high {high:g}", expected="low below high"))
    both = [flag for flag, field in (("--low", "low_ohm"), ("--high", "high_ohm")) if field in options]
    if "variant" in options and both:
        problems.append(Problem(where="--variant", found=f"also {', '.join(both)}", expected="one or the other"))
    if "device" in options and "variant" not in options:
        problems.append(Problem(where="--device", found="no --variant", expected="the variant it stands in"))
    if not options.get("k_celsius", COPPER_K_CELSIUS) > 50:
        problems.append(Problem(where="--k", found=f"{options['k_celsius']:g}", expected="more than 50"))
    if not 0 < options.get("celsius_accuracy", 1.0) <= 50:
        found = f"{options['celsius_accuracy']:g}"
        problems.append(Problem(where="--celsius-accuracy", found=found, expected="more than 0, at most 50"))
    if not -50 <= options.get("ref_celsius", ASSUMED_REF_CELSIUS) <= 180:
        found = f"{options['ref_celsius']:g}"
        problems.append(Problem(where="--ref-celsius", found=found, expected="-50 to 180 degrees Celsius"))
    if problems:
        raise BadInput(problems)


def _limits(world: Services, options: Mapping[str, Any], names: Sequence[str]) -> dict[str, Held]:
    if "variant" not in options:
        one = Limits(
            low_ohm=options.get("low_ohm"),
            high_ohm=options.get("high_ohm"),
            ref_celsius=options.get("ref_celsius", ASSUMED_REF_CELSIUS),
            k_celsius=options.get("k_celsius", COPPER_K_CELSIUS),
        )
        return dict.fromkeys(names, Held(one))
    path = Path(options["variant"])
    variant = read_variant(world.read_file(path), source=str(path))
    return {name: _of_variant(variant, name or options.get("device", ""), options) for name in names}


def _of_variant(variant: Variant, name: str, options: Mapping[str, Any]) -> Held:
    coils = {one.name: one for one in variant.devices if isinstance(one, Coil)}
    if name not in coils:
        expected = f"a winding of the variant: {', '.join(coils) or 'it has none'}"
        advice = nearest(name, coils) if name else "Name it by --device, or in the header as NAME_ohm."
        raise bad("device", repr(name) if name else "no name", expected, advice)
    limits = limits_of(coils[name], ASSUMED_REF_CELSIUS)
    changed = {key: options[key] for key in ("k_celsius", "ref_celsius") if key in options}
    if "ref_celsius" in changed:
        changed["is_ref_stated"] = True
    return Held(msgspec.structs.replace(limits, **changed), has_other_path(variant, name))


def _answer(run_of_one: HeatRun, options: Mapping[str, Any], held: Held) -> Answered:
    from valvebench.diagnose.heat_data import HeatSetUp
    from valvebench.diagnose.heat_run import analyse

    set_up = HeatSetUp(
        k_celsius=held.limits.k_celsius if held.limits.k_celsius is not None else COPPER_K_CELSIUS,
        meter=options.get("meter"),
        is_soaked=bool(options.get("is_soaked")),
    )
    if "celsius_accuracy" in options:
        set_up = set_up._replace(celsius_half_width=options["celsius_accuracy"])
    try:
        found = analyse(run_of_one, set_up)
    except BadInput as error:
        return Answered(None, None, error.problems)
    rule = Rule(options.get("rule", Rule.PROVED.value))
    judged = judge_beside(found, rule=rule) if held.has_other_path else judge_heat(found, held.limits, rule=rule)
    return Answered(found, judged)


def _refuse_where_nothing_can_be_said(answers: Mapping[str, Answered], source: str) -> None:
    """Where no device can be judged there is no answer, only a message (raises BadInput)."""
    if any(one.found is not None for one in answers.values()):
        return
    problems = dict.fromkeys(problem for one in answers.values() for problem in one.problems)
    raise BadInput(list(problems), source=source)


def _matched(log: HeatLog, options: Mapping[str, Any]) -> list[Ratio]:
    from valvebench.diagnose.heat_matched import ratio_of

    pairs = itertools.combinations(log.runs.items(), 2)
    ratios = (ratio_of(a, b, (of_a, of_b), options.get("meter")) for (a, of_a), (b, of_b) in pairs)
    return [ratio for ratio in ratios if ratio is not None]


def _data(log: HeatLog, answers: Mapping[str, Answered], ratios: Sequence[Ratio]) -> dict[str, Any]:
    if log.is_single:
        return device_data(answers[""])
    devices = {name: device_data(one) for name, one in answers.items()}
    matched = [one._asdict() | {"ratio": msgspec.structs.asdict(one.ratio)} for one in ratios]
    return {"devices": devices, "matched": matched, "not_used": log.not_used}


def _exit_code(answers: Mapping[str, Answered]) -> int:
    """Fail before undecided before done."""
    if any(one.verdict is Verdict.FAIL for one in answers.values()):
        return EXIT_OF_VERDICT[Verdict.FAIL]
    return max(EXIT_OF_VERDICT[one.verdict] for one in answers.values())
