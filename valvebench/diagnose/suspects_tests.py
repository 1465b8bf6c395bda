"""What to do about a suspect, the cheapest first, and the item where its result is typed."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType
from typing import Final

from valvebench.diagnose.suspected import FLUID_KEY, Test, Told
from valvebench.diagnose.suspects_shift import Changes
from valvebench.diagnose.suspects_weights import Cause
from valvebench.model.variant import Port, Variant
from valvebench.model.words import AccessPoint, Place

_HOW: Final = MappingProxyType({"vacuum": "Steady vacuum at", "steady": "Two-gauge test at", "decay": "Decay test at"})
_GENERAL: Final = MappingProxyType(
    {
        Cause.FLUID_LEVEL: (
            Test(
                "Level with the fluid in its temperature window, engine running, lever moved through all positions",
                FLUID_KEY,
            ),
        ),
        Cause.FLUID_CONDITION: (
            Test("Colour and smell of the fluid; once the pan is off, kind and amount of debris", FLUID_KEY),
        ),
        Cause.ADAPTATION: (
            Test("Was adaptation cleared, and the trim code entered, when the part was last changed?"),
            Test("Clear it and let it relearn by driving hot, shift by shift; then judge the shift again"),
        ),
        Cause.ACCUMULATOR: (
            Test("Accumulator pistons, springs and bores: free, whole, not scored"),
            Test("Check balls by place, size and count"),
        ),
    }
)


def _pair(name: str, variant: Variant) -> str:
    device = variant.device_named(name)
    return "\u2013".join(device.between) if device is not None else ""


def _stop(name: str) -> Test:
    return Test(f"{name}: electronics on board, do not probe unless the maker says so")


def _contact_tests(name: str, variant: Variant) -> tuple[Test, ...]:
    if variant.electronics_on_board:
        return (_stop(name),)
    pair, key = _pair(name, variant), f"device {name}"
    return (
        Test(f"{name} ({pair}) at the vehicle plug, straight after the drive that shows it", key),
        Test(f"{name} ({pair}) at the case connector", key),
        Test(f"Flex the harness and plate while {name} is watched", f"flex {name}"),
        Test(f"Heat run of {name}: up, and down again, against copper and its matched set", f"heat {name}"),
        Test(f"{name} at its own terminals: tells its contact from its winding", key),
    )


def _winding_tests(name: str, variant: Variant) -> tuple[Test, ...]:
    if variant.electronics_on_board:
        return (_stop(name),)
    key = f"device {name}"
    return (
        Test(f"{name} ({_pair(name, variant)}) at the case connector", key),
        Test(f"{name} at its own terminals", key),
    )


def _sticking_tests(name: str) -> tuple[Test, ...]:
    return (
        Test(f"{name} by function: clicks, and air through it off and on", f"function {name}"),
        Test(f"{name}: pressure against current, up and down"),
    )


def _circuit_tests(clutch: str, variant: Variant, place: Place) -> tuple[Test, ...]:
    ports = [port for port in variant.ports if port.feeds == clutch and port.place is place]
    tests = [Test(_port_words(port, clutch), f"port {port.name}") for port in ports]
    if tests:
        return tuple(tests)
    where = "in the case" if place is Place.CASE else "on the body"
    return (Test(f"Air into the passage of {clutch} {where}: this variant names no port of it"),)


def _port_words(port: Port, clutch: str) -> str:
    if port.place is Place.CASE:
        return f"Air into {port.name} in the case: {clutch} thuds and holds, no steady hiss"
    how = _HOW.get(port.method, "Air at")
    return f"{how} {port.name} of the body, which feeds {clutch}"


def _wiring_tests(changes: Changes, variant: Variant) -> tuple[Test, ...]:
    tests = [Test("Vehicle plug: dry of oil, contacts straight, clean and tight")]
    for one in changes.solenoids if not variant.electronics_on_board else ():
        words = f"{one.name} ({_pair(one.name, variant)}) at the vehicle plug, hot, straight after the drive"
        tests.append(Test(words, f"device {one.name}", AccessPoint.VEHICLE_PLUG))
    return tuple(tests)


def _lever_tests(variant: Variant, told: Told) -> tuple[Test, ...]:
    positions = [code.position for code in variant.selector_codes]
    wanted = [name for name in (told.shift.after, told.shift.before, "D") if name in positions]
    shown = Test("The position a diagnostic tool shows, against the lever, one by one")
    if not positions:
        return (shown, Test("Adjustment of switch and lever; the lever nut not forced"))
    return (
        shown,
        Test("The code of each lever position, read at the connector", f"selector {(wanted or positions)[0]}"),
    )


def _pressure_tests(variant: Variant) -> tuple[Test, ...]:
    named = ", ".join(tap.name for tap in variant.taps)
    words = (
        f"Pressure at {named}, cold and hot, idle and load"
        if named
        else "Pressures at the taps, where there are any, cold and hot"
    )
    ports = [port for port in variant.ports if port.feeds == "line"]
    return (Test(words), *(Test(f"Air at {port.name}, which feeds the line", f"port {port.name}") for port in ports))


def _sensor_tests(name: str, variant: Variant) -> tuple[Test, ...]:
    shown = Test("The temperature a diagnostic tool shows, against a probe, cold and hot")
    if variant.electronics_on_board:
        return (shown,)
    words = f"{name} ({_pair(name, variant)}) at the connector, at a known temperature"
    return (shown, Test(words, f"device {name}"))


_Make = Callable[[str, Variant, Told, Changes], tuple[Test, ...]]
_MAKE: Final[MappingProxyType[Cause, _Make]] = MappingProxyType(
    {
        Cause.SOLENOID_CONTACT: lambda name, variant, *_: _contact_tests(name, variant),
        Cause.SOLENOID_WINDING: lambda name, variant, *_: _winding_tests(name, variant),
        Cause.SOLENOID_STICKS: lambda name, *_: _sticking_tests(name),
        Cause.CLUTCH_CIRCUIT: lambda name, variant, *_: _circuit_tests(name, variant, Place.CASE),
        Cause.VALVE_BORE: lambda name, variant, *_: _circuit_tests(name, variant, Place.BODY),
        Cause.WIRING: lambda _, variant, __, changes: _wiring_tests(changes, variant),
        Cause.LEVER_SWITCH: lambda _, variant, told, __: _lever_tests(variant, told),
        Cause.LINE_PRESSURE: lambda _, variant, *__: _pressure_tests(variant),
        Cause.TEMPERATURE_SENSOR: lambda name, variant, *_: _sensor_tests(name, variant),
    }
)


def tests_of(cause: Cause, name: str, variant: Variant, told: Told, changes: Changes) -> tuple[Test, ...]:
    """What to do about a cause, the cheapest first, what can be done in the vehicle before the rest."""
    make = _MAKE.get(cause)
    return make(name, variant, told, changes) if make is not None else _GENERAL[cause]
