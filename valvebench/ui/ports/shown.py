"""What the Ports page shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from valvebench.judge.air import item_of
from valvebench.judge.row import Row
from valvebench.model.entry import AirTest, AnyBody, SolenoidTest, SwitchTest
from valvebench.model.variant import AnyDevice, Port, Solenoid, Switch, Variant
from valvebench.model.words import VERDICT_TEXT, AirResult, Flow, Place, Reaction, Verdict
from valvebench.ui.ports.questions import Part, PortQuestion, Question, SolenoidQuestion, SwitchQuestion
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
KEEPING: Final = "keeping"
NOT_STATED: Final = "not stated"
PLACE_TEXT: Final = {Place.CASE: "Clutch circuit in the case", Place.BODY: "Port of the valve body"}
_REACTION_TEXT: Final = {
    Reaction.HOLDS: "Air holds, no hiss, nothing comes out.",
    Reaction.CLICKS: "A click as a valve moves.",
    Reaction.BLEEDS: "It bleeds by design: a soft, steady flow.",
    Reaction.THUD: "A dull thud as the clutch applies, then air holds.",
}
_SHORT_REACTION: Final = {
    Reaction.HOLDS: "holds",
    Reaction.CLICKS: "clicks",
    Reaction.BLEEDS: "bleeds",
    Reaction.THUD: "thud, holds",
}
_RESULT_TEXT: Final = {
    AirResult.PASS: "as expected",
    AirResult.FAIL: "differs",
    AirResult.BLEEDS: "bleeds",
    AirResult.NOT_POSSIBLE: "not possible",
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

    @property
    def sentence(self) -> str:
        """The whole question, for the reader."""
        cover = f"Cover plate {self.cover}" if self.cover else ""
        parts = (self.lead, self.name, self.place, self.states, cover, self.expect, self.pressure, self.warning)
        return ". ".join(part.rstrip(".") for part in parts if part)


@dataclass(frozen=True, kw_only=True)
class HeardShown:
    """One line of the table of results; `number` is its entry, or below nought while it is not on disk."""

    number: int
    what: str
    states: str
    kpa: str = ""
    expected: str
    heard: str
    verdict: Verdict | None
    tip: str = ""


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
        return replace(_switch_question(question, verdict), warning=_over(question.port, set_up.kpa_gauge))
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
    return QuestionShown(
        key=question.key,
        port=port.name if port is not None else "",
        lead="Switch under air",
        name=f"Does {name} {does}?",
        place=f"Switch {name}, between {_between(*question.switch.between)}, air at {at}",
        expect=f"It stands {question.switch.at_rest.value} at rest and {does}s with air."
        if question.switch.at_rest is not None
        else "Nothing is stated of how it stands at rest.",
        pressure=_pressure(port) if port is not None else "No pressure is stated: none is proposed.",
        hazards=(AIR_HAZARD,),
        verdict=verdict,
        is_yes_no=True,
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
        pressure=_ampere(solenoid) if question.has_current else "No pressure is stated: none is proposed.",
        hazards=_solenoid_hazards(question),
        verdict=verdict,
        is_yes_no=True,
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
        return "A click each time the supply is put on and taken off."
    normally = question.solenoid.normally
    state = f"Normally {normally.value}: " if normally is not None else ""
    return f"{state}air {question.flow.value} {'with' if question.has_current else 'without'} current."


def _ampere(solenoid: Solenoid) -> str:
    if solenoid.max_ampere is None:
        return "No highest current is stated: none is proposed."
    return f"At most {solenoid.max_ampere:g} A, as the variant states."


def _solenoid_hazards(question: SolenoidQuestion) -> tuple[tuple[str, str], ...]:
    is_blown = question.part is not Part.CLICK
    return (*((SUPPLY_HAZARD,) if question.has_current else ()), *((AIR_HAZARD,) if is_blown else ()))


def confirmation_shown(question: SolenoidQuestion) -> QuestionShown:
    """Asked once before the first linear or pulsed solenoid is fed."""
    return QuestionShown(
        key=question.key,
        lead="Before a linear or pulsed solenoid is fed",
        name="Supply current-limited?",
        place=_solenoid_place(question.solenoid),
        expect="A supply with its limit set, never a bare battery.",
        states="Asked once in this session",
        pressure=_ampere(question.solenoid),
        hazards=(SUPPLY_HAZARD,),
        is_yes_no=True,
        is_confirmation=True,
    )


# -- the table of results ----------------------------------------------------------------------


def heard_shown(number: int, body: AnyBody, row: Row | None, variant: Variant | None) -> HeardShown | None:
    """One line of the table; without a judged row it is on its way to the disk."""
    words = _words(body, variant)
    if words is None:
        return None
    note = getattr(body, "note", None)
    reasons = row.reasons if row is not None else ()
    return HeardShown(
        number=number,
        what=words.what,
        states=words.states,
        kpa=_kpa(getattr(body, "kpa_gauge", None)),
        expected=words.expected,
        heard=words.heard if row is not None else KEEPING,
        verdict=row.verdict if row is not None else None,
        tip="\n".join((*reasons, *((f"Note: {note}",) if note else ()))),
    )


class _Words(NamedTuple):
    what: str
    states: str
    expected: str
    heard: str


def _words(body: AnyBody, variant: Variant | None) -> _Words | None:
    if isinstance(body, AirTest):
        return _Words(body.port, _test_states(body), _expected(body, variant), _air_heard(body))
    device = variant.device_named(getattr(body, "device", "")) if variant is not None else None
    if isinstance(body, SwitchTest):
        states = "with air" if body.kpa_gauge else "at rest"
        return _Words(body.device, states, _expected_switch(device, is_moved=bool(body.kpa_gauge)), body.state.value)
    if isinstance(body, SolenoidTest):
        return _Words(body.device, "by function", _expected_solenoid(device, body), _solenoid_heard(body))
    return None


def _expected_switch(device: AnyDevice | None, *, is_moved: bool) -> str:
    if not isinstance(device, Switch) or device.at_rest is None:
        return NOT_STATED
    return SwitchQuestion(switch=device, port=None).moved.value if is_moved else device.at_rest.value


def _expected_solenoid(device: AnyDevice | None, body: SolenoidTest) -> str:
    if body.air_off is None and body.air_on is None:
        return "clicks"
    if not isinstance(device, Solenoid) or device.normally is None:
        return NOT_STATED
    parts = [part for part in (Part.AIR_OFF, Part.AIR_ON) if getattr(body, part.value) is not None]
    flows = [(part, SolenoidQuestion(solenoid=device, part=part).flow) for part in parts]
    return ", ".join(f"{'off' if part is Part.AIR_OFF else 'on'}: {flow.value}" for part, flow in flows)


def _test_states(body: AirTest) -> str:
    cover = "" if body.has_cover is None else f"cover plate {COVER_TEXT[body.has_cover]}"
    parts = [body.selector or "", *(f"{name} {state}" for name, state in body.solenoids.items()), cover]
    return ", ".join(part for part in parts if part)


def _air_heard(body: AirTest) -> str:
    return f"out at {body.came_out_at}" if body.came_out_at is not None else _RESULT_TEXT[body.result]


def _kpa(kpa_gauge: float | None) -> str:
    return f"{kpa_gauge:g}" if kpa_gauge else ""


def _expected(body: AirTest, variant: Variant | None) -> str:
    item = item_of(variant, body)
    short = (
        f"out at {each.at}" if each.reaction is Reaction.COMES_OUT else _SHORT_REACTION[each.reaction]
        for each in item.expected
    )
    return (" and " if item.is_told_apart else " or ").join(short) or NOT_STATED


def _solenoid_heard(body: SolenoidTest) -> str:
    if not body.click:
        return "no click"
    flows = (("off", body.air_off), ("on", body.air_on))
    return ", ".join(f"{state}: {flow.value}" for state, flow in flows if flow is not None) or "clicks"


def kept_sentence(shown: HeardShown) -> str:
    """One line on what was just kept."""
    verdict = VERDICT_TEXT[shown.verdict] if shown.verdict is not None else ""
    return f"Kept {shown.what}, {shown.heard}. {verdict}."
