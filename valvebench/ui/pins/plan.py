"""Which pair comes next: what the variant asks for, and any pair chosen by hand.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from valvebench.diagnose.order import clip_order
from valvebench.judge.targets import Wanted, wanted_electrical
from valvebench.model.variant import Variant


class Pair(NamedTuple):
    """Two nodes to probe: the red tip walks, the black clip stays."""

    red: str
    black: str


class Plan:
    """The pairs in the order of fewest clip moves, and the one at hand."""

    def __init__(self, variant: Variant | None) -> None:
        wanted = wanted_electrical(variant) if variant is not None else ()
        order = clip_order([(one.from_node, one.to_node) for one in wanted])
        self._wanted: Sequence[Wanted] = tuple(wanted[probe.place] for probe in order)
        self._pairs = tuple(Pair(probe.tip, probe.clip) for probe in order)
        self._place = 0
        self._by_hand: Pair | None = None

    @property
    def count(self) -> int:
        """How many items are asked for."""
        return len(self._wanted)

    @property
    def keys(self) -> tuple[str, ...]:
        """The items asked for."""
        return tuple(wanted.key for wanted in self._wanted)

    @property
    def pair(self) -> Pair | None:
        """The pair at hand; None where nothing is asked for."""
        if self._by_hand is not None:
            return self._by_hand
        if not self._wanted:
            return None
        return self._pairs[self._place]

    def choose(self, red: str, black: str) -> None:
        """Go to a pair by name; one that is asked for goes on from there."""
        found = [i for i, w in enumerate(self._wanted) if {w.from_node, w.to_node} == {red, black}]
        self._by_hand = None if found else Pair(red, black)
        if found:
            self._place = found[0]

    def choose_item(self, key: str) -> None:
        """Go to an item that is asked for."""
        if key in self.keys:
            self._by_hand, self._place = None, self.keys.index(key)

    def step(self, by: int) -> None:
        """Walk to the next or the previous pair, round the end."""
        was_by_hand, self._by_hand = self._by_hand is not None, None
        if self._wanted and not (was_by_hand and by < 0):
            self._place = (self._place + by) % len(self._wanted)

    def go_on(self, is_open_item: Callable[[str], bool]) -> None:
        """Walk to the next item that still needs a reading; stay where all have one."""
        self._by_hand = None
        for ahead in range(1, len(self._wanted) + 1):
            place = (self._place + ahead) % len(self._wanted)
            if is_open_item(self._wanted[place].key):
                self._place = place
                return

    def begin(self, is_open_item: Callable[[str], bool], has_failed: Callable[[str], bool]) -> None:
        """Start at the first item that still needs a reading, else at the first that failed."""
        for is_wanted in (is_open_item, has_failed):
            found = [place for place, wanted in enumerate(self._wanted) if is_wanted(wanted.key)]
            if found:
                self._place = found[0]
                return
