"""A reading of a gauge or a clock as it is typed.  No Qt."""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

from valvebench.model.errors import bad
from valvebench.model.numbers import number_meanings
from valvebench.physics.air import KPA_OF

_UNITS: Final = MappingProxyType({**KPA_OF, "inhg": KPA_OF["inhg"]})
_WITH_UNIT: Final = re.compile(r"(.*?[\d.,])\s*([a-z]+)", re.ASCII | re.IGNORECASE)
HIGHEST_KPA: Final = 10_000.0
LONGEST_S: Final = 100_000.0
_CHOICES: Final = ("1", "2")


def kpa_meanings(text: str) -> tuple[float, ...]:
    """The pressures [kPa] that typed words can mean: `250`, `2.5 bar`, `36 psi`, `25 inHg` (raises BadInput)."""
    match = _WITH_UNIT.fullmatch(text.strip())
    factor = _UNITS.get(match[2].lower()) if match else 1.0
    values = number_meanings(match[1] if match else text) if factor is not None else ()
    if not values or factor is None:
        raise bad("gauge", repr(text), "a pressure such as 250, or with its unit: 2.5 bar, 36 psi, 25 inHg")
    if factor != 1.0:  # nobody groups thousands in front of bar or psi
        values = values[:1]
    made = tuple(value * factor for value in values)
    if any(abs(value) > HIGHEST_KPA for value in made):
        raise bad("gauge", repr(text), f"at most {HIGHEST_KPA:g} kPa")
    return made


def seconds_meanings(text: str) -> tuple[float, ...]:
    """The times [s] that typed words can mean: `20`, `1:30` (raises BadInput)."""
    minutes, colon, seconds = text.strip().rpartition(":")
    whole, rest = number_meanings(minutes or "0"), number_meanings(seconds)
    values = tuple(60.0 * whole[0] + second for second in rest) if whole and (minutes or not colon) else ()
    if not values or not 0 <= values[0] <= LONGEST_S:
        raise bad("time", repr(text), "seconds since the start such as 20, or 1:30")
    return values


class TypedNumber:
    """One number at a time; what can mean two of them is asked about."""

    def __init__(self) -> None:
        self._choices: tuple[float, ...] = ()

    def read(self, text: str, *, is_time: bool) -> float | None:
        """The number that is meant; None where a question stands now (raises BadInput)."""
        if self._choices and text.strip() in _CHOICES:
            value = self._choices[int(text) - 1]
            self._choices = ()
            return value
        values = seconds_meanings(text) if is_time else kpa_meanings(text)
        self._choices = values if len(values) > 1 else ()
        return None if self._choices else values[0]

    def question(self) -> str:
        """Which of two values was meant."""
        first, second = (f"{value:.10g}" for value in self._choices)
        return f"Is it {first} or {second}? Type 1 for {first}, 2 for {second}, then Enter."

    def is_given_up(self, text: str) -> bool:
        """Whether what is typed is no answer to the question that stood there."""
        is_over = bool(self._choices) and bool(text.strip()) and text.strip() not in _CHOICES
        if is_over:
            self._choices = ()
        return is_over

    def forget(self) -> None:
        """No question stands any more."""
        self._choices = ()
