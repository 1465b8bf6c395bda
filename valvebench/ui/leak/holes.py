"""What can be measured on the page: a port of the variant, or the seat of one of its solenoids.  No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from valvebench.judge.leak_rows import LEAK_KEY, SEAT_KEY, is_of_method, leak_key, seat_key
from valvebench.model.air_tests import LeakTest
from valvebench.model.leak import LeakMethod
from valvebench.model.variant import Port, Solenoid, Variant
from valvebench.model.words import SwitchState
from valvebench.ui.ports.questions import NEEDS_CURRENT_LIMIT

OWN_TEXTS: Final = (
    *("restriction", "restriction_mm", "restriction_c", "restriction_b", "restriction_pct"),
    *("cal_mm", "cal_pct", "cal_supply", "cal_port"),
)
"""A port and a seat are seldom tested behind the same restriction: each keeps its own."""
_SHUT: Final = {
    SwitchState.CLOSED: "Shut without current.",
    SwitchState.OPEN: "Shut only while current flows.",
    None: "When it shuts is not stated: Ports asks whether air holds off or on.",
}


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A port, or with `solenoid` its seat: its name, pressure and limit as those of a port."""

    port: Port
    solenoid: Solenoid | None = None

    @property
    def is_seat(self) -> bool:
        """Whether it is the seat of a solenoid."""
        return self.solenoid is not None

    @property
    def key(self) -> str:
        """The key of its measured leaks, which is also the name of its sheet."""
        return (seat_key if self.is_seat else leak_key)(self.port.name)

    @property
    def item(self) -> str:
        """The item of Ports that it belongs to."""
        return self.key if self.is_seat else f"port {self.port.name}"

    @property
    def fields(self) -> Mapping[str, str]:
        """What an entry says of it."""
        return {"device" if self.is_seat else "port": self.port.name}

    @property
    def about(self) -> str:
        """What it is, in words."""
        if self.solenoid is None:
            feeds = f", feeds {self.port.feeds}" if self.port.feeds else ""
            return f"{self.port.place.value.capitalize()} port{feeds}"
        return "Solenoid seat"

    @property
    def shut(self) -> str:
        """When a seat is shut at all."""
        return _SHUT[self.solenoid.normally] if self.solenoid is not None else ""

    @property
    def is_fed(self) -> bool:
        """Whether current has to flow while it is tested, or nobody says that none has to."""
        return self.solenoid is not None and self.solenoid.normally is not SwitchState.CLOSED

    @property
    def needs_current_limit(self) -> bool:
        """Whether only a current-limited supply may feed it while it is tested."""
        return self.is_fed and self.solenoid is not None and self.solenoid.duty in NEEDS_CURRENT_LIMIT

    def method(self, now: LeakMethod) -> LeakMethod:
        """How it is measured first: a port as its limit says, a seat as it is done now where its limit allows that."""
        if self.is_seat:
            return now if self.port.max_ml_min is None or is_of_method(self.port, now) else LeakMethod.STEADY
        return next((method for method in LeakMethod if method.value == self.port.method), now)

    def is_of(self, test: LeakTest) -> bool:
        """Whether a kept test is its own."""
        return (self.is_seat, self.port.name) == (test.is_seat, test.of)


def holes_of(variant: Variant | None) -> tuple[Hole, ...]:
    """Ports, then the seats of the solenoids; electronics on board leave the ports alone, as on Ports."""
    if variant is None:
        return ()
    ports = [Hole(port=port) for port in variant.ports]
    devices = () if variant.electronics_on_board else variant.devices
    return (*ports, *(Hole(port=one.seat, solenoid=one) for one in devices if isinstance(one, Solenoid)))


def hole_at(variant: Variant | None, name: str, *, is_seat: bool) -> Hole | None:
    """The port of that name, or the seat of the solenoid; None where the variant has neither."""
    return next((one for one in holes_of(variant) if (one.port.name, one.is_seat) == (name, is_seat)), None)


def next_to(variant: Variant | None, hole: Hole) -> Hole:
    """After a port the next port, after a seat the next seat, round the end."""
    alike = [one for one in holes_of(variant) if one.is_seat is hole.is_seat]
    return alike[(alike.index(hole) + 1) % len(alike)]


def meant_by(item: str) -> tuple[str, bool] | None:
    """Name, and whether it is a seat, of an item such as `leak P6` or `seat Heron`; None for every other item."""
    for start, is_seat in ((LEAK_KEY, False), (SEAT_KEY, True)):
        if item.startswith(start):
            return item.removeprefix(start), is_seat
    return None


def own_texts(texts: Mapping[str, str]) -> dict[str, str]:
    """Of everything that was typed, what one kind of hole keeps for itself."""
    return {name: texts[name] for name in OWN_TEXTS if name in texts}


def with_own(texts: Mapping[str, str], own: Mapping[str, str]) -> dict[str, str]:
    """The same with what the other kind of hole keeps for itself."""
    return {**{name: text for name, text in texts.items() if name not in OWN_TEXTS}, **own}
