"""What the page of pressures at taps shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from valvebench.judge import decide
from valvebench.judge.row import Row
from valvebench.judge.tap import PressureJudgement, doubt_of, same_state, warmth_words, window_of, window_words
from valvebench.model.air_tests import PressureTaken
from valvebench.model.format import celsius_text, plus_minus
from valvebench.model.session import Item
from valvebench.model.variant import TapWindow, Variant
from valvebench.model.words import Verdict
from valvebench.physics.uncertainty import combine

OIL_SAFETY: Final = (
    "Hot oil under pressure burns and goes through skin: gauge and hose rated for more than the highest pressure, "
    "screwed in with the engine off, led away from belts and exhaust."
)
VEHICLE_SAFETY: Final = (
    "Vehicle level on rated supports, chocked, brake on; nobody in front of it or near wheels, shafts and belts; "
    "exhaust gas led out. A stall test only where the maker allows it."
)
USUAL_STATES: Final = ("idle", "load")
KPA: Final = "kPa"
NO_WINDOW: Final = "no window stated"


class TapQuestion(NamedTuple):
    """One pressure to read: a tap in one state, with the window that is stated for it."""

    tap: str
    state: str
    window: TapWindow | None = None


@dataclass(frozen=True, kw_only=True)
class Typed:
    """Everything as it stands in the fields."""

    tap: str = ""
    state: str = ""
    kpa: str = ""
    fluid: str = ""
    gauge: str = ""
    gauge_id: str = ""


@dataclass(frozen=True, kw_only=True)
class QuestionShown:
    """The pressure that is asked for."""

    lead: str
    big: str
    what: str
    expect: str


@dataclass(frozen=True, kw_only=True)
class PressureShown:
    """A pressure on its ruler with what is said of it; without a value the window alone."""

    low: float | None = None
    high: float | None = None
    guard: float = 0.0
    kpa: float | None = None
    expanded: float | None = None
    verdict: Verdict | None = None
    sentence: str = ""


@dataclass(frozen=True, kw_only=True)
class LineShown:
    """One line of the table: an entry, or a window that nothing was read for (its number is below nought)."""

    number: int
    tap: str
    state: str
    fluid: str
    kpa: str
    window: str
    verdict: Verdict | None = None
    tip: str = ""


def questions_of(variant: Variant | None) -> tuple[TapQuestion, ...]:
    """Every window of every tap; a tap without one is asked for at idle."""
    taps = variant.taps if variant is not None else ()
    return tuple(
        question
        for tap in taps
        for question in (
            [TapQuestion(tap.name, window.state, window) for window in tap.windows]
            or [TapQuestion(tap.name, USUAL_STATES[0])]
        )
    )


def states_of(variant: Variant | None) -> tuple[str, ...]:
    """States to pick from: those of the variant, then the usual ones."""
    own = [question.state for question in questions_of(variant)]
    return tuple(dict.fromkeys((*own, *USUAL_STATES)))


def answers(question: TapQuestion, taken: PressureTaken, variant: Variant | None) -> bool:
    """Whether a pressure was read for this question."""
    if taken.tap != question.tap or not same_state(taken.state, question.state):
        return False
    tap = variant.tap_named(taken.tap) if variant is not None else None
    return window_of(tap, taken) == question.window


def question_shown(question: TapQuestion | None, shows: str, place: str) -> QuestionShown:
    """The question in large words; None: a tap of one's own."""
    if question is None:
        return QuestionShown(lead="Pressure at a tap", big="\u2013", what="", expect="Name the tap and the state.")
    window = question.window
    limits = window_words(window) if window is not None else ""
    warm = warmth_words(window) if window is not None else ""
    return QuestionShown(
        lead=f"Pressure at a tap{place}",
        big=question.tap or "\u2013",
        what=", ".join(part for part in (question.state, shows) if part),
        expect=f"{limits or NO_WINDOW}{f', fluid at {warm}' if warm else ''}",
    )


def window_shown(window: TapWindow | None) -> PressureShown:
    """The window alone."""
    return PressureShown() if window is None else PressureShown(low=window.low_kpa, high=window.high_kpa)


def pressure_shown(judged: PressureJudgement) -> PressureShown:
    """A judged pressure."""
    window = judged.window
    return PressureShown(
        low=window.low_kpa if window is not None else None,
        high=window.high_kpa if window is not None else None,
        guard=float(decide.guard_width(combine([doubt_of(judged.taken)]), judged.rule)),
        kpa=judged.taken.kpa_gauge,
        expanded=judged.U_kpa,
        verdict=judged.verdict,
        sentence=judged.reasons[0],
    )


def lines_shown(
    questions: Sequence[TapQuestion], taken: Sequence[tuple[Item, Row]], variant: Variant | None
) -> list[LineShown]:
    """Each window with what was read for it, or that nothing was; then everything else."""
    left = list(taken)
    lines: list[LineShown] = []
    for place, question in enumerate(questions):
        own = [one for one in left if _is_for(one[0], question, variant)]
        left = [one for one in left if one not in own]
        lines += [_entry_line(*one) for one in own] or [_open_line(place, question)]
    return [*lines, *(_entry_line(*one) for one in left)]


def _is_for(item: Item, question: TapQuestion, variant: Variant | None) -> bool:
    return isinstance(item.body, PressureTaken) and answers(question, item.body, variant)


def _open_line(place: int, question: TapQuestion) -> LineShown:
    window = question.window
    return LineShown(
        number=-place - 1,
        tap=question.tap,
        state=question.state,
        fluid=warmth_words(window) if window is not None else "",
        kpa="",
        window=_limits(window),
        verdict=Verdict.NOT_TAKEN,
    )


def _limits(window: TapWindow | None) -> str:
    """The window without its unit, which stands in the heading."""
    return window_words(window).removesuffix(f" {KPA}") if window is not None else ""


def _entry_line(item: Item, row: Row) -> LineShown:
    judged = row.pressure
    if judged is None:
        raise TypeError("a pressure at a tap has a judgement")
    taken = judged.taken
    return LineShown(
        number=item.n,
        tap=taken.tap,
        state=taken.state,
        fluid=celsius_text(taken.fluid_celsius),
        kpa=plus_minus(taken.kpa_gauge, judged.U_kpa),
        window=_limits(judged.window),
        verdict=row.verdict,
        tip="\n".join((*row.reasons, *row.advice)),
    )
