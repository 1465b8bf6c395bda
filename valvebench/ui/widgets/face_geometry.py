"""Where pins stand on a drawn connector, and how one walks between them; no painting here."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Final

import msgspec

from valvebench.model.measured import mean

Point = tuple[float, float]
Cubic = tuple[Point, Point, Point, Point]

ROW_PITCH: Final = 1.3
"""Distance of rows in units of the distance of pins within a row."""
FREE_ASPECT: Final = 1.4
MARGIN: Final = 0.8
"""From the outermost pin's centre to the outline, in units of the pin distance."""

_SWINGS: Final = (0.7, -0.7, 0.55, -0.55, 0.9, -0.9)
"""How far a lead is pulled aside, in units of the pin distance: three quarters of it is reached."""
_EARLY: Final = 0.25
"""Where along the way a swing is pulled: an even bow without a corner."""
_ENOUGH: Final = 1.2
"""From the centre of a disc, in its radii: a lead further off does not seem to touch it."""
_STEPS: Final = 24


class PinSpot(msgspec.Struct, frozen=True, kw_only=True):
    """A pin's name and place, seen from the mating side; only the proportions of x and y count."""

    name: str
    x: float
    y: float


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A face in units of its pin distance: where each pin is, and how large the outline is."""

    places: Mapping[str, Point]
    width: float
    height: float


def plan_face(spots: Sequence[PinSpot], *, aspect: float | None = None, is_round: bool = False) -> Plan:
    """Lay pins out so that the two closest ones are one unit apart; `aspect` is width over height of the pins."""
    unit = _normalised(spots)
    aspect = 1.0 if is_round else aspect or _natural_aspect(unit)
    stretched = {name: (x * aspect, y) for name, (x, y) in unit.items()}
    scale = 1.0 / (_closest(list(stretched.values())) or 1.0)
    places = {name: (x * scale, y * scale) for name, (x, y) in stretched.items()}
    return _in_round(places) if is_round else _in_box(places)


def turned(plan: Plan) -> Plan:
    """The same face seen from the wire side."""
    return Plan(
        places={name: (plan.width - x, y) for name, (x, y) in plan.places.items()},
        width=plan.width,
        height=plan.height,
    )


def nearest(places: Mapping[str, Point], name: str, *, direction: Point) -> str | None:
    """The pin one reaches from `name` by an arrow key; `direction` is a unit step on the screen."""
    here = places[name]
    best: tuple[float, str] | None = None
    for other, place in places.items():
        along, aside = _along(here, place, direction)
        if other != name and along > 1e-6 and aside <= 2.5 * along + 1e-6:
            best = min(best or (math.inf, ""), (along + 2.0 * aside, other))
    return best[1] if best else None


def lead_curve(start: Point, end: Point, *, radius: float, sag: float) -> Cubic:
    """The test lead from one disc to another: an S between rows, a bow below within a row."""
    (ax, ay), (bx, by) = start, end
    if abs(by - ay) <= radius:
        return ((ax, ay + radius), (ax, ay + radius + sag), (bx, by + radius + sag), (bx, by + radius))
    step = math.copysign(radius, by - ay)
    bend = max(abs(by - ay) - 2 * radius, sag) * math.copysign(0.75, by - ay)
    return ((ax, ay + step), (ax, ay + step + bend), (bx, by - step - bend), (bx, by - step))


def clear_of(curve: Cubic, others: Sequence[Point], *, radius: float, pitch: float) -> Cubic:
    """The same lead, swung into the lane beside a disc it would run across; as it was where none is in its way."""
    if _gap(curve, others) >= radius:
        return curve
    swung = [_swung(curve, share * pitch) for share in _SWINGS]
    middle = (mean(tuple(x for x, _ in others)), mean(tuple(y for _, y in others)))
    enough = _ENOUGH * radius
    return max(swung, key=lambda each: (min(_gap(each, others), enough), -math.dist(_point_at(each, 0.5), middle)))


def _swung(curve: Cubic, aside: float) -> Cubic:
    start, end = curve[0], curve[3]
    wide, high = end[0] - start[0], end[1] - start[1]
    length = math.hypot(wide, high) or 1.0
    x, y = high / length * aside, -wide / length * aside
    first = (start[0] + wide * _EARLY + x, start[1] + high * _EARLY + y)
    return (start, first, (end[0] - wide * _EARLY + x, end[1] - high * _EARLY + y), end)


def _gap(curve: Cubic, others: Sequence[Point]) -> float:
    """From the lead to the nearest centre of another disc."""
    on_it = [_point_at(curve, step / _STEPS) for step in range(_STEPS + 1)]
    return min((math.dist(point, other) for point in on_it for other in others), default=math.inf)


def _point_at(curve: Cubic, t: float) -> Point:
    weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
    x = sum(weight * point[0] for weight, point in zip(weights, curve, strict=True))
    return (x, sum(weight * point[1] for weight, point in zip(weights, curve, strict=True)))


def second_half(curve: Cubic) -> Cubic:
    """The later half of a curve (de Casteljau's construction)."""
    first, second, third = (_middle(a, b) for a, b in pairwise(curve))
    left, right = _middle(first, second), _middle(second, third)
    return (_middle(left, right), right, third, curve[3])


def _middle(one: Point, other: Point) -> Point:
    return ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)


def _along(here: Point, there: Point, direction: Point) -> Point:
    dx, dy = there[0] - here[0], there[1] - here[1]
    return dx * direction[0] + dy * direction[1], abs(dx * direction[1] - dy * direction[0])


def _normalised(spots: Sequence[PinSpot]) -> dict[str, Point]:
    left, top = min(spot.x for spot in spots), min(spot.y for spot in spots)
    wide = max(spot.x for spot in spots) - left
    high = max(spot.y for spot in spots) - top
    return {spot.name: (_share(spot.x - left, wide), _share(spot.y - top, high)) for spot in spots}


def _share(part: float, whole: float) -> float:
    return part / whole if whole > 0 else 0.0


def _natural_aspect(unit: Mapping[str, Point]) -> float:
    places = list(unit.values())
    rows = Counter(round(y, 3) for _, y in places)
    columns = max(rows.values())
    if _is_ring(places):
        return 1.0
    if len(places) >= 0.6 * columns * len(rows):
        return max(columns - 1, 0.5) / (ROW_PITCH * max(len(rows) - 1, 0.5))
    return FREE_ASPECT


def _is_ring(places: list[Point]) -> bool:
    reaches = [math.hypot(x - 0.5, y - 0.5) for x, y in places]
    return len(places) > 4 and max(reaches) - min(reaches) < 0.08


def _closest(places: list[Point]) -> float:
    gaps = (math.dist(a, b) for count, a in enumerate(places) for b in places[count + 1 :])
    return min((gap for gap in gaps if gap > 1e-9), default=0.0)


def _in_box(places: dict[str, Point]) -> Plan:
    moved = {name: (x + MARGIN, y + MARGIN) for name, (x, y) in places.items()}
    width = max(x for x, _ in moved.values()) + MARGIN
    height = max(y for _, y in moved.values()) + MARGIN
    return Plan(places=moved, width=width, height=height)


def _in_round(places: dict[str, Point]) -> Plan:
    middle_x = max(x for x, _ in places.values()) / 2
    middle_y = max(y for _, y in places.values()) / 2
    reach = max(math.dist((middle_x, middle_y), place) for place in places.values()) + MARGIN
    moved = {name: (x - middle_x + reach, y - middle_y + reach) for name, (x, y) in places.items()}
    return Plan(places=moved, width=2 * reach, height=2 * reach)
