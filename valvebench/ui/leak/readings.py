"""The readings of a leak test, one question after the other.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from valvebench.model.air_tests import MOST_TYPED, TYPED_OF, LeakTest
from valvebench.model.leak import LeakMethod

_PUMP_ROWS: Final = 2
"""With a vacuum: the blank, then the known hole."""
_ASKED: Final = {
    LeakMethod.STEADY: ("Supply gauge", "Port gauge"),
    LeakMethod.VACUUM: ("On the bore",),
    LeakMethod.DECAY: ("Time since the start", "Gauge"),
}
HEADERS: Final = {
    LeakMethod.STEADY: ("Line", "Supply, kPa", "Port, kPa"),
    LeakMethod.VACUUM: ("Pump on", "Vacuum, kPa", ""),
    LeakMethod.DECAY: ("Line", "Time, s", "Gauge, kPa"),
}
_PUMP_WORDS: Final = ("Pump on a blank", "Pump on the known hole")
_PUMP_NAMES: Final = ("the blank", "the known hole")


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is asked now: words, unit, and what stands in the field where it is corrected; or for a yes."""

    words: str
    unit: str
    lead: str = ""
    text: str = ""
    is_confirmation: bool = False


class Readings:
    """The lines of one method; `at` is the line that is typed, the one after the last for a new one."""

    def __init__(self, method: LeakMethod) -> None:
        self.method = method
        self.rows: list[tuple[float, ...]] = []
        self.at = 0
        self._typed: tuple[float, ...] = ()

    @property
    def width(self) -> int:
        """Numbers in a line."""
        return len(TYPED_OF[self.method])

    @property
    def is_vacuum(self) -> bool:
        """Whether the pump is read first."""
        return self.method is LeakMethod.VACUUM

    @property
    def is_correcting(self) -> bool:
        """Whether an earlier line is typed anew."""
        return self.at < len(self.rows)

    @property
    def is_begun(self) -> bool:
        """Whether a part of a line is typed already."""
        return bool(self._typed)

    @property
    def is_full(self) -> bool:
        """Whether nobody types more than this."""
        return not self.is_correcting and len(self.rows) >= MOST_TYPED

    @property
    def of_port(self) -> list[tuple[float, ...]]:
        """The lines that speak of the port, without those of the pump."""
        return self.rows[_PUMP_ROWS:] if self.is_vacuum else self.rows

    def asks_time(self) -> bool:
        """Whether the next number is a time."""
        return self.method is LeakMethod.DECAY and not self._typed

    def asked(self, clock_s: float | None = None) -> Asked:
        """The question at hand; with a running clock the time is not asked."""
        place = len(self._typed)
        words = _ASKED[self.method][place]
        if self.is_vacuum:
            words = _PUMP_WORDS[self.at] if self.at < _PUMP_ROWS else f"{words}, reading {self.at - _PUMP_ROWS + 1}"
        if clock_s is not None and self.asks_time() and not self.is_correcting:
            words = _ASKED[self.method][1]
            return Asked(words=words, unit="kPa", lead=f"Line {self.at + 1}")
        unit = "s" if self.asks_time() else "kPa"
        lead = "" if self.is_vacuum else f"Line {self.at + 1}"
        if self.is_correcting:
            lead = f"Correct {lead.lower() or 'it'}"
            return Asked(words=words, unit=unit, lead=lead, text=f"{self.rows[self.at][place]:.10g}")
        return Asked(words=words, unit=unit, lead=lead)

    def take(self, value: float) -> bool:
        """One number; whether it ended a line."""
        self._typed = (*self._typed, value)
        if len(self._typed) < self.width:
            return False
        if self.is_correcting:
            self.rows[self.at] = self._typed
        else:
            self.rows.append(self._typed)
        self._typed, self.at = (), len(self.rows)
        return True

    def take_at(self, t_s: float, value: float) -> bool:
        """A pressure with the time of the running clock; always a line of its own."""
        self._typed = (t_s,)
        return self.take(value)

    def step(self, by: int) -> bool:
        """To an earlier line, or on to the next; whether there is one."""
        self._typed = ()
        if not 0 <= self.at + by <= len(self.rows):
            return False
        self.at += by
        return True

    def go_to(self, place: int) -> None:
        """To one line."""
        self._typed = ()
        self.at = min(max(0, place), len(self.rows))

    def remove(self) -> bool:
        """Take the line at hand away, else the newest; whether there was one."""
        self._typed = ()
        if not self.rows:
            return False
        place = min(self.at, len(self.rows) - 1)
        if self.is_vacuum and place < _PUMP_ROWS:
            del self.rows[place:]  # what follows was read with another pump
        else:
            del self.rows[place]
        self.at = len(self.rows)
        return True

    def clear(self) -> None:
        """Ready for the next port; the pump stays as it was read."""
        self.rows = self.rows[:_PUMP_ROWS] if self.is_vacuum else []
        self.at, self._typed = len(self.rows), ()

    def put_back(self, rows: Sequence[tuple[float, ...]]) -> None:
        """Lines of the port that were sent and are not kept, before those typed since."""
        pump = self.rows[:_PUMP_ROWS] if self.is_vacuum else []
        added = len(rows) if self.at >= len(pump) else 0
        self.rows = [*pump, *rows, *self.of_port]
        self.at += added

    def fill(self, body: LeakTest) -> None:
        """The readings of a test that was kept."""
        columns = [getattr(body, name) for name in TYPED_OF[self.method]]
        pump = [(body.blank_kpa,), (body.known_kpa,)] if self.is_vacuum else []
        self.rows = [(kpa,) for (kpa,) in pump if kpa is not None] + list(zip(*columns, strict=True))
        self.at, self._typed = len(self.rows), ()

    def fields(self) -> dict[str, object]:
        """The readings as an entry spells them."""
        names, rows = TYPED_OF[self.method], self.of_port
        made: dict[str, object] = {name: [row[at] for row in rows] for at, name in enumerate(names)}
        if self.is_vacuum and len(self.rows) >= _PUMP_ROWS:
            made |= {"blank_kpa": self.rows[0][0], "known_kpa": self.rows[1][0]}
        return made


def cells_of(readings: Readings) -> list[tuple[str, ...]]:
    """The lines as a table shows them."""
    return [(_name(readings, at), *_numbers(row)) for at, row in enumerate(readings.rows)]


def _name(readings: Readings, at: int) -> str:
    if not readings.is_vacuum:
        return str(at + 1)
    return _PUMP_NAMES[at] if at < _PUMP_ROWS else f"the bore, {at - _PUMP_ROWS + 1}"


def _numbers(row: Sequence[float]) -> tuple[str, ...]:
    shown = tuple(f"{value:.6g}".replace("-", "\u2212") for value in row)
    return shown if len(shown) > 1 else (*shown, "")
