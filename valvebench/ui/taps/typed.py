"""What is typed of a pressure at a tap -> its entry, or what is wrong with it in words.  No Qt."""

from __future__ import annotations

from typing import Any, Final

from valvebench.model.air_tests import PressureTaken
from valvebench.model.entry import body_from
from valvebench.model.errors import bad
from valvebench.model.numbers import number_meanings
from valvebench.ui.taps.shown import KPA, Typed

LOWEST_KPA, HIGHEST_KPA = -101.325, 10_000.0
LOWEST_CELSIUS, HIGHEST_CELSIUS = -50.0, 200.0
NAMES: Final = "names"
FLUID: Final = "fluid"
NAME_BOTH: Final = "Name the tap and the state, such as Line and idle."
NO_FLUID: Final = "Type how warm the fluid is, such as 80."
NO_PRESSURE: Final = "A pressure is needed, such as 450."
NOT_KPA: Final = f"Not a pressure. Type it in {KPA}, such as 450."


def meanings_of(text: str) -> tuple[float, ...]:
    """The pressures [kPa] that typed digits can mean; none where no gauge shows them."""
    values = number_meanings(text)
    return values if values and all(LOWEST_KPA <= value <= HIGHEST_KPA for value in values) else ()


def body_of(typed: Typed) -> PressureTaken:
    """The entry that is typed; a pressure that can mean two is read as a decimal (raises BadInput)."""
    if not (typed.tap.strip() and typed.state.strip()):
        raise bad(NAMES, "too little", "a tap and a state", NAME_BOTH)
    fields: dict[str, Any] = {
        "tap": typed.tap.strip(),
        "state": typed.state.strip(),
        "kpa_gauge": _first(meanings_of(typed.kpa), "pressure", typed.kpa, NOT_KPA),
        "fluid_celsius": _first(_celsius(typed.fluid), FLUID, typed.fluid, NO_FLUID),
    }
    fields |= {name: text for name in ("gauge", "gauge_id") if (text := getattr(typed, name).strip())}
    body = body_from("pressure", fields, source="taps")
    if not isinstance(body, PressureTaken):
        raise TypeError("pressure makes a PressureTaken")
    return body


def _celsius(text: str) -> tuple[float, ...]:
    return tuple(value for value in number_meanings(text) if LOWEST_CELSIUS <= value <= HIGHEST_CELSIUS)


def _first(values: tuple[float, ...], where: str, text: str, advice: str) -> float:
    if not values:
        raise bad(where, repr(text), "a number that a gauge or thermometer shows", advice)
    return values[0]
