"""`valvebench identify --variants DIR`: which variant a part is, and what to look at next."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from valvebench.bench.identifying import as_asked, looks_of, spelled
from valvebench.cli.options import DONE, FAILED, NOT_DECIDED, Option, Parser, answer, fields, words
from valvebench.cli.reading_options import MEASURED, with_meter
from valvebench.cli.services import MakeServices, Services
from valvebench.diagnose.identified import (
    CANNOT_SEE,
    NONE_OF_THESE,
    SOMETHING_ELSE,
    Identified,
    Identity,
    Look,
    Question,
)
from valvebench.diagnose.identify_words import (
    alike_text,
    choices_text,
    first_text,
    head_text,
    holding_text,
    left_out_text,
    lost_text,
    must_text,
    next_text,
    none_text,
)
from valvebench.model.entry import Reading, body_from
from valvebench.model.errors import BadInput, Problem, bad, nearest
from valvebench.model.numbers import decimal, typed_ohm
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Seen

if TYPE_CHECKING:
    from valvebench.diagnose.explain_priors import Priors
    from valvebench.diagnose.explain_readings import Said
    from valvebench.diagnose.identify import Identifier

_EXIT: Final = MappingProxyType(
    {
        Identity.CONFIRMED: DONE,
        Identity.CONTRADICTED: FAILED,
        Identity.NONE_OF_THESE: FAILED,
        Identity.NARROWED: NOT_DECIDED,
        Identity.OPEN: NOT_DECIDED,
    }
)
_SHARED: Final = ("meter", "meter_like", "leads", "lead_ohm", "temperature", "celsius_accuracy", "range_ohm")
_OF_READINGS: Final = tuple(option for option in MEASURED if option.field in _SHARED)
_OPTIONS: Final = (
    Option("--variants", "variants", words, "folder of variant files the part could be"),
    Option("--session", "session", words, "session folder whose features and readings count too"),
)
_SAW: Final = 'a feature as seen: "name=value", with @us (default), @photo or @phone; once more for a second look'
_READ: Final = 'a reading: "FROM TO OHM CELSIUS", open as OL'
_PARTS: Final = 4
_MOST_LOST: Final = 8
_OPEN_RANGE_OHM: Final = 4e7


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print chances, verdict and what to look at next; the exit code is the verdict."""
    parser = Parser("identify", "Which variant a part is, from features seen and readings, and what to look at next.")
    for option in (*_OPTIONS, *_OF_READINGS):
        option.add_to(parser)
    parser.add_argument("--saw", action="append", nargs="+", metavar="NAME=VALUE[@HOW]", help=_SAW)
    parser.add_argument("--reading", action="append", nargs="+", metavar="READING", help=_READ)
    arguments = parser.read(given)
    found = fields(arguments, (*_OPTIONS, *_OF_READINGS))
    if "variants" not in found:
        raise bad("--variants", "nothing", "a folder with variant files")
    world = services()
    identifier, faults = library_in(world, found["variants"])
    saw = [text for several in arguments.saw or () for text in several]
    read = [text for several in arguments.reading or () for text in several]
    shared = with_meter({name: value for name, value in found.items() if name in _SHARED})
    looks = _all(saw, lambda text: _look(text, identifier.questions))
    readings = _all(read, lambda text: _reading(text, shared, identifier))
    told, said = said_in(world, found.get("session"), identifier.questions, faults)
    answered = identifier.identify((*told, *looks), (*said, *_in_numbers(readings, faults)))
    titles = {variant.key: variant.title for variant in identifier.variants}
    answer(arguments.json, as_data(answered), "\n".join(_lines(answered, identifier.questions, titles)))
    return _EXIT[answered.verdict]


def library_in(world: Services, folder: str) -> tuple[Identifier, Priors]:
    """A folder of variant files, ready to be asked, and the spread of good parts (raises BadInput, WorldFailed)."""
    from valvebench.diagnose.explain_priors import read_priors
    from valvebench.diagnose.identify import Identifier
    from valvebench.diagnose.identify_priors import read_identify_priors

    path, resources = Path(folder), world.data_folder() / "resources"
    if not path.is_dir():
        raise bad("--variants", folder, "a folder with variant files")
    variants: list[Variant] = _all(
        sorted(path.glob("*.json")), lambda file: read_variant(world.read_file(file), source=str(file))
    )
    faults = read_priors(world.read_file(resources / "priors.json"), source="priors.json")
    priors = read_identify_priors(world.read_file(resources / "identify.json"), source="identify.json")
    try:
        return Identifier(variants, priors, faults), faults
    except BadInput as error:
        raise BadInput(error.problems, source=folder) from error


def _all(texts: Sequence[Any], convert: Callable[[Any], Any]) -> list[Any]:
    """Each converted; every problem is reported together."""
    found: list[Any] = []
    problems: list[Problem] = []
    sources: set[str] = set()
    for text in texts:
        try:
            found.append(convert(text))
        except BadInput as error:
            problems += error.problems
            sources.add(error.source)
    if problems:
        raise BadInput(problems, source=sources.pop() if len(sources) == 1 else "")
    return found


def _look(text: str, questions: Sequence[Question]) -> Look:
    """`plate mark=dot@photo` as a look at a feature of the library."""
    name, sign, rest = text.partition("=")
    value, seen = _seen(rest)
    if not (sign and name.strip() and value.strip()):
        raise bad("--saw", repr(text), "name=value, such as 'plate mark=dot' or 'plate mark=dot@photo'")
    known = {question.feature: question for question in questions}
    feature = spelled(name.strip(), known)
    if feature not in known:
        advice = nearest(name, known) or f"These variants have: {', '.join(known) or 'no features'}."
        raise bad("--saw", repr(name), "a feature of these variants", advice)
    question = known[feature]
    choices = (*question.answers, CANNOT_SEE, SOMETHING_ELSE)
    whole = spelled(rest.strip(), choices)  # an answer may have an @ of its own
    look = Look(feature, whole) if whole in choices else Look(feature, spelled(value.strip(), choices), seen)
    if look.value not in choices:
        raise bad(f"--saw {feature}", repr(look.value), choices_text(question), nearest(look.value, choices))
    return look


def _seen(rest: str) -> tuple[str, Seen]:
    value, sign, how = rest.rpartition("@")
    known = {seen.value: seen for seen in Seen}
    if sign and how in known:
        return value, known[how]
    return rest, Seen.US


def _reading(text: str, shared: Mapping[str, Any], identifier: Identifier) -> Reading:
    """`3 11 5.2 23` as a reading between two nodes of the library."""
    parts = [part for part in re.split(r"[;\s]+", text.strip()) if part]
    if len(parts) != _PARTS:
        raise bad("--reading", repr(text), "from, to, ohm and degrees Celsius, such as '3 11 5.2 23'")
    a, b, ohm, celsius = parts
    strange = [node for node in (a, b) if not identifier.expecting.knows(node)]
    if strange:
        raise bad("--reading", f"{' and '.join(strange)} in {text!r}", "pins, joints or 'case' of these variants")
    where = f"--reading {text!r}"
    typed = typed_ohm(ohm)
    value = {"open": True, "range_ohm": _OPEN_RANGE_OHM} if typed.is_open else {"ohm": decimal(ohm, where=where)}
    given = {"from": a, "to": b, "celsius": decimal(celsius, where=where), **value, **shared}
    found = body_from("reading", given, source=where)
    if not isinstance(found, Reading):
        raise TypeError("a reading was asked for")
    return found


def _in_numbers(readings: Sequence[Reading], faults: Priors) -> list[Said]:
    from valvebench.diagnose.explain_readings import said_one

    wet = [one for one in readings if one.u_celsius is None and one.half_width_celsius() is None]
    if wet:
        raise bad("--temperature", "not_soaked", "a coil temperature that is known", "Let the part lie two hours.")
    return [said_one(0, reading, faults) for reading in readings]


def said_in(
    world: Services, folder: str | None, questions: Sequence[Question], faults: Priors
) -> tuple[tuple[Look, ...], list[Said]]:
    """Features and readings of a session, where one was named."""
    if folder is None:
        return (), []
    from valvebench.diagnose.explain_readings import said_of

    session = world.view_session(Path(folder)).session
    return as_asked(looks_of(session), questions), said_of(session, faults)[0]


def as_data(found: Identified) -> dict[str, Any]:
    """The stable JSON answer."""
    return {
        "posterior": {**dict(found.posterior), NONE_OF_THESE: found.p_none},
        "verdict": found.verdict,
        "contradictions": [one._asdict() for one in found.contradictions],
        "next": [one._asdict() for one in found.next],
        "not_checked": found.not_checked,
        "first": [one._asdict() for one in found.first],
        "must_match": [one._asdict() for one in found.must],
        "holds_back": [one._asdict() for one in found.holds_back],
        "alike": [one._asdict() for one in found.groups],
        "told_only": found.told_only,
        "lost": [
            {"variant": one.variant, "p": one.p, "readings": [m._asdict() for m in one.misfits]} for one in found.lost
        ],
        "left_out": [one._asdict() for one in found.left_out],
    }


def _lines(found: Identified, questions: Sequence[Question], titles: Mapping[str, str]) -> list[str]:
    """The same for a person."""
    asked = {question.feature: question for question in questions}

    def name(key: str) -> str:
        return f"{titles[key]} ({key})"

    lines = [head_text(found, name), *(f"  {holding_text(one)}" for one in found.holds_back)]
    lines += [f"  {must_text(one)}" for one in found.must]
    if found.verdict is not Identity.NONE_OF_THESE:
        lines.append(none_text(found))
    lines += [lost_text(one, name) for one in found.lost[:_MOST_LOST]]
    if len(found.posterior) - len(found.leading) > _MOST_LOST:
        lines.append("More variants are less likely; --json has the chance of each.")
    lines += [alike_text(one, name) for one in found.groups]
    lines += [f"First: {first_text(one, asked[one.feature])}" for one in found.first]
    if found.verdict is not Identity.CONFIRMED and not _is_asked_first(found):
        lines.append(f"Next: {next_text(found, asked)}")
    if found.told_only:
        lines.append(f"Told by phone only: {', '.join(found.told_only)}.")
    if found.not_checked:
        lines.append(f"Not checked: {', '.join(found.not_checked)}.")
    return [*lines, *(left_out_text(one) for one in found.left_out)]


def _is_asked_first(found: Identified) -> bool:
    """Whether what tells most is to be looked at first anyway."""
    return bool(found.next) and found.next[0].feature in {one.feature for one in found.first}
