"""The pairs of one round in their order, with a question before the first and after the last.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from valvebench.ui.pins.plan import Pairs
from valvebench.ui.pins.rounds import Stop

_BEFORE: Final = -1


class RoundPlan(Pairs):
    """Walks the windings of one round; beyond either end no pair is asked for but a temperature."""

    def __init__(self, stops: Sequence[Stop], number: int, *, place: int | None = None) -> None:
        super().__init__(((stop.key, stop.pair) for stop in stops), place=len(stops) if place is None else place)
        self.number = number

    @property
    def stamp(self) -> Mapping[str, Any]:
        """What every reading of this round says besides."""
        return MappingProxyType({"round": self.number})

    @property
    def is_before(self) -> bool:
        """Whether somebody walked back beyond the first pair: to the temperature of this round."""
        return self._by_hand is None and self._place < 0

    def step(self, by: int) -> None:
        """The next or the previous pair; beyond the ends stand the questions."""
        was_by_hand, self._by_hand = self._by_hand is not None, None
        if not (was_by_hand and by < 0):
            self._place = min(max(self._place + by, _BEFORE), self.count)

    def go_on(self, is_open_item: Callable[[str], bool]) -> None:
        """The next winding without a reading, round the end too; after the last one the question."""
        self._by_hand = None
        ahead = ((self._place + step) % self.count for step in range(1, self.count + 1))
        self._place = next((place for place in ahead if is_open_item(self._stops[place][0])), self.count)

    def begin(self, is_open_item: Callable[[str], bool]) -> None:
        """The first winding without a reading, else the first."""
        self._by_hand = None
        self._place = next((place for place, key in enumerate(self.keys) if is_open_item(key)), 0)
