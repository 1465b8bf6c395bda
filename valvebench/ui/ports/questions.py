"""What is asked by ear: one question for each expectation of a port, switch or solenoid.  No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

import msgspec

from valvebench.judge.air import AirItem, air_items, item_of
from valvebench.judge.leak_rows import leak_key, seat_key
from valvebench.model.entry import AirTest, AnyBody, SolenoidTest, SwitchTest
from valvebench.model.variant import Expectation, Port, Solenoid, Switch, Variant
from valvebench.model.words import AirResult, Duty, Flow, Place, Reaction, Supply, SwitchState
from valvebench.ui.ports.set_up import AirSetUp

NEEDS_CURRENT_LIMIT: Final = frozenset({Duty.LINEAR, Duty.PULSED, None})
"""A solenoid whose duty is not stated is taken as one that a bare supply would harm."""


CLICKS_ASKED: Final = 3
"""How often the supply is put on and taken off: ours, editable here; common practice, no source."""


class Answer(Enum):
    """What one key says; for a switch or a solenoid `PLUS` is yes and `MINUS` is no."""

    PLUS = "plus"
    MINUS = "minus"
    BLEEDS = "bleeds"
    NOT_POSSIBLE = "not_possible"


class Part(Enum):
    """What is asked of a solenoid, in this order."""

    CLICK = "click"
    AIR_OFF = "air_off"
    AIR_ON = "air_on"


@dataclass(frozen=True, kw_only=True)
class PortQuestion:
    """A port under one selector position and solenoid states; `number` is the place among its settings."""

    port: Port
    of: AirItem
    number: int = 0

    @property
    def key(self) -> str:
        """Known by this among all questions."""
        return f"port {self.port.name} {self.number}"

    @property
    def item(self) -> str:
        """The item of the session it decides."""
        return self.of.key

    @property
    def expectation(self) -> Expectation | None:
        """What to set; several of one setting share it."""
        return self.of.expected[0] if self.of.expected else None

    @property
    def is_one_of_several(self) -> bool:
        """Whether the port is asked under other settings as well."""
        return len(air_items(self.port)) > 1


@dataclass(frozen=True, kw_only=True)
class SwitchQuestion:
    """A switch at rest, or while air stands at the port that moves it."""

    switch: Switch
    port: Port | None
    has_air: bool = True

    @property
    def key(self) -> str:
        """Known by this among all questions."""
        return f"switch {self.switch.name}" if self.has_air else f"switch {self.switch.name} rest"

    @property
    def item(self) -> str:
        """The item of the session it decides."""
        return f"function {self.switch.name}" if self.has_air else f"device {self.switch.name}"

    @property
    def moved(self) -> SwitchState:
        """How the switch stands under air."""
        return SwitchState.OPEN if self.switch.at_rest is SwitchState.CLOSED else SwitchState.CLOSED

    @property
    def wanted(self) -> SwitchState:
        """How the switch stands when the answer is yes."""
        return self.moved if self.has_air else _other_state(self.moved)


@dataclass(frozen=True, kw_only=True)
class SolenoidQuestion:
    """One thing a solenoid does by function."""

    solenoid: Solenoid
    part: Part

    @property
    def key(self) -> str:
        """Known by this among all questions."""
        return f"solenoid {self.solenoid.name} {self.part.value}"

    @property
    def item(self) -> str:
        """The item of the session it decides."""
        return f"function {self.solenoid.name}"

    @property
    def has_current(self) -> bool:
        """Whether the solenoid is fed."""
        return self.part is not Part.AIR_OFF

    @property
    def needs_current_limit(self) -> bool:
        """Whether only a current-limited supply may feed it."""
        return self.has_current and self.solenoid.duty in NEEDS_CURRENT_LIMIT

    @property
    def flow(self) -> Flow:
        """What air does when the answer is yes."""
        if self.solenoid.normally is None:
            return Flow.HOLDS
        holds = (self.solenoid.normally is SwitchState.CLOSED) is (self.part is Part.AIR_OFF)
        return Flow.HOLDS if holds else Flow.FLOWS

    @property
    def supply(self) -> Supply:
        """What may feed it: rated voltage is for one that is switched on and off, and for no other."""
        return Supply.RATED_VOLTAGE if self.solenoid.duty is Duty.ON_OFF else Supply.LIMITED_CURRENT

    @property
    def limit_ampere(self) -> float | None:
        """The stated limit of the supply [A] where one had to be confirmed."""
        return self.solenoid.max_ampere if self.needs_current_limit else None


Question = PortQuestion | SwitchQuestion | SolenoidQuestion


def leak_of(question: Question) -> str:
    """The item that the leak of what is asked would be; empty where no port is stated."""
    if isinstance(question, SolenoidQuestion):
        return seat_key(question.solenoid.name)
    return leak_key(question.port.name) if question.port is not None else ""


def questions_of(variant: Variant | None) -> tuple[Question, ...]:
    """Ports first, then switches under air, then solenoids; electronics on board leave the ports alone."""
    if variant is None:
        return ()
    ports = [question for port in variant.ports for question in _of_port(port)]
    if variant.electronics_on_board:
        return tuple(ports)
    switches = [device for device in variant.devices if isinstance(device, Switch) and device.closes_with]
    asked = [question for switch in switches for question in _of_switch(switch, variant)]
    solenoids = [device for device in variant.devices if isinstance(device, Solenoid)]
    return (*ports, *asked, *(question for solenoid in solenoids for question in _of_solenoid(solenoid)))


def _of_port(port: Port) -> list[PortQuestion]:
    return [PortQuestion(port=port, of=item, number=number) for number, item in enumerate(air_items(port))]


def _of_switch(switch: Switch, variant: Variant) -> list[SwitchQuestion]:
    """At rest only where it is stated how it stands there."""
    port = variant.port_named(switch.closes_with or "")
    ways = (False, True) if switch.at_rest is not None else (True,)
    return [SwitchQuestion(switch=switch, port=port, has_air=has_air) for has_air in ways]


def _of_solenoid(solenoid: Solenoid) -> list[SolenoidQuestion]:
    return [SolenoidQuestion(solenoid=solenoid, part=part) for part in Part]


# -- from an answer to an entry, and back ------------------------------------------------------

_RESULT: Final = {
    Answer.PLUS: AirResult.PASS,
    Answer.MINUS: AirResult.FAIL,
    Answer.BLEEDS: AirResult.BLEEDS,
    Answer.NOT_POSSIBLE: AirResult.NOT_POSSIBLE,
}


def answers_to(question: Question) -> frozenset[Answer]:
    """The answers that make sense."""
    return frozenset(Answer) if isinstance(question, PortQuestion) else frozenset({Answer.PLUS, Answer.MINUS})


def body_of(question: Question, answer: Answer, set_up: AirSetUp, *, note: str | None) -> AnyBody:
    """The entry that keeps an answer."""
    if isinstance(question, PortQuestion):
        return _air_test(question, answer, set_up, note)
    is_yes = answer is Answer.PLUS
    if isinstance(question, SwitchQuestion):
        state = question.wanted if is_yes else _other_state(question.wanted)
        kpa = set_up.kpa_gauge if question.has_air else None
        return SwitchTest(device=question.switch.name, state=state, has_air=question.has_air, kpa_gauge=kpa, note=note)
    if question.part is Part.CLICK:
        return clicked(question, CLICKS_ASKED if is_yes else 0, note=note)
    return _blown(question, set_up, note, is_yes=is_yes)


def _air_test(question: PortQuestion, answer: Answer, set_up: AirSetUp, note: str | None) -> AirTest:
    expectation = question.expectation
    return AirTest(
        port=question.port.name,
        place=question.port.place,
        result=_RESULT[answer],
        kpa_gauge=set_up.kpa_gauge,
        selector=expectation.selector if expectation is not None else None,
        solenoids=dict(expectation.solenoids) if expectation is not None else {},
        has_cover=set_up.has_cover if question.port.place is Place.BODY else None,
        gauge_id=set_up.gauge_id,
        note=note,
    )


def out_at(question: PortQuestion, at: str, set_up: AirSetUp, *, note: str | None) -> AirTest:
    """The entry that says where the air came out: as expected, otherwise, or with nothing to hold it against."""
    ways_out = [each.at for each in question.of.expected if each.reaction is Reaction.COMES_OUT]
    if not question.of.expected:
        answer = Answer.BLEEDS
    else:
        answer = Answer.PLUS if any(stated in (None, at) for stated in ways_out) else Answer.MINUS
    return msgspec.structs.replace(_air_test(question, answer, set_up, note), came_out_at=at)


def clicked(question: SolenoidQuestion, heard: int, *, note: str | None) -> SolenoidTest:
    """The entry that keeps how many clicks were heard of those asked for."""
    return SolenoidTest(
        device=question.solenoid.name,
        click=heard > 0,
        heard=heard,
        tries=CLICKS_ASKED,
        supply=question.supply,
        limit_ampere=question.limit_ampere,
        note=note,
    )


def _blown(question: SolenoidQuestion, set_up: AirSetUp, note: str | None, *, is_yes: bool) -> SolenoidTest:
    flow = question.flow if is_yes else _other_flow(question.flow)
    is_on = question.has_current
    return SolenoidTest(
        device=question.solenoid.name,
        click=True,
        supply=question.supply if is_on else None,
        limit_ampere=question.limit_ampere,
        air_off=None if is_on else flow,
        air_on=flow if is_on else None,
        kpa_gauge=set_up.kpa_gauge,
        note=note,
    )


def _other_state(state: SwitchState) -> SwitchState:
    return SwitchState.OPEN if state is SwitchState.CLOSED else SwitchState.CLOSED


def _other_flow(flow: Flow) -> Flow:
    return Flow.FLOWS if flow is Flow.HOLDS else Flow.HOLDS


def answered_by(body: AnyBody, variant: Variant) -> tuple[str, ...]:
    """Keys of the questions that an entry answers, also one from the command line."""
    if isinstance(body, AirTest):
        return _air_keys(body, variant)
    if isinstance(body, SwitchTest):
        if body.is_under_air:
            return (f"switch {body.device}",)
        return (f"switch {body.device} rest",) if body.selector is None else ()
    if isinstance(body, SolenoidTest):
        parts = [part for part in (Part.AIR_OFF, Part.AIR_ON) if getattr(body, part.value) is not None]
        is_click = body.heard is not None or not parts
        return tuple(f"solenoid {body.device} {part.value}" for part in ([Part.CLICK] if is_click else []) + parts)
    return ()


def _air_keys(body: AirTest, variant: Variant) -> tuple[str, ...]:
    port, item = variant.port_named(body.port), item_of(variant, body)
    return tuple(question.key for question in _of_port(port) if question.item == item.key) if port is not None else ()
