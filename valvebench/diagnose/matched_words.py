"""What a matched set says, in words that page and report share."""

from __future__ import annotations

from typing import Final

from valvebench.diagnose.matched import MatchedSet, Member
from valvebench.model.format import OHM, celsius_text, ohm_text
from valvebench.physics.outliers import ODD_FROM

ANSWER_TEXT: Final = {True: "the odd one", False: "not odd", None: "can't tell"}


def title_of(one: MatchedSet) -> str:
    """The set and the temperature it was read at."""
    return f"{one.name[:1].upper()}{one.name[1:]}, read at {celsius_text(one.celsius)}"


def sentence_of(one: MatchedSet) -> str:
    """Which one is odd and by how much, or why that cannot be told."""
    if one.why:
        return one.why
    odd = odd_of(one)
    if not odd:
        return f"None of the {len(one.members)} stands out."
    return " ".join(_odd_words(member, one.median_ohm) for member in odd)


def odd_of(one: MatchedSet) -> list[Member]:
    """The odd ones, the oddest first."""
    return sorted(
        (member for member in one.members if member.is_odd), key=lambda member: -abs(member.modified_z or 0.0)
    )


def _odd_words(member: Member, median_ohm: float) -> str:
    away = member.ohm - median_ohm
    side = "above" if away > 0 else "below"
    return f"{member.name} is the odd one: {ohm_text(abs(away))} {side} the median."


def about(one: MatchedSet) -> str:
    """What it was measured by: median, spread or floor."""
    if one.why:
        return f"Median {ohm_text(one.median_ohm)}."
    by_floor = one.floor_ohm >= one.mad_ohm
    by = "the meter's own step, the floor" if by_floor else "the median distance from it"
    odd = "".join(f"; modified z of {member.name} {abs(member.modified_z or 0.0):.1f}" for member in odd_of(one))
    return (
        f"Median {ohm_text(one.median_ohm)}; measured by {by} ({one.spread_ohm:.2g} {OHM}){odd}; "
        f"odd above z {ODD_FROM:g}."
    )
