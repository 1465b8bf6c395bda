"""A suspect in the words of a rebuilder: what it is, why it is one, what to test in which order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.diagnose.suspected import State, Told
from valvebench.diagnose.suspects_shift import Changes, Steers, Switched
from valvebench.diagnose.suspects_weights import Cause
from valvebench.model.words import Feel, When

FOR, AGAINST = 1.15, 0.75
"""From here on a factor is worth a word."""
_WHAT: Final = MappingProxyType(
    {
        Cause.FLUID_LEVEL: "Fluid level",
        Cause.FLUID_CONDITION: "Condition of the fluid, debris",
        Cause.ADAPTATION: "Stored adaptation not cleared, or trim code not entered",
        Cause.LEVER_SWITCH: "Lever position switch",
        Cause.LINE_PRESSURE: "Line pressure",
        Cause.WIRING: "Vehicle plug and wiring",
        Cause.SOLENOID_CONTACT: "Contact of {name}",
        Cause.SOLENOID_WINDING: "Winding of {name}, or its wire",
        Cause.SOLENOID_STICKS: "{name} sticks",
        Cause.CLUTCH_CIRCUIT: "Circuit of clutch {name} leaks",
        Cause.VALVE_BORE: "Valve or bore that feeds {name} is worn",
        Cause.TEMPERATURE_SENSOR: "Temperature sensor {name}",
        Cause.ACCUMULATOR: "Accumulators, springs and check balls",
    }
)
_BECAUSE: Final = MappingProxyType(
    {
        Cause.FLUID_LEVEL: "Too little or too much fluid lets the pump draw air, whatever shifts.",
        Cause.FLUID_CONDITION: "Burnt or dirty fluid and debris tell of a clutch that slipped.",
        Cause.ADAPTATION: "Values learned with the old part spoil the shifts of a good one.",
        Cause.LEVER_SWITCH: "The control unit goes by the lever position it is told.",
        Cause.LINE_PRESSURE: "It fills every clutch.",
        Cause.WIRING: "The solenoids of this shift get their current through the plug.",
        Cause.SOLENOID_CONTACT: "A poor contact takes current from the solenoid.",
        Cause.SOLENOID_WINDING: "An open or shorted winding, or a wire that leaks, is bad hot and cold.",
        Cause.SOLENOID_STICKS: "Varnish or fine metal can hold its plunger.",
        Cause.CLUTCH_CIRCUIT: "Piston seals and rings that leak let the clutch fill late and hold badly.",
        Cause.VALVE_BORE: "A worn bore lets pressure past before it reaches the clutch.",
        Cause.TEMPERATURE_SENSOR: "Pressures and lock-up follow the fluid temperature it tells.",
        Cause.ACCUMULATOR: "A stuck piston, a broken spring or a ball in the wrong place takes the cushion away.",
    }
)
_BY_WHEN: Final = MappingProxyType(
    {
        (Cause.SOLENOID_CONTACT, When.HOT): "Hot: joints and terminals gain resistance as they warm.",
        (Cause.SOLENOID_CONTACT, When.SOMETIMES): "At times: a loose contact comes and goes with movement and heat.",
        (Cause.SOLENOID_STICKS, When.COLD): "Cold: thick oil makes a plunger that sticks worse.",
        (Cause.CLUTCH_CIRCUIT, When.HOT): "Hot: thin oil leaks past seals and rings that hold cold.",
        (Cause.VALVE_BORE, When.HOT): "Hot: thin oil leaks most in a worn bore.",
        (Cause.LINE_PRESSURE, When.HOT): "Hot: a worn pump or regulator falls short once the oil is thin.",
        (Cause.WIRING, When.SOMETIMES): "At times: oil in a plug and chafed wires come and go.",
        (Cause.ADAPTATION, When.ALWAYS): "Always the same way: as learned values do.",
        (Cause.SOLENOID_WINDING, When.ALWAYS): "Always: a bad winding does not come and go.",
    }
)
_FEELS: Final = MappingProxyType(
    {
        Feel.HARSH: "a harsh shift",
        Feel.FLARE: "a flare",
        Feel.SLIP: "slip",
        Feel.LATE: "a late shift",
        Feel.EARLY: "an early shift",
        Feel.BUMP: "a bump",
        Feel.BIND: "a bind-up",
        Feel.SHUDDER: "shudder",
        Feel.DELAYED: "a delay",
        Feel.NONE: "a shift that does not come",
        Feel.STUCK: "a gear that stays",
    }
)
WHEN_WORDS: Final = MappingProxyType(
    {When.HOT: "when hot", When.COLD: "when cold", When.SOMETIMES: "at times", When.ALWAYS: "always"}
)
SAFETY: Final = (
    "In the vehicle: level on rated supports, chocked, brake on; battery isolated before anything is unplugged, the "
    "control unit unplugged before a meter reaches its harness. Engine running: nobody near wheels, shafts or belts, "
    "exhaust gas led out; fluid and exhaust burn. The maker's procedure comes first."
)


class Part(NamedTuple):
    """What a cause is about: the name, the solenoid that switches, the clutch with its side of the shift."""

    name: str = ""
    switched: Switched | None = None
    clutch: str | None = None
    applies: bool | None = None


def what_text(cause: Cause, name: str, told: Told) -> str:
    """The suspect as a few words."""
    words = _WHAT[cause].format(name=name)
    if cause is Cause.SOLENOID_CONTACT and told.when not in (When.COLD, When.ALWAYS):
        return f"{words} that grows with heat"
    return words


def because(cause: Cause, told: Told, *, feel_factor: float) -> list[str]:
    """The reason in general, and what the words of the complaint add to it."""
    when = _BY_WHEN.get((cause, told.when)) if told.when is not None else None
    reasons = [when or _BECAUSE[cause]]
    if told.feel is not None and feel_factor >= FOR:
        reasons.append(f"{_capital(_FEELS[told.feel])} speaks for it.")
    elif told.feel is not None and feel_factor <= AGAINST:
        reasons.append(f"{_capital(_FEELS[told.feel])} speaks rather against it.")
    return reasons


def role_text(place: Part, told: Told, steers: Steers | None) -> list[str]:
    """The part it has in the shift."""
    shift = told.shift.text
    if place.switched is not None:
        one = place.switched
        change = (
            f"from {one.before} to {one.after}" if one.before and one.after else f"to {one.after or 'the other state'}"
        )
        words = f"{one.name} switches {change} in {shift}"
        if steers is not None and place.applies is not None:
            moves = "applies" if place.applies else "releases"
            return [f"{words} and goes, in every gear of the charts, with clutch {steers.clutch}, which {moves}."]
        return [f"{words}."]
    if place.clutch is not None:
        return [f"{place.clutch} {'applies' if place.applies else 'releases'} in {shift}."]
    return []


def complaint_text(told: Told) -> str:
    """The complaint as it is understood."""
    parts = [told.shift.text]
    parts += [WHEN_WORDS[told.when]] if told.when is not None else []
    parts += [f"feels like {_FEELS[told.feel]}"] if told.feel is not None else []
    return ", ".join(parts)


def changes_lines(changes: Changes, steers: Mapping[str, Steers]) -> list[str]:
    """What applies, what releases, which solenoids switch."""
    lines = []
    if changes.knows_clutches:
        lines.append(f"Applies: {_list(changes.apply)}. Releases: {_list(changes.release)}.")
    if changes.knows_solenoids:
        lines.append(f"Solenoids that switch: {_list([_switch(one, steers) for one in changes.solenoids])}.")
    return [*lines, *changes.cant_tell]


def _switch(one: Switched, steers: Mapping[str, Steers]) -> str:
    states = " to ".join(state for state in (one.before, one.after) if state)
    with_clutch = f", with {steers[one.name].clutch}" if one.name in steers else ""
    return f"{one.name} ({states}{with_clutch})"


def _list(names: Sequence[str]) -> str:
    return ", ".join(names) if names else "none"


STATE_TEXT: Final = MappingProxyType(
    {State.NOT_YET: "Not yet", State.PROVED_GOOD: "Proved good", State.POINTS_AT_IT: "Points at it"}
)
NO_CHANCE: Final = (
    "The order is common practice, no source, from memory, moved by the results: it says what to test first, not how "
    "likely anything is."
)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
