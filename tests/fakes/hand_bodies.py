"""Unknown bodies for tests: the truth is a list of parts, and every reading is a sum along them done here.

All of them are invented.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

Part = tuple[str, str, float]


class Body(NamedTuple):
    """Pins and the parts between nodes [ohm]; forests only, so that a reading is a plain sum."""

    pins: tuple[str, ...]
    parts: tuple[Part, ...]

    def ohm(self, a: str, b: str) -> float:
        """True resistance between two nodes [ohm], infinite where nothing leads there."""
        reached, waiting = {a: 0.0}, [a]
        while waiting:
            here = waiting.pop()
            for one, other, ohm in self.parts:
                for start, end in ((one, other), (other, one)):
                    if start == here and end not in reached:
                        reached[end] = reached[here] + ohm
                        waiting.append(end)
        return reached.get(b, math.inf)

    def shown(self, a: str, b: str, *, step_ohm: float) -> str:
        """What a person reads off a meter with that display step and tips of 0.1 ohm: a number, or * for open."""
        ohm = self.ohm(a, b)
        if not math.isfinite(ohm):
            return "*"
        step = step_ohm if ohm < 600 else step_ohm * 100
        decimals = max(0, -math.floor(math.log10(step) + 1e-9))
        return f"{round((ohm + 0.1) / step) * step:.{decimals}f}"

    @property
    def wires(self) -> set[frozenset[str]]:
        """Which nodes have a part between them."""
        return {frozenset((a, b)) for a, b, _ in self.parts}


def pins(count: int) -> tuple[str, ...]:
    return tuple(str(number) for number in range(1, count + 1))


def body_of(count: int, parts: Sequence[Part]) -> Body:
    return Body(pins(count), tuple(parts))


ODD_PART = frozenset(("9", "11"))
TWELVE = body_of(
    12,
    [
        ("3", "11", 5.2),
        ("5", "11", 5.3),
        ("7", "11", 5.1),
        ("9", "11", 6.4),
        ("2", "11", 12.4),
        ("8", "case", 12.9),
        ("6", "12", 2500.0),
    ],
)
"""Four like coils on 11, of them 9-11 odd; another coil there, one to the casting, a sensor; 1, 4, 10 lead nowhere."""
