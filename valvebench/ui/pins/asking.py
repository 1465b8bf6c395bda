"""What can stand between a typed text and its row: a question, a write on its way, words.  No Qt."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from valvebench.bench.desk import Prepared
from valvebench.model.entry import Reading
from valvebench.model.format import OHM
from valvebench.ui.pins.plan import Pair

NO_VARIANT: Final = (
    "This job has no variant file, so no pair is asked for. Open a job with one to be led from pin to pin."
)
NO_TEMPERATURE: Final = "Say first how warm the coils are: F2 opens the bench set-up."
ASK_RANGE: Final = "Open on which range? Type the range, for example 60 M, then Enter."
CLOSED: Final = "This session is closed: nothing is added to it any more."
STILL_KEEPING: Final = "Still keeping the last reading."
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


@dataclass
class Writing:
    """A reading on its way to the disk, its line once that is made, and what was typed meanwhile."""

    reading: Reading
    text: str
    pair: Pair
    prepared: Prepared | None = field(default=None)
    waiting: str | None = field(default=None)
