"""Decides what can still be said after closing: what became of the part, who was given the head.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple, Protocol

from valvebench.bench.evidence import anchored_text
from valvebench.model.entry import Anchor, AnyBody, Outcome
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.numbers import decimal
from valvebench.model.words import AnchorKind, Comeback
from valvebench.ui.keeper import Keeper

FITTED_WORDS: Final = MappingProxyType({"": "Not known", "yes": "Fitted", "no": "Not fitted"})
COMEBACK_WORDS: Final = MappingProxyType(
    {"": "Not known", "no": "No comeback", "cold": "Comeback, fault when cold", "hot": "Comeback, fault when hot"}
)
ANCHOR_WORDS: Final = MappingProxyType(
    {AnchorKind.TAG_HANDED_OVER.value: "Tag handed over", AnchorKind.SENT_TO_CUSTOMER.value: "Sent to the customer"}
)
OUTCOME_PART, ANCHOR_PART = "outcome", "anchor"


@dataclass(frozen=True, kw_only=True)
class OutcomeTyped:
    """The form of an outcome as it stands, all text; months and kilometres as typed."""

    fitted: str = ""
    comeback: str = ""
    months: str = ""
    odometer_km: str = ""


class AfterLine(NamedTuple):
    """One thing that was added after closing."""

    what: str
    words: str


class AfterView(Protocol):
    """What the presenter asks of the card."""

    def show_lines(self, lines: Sequence[AfterLine], anchored: str) -> None: ...
    def show_open(self, *, is_open: bool) -> None: ...
    def show_problems(self, problems: Mapping[str, str]) -> None: ...
    def clear(self, part: str) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class AfterPresenter:
    """Outcome and anchors of one closed session."""

    def __init__(self, view: AfterView, keeper: Keeper, *, kept: Callable[[], None] = lambda: None) -> None:
        self._view, self._keeper, self._kept = view, keeper, kept

    def refresh(self) -> None:
        """Show what was added; before closing the card stays away."""
        session = self._keeper.desk.session
        self._view.show_open(is_open=session.is_closed)
        lines = [
            *(AfterLine("Outcome", _outcome_words(one)) for one in session.outcomes),
            *(AfterLine("Head given", _anchor_words(one)) for one in session.anchors),
        ]
        self._view.show_lines(lines, anchored_text(one.kind for one in session.anchors))

    def outcome_typed(self, typed: OutcomeTyped) -> None:
        """Record what became of the part."""
        problems: dict[str, str] = {}
        months = _number("months", typed.months, problems)
        kilometres = _number("odometer_km", typed.odometer_km, problems)
        self._view.show_problems(problems)
        if problems:
            return
        try:
            body = Outcome(
                fitted={"yes": True, "no": False}.get(typed.fitted),
                comeback=Comeback(typed.comeback) if typed.comeback else None,
                months=months,
                odometer_km=kilometres,
            )
        except BadInput as error:
            self._view.say(error.problems[0].text(), is_problem=True)
            return
        self._keep(OUTCOME_PART, body)

    def anchor_typed(self, kind: str, to: str) -> None:
        """Record that the head was given to somebody outside."""
        self._keep(ANCHOR_PART, Anchor(kind=AnchorKind(kind), to=to or None))

    def _keep(self, part: str, body: AnyBody) -> None:
        def kept(n: int) -> None:
            self._view.clear(part)
            self._view.say(f"Kept as entry {n}.")
            self.refresh()
            self._kept()

        self._keeper.keep(body, kept=lambda entry, _: kept(entry.n), failed=self._fail)

    def _fail(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say(f"Not saved: {error} What you typed still stands here.", is_problem=True)


def _number(name: str, text: str, problems: dict[str, str]) -> float | None:
    if not text:
        return None
    try:
        number = decimal(text, where=name.replace("_km", ""))
    except BadInput as error:
        problems[name] = error.problems[0].text()
        return None
    if number < 0:
        problems[name] = "This cannot be less than nought."
    return number


def _outcome_words(one: Outcome) -> str:
    fitted = {True: "fitted", False: "not fitted", None: ""}[one.fitted]
    comeback = COMEBACK_WORDS[one.comeback.value].lower() if one.comeback is not None else ""
    months = f"after {one.months:g} month{'' if one.months == 1 else 's'}" if one.months is not None else ""
    kilometres = f"at {one.odometer_km:g} km" if one.odometer_km is not None else ""
    return ", ".join(part for part in (fitted, comeback, months, kilometres) if part)


def _anchor_words(one: Anchor) -> str:
    words = ANCHOR_WORDS.get(one.kind.value, one.kind.value.replace("_", " "))
    return f"{words}: {one.to}" if one.to else words
