"""One line of two sessions compared."""

from __future__ import annotations

from typing import NamedTuple

from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.physics.uncertainty import Line


class Compared(NamedTuple):
    """One line: what was compared, both values [unit], their difference with its doubt, and what cancels."""

    what: str
    a: float | str | None
    b: float | str | None
    unit: str
    difference: float | None
    u_difference: float | None
    k: float | None
    significant: bool | None
    common: tuple[str, ...]
    why: str


class Shared(NamedTuple):
    """One doubt of a difference, in both tests or in one; what is common stays by its difference alone.

    `a`, `b` are standard uncertainties in the unit of the line, None where a test has no such doubt.
    """

    term: str
    a: Line | None
    b: Line | None
    is_common: bool = False

    def stays(self) -> tuple[Line, ...]:
        """What of it is left in the difference (JCGM 100:2008, 5.2.2)."""
        own = tuple(line for line in (self.a, self.b) if line is not None)
        if not self.is_common:
            return own
        u = abs((self.a.u_ohm if self.a else 0.0) - (self.b.u_ohm if self.b else 0.0))
        return (Line(self.term, u, is_rectangular=any(line.is_rectangular for line in own)),)


class AirBudget(NamedTuple):
    """What the difference of two leaks or pressures rests on; `has_trapezoid`: two rectangles may dominate it."""

    terms: tuple[Shared, ...]
    has_trapezoid: bool = False

    def lines(self) -> list[Line]:
        """Everything that is left in the difference."""
        return [line for term in self.terms for line in term.stays()]


class Side(NamedTuple):
    """One session of a comparison with the variant it is held against."""

    session: Session
    variant: Variant | None
