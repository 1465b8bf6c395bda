"""A plan of measurements on a simulated body -> the entries a person would have made."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import singledispatch
from typing import NamedTuple

from valvebench.model.entry import AirTest, AnyBody, MeterCheck, Reading, SolenoidTest, SwitchTest
from valvebench.model.variant import Port, Solenoid
from valvebench.model.words import AccessPoint, AirResult, Flow, LeadState, Reaction, SwitchState, TemperatureSource
from valvebench.simulate.body import TrueBody, TrueSwitch
from valvebench.simulate.meter import OhmMeter, Probe, Shown


@dataclass(frozen=True, kw_only=True)
class ReadPair:
    """Read between two nodes; `celsius` is the true coil temperature, `round` that of a heat run."""

    from_node: str
    to_node: str
    celsius: float
    celsius_accuracy: float | None = None
    at: AccessPoint = AccessPoint.CASE_CONNECTOR
    round: int | None = None
    note: str | None = None


@dataclass(frozen=True, kw_only=True)
class ReadCheck:
    """Read a known resistor [ohm] with the same leads."""

    check_ohm: float
    check_pct: float = 0.1


@dataclass(frozen=True, kw_only=True)
class BlowPort:
    """Air at a port, selector and solenoids as its first expectation asks."""

    port: str
    note: str | None = None


@dataclass(frozen=True, kw_only=True)
class TrySwitch:
    """Look at a switch at rest, or with air of a pressure [kPa gauge] at the port that moves it."""

    device: str
    kpa_gauge: float | None = None


@dataclass(frozen=True, kw_only=True)
class ClickSolenoid:
    """Click a solenoid and blow through it off and on."""

    device: str


Step = ReadPair | ReadCheck | BlowPort | TrySwitch | ClickSolenoid


@dataclass(frozen=True, kw_only=True)
class SetUp:
    """The bench with a body on it: meter, probe, and how well the coil temperature is known."""

    body: TrueBody
    meter: OhmMeter
    probe: Probe
    temperature: TemperatureSource
    gauge_id: str | None = None


class Timed(NamedTuple):
    """An entry body and the moment it was made."""

    at: datetime
    body: AnyBody


def carry_out(
    set_up: SetUp, steps: Iterable[Step], *, start: datetime, pace_s: float, chance: random.Random
) -> tuple[Timed, ...]:
    """Do the steps one after another, `pace_s` seconds apart."""
    return tuple(
        Timed(start + timedelta(seconds=i * pace_s), take(step, set_up, chance)) for i, step in enumerate(steps)
    )


@singledispatch
def take(step: object, set_up: SetUp, chance: random.Random) -> AnyBody:  # noqa: ARG001  one signature for every step
    """The entry body of one step."""
    raise TypeError(f"{step!r} is no step of a plan")


@take.register
def _(step: ReadPair, set_up: SetUp, chance: random.Random) -> Reading:
    meter = set_up.meter
    shown = meter.show(set_up.body.ohm_between(step.from_node, step.to_node, celsius=step.celsius), chance)
    return Reading(
        from_node=step.from_node,
        to_node=step.to_node,
        at=step.at,
        ohm=shown.ohm,
        open=shown.ohm is None,
        range_ohm=shown.on.full_ohm,
        celsius=set_up.probe.show(step.celsius, chance),
        temperature=None if step.celsius_accuracy is not None else set_up.temperature,
        celsius_accuracy=step.celsius_accuracy,
        meter=_accuracy(meter, shown),
        meter_id=meter.name,
        leads=meter.leads,
        lead_ohm=meter.shorted_ohm() if meter.leads is LeadState.SUBTRACT else None,
        round=step.round,
        note=step.note,
    )


def _accuracy(meter: OhmMeter, shown: Shown) -> str:
    """An open display has no accuracy to state; the person leaves the lowest range's in set_up."""
    return meter.accuracy(meter.ranges[0] if shown.ohm is None else shown.on)


@take.register
def _(step: ReadCheck, set_up: SetUp, chance: random.Random) -> MeterCheck:
    meter = set_up.meter
    shown = meter.show(step.check_ohm, chance)
    if shown.ohm is None:
        raise ValueError(f"a check resistor of {step.check_ohm:g} ohm is over the range of {meter.name}")
    return MeterCheck(
        check_ohm=step.check_ohm,
        read_ohm=shown.ohm,
        check_pct=step.check_pct,
        zero_read_ohm=meter.shorted_ohm(),
        meter=meter.accuracy(shown.on),
        meter_id=meter.name,
        range_ohm=shown.on.full_ohm,
        leads=meter.leads,
    )


@take.register
def _(step: BlowPort, set_up: SetUp, chance: random.Random) -> AirTest:  # noqa: ARG001
    port = set_up.body.variant.port_named(step.port)
    if port is None:
        raise ValueError(f"{step.port} is no port of {set_up.body.variant.key}")
    asked = port.expect[0] if port.expect else None
    return AirTest(
        port=port.name,
        place=port.place,
        result=_heard(port, is_leaking=port.name in set_up.body.leaking),
        kpa_gauge=port.kpa_gauge,
        selector=asked.selector if asked is not None else None,
        solenoids=dict(asked.solenoids) if asked is not None else {},
        gauge_id=set_up.gauge_id,
        note=step.note,
    )


def _heard(port: Port, *, is_leaking: bool) -> AirResult:
    bleeds_by_design = any(e.reaction is Reaction.BLEEDS for e in port.expect)
    return AirResult.BLEEDS if is_leaking or bleeds_by_design else AirResult.PASS


@take.register
def _(step: TrySwitch, set_up: SetUp, chance: random.Random) -> SwitchTest:  # noqa: ARG001
    true = set_up.body.devices[step.device]
    if not isinstance(true, TrueSwitch):
        raise TypeError(f"{step.device} is no switch of {set_up.body.variant.key}")
    has_air = step.kpa_gauge is not None and true.moved_by not in set_up.body.leaking
    return SwitchTest(device=step.device, state=true.state(with_air=has_air), kpa_gauge=step.kpa_gauge)


@take.register
def _(step: ClickSolenoid, set_up: SetUp, chance: random.Random) -> SolenoidTest:  # noqa: ARG001
    device = set_up.body.variant.device_named(step.device)
    if not isinstance(device, Solenoid):
        raise TypeError(f"{step.device} is no solenoid of {set_up.body.variant.key}")
    if device.normally is None:
        return SolenoidTest(device=step.device, click=True)
    flows_off = device.normally is SwitchState.OPEN
    off, on = (Flow.FLOWS, Flow.HOLDS) if flows_off else (Flow.HOLDS, Flow.FLOWS)
    return SolenoidTest(device=step.device, click=True, air_off=off, air_on=on)


def pairs_at(celsius: float, pairs: Sequence[tuple[str, str]], *, in_round: int | None = None) -> tuple[ReadPair, ...]:
    """Plain readings of several pairs at one true temperature, perhaps a round of a heat run."""
    return tuple(ReadPair(from_node=a, to_node=b, celsius=celsius, round=in_round) for a, b in pairs)
