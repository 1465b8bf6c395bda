"""Decides what is asked at the taps, judges while it is typed, and keeps.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Protocol

from valvebench.bench.desk import Desk
from valvebench.judge.row import Row
from valvebench.judge.tap import judge_pressure, same_state, window_of
from valvebench.judge.tap_rows import TAP_KEY, tap_item, tap_row
from valvebench.model.air_tests import PressureTaken
from valvebench.model.entry import AnyBody, Entry
from valvebench.model.errors import BadInput, BenchError, bad
from valvebench.model.session import Item
from valvebench.model.variant import Tap
from valvebench.ui.errors import error_words
from valvebench.ui.keeper import CLOSED, Keeper
from valvebench.ui.taking_back import TakingBack, Told
from valvebench.ui.taps.shown import (
    KPA,
    LineShown,
    PressureShown,
    QuestionShown,
    TapQuestion,
    Typed,
    answers,
    lines_shown,
    pressure_shown,
    question_shown,
    questions_of,
    states_of,
    window_shown,
)
from valvebench.ui.taps.typed import (
    FLUID,
    NAME_BOTH,
    NAMES,
    NO_FLUID,
    NO_PRESSURE,
    NOT_KPA,
    body_of,
    meanings_of,
)

STILL_KEEPING: Final = "Still keeping the last pressure."
HOW: Final = "Type the pressure, Enter, the temperature of the fluid, Enter."
ALL_READ: Final = "Every window has a pressure. Another tap can be named all the same."
NOTHING_HERE: Final = "The newest entry is no pressure at a tap: take it back where it was read."
WHY: Final = "corrected in the table of taps"


class TapsView(Protocol):
    """What the presenter asks of the page."""

    def show_names(self, taps: Sequence[str], states: Sequence[str]) -> None: ...
    def show_question(self, question: QuestionShown) -> None: ...
    def fill(self, typed: Typed) -> None: ...
    def show_pressure(self, pressure: PressureShown) -> None: ...
    def show_lines(self, lines: Sequence[LineShown], aside: str) -> None: ...
    def show_problem(self, words: str, *, is_question: bool = False) -> None: ...
    def show_fluid_problem(self, words: str) -> None: ...
    def set_kpa(self, text: str) -> None: ...
    def to_kpa(self) -> None: ...
    def to_fluid(self) -> None: ...
    def set_enabled(self, *, is_enabled: bool) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class TapsPresenter:
    """One pressure at a time, window after window."""

    def __init__(self, view: TapsView, desk: Desk, keeper: Keeper) -> None:
        self._view, self._desk, self._keeper = view, desk, keeper
        self._questions = questions_of(desk.variant)
        self._at: int | None = None
        self._typed = Typed()
        self._choices: tuple[float, ...] = ()
        self._settled = ""
        self._correcting: int | None = None
        self._sent: Typed | None = None
        self.taking_back = TakingBack(
            keeper, view.say, is_own=_is_own, done=self._taken_back, told=Told(NOTHING_HERE, NOTHING_HERE)
        )

    # -- coming and going ------------------------------------------------------------------

    def start(self) -> None:
        """Show the table and the first pressure that is still to be read."""
        variant = self._desk.variant
        self._view.show_names([tap.name for tap in variant.taps] if variant is not None else [], states_of(variant))
        self._view.set_enabled(is_enabled=not self._desk.is_closed)
        last = self._taken()[-1].body if self._taken() else None
        if isinstance(last, PressureTaken):
            self._typed = Typed(gauge=last.gauge or "", gauge_id=last.gauge_id or "")
        self._show_lines()
        first = self._first_open(0)
        self._go_to(first if first is not None or not self._questions else 0)
        all_read = f"{ALL_READ} " if self._questions and first is None else ""
        self._view.say(CLOSED if self._desk.is_closed else f"{all_read}{HOW}")

    def refresh(self) -> None:
        """The page comes to the front: another page may have changed the session."""
        self._view.set_enabled(is_enabled=not self._desk.is_closed)
        self._show_lines()

    def choose(self, key: str) -> None:
        """The window that an item of the session is about."""
        found = [place for place, one in enumerate(self._questions) if tap_item(one.tap, one.state, one.window) == key]
        if found:
            self._go_to(found[0])
        elif key.startswith(TAP_KEY) and (item := self._item_of(key)) is not None:
            self.line_chosen(item.n)

    def _item_of(self, key: str) -> Item | None:
        rows = self._keeper.book.rows_of_item(key) if self._keeper.book is not None else ()
        return self._desk.find_item(rows[-1].entries[-1]) if rows else None

    # -- what was read ---------------------------------------------------------------------

    def _taken(self) -> list[Item]:
        return [item for item in self._desk.session.items_of("pressure") if isinstance(item.body, PressureTaken)]

    def _rows(self) -> list[tuple[Item, Row]]:
        rows = [(item, tap_row(self._desk.variant, item, self._keeper.rule)) for item in self._taken()]
        return [(item, row) for item, row in rows if row is not None]

    def _is_answered(self, question: TapQuestion) -> bool:
        bodies = [item.body for item in self._taken()]
        return any(answers(question, body, self._desk.variant) for body in bodies if isinstance(body, PressureTaken))

    def _first_open(self, start: int) -> int | None:
        """The next window without a pressure, round the end; where all have one none, without any the first."""
        count = len(self._questions)
        places = [(start + step) % count for step in range(count)]
        return next((place for place in places if not self._is_answered(self._questions[place])), None)

    def _show_lines(self) -> None:
        done = sum(map(self._is_answered, self._questions))
        aside = f"{done} of {len(self._questions)} windows" if self._questions else ""
        self._view.show_lines(lines_shown(self._questions, self._rows(), self._desk.variant), aside)

    # -- where one is ----------------------------------------------------------------------

    def _go_to(self, place: int | None, *, kpa: str = "") -> None:
        """Another question: gauge and fluid temperature stay, as they are the same for the next tap."""
        self._at, self._correcting, self._choices = place, None, ()
        question = self._questions[place] if place is not None else None
        tap, state = (question.tap, question.state) if question is not None else (self._typed.tap, self._typed.state)
        self._set(Typed(**{**_fields(self._typed), "tap": tap, "state": state, "kpa": kpa}))

    def _set(self, typed: Typed) -> None:
        self._typed = typed
        self._view.fill(typed)
        self._view.show_problem("")
        self._view.show_fluid_problem("")
        self._show_question()
        self._show_pressure()

    def _show_question(self) -> None:
        typed, question = self._typed, self._question()
        if self._correcting is not None:
            place = f", entry {self._correcting} corrected"
        else:
            is_planned = question is not None and self._at is not None
            place = f", {(self._at or 0) + 1} of {len(self._questions)}" if is_planned else ""
        own = TapQuestion(typed.tap, typed.state) if typed.tap or typed.state else None
        tap = self._tap()
        self._view.show_question(question_shown(question or own, tap.shows if tap is not None else "", place))

    def _question(self) -> TapQuestion | None:
        """The planned question, as long as tap and state are still its own."""
        question = self._questions[self._at] if self._at is not None else None
        typed = self._typed
        is_own = question is not None and question.tap == typed.tap and same_state(question.state, typed.state)
        return question if is_own else None

    def _tap(self) -> Tap | None:
        variant = self._desk.variant
        return variant.tap_named(self._typed.tap) if variant is not None else None

    def previous(self) -> None:
        """The window before."""
        self._step(-1)

    def skip(self) -> None:
        """The window after."""
        self._step(1)

    def _step(self, by: int) -> None:
        if not self._questions:
            return
        start = self._at if self._at is not None else (-1 if by > 0 else 0)
        self._go_to((start + by) % len(self._questions))
        self._view.to_kpa()

    # -- typing ----------------------------------------------------------------------------

    def typed(self, typed: Typed) -> None:
        """While anything is typed the verdict stands already."""
        is_place = (typed.tap, typed.state) != (self._typed.tap, self._typed.state)
        if typed.kpa != self._typed.kpa and not (self._choices and typed.kpa.strip() in ("", "1", "2")):
            self._choices = ()
            self._view.show_problem("")
        if typed.fluid != self._typed.fluid:
            self._view.show_fluid_problem("")
        self._typed = typed
        if is_place:
            self._show_question()
        self._show_pressure()

    def _show_pressure(self) -> None:
        try:
            if self._is_unsettled(self._typed.kpa):
                raise bad("pressure", self._typed.kpa, "one meaning")
            body = body_of(self._typed)
        except BadInput:
            question = self._question()
            self._view.show_pressure(window_shown(question.window if question is not None else None))
            return
        self._view.show_pressure(pressure_shown(judge_pressure(self._tap(), body, rule=self._keeper.rule)))

    def kpa_kept(self, typed: Typed) -> None:
        """Enter in the pressure: on to the temperature of the fluid."""
        self._typed = typed
        chosen = typed.kpa.strip()
        if self._choices and chosen in ("1", "2"):
            self._take_kpa(self._choices[int(chosen) - 1])
            return
        values = meanings_of(typed.kpa)
        if not values:
            self._view.show_problem(NOT_KPA if typed.kpa.strip() else NO_PRESSURE)
        elif self._is_unsettled(typed.kpa):
            self._choices = values
            first, second = (f"{value:.10g}" for value in values)
            words = f"Is it {first} or {second} {KPA}? Type 1 for {first}, 2 for {second}, then Enter."
            self._view.set_kpa("")
            self._view.show_problem(words, is_question=True)
        else:
            self._view.to_fluid()

    def _is_unsettled(self, text: str) -> bool:
        """Whether digits can mean two pressures, and nobody said which."""
        return text != self._settled and len(meanings_of(text)) > 1

    def _take_kpa(self, value: float) -> None:
        self._choices = ()
        text = self._settled = f"{value:.10g}"
        self._typed = Typed(**{**_fields(self._typed), "kpa": text})
        self._view.set_kpa(text)
        self._view.show_problem("")
        self._show_pressure()
        self._view.to_fluid()

    def keep(self, typed: Typed) -> None:
        """Enter in the temperature: the pressure is on its way to the disk, the next one is asked for."""
        self._typed = typed
        if self._desk.is_closed or self._keeper.is_busy:
            self._view.say(CLOSED if self._desk.is_closed else STILL_KEEPING, is_problem=True)
            return
        if self._choices or not meanings_of(typed.kpa) or self._is_unsettled(typed.kpa):
            self._view.to_kpa()
            self.kpa_kept(typed)
            return
        try:
            body = self._to_keep(typed)
        except BadInput as error:
            self._refuse(error)
            return
        self._sent = typed
        self._keeper.keep(body, kept=self._kept, failed=self._not_kept)

    def _to_keep(self, typed: Typed) -> AnyBody:
        body = body_of(typed)
        if self._correcting is None:
            return body
        names = ("tap", "kpa_gauge", "fluid_celsius", "state", "gauge", "gauge_id")
        return self._desk.corrected(self._correcting, {name: getattr(body, name) for name in names}, WHY)

    def _refuse(self, error: BadInput) -> None:
        problem = error.problems[0]
        if problem.where == FLUID:
            self._view.show_fluid_problem(NO_FLUID)
            self._view.to_fluid()
        else:
            self._view.say(NAME_BOTH if problem.where == NAMES else error_words(error), is_problem=True)

    def _kept(self, entry: Entry, _: tuple[Row, ...]) -> None:
        sent, self._sent = self._sent, None
        was_corrected, at = self._correcting, self._at
        self._show_lines()
        following = self._first_open((at or 0) + 1) if self._questions else None
        if sent is not None:
            # what was typed for the next tap meanwhile stays
            kpa = self._typed.kpa if self._typed.kpa != sent.kpa else ""
            self._go_to(following if following is not None or not self._questions else 0, kpa=kpa)
            self._view.to_kpa()
        words = f"Entry {was_corrected} corrected" if was_corrected is not None else f"Kept as entry {entry.n}"
        told = f"{words}: {sent.tap}, {sent.state}." if sent is not None else f"{words}."
        self._view.say(f"{told} {ALL_READ}" if self._questions and following is None else told)

    def _not_kept(self, error: Exception) -> None:
        """Everything typed still stands."""
        self._sent = None
        self._view.say(f"Not saved. {error_words(error)} Enter tries again.", is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    # -- correcting and taking back --------------------------------------------------------

    def line_chosen(self, number: int) -> None:
        """A line of the table: an open window is asked for, an entry is there to be corrected."""
        if number < 0:
            self._go_to(-number - 1)
            self._view.to_kpa()
            return
        item = self._desk.find_item(number)
        if item is None or not isinstance(item.body, PressureTaken) or self._desk.is_closed:
            return
        body = item.body
        tap = self._desk.variant.tap_named(body.tap) if self._desk.variant is not None else None
        window = window_of(tap, body)
        question = TapQuestion(body.tap, window.state if window is not None else body.state, window)
        self._at = self._questions.index(question) if question in self._questions else None
        self._correcting, self._choices = number, ()
        self._settled = f"{body.kpa_gauge:.10g}"
        self._set(
            Typed(
                tap=body.tap,
                state=body.state,
                kpa=self._settled,
                fluid=f"{body.fluid_celsius:.10g}",
                gauge=body.gauge or "",
                gauge_id=body.gauge_id or "",
            )
        )
        self._view.say(f"Entry {number}: type what is right and keep it with Enter. Down leaves it as it is.")
        self._view.to_kpa()

    def withdraw(self, number: int) -> None:
        """An entry no longer counts."""
        if number > 0:
            self.taking_back.withdraw(number, "taken back in the table of taps")

    def _taken_back(self, number: int, _: AnyBody) -> None:
        if self._correcting == number:
            self._correcting = None
        self._show_lines()
        self._show_question()


def _is_own(body: AnyBody) -> bool:
    return isinstance(body, PressureTaken)


def _fields(typed: Typed) -> dict[str, str]:
    return {name: getattr(typed, name) for name in Typed.__dataclass_fields__}
