"""Contacts in series with a winding, as they really are: what each adds at a temperature [ohm]."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

_ROOM_CELSIUS = 20.0


class Contact(Protocol):
    """Something between pin and winding."""

    def ohm_at(self, celsius: float) -> float:
        """What it adds at a temperature [ohm]; infinite where it is open."""
        ...


@dataclass(frozen=True, kw_only=True)
class BadContact:
    """A contact that is good up to a temperature and then grows with the square of the excess."""

    from_celsius: float
    ohm_per_square_celsius: float

    def ohm_at(self, celsius: float) -> float:
        """What it adds at a temperature [ohm]."""
        return self.ohm_per_square_celsius * max(0.0, celsius - self.from_celsius) ** 2


@dataclass(frozen=True, kw_only=True)
class SteadyContact:
    """A contact, or a lead, that stays put whatever the temperature."""

    ohm: float

    def ohm_at(self, celsius: float) -> float:  # noqa: ARG002  that is what it is
        """What it adds at any temperature [ohm]."""
        return self.ohm


@dataclass(frozen=True, kw_only=True)
class KneeContact:
    """A contact that is good up to a temperature and then grows evenly; below the coldest, it grows all the way."""

    from_celsius: float
    ohm_per_celsius: float

    def ohm_at(self, celsius: float) -> float:
        """What it adds at a temperature [ohm]."""
        return self.ohm_per_celsius * max(0.0, celsius - self.from_celsius)


@dataclass(frozen=True, kw_only=True)
class RunawayContact:
    """A contact whose part above that of a cold one grows by the same factor for each `per_celsius` [K]."""

    ohm_at_20: float
    per_celsius: float

    def ohm_at(self, celsius: float) -> float:
        """What it adds at a temperature [ohm]."""
        return self.ohm_at_20 * math.exp((celsius - _ROOM_CELSIUS) / self.per_celsius)


@dataclass(frozen=True, kw_only=True)
class OpeningContact:
    """A joint that lets go above a temperature, and finds together again below it."""

    above_celsius: float

    def ohm_at(self, celsius: float) -> float:
        """Nothing, or open [ohm]."""
        return math.inf if celsius > self.above_celsius else 0.0
