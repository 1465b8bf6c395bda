"""What the Ports page shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from valvebench.model.variant import Port, Solenoid, Variant
from valvebench.model.words import Flow, Place, Reaction, Supply, Verdict
from valvebench.ui.ports.questions import CLICKS_ASKED, Part, PortQuestion, Question, SolenoidQuestion, SwitchQuestion
from valvebench.ui.ports.set_up import BARE, COVER_TEXT, AirSetUp

AIR_SAFETY: Final = (
    "Regulated and dry air, never oxygen, at or under the stated pressure. Eye protection; never toward skin. "
    "Hands and face clear of open bores, a rag over the exit: air throws balls, plugs, springs and pistons. "
    "Hoses and vessels rated for the pressure, never a bottle or glass. Never into electronics. Vent before opening."
)
SUPPLY_SAFETY: Final = (
    "Feed a linear or pulsed solenoid only from a current-limited supply; any solenoid shortly, dry of solvent, "
    "with the stated polarity: a suppression diode shorts a reversed supply."
)
AIR_HAZARD: Final = ("air", AIR_SAFETY)
SUPPLY_HAZARD: Final = ("electricity", SUPPLY_SAFETY)
"""Icon and words."""
NO_COVER: Final = "Cover plate off: most ports cannot hold. Press * unless it does what is expected all the same."
PLACE_TEXT: Final = {Place.CASE: "Clutch circuit in the case", Place.BODY: "Port of the valve body"}
_REACTION_TEXT: Final = {
    Reaction.HOLDS: "Air holds, no hiss, nothing comes out.",
    Reaction.CLICKS: "A click as a valve moves.",
    Reaction.BLEEDS: "It bleeds by design: a soft, steady flow.",
    Reaction.THUD: "A dull thud as the clutch applies, then air holds.",
}
_METHOD_TEXT: Final = {"steady": "a steady gauge test", "vacuum": "a vacuum test", "decay": "a decay test"}


@dataclass(frozen=True, kw_only=True)
class QuestionShown:
    """One question: the huge words, what to set, what to expect, and the hazard."""

    key: str = ""
    port: str = ""
    lead: str = ""
    name: str
    place: str = ""
    expect: str = ""
    states: str = ""
    pressure: str = ""
    warning: str = ""
    cover: str = ""
    hazards: tuple[tuple[str, str], ...] = ()
    verdict: Verdict | None = None
    is_yes_no: bool = False
    is_confirmation: bool = False
    clicks: int = 0
    is_switch: bool = False
    has_leak: bool = False

    @property
    def sentence(self) -> str:
        """The whole question, for the reader."""
        cover = f"Cover plate {self.cover}" if self.cover else ""
        parts = (self.lead, self.name, self.place, self.states, cover, self.expect, self.pressure, self.warning)
        return " ".join(part if part.endswith((".", "?")) else f"{part}." for part in parts if part)


@dataclass(frozen=True, kw_only=True)
class PortShown:
    """One port of the board; x and y are fractions of the picture, None where not stated."""

    name: str
    place: Place
    x: float | None
    y: float | None
    note: str


def port_shown(port: Port) -> PortShown:
    """A port for the board."""
    note = ", ".join(part for part in (PLACE_TEXT[port.place].lower(), port.feeds or "") if part)
    return PortShown(name=port.name, place=port.place, x=port.x, y=port.y, note=note)


def question_shown(
    question: Question, variant: Variant, verdict: Verdict | None, *, set_up: AirSetUp = BARE
) -> QuestionShown:
    """A question in words, for what is set at the bench."""
    if isinstance(question, PortQuestion):
        shown = _port_question(question, variant, verdict)
        return replace(shown, cover=_cover(question, set_up), warning=_port_warning(question, set_up))
    if isinstance(question, SwitchQuestion):
        kpa = set_up.kpa_gauge if question.has_air else None
        return replace(_switch_question(question, verdict), warning=_over(question.port, kpa))
    return _solenoid_question(question, verdict)


def _cover(question: PortQuestion, set_up: AirSetUp) -> str:
    return COVER_TEXT[set_up.has_cover] if question.port.place is Place.BODY else ""


def _port_warning(question: PortQuestion, set_up: AirSetUp) -> str:
    is_bare = question.port.place is Place.BODY and set_up.has_cover is False
    return " ".join(part for part in (_over(question.port, set_up.kpa_gauge), NO_COVER if is_bare else "") if part)


def _over(port: Port | None, kpa_gauge: float | None) -> str:
    if port is None or kpa_gauge is None or port.kpa_gauge is None or kpa_gauge <= port.kpa_gauge:
        return ""
    return f"{kpa_gauge:g} kPa is above the {port.kpa_gauge:g} kPa stated for {port.name}: turn it down first."


def _port_question(question: PortQuestion, variant: Variant, verdict: Verdict | None) -> QuestionShown:
    port, expected = question.port, question.expectation
    return QuestionShown(
        key=question.key,
        port=port.name,
        lead="Draw or blow air at" if port.method == "vacuum" else "Blow air into",
        name=_port_name(port, variant),
        place=PLACE_TEXT[port.place],
        expect="Nothing is stated here: compare with a known good body." if expected is None else _expect(question),
        states=_states(question),
        pressure=_pressure(port),
        hazards=(AIR_HAZARD,),
        verdict=verdict,
        has_leak=True,
    )


def _port_name(port: Port, variant: Variant) -> str:
    if not port.feeds:
        return port.name
    return f"{port.name}, {'clutch ' if port.feeds in variant.clutches else ''}{port.feeds}"


def _expect(question: PortQuestion) -> str:
    return " ".join(
        f"Air comes out at {each.at}." if each.reaction is Reaction.COMES_OUT else _REACTION_TEXT[each.reaction]
        for each in question.of.expected
    )


def _states(question: PortQuestion) -> str:
    expected = question.expectation
    if expected is None:
        return "Any selector position, all solenoids off"
    is_rest = question.is_one_of_several and not (expected.selector or expected.solenoids)
    selector = f"Selector {expected.selector}" if expected.selector else "Any selector position"
    states = [selector, *(f"{name} {state}" for name, state in expected.solenoids.items())]
    return "Any setting that is not asked on its own" if is_rest else ", ".join(states)


def _pressure(port: Port) -> str:
    stated = (
        "No pressure is stated: none is proposed."
        if port.kpa_gauge is None
        else f"At most {port.kpa_gauge:g} kPa gauge, as the variant states."
    )
    by_gauge = _METHOD_TEXT.get(port.method)
    return f"{stated} The variant names {by_gauge}: by ear is a first look." if by_gauge else stated


def _switch_question(question: SwitchQuestion, verdict: Verdict | None) -> QuestionShown:
    port, name = question.port, question.switch.name
    does = "open" if question.moved.value == "open" else "close"
    at = question.switch.closes_with
    by_air = _pressure(port) if port is not None else "No pressure is stated: none is proposed."
    return QuestionShown(
        key=question.key,
        port=port.name if port is not None else "",
        lead="Switch under air" if question.has_air else "Switch at rest, no air",
        name=f"Does {name} {does}?" if question.has_air else f"Is {name} {question.wanted.value}?",
        place=f"Switch {name}, between {_between(*question.switch.between)}, air at {at}",
        expect=f"It stands {question.switch.at_rest.value} at rest and {does}s with air."
        if question.switch.at_rest is not None
        else "Nothing is stated of how it stands at rest.",
        pressure=by_air if question.has_air else "Vent the air before you look.",
        hazards=(AIR_HAZARD,) if question.has_air else (),
        verdict=verdict,
        is_yes_no=True,
        is_switch=True,
    )


def _between(a: str, b: str) -> str:
    return f"{a} and {b}"


def _solenoid_question(question: SolenoidQuestion, verdict: Verdict | None) -> QuestionShown:
    solenoid = question.solenoid
    is_click = question.part is Part.CLICK
    return QuestionShown(
        key=question.key,
        lead="Solenoid by function" if is_click else "Blow air through the solenoid",
        name=_solenoid_name(question),
        place=_solenoid_place(solenoid),
        expect=_solenoid_expect(question),
        pressure=_feed(question) if question.has_current else "No pressure is stated: none is proposed.",
        hazards=_solenoid_hazards(question),
        verdict=verdict,
        is_yes_no=True,
        clicks=CLICKS_ASKED if is_click else 0,
        has_leak=True,
    )


def _solenoid_name(question: SolenoidQuestion) -> str:
    name = question.solenoid.name
    if question.part is Part.CLICK:
        return f"Does {name} click?"
    return f"{name} {'on' if question.has_current else 'off'}: does air {_flow(question.flow)}?"


def _flow(flow: Flow) -> str:
    return "hold" if flow is Flow.HOLDS else "flow"


def _solenoid_place(solenoid: Solenoid) -> str:
    duty = f", {solenoid.duty.value.replace('_', '/')}" if solenoid.duty is not None else ", duty not stated"
    return f"Solenoid {solenoid.name}{duty}, between {_between(*solenoid.between)}"


def _solenoid_expect(question: SolenoidQuestion) -> str:
    if question.part is Part.CLICK:
        return f"Put the supply on and off {CLICKS_ASKED} times: a click each time it is put on."
    normally, when = question.solenoid.normally, "with" if question.has_current else "without"
    if normally is None:
        return f"Nothing is stated of how air stands {when} current: it ought to change with it."
    return f"Normally {normally.value}: air {question.flow.value} {when} current."


def _feed(question: SolenoidQuestion) -> str:
    """What may feed it: rated voltage is offered to one that is switched on and off, and to no other."""
    solenoid = question.solenoid
    if question.supply is Supply.RATED_VOLTAGE:
        limit = "" if solenoid.max_ampere is None else f" {_ampere(solenoid)}"
        return f"At its rated voltage, shortly.{limit}"
    unknown = "" if solenoid.duty is not None else "Its duty is not stated, so: "
    return f"{unknown}{'c' if unknown else 'C'}urrent-limited supply, never rated voltage. {_ampere(solenoid)}"


def _ampere(solenoid: Solenoid) -> str:
    if solenoid.max_ampere is None:
        return "No highest current is stated: none is proposed."
    return f"At most {solenoid.max_ampere:g} A, as the variant states."


def _solenoid_hazards(question: SolenoidQuestion) -> tuple[tuple[str, str], ...]:
    is_blown = question.part is not Part.CLICK
    return (*((SUPPLY_HAZARD,) if question.has_current else ()), *((AIR_HAZARD,) if is_blown else ()))


def confirmation_shown(question: SolenoidQuestion) -> QuestionShown:
    """Asked before each linear or pulsed solenoid is fed, with the limit of just that one."""
    ampere = question.solenoid.max_ampere
    return QuestionShown(
        key=question.key,
        lead="Before a linear or pulsed solenoid is fed",
        name="Supply current-limited?" if ampere is None else f"Limited to {ampere:g} A?",
        place=_solenoid_place(question.solenoid),
        expect="A supply with its limit set, never a bare battery.",
        states=f"Asked once for {question.solenoid.name} while this window is open",
        pressure=_ampere(question.solenoid),
        hazards=(SUPPLY_HAZARD,),
        is_yes_no=True,
        is_confirmation=True,
        has_leak=True,
    )
