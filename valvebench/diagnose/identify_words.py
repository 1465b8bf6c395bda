"""Which variant a part is, in plain words that never claim more than was checked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from valvebench.diagnose.identified import (
    CANNOT_SEE,
    SOMETHING_ELSE,
    Alike,
    Because,
    Contradiction,
    First,
    HoldBack,
    Holding,
    Identified,
    Identity,
    Lost,
    Misfit,
    MustPoint,
    MustState,
    NotUsed,
    Question,
)
from valvebench.model.format import chance_text, ohm_text
from valvebench.model.words import Seen

SEEN_TEXT: Final = MappingProxyType({Seen.US: "seen by us", Seen.PHOTO: "in a photo", Seen.PHONE: "told by phone"})
NOTHING_SEPARATES: Final = "Nothing in the library says how they differ: state a feature or a limit that does."
_TWO: Final = 2
_MOST_NAMED: Final = 4
_SAME_BITS: Final = 9

Name = Callable[[str], str]
"""From the key of a variant to what people call it."""


def head_text(found: Identified, name: Name) -> str:
    """The first line: what it is, and how likely."""
    best, chance = name(found.leading[0]), chance_text(found.p_best)
    return {
        Identity.CONFIRMED: f"Confirmed: it is {best} ({chance}).",
        Identity.NONE_OF_THESE: f"None of these: {chance_text(found.p_none)}. The closest, {best}, is contradicted.",
        Identity.CONTRADICTED: f"Contradicted: {best} comes closest ({chance}), and it does not fit.",
        Identity.NARROWED: f"Not confirmed: most likely {best} ({chance}).",
        Identity.OPEN: _open_text(found, name),
    }[found.verdict]


def _open_text(found: Identified, name: Name) -> str:
    if not found.has_evidence:
        return f"Open: nothing was seen yet, {leading_text(found.leading, name)} possible."
    best, chance = name(found.leading[0]), chance_text(found.p_best)
    if found.p_none > found.p_best:
        return f"Open: perhaps none of these ({chance_text(found.p_none)}); {best} comes closest."
    if len(found.leading) > 1:
        return f"Open: {leading_text(found.leading, name)}, equally likely ({chance} each)."
    return f"Open: {best} leads ({chance})."


def leading_text(keys: Sequence[str], name: Name) -> str:
    """Several variants that lead together, the first few by name."""
    if len(keys) > _MOST_NAMED:
        return f"{len(keys)} variants"
    return _or([name(key) for key in keys])


def none_text(found: Identified) -> str:
    """How likely it is that the library does not hold it."""
    return f"None of these: {chance_text(found.p_none)}."


def holding_text(one: HoldBack) -> str:
    """One reason why the leading variant is not confirmed."""
    names = _and(one.features)
    does_do = "does" if len(one.features) == 1 else "do"
    return {
        Holding.CHANCE: "What was seen does not make it sure enough.",
        Holding.PHONE: f"It rests on what was told by phone{f': look at {names}' if names else ''}.",
        Holding.MUST_MATCH: f"Not seen by us or in a photo: {names}.",
        Holding.NOT_STATED: f"The variant file does not state {names}, which must match.",
        Holding.LOOK_AGAIN: f"Look again: {names} {does_do} not fit, seen once or unclear.",
        Holding.STANDS: f"{_capital(names)} {does_do} not fit, and a second look says the same.",
    }[one.what]


def against_text(one: Contradiction) -> str:
    """What was seen and what the variant needs, without a full stop."""
    again = ", also on a second look" if one.looks >= _TWO else ""
    return f"{one.feature}: saw {one.saw}{again}, needs {one.needs}"


def misfit_text(one: Misfit) -> str:
    """What was read and what the variant lets one expect, without a full stop."""
    needs = "no connection" if one.needs_ohm is None else f"about {ohm_text(one.needs_ohm)}"
    return f"{one.from_node}\u2013{one.to_node}: read {ohm_text(one.ohm)}, needs {needs}"


def lost_text(one: Lost, name: Name) -> str:
    """Why a variant is not the leading one."""
    told = [*map(against_text, one.against), *map(misfit_text, one.misfits)]
    because = "; ".join(told) if told else "nothing contradicts it, it states less or fits less well"
    return f"{name(one.variant)} ({chance_text(one.p)}): {because}."


def first_text(one: First, question: Question) -> str:
    """What to look at before anything else, with how."""
    how = f" {question.ask}" if question.ask else ""
    if one.because is Because.LOOK_AGAIN:
        return f"Look again at {one.feature}: it contradicts the leading variant.{how}"
    return f"Look at {one.feature}: it must match.{how}"


def next_text(found: Identified, questions: Mapping[str, Question]) -> str:
    """The feature that tells most; of several that tell the same, all."""
    if not found.next:
        return "Nothing else in the library tells more."
    best = found.next[0]
    equal = [one.feature for one in found.next if round(one.bits, _SAME_BITS) == round(best.bits, _SAME_BITS)]
    ask = questions[best.feature].ask
    how = f" {ask}" if ask and len(equal) == 1 else ""
    return f"Look at {_or(equal)}: tells most ({best.bits:.2g} bit).{how}"


def must_text(one: MustPoint) -> str:
    """One point that must match."""
    return {
        MustState.SEEN: f"{one.feature}: {one.needs}, seen.",
        MustState.TOLD: f"{one.feature}: {one.needs}, told by phone only.",
        MustState.NOT_SEEN: f"{one.feature}: needs {one.needs}, not seen.",
        MustState.CONTRADICTED: f"{one.feature}: needs {one.needs}, saw {one.saw}.",
        MustState.NOT_STATED: f"{one.feature}: the variant file does not say what it needs.",
    }[one.state]


def alike_text(one: Alike, name: Name) -> str:
    """Variants that nothing separates, with what would."""
    which = f"{_or([name(key) for key in one.variants])}: no feature separates them."
    if one.pair is not None:
        which += f" A reading at {one.pair[0]}\u2013{one.pair[1]} does."
    if one.features:
        return f"{which} {_capital(_or(one.features))} would, once each file states it."
    return which if one.pair is not None else f"{which} {NOTHING_SEPARATES}"


def left_out_text(one: NotUsed) -> str:
    """What says nothing here, and why."""
    entry = f"entry {one.entry}, " if one.entry else ""
    return f"Left out: {entry}{one.what}: {one.why}."


def choices_text(question: Question) -> str:
    """What can be answered, for a message."""
    return f"one of {', '.join(question.answers)}, or {CANNOT_SEE}, or {SOMETHING_ELSE}"


def _or(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"


def _and(names: Sequence[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
