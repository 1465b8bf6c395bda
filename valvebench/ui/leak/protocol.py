"""The steps before a pressure is let fall, ticked one after the other, and the clock that runs with them.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum
from typing import Final

HELD_S: Final = 15.0
HELD_WIDE_S: Final = 30.0
WAIT_S: Final = 5.0


class Step(IntEnum):
    """Where it stands."""

    ZERO, BLANK, OPEN, CLOSE, START, RUNNING = range(6)


@dataclass(frozen=True, kw_only=True)
class StepShown:
    """One step, whether it is done, and whether it is the next."""

    words: str
    is_done: bool
    is_next: bool


_WORDS: Final = {
    Step.ZERO: "Vent the hose and type what the gauge reads then.",
    Step.BLANK: "Once a day: the same with the hose plugged, the blank test.",
    Step.OPEN: "Fill: open the supply.",
    Step.CLOSE: "Keep it open 15 s, 30 s with a bore over 15 mm, then close it.",
    Step.START: "Wait 5 s, hands off the hose, then start the clock.",
}


class Protocol:
    """Ticks the steps; `now` tells seconds of any clock that only goes forward."""

    def __init__(self, now: Callable[[], float]) -> None:
        self._now = now
        self._at = Step.ZERO
        self._opened: float | None = None
        self._closed: float | None = None
        self._started: float | None = None

    @property
    def is_running(self) -> bool:
        """Whether the clock of the readings runs."""
        return self._started is not None

    @property
    def is_waiting(self) -> bool:
        """Whether a count is shown."""
        return self._opened is not None

    @property
    def held_s(self) -> float | None:
        """How long the supply was kept open."""
        return None if self._opened is None or self._closed is None else self._closed - self._opened

    def since_s(self) -> float | None:
        """Since the start of the readings."""
        return None if self._started is None else self._now() - self._started

    def tick(self, *, has_zero: bool, has_blank: bool) -> None:
        """The next step is done."""
        at = self.next(has_zero=has_zero, has_blank=has_blank)
        if at is Step.OPEN:
            self._opened = self._now()
        elif at is Step.CLOSE:
            self._closed = self._now()
        elif at is Step.START:
            self._started = self._now()
        self._at = Step(min(at + 1, Step.RUNNING))

    def next(self, *, has_zero: bool, has_blank: bool) -> Step:
        """The next step; what was typed already is no step any more."""
        at = self._at
        if at is Step.ZERO and has_zero:
            at = Step.BLANK
        if at is Step.BLANK and has_blank:
            at = Step.OPEN
        return at

    def again(self) -> None:
        """The next run on the same hose: from the filling on."""
        self._at = min(self._at, Step.OPEN)
        self._opened = self._closed = self._started = None

    def shown(self, *, has_zero: bool, has_blank: bool) -> tuple[StepShown, ...]:
        """All steps."""
        at = self.next(has_zero=has_zero, has_blank=has_blank)
        done = {Step.ZERO: has_zero, Step.BLANK: has_blank}
        return tuple(
            StepShown(words=words, is_done=step < self._at or done.get(step, False), is_next=step is at)
            for step, words in _WORDS.items()
        )

    def count_words(self) -> str:
        """What the clock says."""
        if self._started is not None:
            return f"{self._now() - self._started:.0f} s since the start"
        if self._closed is not None:
            gone = self._now() - self._closed
            return "Start now." if gone >= WAIT_S else f"Closed for {gone:.0f} s of {WAIT_S:g}"
        if self._opened is None:
            return ""
        gone = self._now() - self._opened
        wide = "" if gone < HELD_S or gone >= HELD_WIDE_S else f" With a wide bore wait for {HELD_WIDE_S:g}."
        return f"Open for {gone:.0f} s of {HELD_S:g}.{wide}"
