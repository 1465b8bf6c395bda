"""What a draft does not say yet: nothing of it is wrong, but the bench will have no limit or no question."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from valvebench.model.draft_cells import is_on, squeezed
from valvebench.model.draft_code_hints import code_hints
from valvebench.model.draft_field import Part
from valvebench.model.draft_fields import COIL_KINDS
from valvebench.model.draft_file import kind_of, texts_at
from valvebench.model.draft_refit_hints import Hint, refit_hints
from valvebench.model.errors import nearest
from valvebench.model.variant_draft import Draft, Spot
from valvebench.model.words import CASE

LIMIT_KINDS: Final = frozenset({"solenoid", "temperature_sensor"})


def hints_of(draft: Draft) -> Iterator[Hint]:
    """Every hint, in the order in which a variant is usually written."""
    yield from _pin_hints(draft)
    if not draft.rows(Part.DEVICES):
        yield Spot(Part.DEVICES, 0, "name"), "no devices yet: nothing says what is wired behind the pins"
    for row in range(len(draft.rows(Part.DEVICES))):
        yield from _device_hints(draft, row)
    yield from _isolation_hints(draft)
    yield from _board_hints(draft)
    yield from _port_hints(draft)
    yield from _tap_hints(draft)
    yield from code_hints(draft)
    yield from refit_hints(draft)


def _pin_hints(draft: Draft) -> Iterator[Hint]:
    names = draft.texts(Part.PINS, "name")
    if not names:
        yield Spot(Part.PINS, 0, "name"), "no pins yet: type how many beside the drawing, or paste them"
    wired = {*draft.texts(Part.DEVICES, "from"), *draft.texts(Part.DEVICES, "to")}
    loose = [row for row, name in enumerate(names) if name and name not in wired]
    if loose and draft.rows(Part.DEVICES):
        shown = ", ".join(names[row] for row in loose)
        yield Spot(Part.PINS, loose[0], "name"), f"no device ends at {'pins' if len(loose) > 1 else 'pin'} {shown}"


def _device_hints(draft: Draft, row: int) -> Iterator[Hint]:
    texts, kind = texts_at(draft, Part.DEVICES, row), kind_of(draft, Part.DEVICES, row)
    yield from _node_hints(draft, row, texts)
    if kind == "solenoid" and not texts["duty"]:
        yield Spot(Part.DEVICES, row, "duty"), "linear, pulsed or on/off is not said"
    if has_limits(draft, row):
        yield from _source_hints(Part.DEVICES, row, texts)
        yield from _temperature_hints(row, texts, kind)
    elif kind in LIMIT_KINDS:
        key = "points" if kind == "temperature_sensor" else "low"
        yield Spot(Part.DEVICES, row, key), "no limits: its readings get No limit"


def has_limits(draft: Draft, row: int) -> bool:
    """Whether anything says what a device should read."""
    texts = texts_at(draft, Part.DEVICES, row)
    return bool(texts["low"] or texts["high"] or texts["points"] or draft.rows(Part.DEVICES)[row].kept)


def _source_hints(part: Part, row: int, texts: dict[str, str]) -> Iterator[Hint]:
    if not texts["source"]:
        yield Spot(part, row, "source"), "nothing says where the limits come from"
    elif squeezed(texts["source"]) == "manual" and not texts["source_text"]:
        yield Spot(part, row, "source_text"), "which manual, and which page?"
    elif squeezed(texts["source"]) in ("measured", "learned") and not texts["n"]:
        yield Spot(part, row, "n"), "on how many good bodies?"


def _temperature_hints(row: int, texts: dict[str, str], kind: str) -> Iterator[Hint]:
    if kind in COIL_KINDS and not texts["ref"]:
        yield (
            Spot(Part.DEVICES, row, "ref"),
            "limits at which temperature? Empty counts as not stated",
        )


def _node_hints(draft: Draft, row: int, texts: dict[str, str]) -> Iterator[Hint]:
    pins = draft.texts(Part.PINS, "name")
    used = Counter((*draft.texts(Part.DEVICES, "from"), *draft.texts(Part.DEVICES, "to")))
    names = set(draft.texts(Part.DEVICES, "name"))
    for key in ("from", "to"):
        node = texts[key]
        is_terminal = node.rpartition(".")[0] in names
        if node and pins and node not in pins and node != CASE and used[node] < 2 and not is_terminal:
            advice = nearest(node, [*pins, CASE])
            words = f"{node} is no pin, and nothing else ends there. {advice}".rstrip()
            yield Spot(Part.DEVICES, row, key), words


def _isolation_hints(draft: Draft) -> Iterator[Hint]:
    if not draft.body("isolation") and not is_on(draft.body("electronics")):
        yield Spot(Part.BODY, 0, "isolation"), "no least resistance to the case: isolation gets No limit"
    elif draft.body("isolation"):
        yield from _source_hints(Part.BODY, 0, texts_at(draft, Part.BODY, 0))


def _board_hints(draft: Draft) -> Iterator[Hint]:
    kinds = [kind_of(draft, Part.DEVICES, row) for row in range(len(draft.rows(Part.DEVICES)))]
    if "electronics" in kinds and not is_on(draft.body("electronics")):
        yield Spot(Part.BODY, 0, "electronics"), "a device is electronics, but the stop sign is off"


def _port_hints(draft: Draft) -> Iterator[Hint]:
    if not draft.rows(Part.PORTS):
        yield Spot(Part.PORTS, 0, "name"), "no ports: the air test has nothing to ask"
    elif not draft.body("picture_body") and not draft.body("picture_case"):
        yield Spot(Part.BODY, 0, "picture_body"), "no photo: the ports are drawn on a plain board"
    for row in range(len(draft.rows(Part.PORTS))):
        texts = texts_at(draft, Part.PORTS, row)
        if not texts["expect"]:
            yield Spot(Part.PORTS, row, "expect"), "nothing is expected here: it gets No limit"
        if not texts["kpa"]:
            yield Spot(Part.PORTS, row, "kpa"), "no pressure is stated, so none will be proposed"


def _tap_hints(draft: Draft) -> Iterator[Hint]:
    """No taps at all are no lack: many bodies have none."""
    for row in range(len(draft.rows(Part.TAPS))):
        texts = texts_at(draft, Part.TAPS, row)
        if not texts["low"] and not texts["high"]:
            yield Spot(Part.TAPS, row, "low"), "no window: its pressures get No limit"
        else:
            yield from _source_hints(Part.TAPS, row, texts)
