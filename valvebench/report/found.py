"""What was found and done beside the measuring, as labels with their words: fluid, cooler, features, photos, notes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from valvebench.model.entry import FeatureSeen, FluidFound, Note, Photo
from valvebench.model.format import stamp_text
from valvebench.model.session import Item, Session
from valvebench.model.words import COOLER_TEXT, JobKind
from valvebench.report.form import NOT_RECORDED
from valvebench.report.words import body_words

COOLER: Final = "Cooler"
_KINDS: Final = ((FluidFound, "Fluid and debris"), (FeatureSeen, "Feature"), (Photo, "Photo"), (Note, "Note"))


def found_facts(session: Session) -> list[tuple[str, str]]:
    """Everything as found, entry by entry; of a complaint the cooler is told in any case."""
    facts = [
        (f"{label}, entry {item.n}", body_words(item.body))
        for kind, label in _KINDS
        for item in session.items
        if isinstance(item.body, kind)
    ]
    said = cooler_words(session.items)
    is_due = session.job.kind is JobKind.COMPLAINT
    return [*facts, (COOLER, said or NOT_RECORDED)] if said or is_due else facts


def cooler_words(items: Iterable[Item]) -> str:
    """What was said about the cooler, all of it in order: two answers that differ are both told; empty if none."""
    return "; ".join(
        f"{COOLER_TEXT[item.body.cooler]} (entry {item.n}, {stamp_text(item.at)}, by {item.by})"
        for item in items
        if isinstance(item.body, FluidFound) and item.body.cooler is not None
    )
