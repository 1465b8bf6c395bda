"""Which pair comes next: what the variant asks for, and any pair chosen by hand.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Any, Final, NamedTuple, Protocol

from valvebench.diagnose.order import clip_order
from valvebench.judge.diodes import Polar, blocking_order, polar_of
from valvebench.judge.targets import device_at, wanted_electrical
from valvebench.model.variant import Variant


class Pair(NamedTuple):
    """Two nodes to probe: the red tip walks, the black clip stays."""

    red: str
    black: str


_NOTHING: Final[Mapping[str, Any]] = MappingProxyType({})


class Walk(Protocol):
    """Pairs one after the other, and what each reading of them says besides."""

    @property
    def count(self) -> int: ...
    @property
    def keys(self) -> tuple[str, ...]: ...
    @property
    def pair(self) -> Pair | None: ...
    @property
    def stamp(self) -> Mapping[str, Any]: ...
    def choose(self, red: str, black: str) -> None: ...
    def choose_item(self, key: str) -> None: ...
    def step(self, by: int) -> None: ...
    def go_on(self, is_open_item: Callable[[str], bool]) -> None: ...


class Pairs:
    """Pairs in their order, each with its item, and the one at hand: one of them, or one chosen by hand.

    Of `polar` items it matters which tip is where: the other way round is a pair of its own.
    """

    def __init__(
        self, stops: Iterable[tuple[str, Pair]], *, place: int = 0, polar: frozenset[str] = frozenset()
    ) -> None:
        self._stops, self._polar = tuple(stops), polar
        self._place = place
        self._by_hand: Pair | None = None

    @property
    def count(self) -> int:
        """How many items are asked for."""
        return len(self._stops)

    @property
    def keys(self) -> tuple[str, ...]:
        """The items asked for."""
        return tuple(key for key, _ in self._stops)

    @property
    def pair(self) -> Pair | None:
        """The pair at hand; None beyond either end, and where nothing is asked for."""
        if self._by_hand is not None:
            return self._by_hand
        return self._stops[self._place][1] if 0 <= self._place < self.count else None

    def choose(self, red: str, black: str) -> None:
        """Go to a pair by name; one that is asked for goes on from there."""
        found = [
            place
            for place, (key, pair) in enumerate(self._stops)
            if pair == (red, black) or (key not in self._polar and pair == (black, red))
        ]
        self._by_hand = None if found else Pair(red, black)
        if found:
            self._place = found[0]

    def choose_item(self, key: str) -> None:
        """Go to an item that is asked for."""
        if key in self.keys:
            self._by_hand, self._place = None, self.keys.index(key)


def _diode_at(variant: Variant | None, pair: Pair) -> Polar | None:
    return polar_of(variant, device_at(variant, *pair)) if variant is not None else None


def the_right_way(variant: Variant | None, pair: Pair) -> Pair:
    """Red where a diode across the device blocks."""
    return Pair(*blocking_order(variant, device_at(variant, *pair), *pair)) if variant is not None else pair


class Plan(Pairs):
    """All that a variant asks for, in the order of fewest clip moves."""

    def __init__(self, variant: Variant | None) -> None:
        wanted = wanted_electrical(variant) if variant is not None else ()
        order = clip_order([(one.from_node, one.to_node) for one in wanted])
        stops = [(wanted[probe.place].key, the_right_way(variant, Pair(probe.tip, probe.clip))) for probe in order]
        super().__init__(stops, polar=frozenset(key for key, pair in stops if _diode_at(variant, pair) is not None))

    @property
    def stamp(self) -> Mapping[str, Any]:
        """Nothing: a reading outside a round says all by itself."""
        return _NOTHING

    def step(self, by: int) -> None:
        """Walk to the next or the previous pair, round the end."""
        was_by_hand, self._by_hand = self._by_hand is not None, None
        if self.count and not (was_by_hand and by < 0):
            self._place = (self._place + by) % self.count

    def go_on(self, is_open_item: Callable[[str], bool]) -> None:
        """Walk to the next item that still needs a reading; stay where all have one."""
        self._by_hand = None
        for ahead in range(1, self.count + 1):
            place = (self._place + ahead) % self.count
            if is_open_item(self._stops[place][0]):
                self._place = place
                return

    def begin(self, is_open_item: Callable[[str], bool], has_failed: Callable[[str], bool]) -> None:
        """Start at the first item that still needs a reading, else at the first that failed."""
        for is_wanted in (is_open_item, has_failed):
            found = [place for place, key in enumerate(self.keys) if is_wanted(key)]
            if found:
                self._place = found[0]
                return
