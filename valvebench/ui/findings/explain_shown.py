"""What the card of explanations shows, as plain frozen facts and as text.  No Qt, nothing is weighed here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from valvebench.bench.explaining import Answer
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_words import (
    NOT_AT_REST,
    access_text,
    assumed_text,
    bad_text,
    chance_text,
    fault_text,
    flex_text,
    heat_lines,
    next_text,
    same_text,
    size_text,
    time_text,
)
from valvebench.diagnose.explained import Ask, Explained, Explanation, LeftOut
from valvebench.model.format import celsius_text, ohm_text
from valvebench.model.variant import Variant
from valvebench.model.words import AccessPoint

TITLE: Final = "What explains these readings"
WORKING: Final = "Working it out \u2026"
STRAINED: Final = "No single fault explains these readings well"
STRAINED_WHY: Final = "Two faults, one that grows with heat, or the wrong variant file."
NOTHING_YET: Final = "Nothing was read yet that could be explained"
NOT_ASKED: Final = "This session is closed: no further reading is asked for."
_ALSO: Final = 0.02
_MOST_AMONG: Final = 4
_MOST_ALSO: Final = 4
_MOST_TOLD: Final = 3
_ALWAYS: Final = frozenset({Fault.HEALTHY, Fault.ONE_BAD_READING})
OPEN: Final = "open"


@dataclass(frozen=True, kw_only=True)
class AskShown:
    """The next thing to do: the words of its button, and what it takes."""

    ask: Ask
    word: str
    words: str


@dataclass(frozen=True, kw_only=True)
class OtherShown:
    """Another answer, and its chance in words."""

    words: str
    chance: str


@dataclass(frozen=True, kw_only=True)
class ToldShown:
    """One reading that decides: between which nodes, what was read, what the first two answers predict."""

    between: str
    read: str
    predicted: str
    otherwise: str = ""


@dataclass(frozen=True, kw_only=True)
class ExplainShown:
    """The whole card; `ends` says why nothing is asked, `small` what the answer stands on."""

    aside: str
    sentence: str
    chance: str = ""
    about: tuple[str, ...] = ()
    warning: str = ""
    ask: AskShown | None = None
    ends: str = ""
    others_title: str = ""
    others: tuple[OtherShown, ...] = ()
    told: tuple[ToldShown, ...] = ()
    small: tuple[str, ...] = ()

    def text(self) -> str:
        """Everything as plain lines."""
        lines = [f"{TITLE}: {self.sentence}{f': {self.chance}' if self.chance else ''}."]
        lines += [line for line in (*self.about, self.warning) if line]
        lines += [f"{one.between}: read {one.read}, predicted {one.predicted}" for one in self.told]
        lines += [self.others_title] if self.others else []
        lines += [f"- {other.words}: {other.chance}" for other in self.others]
        lines += [f"Next: {self.ask.word} ({self.ask.words})"] if self.ask is not None else [self.ends]
        return "\n".join([*lines, *self.small])


def explain_shown(
    answer: Answer, variant: Variant, *, is_closed: bool, is_done: Callable[[Ask], bool] | None = None
) -> ExplainShown:
    """The card of an answer; `is_done` tells what is asked for but was done meanwhile without a reading."""
    found = answer.explained
    asks = [] if is_closed else [ask for ask in found.next if is_done is None or not is_done(ask)]
    ask = _ask_shown(asks[0], variant, answer.warm_celsius) if asks else None
    ends = "" if ask is not None else NOT_ASKED if is_closed else _ends(found, answer.warm_celsius)
    small = (*heat_lines(found), *_left_out(found.left_out), *([assumed_text(found)] if found.readings else []))
    if not found.readings:
        return ExplainShown(aside="", sentence=NOTHING_YET, ask=ask, ends=ends, small=small)
    shown = _strained if found.is_strained else _still_possible if found.is_open else _one_answer
    return shown(found, variant, ask, ends, (*(access_text(one) for one in found.access), *small))


def _warning(words: str, found: Explained) -> str:
    return " ".join(one for one in (words, flex_text(found)) if one)


def _ends(found: Explained, warm_celsius: float) -> str:
    return next_text(found._replace(next=()), warm_celsius=warm_celsius)


def _aside(found: Explained) -> str:
    return f"from {found.readings} reading{'' if found.readings == 1 else 's'}"


def _strained(
    found: Explained, variant: Variant, ask: AskShown | None, ends: str, small: tuple[str, ...]
) -> ExplainShown:
    first = found.explanations[0]
    return ExplainShown(
        aside=_aside(found),
        sentence=STRAINED,
        warning=_warning(STRAINED_WHY, found),
        about=(f"Closest: {fault_text(first.fault, first.where, variant, first.when)}.",),
        ask=ask,
        ends=ends,
        told=_told(found.explanations[:1]),
        small=small,
    )


def _still_possible(
    found: Explained, variant: Variant, ask: AskShown | None, ends: str, small: tuple[str, ...]
) -> ExplainShown:
    """Never a winner: how many there are, and the likeliest among them side by side."""
    answers = found.explanations
    named = _others(answers[:_MOST_AMONG], variant) + _others(
        (one for one in answers[_MOST_AMONG:] if one.fault in _ALWAYS and one.p >= _ALSO), variant
    )
    return ExplainShown(
        aside=_aside(found),
        sentence=f"Still possible: {found.possible} explanations",
        warning=_warning(bad_text(found), found),
        ask=ask,
        ends=ends,
        others_title="Among them",
        others=named,
        small=small,
    )


def _one_answer(
    found: Explained, variant: Variant, ask: AskShown | None, ends: str, small: tuple[str, ...]
) -> ExplainShown:
    first, *more = found.explanations
    size = size_text(first)
    is_sound = first.fault is Fault.HEALTHY
    decided = NOT_AT_REST if first.when is not None else ""
    same = same_text(first.same_as, variant, is_sound=is_sound) if first.same_as else ""
    also = [one for one in more if one.p >= _ALSO or one.fault is Fault.HEALTHY]
    kept = [one for place, one in enumerate(also) if place < _MOST_ALSO or one.fault in _ALWAYS]
    return ExplainShown(
        aside=_aside(found),
        sentence=_capital(fault_text(first.fault, first.where, variant, first.when)),
        chance=chance_text(first.p),
        about=tuple(line for line in (f"Size: {size}." if size else "", same, decided) if line),
        warning=_warning(bad_text(found), found),
        ask=ask,
        ends=ends,
        others_title="Also possible" if kept else "",
        others=_others(kept, variant),
        told=_told(found.explanations[:2]) if not decided else (),
        small=small,
    )


def _others(found: Iterable[Explanation], variant: Variant) -> tuple[OtherShown, ...]:
    return tuple(
        OtherShown(words=_capital(_with_class(one, variant)), chance=chance_text(one.p).removeprefix("odds "))
        for one in found
    )


def _with_class(one: Explanation, variant: Variant) -> str:
    """A fault, and how many others cannot be told from it."""
    words, count = fault_text(one.fault, one.where, variant, one.when), len(one.same_as)
    if one.fault is Fault.HEALTHY or not count:
        return words
    return f"{words}, or one of {count} like it" if count > 1 else f"{words}, or one like it"


def _told(found: Sequence[Explanation]) -> tuple[ToldShown, ...]:
    """The readings that decide; beside the first answer the next one, where it predicts too."""
    first = found[0].predicts[:_MOST_TOLD]
    second = found[1].predicts if len(found) > 1 else ()
    return tuple(
        ToldShown(
            between=f"{told.from_node}\u2013{told.to_node}{_at(told.at)}",
            read=_ohm(told.read_ohm),
            predicted=_ohm(told.ohm),
            otherwise=_ohm(second[place].ohm) if second else "",
        )
        for place, told in enumerate(first)
    )


def _at(at: AccessPoint) -> str:
    words = {AccessPoint.VEHICLE_PLUG: ", plug", AccessPoint.DEVICE_TERMINALS: ", terminals"}
    return words.get(at, "")


def _ohm(ohm: float | None) -> str:
    return OPEN if ohm is None else ohm_text(ohm)


def _left_out(left: Sequence[LeftOut]) -> list[str]:
    """Readings nothing is concluded from, those with one reason together."""
    by_why: dict[str, list[int]] = {}
    for one in left:
        by_why.setdefault(one.why, []).append(one.entry)
    return [
        f"Left out: {'entry' if len(entries) == 1 else 'entries'} {', '.join(map(str, entries))}, {why}."
        for why, entries in by_why.items()
    ]


def _ask_shown(ask: Ask, variant: Variant, warm_celsius: float) -> AskShown:
    pair = f"{ask.from_node}\u2013{ask.to_node}"
    word = {
        "pair": f"Measure {pair} next",
        "repeat": f"Measure {pair} once more",
        "warm": f"Warm the body, measure {pair} again",
        "lead_short": "Short the leads",
        "meter_check": "Check the meter",
    }.get(ask.what, f"Measure {pair} next")
    time = _capital(time_text(ask.seconds))
    return AskShown(ask=ask, word=word, words=f"{time}{_where(ask, variant, warm_celsius)}.")


def _where(ask: Ask, variant: Variant, warm_celsius: float) -> str:
    """Where it is done, with what is dangerous there; at the connector nothing more is said."""
    if ask.what == "lead_short":
        return ": hold the tips together and type what the meter shows"
    if ask.what == "meter_check":
        return ": read a check resistor with the same leads"
    if ask.what == "warm":
        return f": to about {celsius_text(warm_celsius)}; parts above 60 \u00b0C burn, dry of solvent before any heat"
    if ask.at is AccessPoint.VEHICLE_PLUG:
        return ": at the vehicle's plug, control unit unplugged, battery disconnected first"
    if ask.at is AccessPoint.DEVICE_TERMINALS:
        device = variant.device_between(ask.from_node or "", ask.to_node or "")
        return f": at {device.name if device is not None else 'the device'}'s own terminals"
    return ""


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
