"""What can stand between a typed text and its row: a question, a write on its way, words.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final, Protocol

from valvebench.bench.desk import Prepared
from valvebench.model.entry import Reading
from valvebench.model.format import OHM
from valvebench.model.numbers import typed_ohm
from valvebench.ui.pins.plan import Pair

NO_VARIANT: Final = (
    "This job has no variant file, so no pair is asked for. Open a job with one to be led from pin to pin."
)
NO_TEMPERATURE: Final = "Say first how warm the coils are: F2 opens the bench set-up."
ASK_RANGE: Final = "Open on which range? Type the range, for example 60 M, then Enter."
STILL_KEEPING: Final = "Still keeping the last reading."
OPEN: Final = "OL"
_CHOICES: Final = frozenset({"1", "2"})


@dataclass(frozen=True)
class Asking:
    """A question that stands in the field."""

    choices: tuple[float, ...] = ()
    wants_range: bool = False

    def words(self) -> str:
        """The question of which of two values was meant."""
        first, second = (f"{value:.10g}" for value in self.choices)
        return f"Is it {first} or {second} {OHM}? Type 1 for {first}, 2 for {second}, then Enter."

    def choice(self, text: str) -> float | None:
        """The value [ohm] that a typed 1 or 2 stands for."""
        return self.choices[int(text) - 1] if self.choices and text.strip() in _CHOICES else None

    def stands_with(self, text: str) -> bool:
        """Whether what is typed can be an answer; any other text is a new reading."""
        return self.wants_range or (bool(self.choices) and (not text.strip() or self.choice(text) is not None))


class AsksBack(Protocol):
    """The field of a page and the line below it."""

    def show_problem(self, words: str, *, is_question: bool = False) -> None:
        """Say what is wrong, or ask."""

    def set_field(self, text: str) -> None:
        """What stands in the field."""


class TypedReading:
    """What is typed for one reading: asks back where digits can mean two values, and on which range it is open."""

    def __init__(
        self,
        view: AsksBack,
        *,
        keep: Callable[..., None],
        range_ohm: Callable[[], float | None],
        range_told: Callable[[float], None],
    ) -> None:
        """`keep` takes the text and the options of a reading; `range_ohm` is the meter's highest range so far."""
        self._view, self._keep, self._range_ohm, self._range_told = view, keep, range_ohm, range_told
        self._asking = Asking()

    def forget(self) -> None:
        """Another reading: no question stands."""
        self._asking = Asking()

    def typed(self, text: str) -> float | None:
        """The value [ohm] so far; an answer to a question stands, any other text begins anew."""
        if self._asking.stands_with(text):
            return self._asking.choice(text)
        self._asking = Asking()
        self._view.show_problem("")
        return typed_ohm(text).ohm

    def take(self, text: str) -> None:
        """Enter: the reading is kept, or what is still to be said is asked."""
        if self._asking.wants_range:
            self._take_range(text)
            return
        if (chosen := self._asking.choice(text)) is not None:
            self._keep(f"{chosen:.10g}", ohm=chosen)
            return
        found = typed_ohm(text)
        if found.choices:
            asking = Asking(choices=found.choices)
            self._ask(asking, asking.words())
        elif found.is_open:
            self.take_open(text)
        elif found.problem or found.ohm is None:
            self._view.show_problem(found.problem)
        else:
            self._keep(text, ohm=found.ohm)

    def take_open(self, text: str = OPEN) -> None:
        """The meter shows open."""
        range_ohm = self._range_ohm()
        if range_ohm is None:
            self._ask(Asking(wants_range=True), ASK_RANGE)
        else:
            self._keep(text, open=True, range_ohm=range_ohm)

    def _take_range(self, text: str) -> None:
        range_ohm = typed_ohm(text).ohm
        if range_ohm is None or not range_ohm > 0:
            self._view.show_problem(ASK_RANGE, is_question=True)
            return
        self._asking = Asking()
        self._range_told(range_ohm)
        self.take_open()

    def _ask(self, asking: Asking, words: str) -> None:
        self._asking = asking
        self._view.show_problem(words, is_question=True)
        self._view.set_field("")


@dataclass
class Writing:
    """A reading on its way to the disk, its line once that is made, and what was typed meanwhile."""

    reading: Reading
    text: str
    pair: Pair
    prepared: Prepared | None = field(default=None)
    waiting: str | None = field(default=None)
