"""What a draft does not say yet of the order and the refit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from valvebench.model.draft_field import Part
from valvebench.model.draft_file import texts_at
from valvebench.model.variant_draft import Draft, Spot, identities_of

Hint = tuple[Spot, str]
_EMPTY: Final = {
    Part.FASTENERS: "no fasteners: nothing says which length goes where, and how tight",
    Part.CHECKLIST: "no lines: nothing is asked for before opening, while open, before the refit and after",
    Part.PART_NUMBERS: "no numbers: nothing to order the part by",
    Part.ORDER_WITH: "nothing to order with the part, such as seals and screens",
}


def refit_hints(draft: Draft) -> Iterator[Hint]:
    """Every hint about fasteners, fluid, checklist and what is ordered."""
    yield from _empty_hints(draft)
    yield from _fastener_hints(draft)
    yield from _fluid_hints(draft)
    yield from _checklist_hints(draft)
    yield from _number_hints(draft)


def _empty_hints(draft: Draft) -> Iterator[Hint]:
    for part, words in _EMPTY.items():
        if not draft.rows(part):
            yield Spot(part, 0, "name"), words


def _fastener_hints(draft: Draft) -> Iterator[Hint]:
    known = Counter(identities_of(draft, Part.FASTENERS))
    for row, identity in enumerate(identities_of(draft, Part.FASTENERS)):
        texts = texts_at(draft, Part.FASTENERS, row)
        if identity and known[identity] > 1:
            yield Spot(Part.FASTENERS, row, "name"), "this place with this length stands here more than once"
        if not texts["length"]:
            yield Spot(Part.FASTENERS, row, "length"), "no length: a longer one may get into a shorter hole"
        if not texts["torque"]:
            yield Spot(Part.FASTENERS, row, "torque"), "no torque is stated, so none will be proposed"


def _fluid_hints(draft: Draft) -> Iterator[Hint]:
    texts = texts_at(draft, Part.FLUID, 0)
    if not any(texts.values()):
        yield Spot(Part.FLUID, 0, "by"), "overflow or dipstick? Nothing says how the level is checked"
        return
    for key in ("low", "high"):
        if not texts[key]:
            yield Spot(Part.FLUID, 0, key), "the level depends on how warm the fluid is: no temperature is stated"


def _checklist_hints(draft: Draft) -> Iterator[Hint]:
    silent = [row for row, text in enumerate(draft.texts(Part.CHECKLIST, "when")) if not text]
    if silent:
        count = f"{len(silent)} lines do" if len(silent) > 1 else "this line does"
        yield Spot(Part.CHECKLIST, silent[0], "when"), f"{count} not say when"


def _number_hints(draft: Draft) -> Iterator[Hint]:
    numbers = draft.texts(Part.PART_NUMBERS, "name")
    for row, text in enumerate(draft.texts(Part.PART_NUMBERS, "next")):
        if text and text not in numbers:
            yield Spot(Part.PART_NUMBERS, row, "next"), f"{text} has no row of its own: is it the newest?"
