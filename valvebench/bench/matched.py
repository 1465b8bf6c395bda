"""The matched sets of a session, wherever their names come from."""

from __future__ import annotations

from typing import Final, NamedTuple

from valvebench.bench.part_in_hand import found_in
from valvebench.diagnose.matched import MatchedSet, matched_sets, sets_as_read, sets_of_variant
from valvebench.model.session import Session
from valvebench.model.variant import Variant

OF_VARIANT: Final = "The sets are those of the variant."
OF_WIRING: Final = "No variant: like solenoids are those of the wiring found."
AS_READ: Final = (
    "Neither a variant nor the wiring is known: pairs that read alike are taken for a set. "
    "A reading may run through several parts."
)


class MatchedSets(NamedTuple):
    """Sets with what stands in for knowing them."""

    sets: tuple[MatchedSet, ...]
    note: str


def matched_of(session: Session, variant: Variant | None) -> MatchedSets:
    """The variant's sets; without a variant those of the wiring, or of the pairs as read."""
    if variant is not None:
        return MatchedSets(matched_sets(session, variant, sets_of_variant(variant)), OF_VARIANT)
    wired = found_in(session, None).sets
    if wired:
        return MatchedSets(wired, OF_WIRING)
    return MatchedSets(matched_sets(session, None, sets_as_read(session)), AS_READ)
