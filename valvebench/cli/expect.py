"""`valvebench expect VARIANT --from A --to B`: what the circuit lets one expect."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

from valvebench.cli.options import DONE, Option, Parser, answer, fields, number, words
from valvebench.cli.services import MakeServices
from valvebench.judge.expectation import Circuit, Expected, ExpectedState
from valvebench.model.errors import bad, nearest
from valvebench.model.format import ohm_text
from valvebench.model.measured import HIGHEST_CELSIUS, LOWEST_CELSIUS
from valvebench.model.variant import Variant
from valvebench.model.variant_codes import code_at
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import CASE

_OPTIONS = (
    Option("--from", "from_node", words, "one node"),
    Option("--to", "to_node", words, "the other node"),
    Option("--celsius", "celsius", number, "coil temperature (20) [degrees Celsius]"),
    Option("--selector", "selector", words, "selector position, where the variant has a code table"),
    Option("--all", "every", None, "every pair of pins and the case"),
)


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print what one pair, or every pair, should read."""
    parser = Parser("expect", "What a variant's circuit lets one expect between two nodes.")
    parser.add_argument("variant", type=Path, help="variant file")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    found = fields(arguments, _OPTIONS)
    variant = read_variant(services().read_file(arguments.variant), source=str(arguments.variant))
    circuit = Circuit(variant, _celsius(found), selector=_selector(found, variant))
    if "every" in found:
        pairs = [_data(a, b, circuit.expected(a, b)) for a, b in combinations(_nodes(variant), 2)]
        answer(arguments.json, {"pairs": pairs}, "\n".join(_text(pair) for pair in pairs))
        return DONE
    a, b = _pair(found, variant)
    data = _data(a, b, circuit.expected(a, b))
    answer(arguments.json, data, _text(data))
    return DONE


def _celsius(found: dict[str, Any]) -> float:
    celsius: float = found.get("celsius", 20.0)
    if not LOWEST_CELSIUS <= celsius <= HIGHEST_CELSIUS:
        raise bad("--celsius", f"{celsius:g}", "a coil temperature from -50 to 180 degrees Celsius")
    return celsius


def _selector(found: dict[str, Any], variant: Variant) -> str | None:
    selector: str | None = found.get("selector")
    known = [code.position for code in variant.selector_codes]
    if selector is not None and code_at(variant.selector_codes, selector) is None:
        expected = f"one of {', '.join(known)}" if known else "no position: the variant has no code table"
        raise bad("--selector", repr(selector), expected, nearest(selector, known))
    return selector


def _nodes(variant: Variant) -> list[str]:
    return [*(pin.name for pin in variant.pins), CASE]


def _pair(found: dict[str, Any], variant: Variant) -> tuple[str, str]:
    known = {*_nodes(variant), *(node for device in variant.devices for node in device.between)}
    for name in ("from_node", "to_node"):
        flag = "--from" if name == "from_node" else "--to"
        if name not in found:
            raise bad(flag, "nothing", "a node of the variant, or --all")
        if found[name] not in known:
            raise bad(flag, repr(found[name]), f"a node of {variant.key}", nearest(found[name], known))
    if found["from_node"] == found["to_node"]:
        raise bad("--to", repr(found["to_node"]), "another node than --from")
    return found["from_node"], found["to_node"]


def _data(a: str, b: str, expected: Expected) -> dict[str, Any]:
    return {
        "from": a,
        "to": b,
        "ohm": expected.ohm,
        "state": expected.state,
        "path": expected.path,
        "why": expected.why or None,
    }


def _text(data: dict[str, Any]) -> str:
    state: ExpectedState = data["state"]
    value = ohm_text(data["ohm"]) if data["ohm"] is not None else state.value
    path = f"  through {', '.join(data['path'])}" if data["path"] else ""
    why = f"  {data['why']}" if data["why"] else ""
    return f"{data['from']}\u2013{data['to']}: {value}{path}{why}"
