"""What can be measured on the page: a port of the variant, or the seat of one of its solenoids.  No Qt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from valvebench.judge.leak_rows import leak_key, seat_key
from valvebench.model.air_tests import LeakTest
from valvebench.model.variant import Port, Solenoid, Variant
from valvebench.model.words import SwitchState

OWN_TEXTS: Final = (
    *("restriction", "restriction_mm", "restriction_c", "restriction_b", "restriction_pct"),
    *("cal_mm", "cal_pct", "cal_supply", "cal_port"),
)
"""A port and a seat are seldom tested behind the same restriction: each keeps its own."""
_SHUT: Final = {
    SwitchState.CLOSED: "Shut without current.",
    SwitchState.OPEN: "Shut only while current flows.",
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
        """When it is shut at all, where the variant says it of a seat."""
        normally = self.solenoid.normally if self.solenoid is not None else None
        return _SHUT[normally] if normally is not None else ""

    @property
    def is_fed(self) -> bool:
        """Whether current has to flow while it is tested, or nobody says that none has to."""
        return self.solenoid is not None and self.solenoid.normally is not SwitchState.CLOSED

    def is_of(self, test: LeakTest) -> bool:
        """Whether a kept test is its own."""
        return (self.is_seat, self.port.name) == (test.is_seat, test.of)


def hole_at(variant: Variant | None, name: str, *, is_seat: bool) -> Hole | None:
    """The port of that name, or the seat of the solenoid; None where the variant has neither."""
    if variant is None:
        return None
    if is_seat:
        device = variant.device_named(name)
        return Hole(port=device.seat, solenoid=device) if isinstance(device, Solenoid) else None
    port = variant.port_named(name)
    return Hole(port=port) if port is not None else None


def own_texts(texts: Mapping[str, str]) -> dict[str, str]:
    """Of everything that was typed, what one kind of hole keeps for itself."""
    return {name: texts[name] for name in OWN_TEXTS if name in texts}


def with_own(texts: Mapping[str, str], own: Mapping[str, str]) -> dict[str, str]:
    """The same with what the other kind of hole keeps for itself."""
    return {**{name: text for name, text in texts.items() if name not in OWN_TEXTS}, **own}
