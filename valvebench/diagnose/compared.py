"""One line of two sessions compared."""

from __future__ import annotations

from typing import NamedTuple

from valvebench.model.session import Session
from valvebench.model.variant import Variant


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


class Side(NamedTuple):
    """One session of a comparison with the variant it is held against."""

    session: Session
    variant: Variant | None
