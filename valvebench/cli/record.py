"""`valvebench record DIR KIND ...`: add to a session; returns only when the entry is on disk."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from valvebench.bench.desk import Desk
from valvebench.cli import record_air, record_flex
from valvebench.cli.options import (
    DONE,
    Option,
    Parser,
    answer,
    fields,
    number,
    one_of,
    whole,
    words,
    yes_no,
)
from valvebench.cli.reading_options import MEASURED, NAMES, with_meter
from valvebench.cli.record_filed import FILED
from valvebench.cli.record_heat import CORRECTED, Correction, correct_run
from valvebench.cli.services import MakeServices, Services
from valvebench.model.air_tests import LeakTest, SweepTest
from valvebench.model.entry import Entry, body_from
from valvebench.model.errors import bad, nearest
from valvebench.model.flex import FlexTest
from valvebench.model.heat import HeatTest
from valvebench.model.words import (
    AccessPoint,
    AirResult,
    AnchorKind,
    Comeback,
    Cooler,
    Flow,
    Place,
    Rule,
    Seen,
    Supply,
    SwitchState,
    WhichPart,
)


def _click(text: str, name: str) -> bool:
    return yes_no(text, name)


def _solenoids(text: str, name: str) -> dict[str, str]:
    """`Heron=on; Gull=off`."""
    result = {}
    for part in text.replace(";", " ").split():
        device, sign, state = part.partition("=")
        if not (device and sign and state in ("on", "off")):
            raise bad(name, repr(part), "NAME=on or NAME=off, separated by blanks or semicolons")
        result[device] = state
    return result


_KPA: Final = Option("--kpa-gauge", "kpa_gauge", number, "air pressure at the gauge [kPa]")
_SELECTOR: Final = Option("--selector", "selector", words, "selector position")
_NOTE: Final = Option("--note", "note", words, "a remark")
_DEVICE: Final = Option("--device", "device", words, "name of the device")
_ENTRY: Final = Option("--entry", "entry", whole, "number of the entry")
_WHY: Final = Option("--why", "why", words, "the reason")
_ROUND: Final = Option("--round", "round", whole, "time round all pairs in a heat run, read when settled")
_PLACE_OF_READING: Final = (
    Option("--from", "from", words, "one node: a pin, case, or a terminal such as Heron.1"),
    Option("--to", "to", words, "the other node"),
    Option("--at", "at", one_of(AccessPoint), "where it was measured (case_connector)"),
)


class Target(NamedTuple):
    """The session to add to, and the way to it."""

    folder: Path
    services: Services


class Kind(NamedTuple):
    """Options of one kind of entry and those it cannot do without."""

    options: tuple[Option, ...]
    needed: tuple[str, ...] = ()


_METER_CHECK: Final = tuple(o for o in MEASURED if o.field in ("meter", "meter_like", "range_ohm", "leads", "lead_ohm"))
KINDS: Final = MappingProxyType(
    {
        "reading": Kind((*_PLACE_OF_READING, *MEASURED, *NAMES, _SELECTOR, _ROUND, _NOTE), ("from", "to", "celsius")),
        "meter-check": Kind(
            (
                Option("--check-ohm", "check_ohm", number, "value of the check resistor [ohm]"),
                Option("--read", "read_ohm", number, "its reading [ohm]"),
                Option("--check-pct", "check_pct", number, "its tolerance (0.1) [percent]"),
                Option("--zero-read", "zero_read_ohm", number, "reading with the tips shorted [ohm]"),
                *_METER_CHECK,
                *NAMES,
            ),
            ("check_ohm", "read_ohm"),
        ),
        "air": Kind(
            (
                Option("--port", "port", words, "name of the port"),
                Option("--place", "place", one_of(Place), "case (clutch circuit) or body"),
                Option("--result", "result", one_of(AirResult), "what was heard"),
                Option("--solenoids", "solenoids", _solenoids, '"Heron=on; Gull=off"'),
                Option("--cover", "has_cover", yes_no, "yes or no: the cover plate is on the body"),
                Option("--out-at", "came_out_at", words, "the port where the air came out"),
                Option("--gauge-id", "gauge_id", words, "which gauge"),
                _KPA,
                _SELECTOR,
                _NOTE,
            ),
            ("port", "place", "result"),
        ),
        "switch": Kind(
            (
                _DEVICE,
                Option("--state", "state", one_of(SwitchState), "open or closed"),
                Option("--air", "has_air", yes_no, "yes or no: air stands at it (told by a pressure too)"),
                Option("--up-kpa-gauge", "up_kpa_gauge", number, "where it changed going up [kPa]"),
                Option("--down-kpa-gauge", "down_kpa_gauge", number, "where it changed back coming down [kPa]"),
                Option("--closed-ohm", "closed_ohm", number, "what its closed contact read [ohm]"),
                _KPA,
                _SELECTOR,
                _NOTE,
            ),
            ("device", "state"),
        ),
        "solenoid": Kind(
            (
                _DEVICE,
                Option("--click", "click", _click, "yes or no"),
                Option("--heard", "heard", whole, "clicks that were heard"),
                Option("--tries", "tries", whole, "times the supply was put on"),
                Option("--supply", "supply", one_of(Supply), "rated_voltage (on/off only) or limited_current"),
                Option("--limit-ampere", "limit_ampere", number, "current limit of the supply [A]"),
                Option("--air-off", "air_off", one_of(Flow), "air without current: holds or flows"),
                Option("--air-on", "air_on", one_of(Flow), "air with current: holds or flows"),
                _KPA,
                _NOTE,
            ),
            ("device", "click"),
        ),
        "pressure": Kind(record_air.PRESSURE, record_air.PRESSURE_NEEDED),
        "feature": Kind(
            (
                Option("--name", "name", words, "name of the feature"),
                Option("--value", "value", words, "what was seen"),
                Option("--seen", "seen", one_of(Seen), "us (default), photo or phone"),
                Option("--part", "part", one_of(WhichPart), "old (default) or new: the part held beside it"),
            ),
            ("name", "value"),
        ),
        "complaint": Kind(
            (
                Option("--shift", "shift", words, "which shift or event, 5-6"),
                Option("--when", "when", words, "hot, cold, sometimes or always"),
                Option("--feel", "feel", words, "what it feels like, bump"),
            )
        ),
        "fluid": Kind(
            (
                Option("--colour", "colour", words, "colour of the fluid"),
                Option("--smell", "smell", words, "smell of the fluid"),
                Option("--level", "level", words, "level as found"),
                Option("--debris", "debris", words, "debris in pan and filter"),
                Option("--cooler", "cooler", one_of(Cooler), "what was done about the cooler"),
            )
        ),
        "connector": Kind(
            (
                Option("--pins", "pins", whole, "number of pins, called 1, 2, 3, ..."),
                Option("--rows", "rows", whole, "rows they stand in (2)"),
                Option("--casting", "case", yes_no, "yes (default) or no: the casting is probed too"),
            ),
            ("pins",),
        ),
        "outcome": Kind(
            (
                Option("--fitted", "fitted", yes_no, "yes or no"),
                Option("--comeback", "comeback", one_of(Comeback), "no, cold or hot"),
                Option("--months", "months", number, "months since it was fitted"),
                Option("--odometer-km", "odometer_km", number, "odometer [km]"),
            )
        ),
        "anchor": Kind(
            (
                Option("--kind", "kind", one_of(AnchorKind), "to whom the head was given"),
                Option("--to", "to", words, "name or address"),
            ),
            ("kind",),
        ),
    }
)


def run(words_given: Sequence[str], services: MakeServices) -> int:
    """Add one entry and print its number and hash."""
    folder, kind, rest = _folder_and_kind(words_given)
    target = Target(folder, services())
    entry, as_json = _SPECIAL[kind](target, rest) if kind in _SPECIAL else _record_data(target, kind, rest)
    answer(
        as_json, {"entry": entry.n, "hash": entry.sha256}, f"entry {entry.n} kept ({entry.kind}), hash {entry.sha256}"
    )
    return DONE


def known_kinds() -> tuple[str, ...]:
    """Every kind of entry that can be recorded."""
    return (*KINDS, *_SPECIAL)


def _folder_and_kind(given: Sequence[str]) -> tuple[Path, str, list[str]]:
    known = known_kinds()
    usage = f"DIR and one of {', '.join(known)}"
    if given[:1] in (["-h"], ["--help"]):
        print(f"valvebench record {usage} ...\n  record DIR KIND --help lists the options of a kind")
        raise SystemExit(DONE)
    if not given or given[0].startswith("-"):
        raise bad("record", " ".join(given[:2]) or "nothing", usage)
    if len(given) < 2 or given[1] not in known:
        kind = given[1] if len(given) > 1 else "nothing"
        raise bad("record", repr(kind), f"one of {', '.join(known)}", nearest(kind, known))
    return Path(given[0]), given[1], list(given[2:])


def _parsed(kind: str, options: Sequence[Option], given: Sequence[str]) -> tuple[dict[str, Any], bool, str | None]:
    parser = Parser(f"record DIR {kind}", f"Record a {kind}.")
    parser.add_argument("--by", default=None, help="who did it")
    for option in options:
        option.add_to(parser)
    arguments = parser.read(given)
    return fields(arguments, options), arguments.json, arguments.by


def _record_data(target: Target, kind: str, given: Sequence[str]) -> tuple[Entry, bool]:
    options, needed = KINDS[kind]
    found, as_json, by = _parsed(kind, options, given)
    missing = [option.flag for option in options if option.field in needed and option.field not in found]
    if missing:
        raise bad(f"record {kind}", f"no {', '.join(missing)}", "all of " + ", ".join(_flags(kind)))
    body = body_from(kind, with_meter(found), source=f"record {kind}")
    return _with_desk(target, by, lambda desk: desk.record(body)), as_json


def _flags(kind: str) -> list[str]:
    options, needed = KINDS[kind]
    return [option.flag for option in options if option.field in needed]


def _with_desk(target: Target, by: str | None, act: Callable[[Desk], Entry]) -> Entry:
    desk = target.services.open_desk(target.folder, by=by)
    try:
        return act(desk)
    finally:
        desk.release()


def _note(target: Target, given: Sequence[str]) -> tuple[Entry, bool]:
    parser = Parser("record DIR note", "Record a remark.")
    parser.add_argument("text", help="the remark")
    parser.add_argument("--by", default=None, help="who did it")
    arguments = parser.read(given)
    body = body_from("note", {"text": words(arguments.text, "text")}, source="record note")
    return _with_desk(target, arguments.by, lambda desk: desk.record(body)), arguments.json


def _photo(target: Target, given: Sequence[str]) -> tuple[Entry, bool]:
    parser = Parser("record DIR photo", "Keep a picture with the session.")
    parser.add_argument("file", type=Path, help="PNG or JPEG")
    parser.add_argument("--of", required=True, help="what it shows")
    parser.add_argument("--by", default=None, help="who did it")
    arguments = parser.read(given)
    raw = target.services.read_file(arguments.file)
    name = arguments.file.name
    return _with_desk(
        target, arguments.by, lambda desk: desk.add_photo(raw, file_name=name, of=arguments.of)
    ), arguments.json


def _keep_filed(kind: str, target: Target, given: Sequence[str]) -> tuple[Entry, bool]:
    filed = FILED[kind]
    parser = Parser(f"record DIR {kind}", filed.keeps)
    parser.add_argument("file", type=Path, nargs=None if filed.is_file_needed else "?", help=filed.holds)
    parser.add_argument("--by", default=None, help="who did it")
    for option in filed.options:
        option.add_to(parser)
    arguments = parser.read(given)
    found, (field, what) = fields(arguments, filed.options), filed.needed
    if field and field not in found:
        raise bad(f"record {kind}", f"no --{field}", what)
    return _with_desk(
        target, arguments.by, lambda desk: filed.keep(desk, target.services, arguments.file, found)
    ), arguments.json


def _correct(target: Target, given: Sequence[str]) -> tuple[Entry, bool]:
    """`correct --entry N (options of that entry) --why ...`: the kind decides which options there are."""
    about = _about(given)

    def act(desk: Desk) -> Entry:
        item = desk.item(about["entry"])
        found, _, _ = _parsed(f"correct ({item.kind})", (*_options_of(item.kind), _WHY, _ENTRY), given)
        changes = {name: value for name, value in found.items() if name not in about}
        if isinstance(item.body, HeatTest):
            return correct_run(desk, target.services, Correction(about["entry"], item.body, changes, about["why"]))
        if isinstance(item.body, FlexTest):
            correction = record_flex.Correction(about["entry"], item.body, changes, about["why"])
            return record_flex.correct_flex(desk, target.services, correction)
        if isinstance(item.body, LeakTest | SweepTest):
            air = record_air.Correction(about["entry"], item.body, changes, about["why"])
            return record_air.correct_air(desk, target.services, air)
        return desk.correct(about["entry"], _changes(with_meter(changes)), about["why"])

    return _with_desk(target, about["by"], act), "--json" in given


def _about(given: Sequence[str]) -> dict[str, Any]:
    """Entry, reason and person, before the kind of the entry is known."""
    parser = Parser("record DIR correct", "Correct an entry: name it, say why, and give any option of its kind.")
    parser.add_argument("--by", default=None, help="who did it")
    for option in (_ENTRY, _WHY):
        option.add_to(parser)
    arguments = parser.read_known(given)
    found = fields(arguments, (_ENTRY, _WHY))
    if "entry" not in found or "why" not in found:
        raise bad("record correct", "too little", "--entry, --why and at least one option of that entry")
    return {**found, "by": arguments.by}


def _options_of(kind: str) -> tuple[Option, ...]:
    if kind == "note":
        return (Option("--text", "text", words, "the remark"),)
    if kind == "photo":
        return (Option("--of", "of", words, "what it shows"),)
    if kind == "heat-run":
        return CORRECTED
    if kind in FILED:
        return FILED[kind].options
    return KINDS[kind].options


def _changes(found: dict[str, Any]) -> dict[str, Any]:
    """A new value takes the place of the kinds of value it excludes."""
    values = ("ohm", "open", "repeats_ohm", "volts_x", "volts_check")
    ways_to_say_temperature = ("temperature", "celsius_accuracy", "u_celsius")
    reference = ("ref_celsius", "ref_not_stated")
    meter = ("meter", "meter_is_assumed")
    changes = dict(found)
    for group in (values, ways_to_say_temperature, reference, meter):
        if any(name in found for name in group):
            changes = {**dict.fromkeys(group), **changes}
    if "leads" in found and found["leads"] != "subtract":
        changes = {"lead_ohm": None, **changes}
    return changes


def _withdraw(target: Target, given: Sequence[str]) -> tuple[Entry, bool]:
    found, as_json, by = _parsed("withdraw", (_ENTRY, _WHY), given)
    if "entry" not in found or "why" not in found:
        raise bad("record withdraw", "too little", "--entry and --why")
    return _with_desk(target, by, lambda desk: desk.withdraw(found["entry"], found["why"])), as_json


def _restore(target: Target, given: Sequence[str]) -> tuple[Entry, bool]:
    found, as_json, by = _parsed("restore", (_ENTRY,), given)
    if "entry" not in found:
        raise bad("record restore", "nothing", "--entry, the withdrawn entry or its withdrawal")
    return _with_desk(target, by, lambda desk: desk.restore(found["entry"])), as_json


def _close(target: Target, given: Sequence[str]) -> tuple[Entry, bool]:
    options = (Option("--rule", "rule", one_of(Rule), "proved (default), proved5 or plain"),)
    found, as_json, by = _parsed("close", options, given)
    rule = Rule(found["rule"]) if "rule" in found else None

    def act(desk: Desk) -> Entry:
        missing = [one.what for one in desk.judged(rule).missing]
        entry = desk.close(rule)
        if missing:
            print(f"Closed unfinished: {', '.join(missing)} not taken or not usable.", file=sys.stderr)
        return entry

    return _with_desk(target, by, act), as_json


_Act = Callable[[Target, Sequence[str]], tuple[Entry, bool]]
_SPECIAL: Final[Mapping[str, _Act]] = MappingProxyType(
    {
        "photo": _photo,
        "note": _note,
        **{kind: partial(_keep_filed, kind) for kind in FILED},
        "correct": _correct,
        "withdraw": _withdraw,
        "restore": _restore,
        "close": _close,
    }
)
