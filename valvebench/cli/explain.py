"""`valvebench explain SESSION`: what explains its readings, and what to measure next."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from valvebench.cli.options import DONE, NOT_DECIDED, Option, Parser, answer, fields, words
from valvebench.cli.services import MakeServices, Services
from valvebench.diagnose.explain_priors import Fault, read_priors
from valvebench.diagnose.explain_words import (
    access_text,
    assumed_text,
    bad_text,
    chance_text,
    fault_text,
    flex_text,
    head_text,
    heat_lines,
    next_text,
    same_text,
    size_text,
    told_lines,
)
from valvebench.diagnose.explained import Ask, Between, Explained, Explanation, HeatSaid, Place
from valvebench.model.errors import bad
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant

_ALSO: float = 0.02
_OPTIONS = (Option("--variants", "variants", words, "folder of variant files the part could be instead"),)


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print the explanations; 0 where one of them holds 95 %."""
    from valvebench.diagnose.explain import Explainer

    parser = Parser("explain", "What explains the readings of a session, and what to measure next.")
    parser.add_argument("session", type=Path, help="the session folder")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    found = fields(arguments, _OPTIONS)
    world = services()
    view = world.view_session(arguments.session)
    if view.variant is None:
        advice = "Open the job with --variant, or find the wiring with `valvebench wire` first."
        raise bad("session", "no variant", "a session with a variant: faults are told by its circuit", advice)
    priors = read_priors(world.read_file(world.data_folder() / "resources" / "priors.json"), source="priors.json")
    explained = Explainer(view.variant, priors, _others(world, found.get("variants"))).explain(view.session)
    text = "\n".join(_lines(explained, view.variant, priors.next.warm_celsius.value))
    answer(arguments.json, as_data(explained), text)
    return DONE if explained.is_settled else NOT_DECIDED


def _others(world: Services, folder: str | None) -> list[Variant]:
    """Variants of a folder the person named."""
    if folder is None:
        return []
    path = Path(folder)
    if not path.is_dir():
        raise bad("--variants", folder, "a folder with variant files")
    return [read_variant(world.read_file(file), source=str(file)) for file in sorted(path.glob("*.json"))]


def as_data(found: Explained) -> dict[str, Any]:
    """The stable JSON answer."""
    return {
        "explanations": [_explanation(one) for one in found.explanations],
        "next": [_ask(ask) for ask in found.next],
        "possible": found.possible,
        "settled": found.is_settled,
        "strained": found.is_strained,
        "invisible": [_place(place) for place in found.invisible],
        "called_bad": [{"from": a, "to": b} for a, b in found.called_bad],
        "left_out": [one._asdict() for one in found.left_out],
        "access": [_between(one) for one in found.access],
        "heat": [_heat(one) for one in found.heat],
        "flexed": [
            {"what": one.what, "from": one.from_node, "to": one.to_node, "flexed": one.flexed} for one in found.flexed
        ],
    }


def _explanation(one: Explanation) -> dict[str, Any]:
    return {
        "fault": one.fault,
        "where": one.where,
        "when": one.when,
        "p": one.p,
        "odds": one.odds,
        "same_as": [_place(place) for place in one.same_as],
        "value": one.value._asdict() if one.value is not None else None,
        "predicts": [
            {"from": told.from_node, "to": told.to_node, "at": told.at, "ohm": told.ohm, "read_ohm": told.read_ohm}
            for told in one.predicts
        ],
    }


def _place(place: Place) -> dict[str, Any]:
    return {"fault": place.fault, "where": place.where, "when": place.when}


def _heat(one: HeatSaid) -> dict[str, Any]:
    return {
        "device": one.device,
        "found": one.found,
        "ohm": one.size._asdict() if one.size is not None else None,
        "celsius": one.celsius,
        "entries": one.entries,
    }


def _between(one: Between) -> dict[str, Any]:
    return {
        "from": one.from_node,
        "to": one.to_node,
        "outer": one.outer,
        "inner": one.inner,
        "what": one.what,
        "ohm": one.ohm,
        "u": one.u,
    }


def _ask(ask: Ask) -> dict[str, Any]:
    return {
        "from": ask.from_node,
        "to": ask.to_node,
        "at": ask.at,
        "what": ask.what,
        "bits": ask.bits,
        "seconds": ask.seconds,
    }


def _lines(found: Explained, variant: Variant, warm_celsius: float) -> list[str]:
    """The same for a person."""
    lines = [head_text(found, variant)]
    first = found.explanations[0]
    if found.is_strained:
        lines.append(f"  Closest: {fault_text(first.fault, first.where, variant, first.when)}.")
        lines += [f"  {line}" for line in told_lines(first)]
    elif found.readings:
        lines += _about(first, variant)
        lines += [f"  {bad_text(found)}"] if found.called_bad else []
        second = found.explanations[1] if len(found.explanations) > 1 else None
        lines += [f"  {line}" for line in told_lines(first, second)]
        also = [one for one in found.explanations[1:] if one.p >= _ALSO or one.fault is Fault.HEALTHY]
        lines += ["Also possible:"] if also else []
        lines += [f"  {fault_text(one.fault, one.where, variant, one.when)}: {chance_text(one.p)}" for one in also]
    lines += [access_text(one) for one in found.access]
    lines += heat_lines(found)
    lines += [flex_text(found)] if found.flexed else []
    lines.append(next_text(found, warm_celsius=warm_celsius))
    lines += [f"Left out: entry {one.entry}, {one.why}." for one in found.left_out]
    lines += [assumed_text(found)] if found.readings else []
    return lines


def _about(one: Explanation, variant: Variant) -> list[str]:
    size = size_text(one)
    lines = [f"  Size: {size}"] if size else []
    if one.same_as:
        lines.append(f"  {same_text(one.same_as, variant, is_sound=one.fault is Fault.HEALTHY)}")
    return lines
