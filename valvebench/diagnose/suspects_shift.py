"""What changes in a shift: clutches that apply and release, solenoids that switch, as the charts have it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import Enum
from typing import Final, NamedTuple

from valvebench.model.errors import BadInput, bad, nearest
from valvebench.model.variant import Variant

LOCK_UP: Final = "lock-up"
LOCK_UP_OFF: Final = "lock-up off"
FIRST_FORWARD: Final = "D"
_AT_REST: Final = frozenset({"P", "N"})
_NOT_FORWARD: Final = frozenset({"P", "R", "N", LOCK_UP})
_LOCK_UP: Final = frozenset({"lock-up", "lockup", "lock up"})
_OFF: Final = re.compile(r"\s+off$")
_TO: Final = re.compile(r"\s*(?:[\u2010-\u2015\u2192]|->|\bto\b)\s*")
_EXPECTED: Final = "two positions with a dash, such as 5-6, 4-2 or N-D, or lock-up"


class Event(Enum):
    """What kind of change a shift is."""

    UP = "up"
    DOWN = "down"
    ENGAGE = "engage"
    DISENGAGE = "disengage"
    LOCK_UP = "lock_up"


class Shift(NamedTuple):
    """A shift by the names of the charts; `before` or `after` is None where lock-up comes on or goes off."""

    text: str
    before: str | None
    after: str | None
    event: Event


class Switched(NamedTuple):
    """A solenoid that switches; `before` is None where the chart says nothing of the time before."""

    name: str
    before: str | None
    after: str | None


class Changes(NamedTuple):
    """What applies, releases and switches, in the order of the variant, and what the charts leave open."""

    apply: tuple[str, ...]
    release: tuple[str, ...]
    solenoids: tuple[Switched, ...]
    cant_tell: tuple[str, ...]
    knows_clutches: bool
    knows_solenoids: bool

    @property
    def is_answered(self) -> bool:
        """Whether either chart says anything of this shift."""
        return self.knows_clutches or self.knows_solenoids


def forward_gears(variant: Variant) -> tuple[str, ...]:
    """The forward gears in the order of the variant; D is none of them unless it is all there is."""
    gears = tuple(gear for gear in variant.gears if gear not in _NOT_FORWARD)
    return tuple(gear for gear in gears if gear != FIRST_FORWARD) or gears


def read_shift(text: str, variant: Variant) -> Shift:
    """A shift from its words (raises BadInput where it names no change between positions of this variant).

    Parameters
    ----------
    text : `5-6`, `6-5`, `N-D`, `P-R`, `4-2`, `lock-up`, `lock-up off`; the word *selector* before it is passed over
    variant : whose gears are meant; D is its first forward gear. One without gears takes any two names.

    Returns
    -------
    Shift
    """
    words = _TO.sub("-", " ".join(text.split())).removeprefix("selector ")
    plain = _OFF.sub("", words.lower())
    if plain in _LOCK_UP:
        return _lock_up(variant, is_off=plain != words.lower())
    known = list(variant.gears) + ([FIRST_FORWARD] if forward_gears(variant) else [])
    parts = _parts(words, known)
    if parts is None:
        raise bad("shift", repr(text), _EXPECTED)
    before, after = (_position(part, text, variant, known) for part in parts)
    if before == after:
        raise bad("shift", repr(text), f"two different positions: {parts[0]} and {parts[1]} are the same")
    return Shift(words, before, after, _event(before, after, forward_gears(variant)))


def _lock_up(variant: Variant, *, is_off: bool) -> Shift:
    row = next((gear for gear in variant.gears if gear.lower() in _LOCK_UP), LOCK_UP)
    if is_off:
        return Shift(LOCK_UP_OFF, row, None, Event.LOCK_UP)
    return Shift(LOCK_UP, None, row, Event.LOCK_UP)


def _parts(words: str, known: Iterable[str]) -> tuple[str, str] | None:
    """Cut at a dash, where a gear's own name has one at that which leaves two known names."""
    cuts = [(words[:at].strip(), words[at + 1 :].strip()) for at, sign in enumerate(words) if sign == "-"]
    cuts = [cut for cut in cuts if all(cut)]
    names = {name.lower() for name in known}
    return next((cut for cut in cuts if cut[0].lower() in names and cut[1].lower() in names), cuts[0] if cuts else None)


def _position(part: str, text: str, variant: Variant, known: list[str]) -> str:
    found = next((name for name in known if name.lower() == part.lower()), None)
    if found is None and variant.gears:
        expected = f"positions of {variant.key}: {', '.join(variant.gears)}, D for the first forward gear"
        raise bad("shift", f"{part!r} in {text!r}", expected, nearest(part, known))
    if found is None or found in variant.gears:
        return found or part
    return forward_gears(variant)[0]


def _event(before: str, after: str, forward: tuple[str, ...]) -> Event:
    if after in _AT_REST:
        return Event.DISENGAGE
    if before in _AT_REST or "R" in (before, after):
        return Event.ENGAGE
    order = forward or tuple(sorted((before, after)))
    places = [order.index(name) if name in order else -1 for name in (before, after)]
    return Event.UP if places[0] < places[1] else Event.DOWN


def changes_in(shift: Shift, variant: Variant) -> Changes:
    """What the charts say of a shift.

    Parameters
    ----------
    shift : as `read_shift` gives it
    variant : with its apply chart and solenoid chart; what they say nothing of is told, never guessed

    Returns
    -------
    Changes
        For the same two positions the other way round, what applies and what releases change places.
        Lock-up is held against the forward gears: it applies what none of them applies.
    """
    cant_tell: list[str] = []
    clutches = _clutches(shift, variant, cant_tell)
    solenoids = _solenoids(shift, variant, cant_tell)
    apply, release = clutches if clutches is not None else ((), ())
    if clutches == ((), ()):
        cant_tell.append("The apply chart has the same clutches on both sides of this shift: none changes.")
    if solenoids == ():
        cant_tell.append("By the solenoid chart no solenoid switches in this shift.")
    return Changes(apply, release, solenoids or (), tuple(cant_tell), clutches is not None, solenoids is not None)


def _missing(chart: object, gears: Iterable[str], name: str, consequence: str) -> str:
    if not chart:
        return f"Can't tell: this variant has no {name}, so {consequence}."
    return f"Can't tell: the {name} says nothing of {' and '.join(gears)}, so {consequence}."


def _clutches(shift: Shift, variant: Variant, cant_tell: list[str]) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    chart = variant.apply_chart
    named = [gear for gear in (shift.before, shift.after) if gear is not None]
    lacking = [gear for gear in named if gear not in chart]
    if lacking:
        cant_tell.append(_missing(chart, lacking, "apply chart", "which clutches change is not known"))
        return None
    if shift.event is Event.LOCK_UP:
        in_gears = {clutch for gear in forward_gears(variant) for clutch in chart.get(gear, ())}
        own = tuple(clutch for clutch in chart[named[0]] if clutch not in in_gears)
        return (own, ()) if shift.before is None else ((), own)
    before, after = chart[named[0]], chart[named[1]]
    order = (*variant.clutches, *before, *after)
    both = dict.fromkeys(clutch for clutch in order if (clutch in before) != (clutch in after))
    return tuple(name for name in both if name in after), tuple(name for name in both if name in before)


def _solenoids(shift: Shift, variant: Variant, cant_tell: list[str]) -> tuple[Switched, ...] | None:
    chart = variant.solenoid_chart
    named = [gear for gear in (shift.before, shift.after) if gear is not None]
    lacking = [gear for gear in named if gear not in chart]
    if lacking:
        cant_tell.append(_missing(chart, lacking, "solenoid chart", "which solenoids switch is not known"))
        return None
    if shift.event is Event.LOCK_UP:
        return _switched_by_lock_up(shift, variant, named[0])
    before, after = chart[named[0]], chart[named[1]]
    names = [device.name for device in variant.devices if device.name in before or device.name in after]
    half = [name for name in names if (name in before) != (name in after)]
    if half:
        cant_tell.append(f"Can't tell: the solenoid chart gives {', '.join(half)} on one side of this shift only.")
    return tuple(
        Switched(name, before[name], after[name]) for name in names if name not in half and before[name] != after[name]
    )


def _switched_by_lock_up(shift: Shift, variant: Variant, row: str) -> tuple[Switched, ...]:
    """Those that no forward gear has in the state of the lock-up row."""
    chart, found = variant.solenoid_chart, []
    for device in variant.devices:
        state = chart[row].get(device.name)
        others = {chart.get(gear, {}).get(device.name) for gear in forward_gears(variant)} - {None}
        if state is not None and state not in others:
            other = others.pop() if others else None
            found.append(
                Switched(device.name, other, state) if shift.before is None else Switched(device.name, state, other)
            )
    return tuple(found)


class Steers(NamedTuple):
    """A clutch that stands as its solenoid does in every gear of both charts; `when` is the state that applies it."""

    clutch: str
    when: str


def steered(variant: Variant) -> dict[str, Steers]:
    """The clutch each solenoid moves with; nothing of one that moves with several, or with none.

    The charts say no more than that they go together: what lies between them is the valve body's affair.
    """
    found: dict[str, Steers] = {}
    gears = [gear for gear in variant.gears if gear in variant.apply_chart and gear in variant.solenoid_chart]
    for device in variant.devices:
        own = [gear for gear in gears if device.name in variant.solenoid_chart[gear]]
        states = [variant.solenoid_chart[gear][device.name] for gear in own]
        fits = [
            Steers(clutch, when)
            for clutch in variant.clutches
            for when in ("on", "off")
            if len(set(states)) > 1
            and all(
                (clutch in variant.apply_chart[gear]) == (state == when)
                for gear, state in zip(own, states, strict=True)
            )
        ]
        if len(fits) == 1:
            found[device.name] = fits[0]
    return found


def shift_or_none(text: str, variant: Variant) -> tuple[Shift | None, str]:
    """A shift, or why its words name none: for whoever shows it and goes on."""
    try:
        return read_shift(text, variant), ""
    except BadInput as error:
        return None, error.problems[0].text()
