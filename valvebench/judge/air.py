"""What was heard at a port, a switch or a solenoid -> verdict."""

from __future__ import annotations

from typing import NamedTuple

from valvebench.model.entry import AirTest, SolenoidTest, SwitchTest
from valvebench.model.variant import Expectation, Port, Solenoid, Switch, Variant
from valvebench.model.words import AirResult, Flow, Reaction, SwitchState, Verdict

_REACTION_TEXT = {
    Reaction.HOLDS: "air holds",
    Reaction.COMES_OUT: "air comes out",
    Reaction.CLICKS: "a click",
    Reaction.BLEEDS: "bleeds by design",
    Reaction.THUD: "a dull thud, then holds",
}


class Heard(NamedTuple):
    """Verdict and reasons of a test by ear."""

    verdict: Verdict
    reasons: tuple[str, ...]


def expectation_for(port: Port | None, test: AirTest) -> Expectation | None:
    """The expectation whose selector position and solenoid states fit what was set."""
    if port is None:
        return None
    fitting = [e for e in port.expect if _fits(e, test)]
    return max(fitting, key=_detail, default=None)


def _detail(expectation: Expectation) -> int:
    return (expectation.selector is not None) + len(expectation.solenoids)


def _fits(expectation: Expectation, test: AirTest) -> bool:
    """Nothing that was set contradicts it; what was not set is taken as asked for."""
    if test.selector is not None and expectation.selector not in (None, test.selector):
        return False
    return all(test.solenoids.get(name, state) == state for name, state in expectation.solenoids.items())


def judge_air(variant: Variant | None, test: AirTest) -> Heard:
    """Judge a port: `bleeds` is right only where it bleeds by design."""
    port = variant.port_named(test.port) if variant is not None else None
    expected = expectation_for(port, test)
    words = (
        f"Expected: {_expected_text(expected)}." if expected is not None else "No expectation is stated for this port."
    )
    if test.result is AirResult.NOT_POSSIBLE:
        return Heard(Verdict.NOT_TAKEN, ("Not taken: the test was not possible.", words))
    if test.result is AirResult.BLEEDS:
        return _bleeds(expected, words)
    if test.result is AirResult.PASS:
        return Heard(Verdict.PASS, ("Pass: the port did what was expected, by ear.", words))
    return Heard(Verdict.FAIL, ("Fail: the port did not do what was expected, by ear.", words))


def _bleeds(expected: Expectation | None, words: str) -> Heard:
    if expected is None:
        return Heard(Verdict.NO_LIMIT, ("No limit: it bleeds, and nothing says whether it should.", words))
    if expected.reaction is Reaction.BLEEDS:
        return Heard(Verdict.PASS, ("Pass: it bleeds, as it should.", words))
    return Heard(Verdict.FAIL, ("Fail: it bleeds and should not.", words))


def _expected_text(expectation: Expectation) -> str:
    at = f" at {expectation.at}" if expectation.at else ""
    selector = f", selector {expectation.selector}" if expectation.selector else ""
    states = "".join(f", {name} {state}" for name, state in expectation.solenoids.items())
    return f"{_REACTION_TEXT[expectation.reaction]}{at}{selector}{states}"


def judge_switch(variant: Variant | None, test: SwitchTest) -> Heard:
    """Judge a switch at rest, or with air where the variant names the port that moves it."""
    device = variant.device_named(test.device) if variant is not None else None
    expected = _expected_switch(device, test) if isinstance(device, Switch) else None
    if expected is None:
        return Heard(Verdict.NO_LIMIT, ("No limit: nothing says how this switch should stand.",))
    when = "with air" if test.kpa_gauge else "at rest"
    if test.state is expected:
        return Heard(Verdict.PASS, (f"Pass: {expected.value} {when}, as it should be.",))
    return Heard(Verdict.FAIL, (f"Fail: {test.state.value} {when}, it should be {expected.value}.",))


def _expected_switch(device: Switch, test: SwitchTest) -> SwitchState | None:
    if device.at_rest is None or test.selector is not None:
        return None
    if not test.kpa_gauge:
        return device.at_rest
    if device.closes_with is None:
        return None
    return SwitchState.CLOSED if device.at_rest is SwitchState.OPEN else SwitchState.OPEN


def judge_solenoid(variant: Variant | None, test: SolenoidTest) -> Heard:
    """Judge a solenoid by its click, and by air where the variant says how it stands without current."""
    if not test.click:
        return Heard(Verdict.FAIL, ("Fail: no click.",))
    device = variant.device_named(test.device) if variant is not None else None
    normally = device.normally if isinstance(device, Solenoid) else None
    if normally is None or (test.air_off is None and test.air_on is None):
        return Heard(Verdict.PASS, ("Pass: it clicks.",))
    off = Flow.HOLDS if normally is SwitchState.CLOSED else Flow.FLOWS
    on = Flow.FLOWS if off is Flow.HOLDS else Flow.HOLDS
    if test.air_off in (None, off) and test.air_on in (None, on):
        return Heard(Verdict.PASS, (f"Pass: it clicks, and air {off.value} without current.",))
    return Heard(Verdict.FAIL, (f"Fail: normally {normally.value}, air should say: off {off.value}, on {on.value}.",))
