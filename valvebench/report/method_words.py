"""How one row was measured, in one sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from valvebench.judge.row import Row
from valvebench.model.air_tests import LeakTest, PressureTaken, SweepTest
from valvebench.model.entry import AirTest, AnyBody, Reading, SolenoidTest, SwitchTest
from valvebench.model.flex import FlexTest
from valvebench.model.heat import HeatTest
from valvebench.model.leak import LeakMethod
from valvebench.model.session import Item
from valvebench.model.words import AccessPoint, Place

_AT = {
    AccessPoint.VEHICLE_PLUG: "at the vehicle plug",
    AccessPoint.CASE_CONNECTOR: "at the case connector",
    AccessPoint.DEVICE_TERMINALS: "at the device\u2019s own terminals",
}
_LEAK = {
    LeakMethod.STEADY: "two gauges and a known restriction, steady",
    LeakMethod.VACUUM: "a vacuum held steady, against a blank and a known hole",
    LeakMethod.DECAY: "the pressure falling in a known vessel",
}


_KINDS = {
    Reading: "resistance between two nodes, by ohmmeter",
    HeatTest: "resistance and temperature by a logger while the part was warmed, held against copper",
    FlexTest: "resistance of one pair while something was flexed",
    LeakTest: "leak of a port, as a number",
    PressureTaken: "pressure at a tap, by gauge",
    SweepTest: "pressure over current, up and down",
    AirTest: "air at ports, by ear",
    SwitchTest: "switches at rest and under air",
    SolenoidTest: "solenoids clicked and blown through",
}


def kinds_text(items: Sequence[Item]) -> str:
    """What was done in a session, each kind once; nothing where nothing was measured."""
    return "; ".join(words for kind, words in _KINDS.items() if any(isinstance(item.body, kind) for item in items))


def gauges_text(items: Sequence[Item]) -> str:
    """The gauges by their names, or else by their accuracy; nothing where none is told."""
    told = [
        _gauge(item.body) for item in items if isinstance(item.body, AirTest | LeakTest | PressureTaken | SweepTest)
    ]
    return "; ".join(dict.fromkeys(one for one in told if one))


def _gauge(body: AirTest | LeakTest | PressureTaken | SweepTest) -> str:
    accuracy = getattr(body, "gauge", None) or (body.found.gauge if isinstance(body, LeakTest) else "")
    return ", ".join(part for part in (body.gauge_id or "", f"{accuracy} kPa" if accuracy else "") if part)


def method_words(row: Row, taken: Sequence[Item]) -> str:
    """How it was measured; several entries of one row have one method."""
    if not taken:
        return "not recorded"
    words = of_body(taken[0].body)
    if row.heat is not None and isinstance(taken[0].body, Reading):
        return f"{words}, read in rounds while the part was warmed, held against copper"
    more = f", {len(taken)} entries together" if len(taken) > 1 else ""
    return f"{words}{more}"


def of_body(body: AnyBody) -> str:
    """How one entry was measured."""
    words = _METHODS.get(type(body))
    return words(body) if words is not None else type(body).__name__.lower()


def _of_reading(body: Reading) -> str:
    pair = f"between {body.from_node} and {body.to_node} {_AT[body.at]}"
    if body.volts_x is not None:
        return f"two voltages in series with a known resistor, {pair}"
    beside = ", beside a known resistor" if body.check_ohm is not None else ""
    return f"resistance by ohmmeter {pair}{beside}"


def _of_air(body: AirTest) -> str:
    place = "clutch circuit in the case" if body.place is Place.CASE else "port of the body"
    states = ", ".join(f"{name} {state}" for name, state in body.solenoids.items())
    given = [f"selector {body.selector}" if body.selector else "", states]
    told = "".join(f", {one}" for one in given if one)
    return f"air by ear, {place} {body.port}{_pressure(body.kpa_gauge)}{told}"


def _pressure(kpa_gauge: float | None) -> str:
    return f" at {kpa_gauge:g} kPa gauge" if kpa_gauge is not None else ""


_METHODS: Final[Mapping[type, Callable[[Any], str]]] = {
    Reading: _of_reading,
    HeatTest: lambda body: (
        f"resistance and temperature by a logger while {body.device} was warmed, held against copper"
    ),
    FlexTest: lambda body: (
        f"resistance between {body.from_node} and {body.to_node} {_AT[body.at]} while {body.flexed} was flexed"
    ),
    LeakTest: lambda body: f"leak of port {body.port} by {_LEAK[body.method]}",
    PressureTaken: lambda body: f"gauge at tap {body.tap}, {body.state}",
    SweepTest: lambda body: f"pressure over current of {body.device}, up and down",
    AirTest: _of_air,
    SwitchTest: lambda body: (
        f"switch {body.device} {'under air' if body.is_under_air else 'at rest'}{_pressure(body.kpa_gauge)}"
    ),
    SolenoidTest: lambda body: f"{body.device} clicked and blown through{_pressure(body.kpa_gauge)}",
}
