"""Where ports stand on a plain board; no painting here."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

Point = tuple[float, float]

CLOSEST: Final = 0.02
"""Two ports nearer than this share of the picture cannot be told apart: the board falls back to rows."""
_ROW_GAP: Final = 1.2
_MOST_ACROSS: Final = 16


@dataclass(frozen=True, kw_only=True)
class PortSpot:
    """A port's name and place as fractions of the picture; None where it is not stated."""

    name: str
    x: float | None = None
    y: float | None = None


@dataclass(frozen=True, kw_only=True)
class Board:
    """Centres as fractions of the room for centres, and how many discs must fit side by side and below each other."""

    places: Mapping[str, Point]
    columns: int
    rows: int


def plan_board(spots: Sequence[PortSpot]) -> Board:
    """Lay one board out: by its fractions where they can be told apart, those without in rows below."""
    placed = {spot.name: (spot.x, spot.y) for spot in spots if spot.x is not None and spot.y is not None}
    if not _are_apart(list(placed.values())):
        placed = {}
    loose = [spot.name for spot in spots if spot.name not in placed]
    if not placed:
        return _in_rows(loose)
    if not loose:
        return _spread(placed)
    return _joined(_spread(placed), _in_rows(loose))


def _are_apart(points: list[Point]) -> bool:
    return all(math.dist(a, b) >= CLOSEST for n, a in enumerate(points) for b in points[:n])


def _spread(placed: Mapping[str, Point]) -> Board:
    """The ports moved apart until they fill the board, their order kept."""
    xs, ys = ([point[axis] for point in placed.values()] for axis in (0, 1))
    places = {
        name: (_share(x, low=min(xs), high=max(xs)), _share(y, low=min(ys), high=max(ys)))
        for name, (x, y) in placed.items()
    }
    columns, rows = _discs(list(places.values()))
    return Board(places=places, columns=columns, rows=rows)


def _share(value: float, *, low: float, high: float) -> float:
    return 0.5 if high <= low else (value - low) / (high - low)


def _discs(points: list[Point]) -> tuple[int, int]:
    """How many discs fit beside and below each other when no two neighbours touch."""
    steps = [(abs(a[0] - b[0]), abs(a[1] - b[1])) for n, a in enumerate(points) for b in points[:n]]
    across = min((dx for dx, dy in steps if dx >= dy), default=0.0)
    down = min((dy for dx, dy in steps if dy > dx), default=0.0)
    return _count(across), _count(down)


def _count(step: float) -> int:
    return 1 if step <= 0 else min(_MOST_ACROSS, math.ceil(1 / step - 1e-9) + 1)


def _in_rows(names: Sequence[str]) -> Board:
    columns = max(1, min(len(names), math.ceil(math.sqrt(len(names) * _ROW_GAP))))
    rows = max(1, math.ceil(len(names) / columns))
    places = {
        name: (_step(place % columns, columns), _step(place // columns, rows)) for place, name in enumerate(names)
    }
    return Board(places=places, columns=columns, rows=rows)


def _step(place: int, count: int) -> float:
    return 0.5 if count == 1 else place / (count - 1)


def _joined(upper: Board, lower: Board) -> Board:
    """One board above the other, the room shared by their rows."""
    rows = upper.rows + lower.rows
    split, start = (upper.rows - 1) / (rows - 1), upper.rows / (rows - 1)
    places = {name: (x, split * (y if upper.rows > 1 else 0.0)) for name, (x, y) in upper.places.items()}
    for name, (x, y) in lower.places.items():
        places[name] = (x, start + (1 - start) * (y if lower.rows > 1 else 0.0))
    return Board(places=places, columns=max(upper.columns, lower.columns), rows=rows)
