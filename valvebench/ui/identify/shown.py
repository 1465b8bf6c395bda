"""What the Identify page shows, in words.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.bench.ordering import Fit, Looked, Point
from valvebench.diagnose.identified import (
    CANNOT_SEE,
    SOMETHING_ELSE,
    Because,
    Identified,
    Identity,
    NotUsed,
    Question,
)
from valvebench.diagnose.identify_words import (
    SEEN_TEXT,
    against_text,
    alike_text,
    head_text,
    holding_text,
    lost_text,
)
from valvebench.model.format import chance_text
from valvebench.model.words import Seen, WhichPart

PART_TEXT: Final = MappingProxyType({WhichPart.OLD: "the part at hand", WhichPart.NEW: "the new part beside it"})
ON_PART: Final = MappingProxyType({WhichPart.OLD: "", WhichPart.NEW: ", on the new part"})
FIT_TEXT: Final = MappingProxyType(
    {
        Fit.FITS: "fits",
        Fit.DIFFERS: "does not fit",
        Fit.TOLD_ONLY: "told by phone only",
        Fit.NOT_SEEN: "not seen",
        Fit.NOT_STATED: "not stated in the file",
    }
)
ANSWERS_AT_ONCE: Final = 8
CANNOT_KEY, ELSE_KEY, MORE_KEY = "0", "9", "+"
MOST_BARS: Final = 5
MOST_LOST: Final = 8
NONE_TITLE: Final = "None of these"
LOOK_AGAIN: Final = "Look again: it speaks against the likeliest variant"
MUST_MATCH: Final = "Look at this: it must match"
TELLS_MOST: Final = "Look at this: it tells most"
STILL_OPEN: Final = "Confirmed already: this was not looked at"
LOOK_AT: Final = "Look at this"
TOLD_ONLY: Final = "Told by phone: look at it once the part is here"
SEEN_BEFORE: Final = "Looked at already: answer again only for a second look"
OF_THE_NEW: Final = "The new part: it must match here"


class AnswerShown(NamedTuple):
    """One answer: its key, its words and what is kept."""

    key: str
    word: str
    value: str


class QuestionShown(NamedTuple):
    """The feature at hand: why, how to look, what can be answered, what was answered before."""

    feature: str
    lead: str
    ask: str
    answers: tuple[AnswerShown, ...]
    before: str
    has_more: bool
    place: str

    @property
    def sentence(self) -> str:
        """All of it for a reader."""
        keys = ", ".join(f"{one.key} {one.word}" for one in self.answers)
        return f"{self.lead}: {self.feature}. {self.ask} {keys}. {self.before}".replace("  ", " ").strip()


class BarShown(NamedTuple):
    """One chance as a bar; that of none of these is drawn otherwise."""

    title: str
    p: float
    words: str
    is_none: bool = False


class VerdictShown(NamedTuple):
    """What it is, as far as that can be said, and why."""

    head: str
    holds: tuple[str, ...]
    bars: tuple[BarShown, ...]
    more: str
    against: tuple[str, ...]
    alike: tuple[str, ...]
    lost: tuple[str, ...]
    not_checked: str
    left_out: tuple[str, ...]


class PointShown(NamedTuple):
    """One must-match point: what is needed, what was seen on either part."""

    feature: str
    needs: str
    old: str
    new: str


class LookShown(NamedTuple):
    """One look that was kept."""

    number: int
    feature: str
    value: str
    how: str


Name = Callable[[str], str]


def question_shown(
    question: Question, *, lead: str, seen: Seen, looks: Sequence[Looked], at: tuple[int, int], page: int = 0
) -> QuestionShown:
    """The feature in the words that fit how it is seen; `at` is its place and their number."""
    ask = (question.ask_phone if seen is Seen.PHONE else question.ask) or question.ask or question.ask_phone
    told = [f"{look.value} ({SEEN_TEXT[look.seen]})" for look in looks if look.feature == question.feature]
    return QuestionShown(
        feature=question.feature,
        lead=lead,
        ask=ask,
        answers=answers_to(question, page),
        before=f"Answered so far: {', '.join(told)}." if told else "",
        has_more=len(question.answers) > ANSWERS_AT_ONCE,
        place=f"{at[0]} of {at[1]}",
    )


def answers_to(question: Question, page: int = 0) -> tuple[AnswerShown, ...]:
    """Its answers by digit, eight at once; then what can be answered to every question."""
    first = page * ANSWERS_AT_ONCE
    some = question.answers[first : first + ANSWERS_AT_ONCE]
    return (
        *(AnswerShown(str(n), answer, answer) for n, answer in enumerate(some, start=1)),
        AnswerShown(CANNOT_KEY, CANNOT_SEE, CANNOT_SEE),
        AnswerShown(ELSE_KEY, SOMETHING_ELSE, SOMETHING_ELSE),
    )


def pages_of(question: Question) -> int:
    """How often its answers have to be turned to be seen all."""
    return max(1, -(-len(question.answers) // ANSWERS_AT_ONCE))


def leads_of(found: Identified, seen: Seen) -> dict[str, str]:
    """Features in the order in which they are worth a look, each with why.

    On the telephone nobody is asked again for what was told already, unless it speaks against the likeliest variant.
    """
    leads = {one.feature: LOOK_AGAIN if one.because is Because.LOOK_AGAIN else MUST_MATCH for one in found.first}
    most = STILL_OPEN if found.verdict is Identity.CONFIRMED else TELLS_MOST
    for place, one in enumerate(found.next):
        leads.setdefault(one.feature, LOOK_AT if place or leads else most)
    for feature in found.not_checked:
        leads.setdefault(feature, LOOK_AT)
    told = found.told_only if seen is Seen.PHONE else ()
    later = [feature for feature in told if leads.get(feature, LOOK_AT) != LOOK_AGAIN]
    return {feature: why for feature, why in leads.items() if feature not in later} | dict.fromkeys(later, TOLD_ONLY)


def verdict_shown(found: Identified, name: Name) -> VerdictShown:
    """Everything that was concluded, in words that never say certain."""
    leads = found.leading[0] if len(found.leading) == 1 else ""
    shown = [BarShown(name(key), p, chance_text(p)) for key, p in found.posterior[:MOST_BARS]]
    rest = found.posterior[MOST_BARS:]
    own = [one for one in found.contradictions if one.variant == leads]
    return VerdictShown(
        head=head_text(found, name),
        holds=tuple(holding_text(one) for one in found.holds_back) if found.has_evidence else (),
        bars=(*shown, BarShown(NONE_TITLE, found.p_none, chance_text(found.p_none), is_none=True)),
        more=f"{len(rest)} more, together {chance_text(sum(p for _, p in rest))}." if rest else "",
        against=tuple(f"{against_text(one)}." for one in own),
        alike=tuple(alike_text(one, name) for one in found.groups),
        lost=_lost(found, name),
        not_checked=f"Not checked yet: {', '.join(found.not_checked)}." if found.not_checked else "",
        left_out=_left_out(found.left_out),
    )


def _lost(found: Identified, name: Name) -> tuple[str, ...]:
    """Why the likeliest others are behind; a library of thousands is not told line by line."""
    if not found.has_evidence:
        return ()
    told = tuple(lost_text(one, name) for one in found.lost[:MOST_LOST])
    rest = len(found.posterior) - len(found.leading) - len(told)
    return (*told, f"{rest} more {'is' if rest == 1 else 'are'} less likely.") if rest > 0 else told


def _left_out(several: Sequence[NotUsed]) -> tuple[str, ...]:
    """What says nothing here, those for one reason on one line."""
    whys = dict.fromkeys(one.why for one in several)
    lines = []
    for why in whys:
        what = [f"entry {one.entry}, {one.what}" if one.entry else one.what for one in several if one.why == why]
        lines.append(f"Left out: {'; '.join(what)}. Why: {why}.")
    return tuple(lines)


def point_shown(point: Point) -> PointShown:
    """A must-match point with what was seen on either part."""
    return PointShown(
        point.feature,
        point.needs or "not stated",
        _side(point.old, point.old_fit),
        _side(point.new, point.new_fit) if point.new else "not looked at",
    )


def _side(looks: Sequence[Looked], fit: Fit) -> str:
    values = ", ".join(dict.fromkeys(look.value for look in looks))
    return f"{values}: {FIT_TEXT[fit]}" if values else FIT_TEXT[fit]


def look_shown(look: Looked, part: WhichPart) -> LookShown:
    """A look as a line of the table."""
    return LookShown(look.entry, f"{look.feature}{ON_PART[part]}", look.value, SEEN_TEXT[look.seen])


def may_use(found: Identified) -> bool:
    """Whether a job may be started with the variant that leads: only a confirmed one."""
    return found.verdict is Identity.CONFIRMED


def titles_of(pairs: Mapping[str, str]) -> Name:
    """From key to title; a key without one stands for itself."""
    return lambda key: pairs.get(key, key)
