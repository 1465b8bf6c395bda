"""What to test first for a complaint: the circuits of its shift, weighed by its words and moved by the results."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from valvebench.diagnose.suspected import Finding, Findings, Mark, State, Suspect, Suspected, Told
from valvebench.diagnose.suspects_found import NOTHING_TAKEN, Evidence, findings_of
from valvebench.diagnose.suspects_shift import Changes, Steers, changes_in, steered
from valvebench.diagnose.suspects_tests import tests_of
from valvebench.diagnose.suspects_weights import IN_VEHICLE, Cause, SuspectWeights
from valvebench.diagnose.suspects_words import Part, because, role_text, what_text
from valvebench.model.variant import TemperatureSensor, Variant
from valvebench.model.words import VERDICT_TEXT, Verdict

_OF_SOLENOID: Final = (Cause.SOLENOID_CONTACT, Cause.SOLENOID_WINDING, Cause.SOLENOID_STICKS)
_OF_CLUTCH: Final = (Cause.CLUTCH_CIRCUIT, Cause.VALVE_BORE)
_GENERAL: Final = (
    *(Cause.FLUID_LEVEL, Cause.FLUID_CONDITION, Cause.ADAPTATION, Cause.LEVER_SWITCH),
    *(Cause.LINE_PRESSURE, Cause.WIRING),
)
_STEP_POINTS, _STEP_IN_VEHICLE, _STEP_BENCH = 3, 2, 1
_DIGITS: Final = 4
ELECTRONICS: Final = "Electronics on board: nothing is probed with an ohmmeter unless the maker says so."


class _Weighed(NamedTuple):
    """How strongly the complaint speaks for a cause, and the share of its feel in that."""

    weight: float
    feel: float


def suspects(variant: Variant, told: Told, weights: SuspectWeights, evidence: Evidence = NOTHING_TAKEN) -> Suspected:
    """What could be behind a complaint, in the order in which it is best looked at.

    Parameters
    ----------
    variant : its charts say what changes, its ports, taps and pins where that is tested
    told : the complaint as `suspects_told.understood` gives it
    weights : common practice, no source, from memory: `resources/suspects.json`
    evidence : what was taken already; a proved-good part goes to the end, a failed test to the front

    Returns
    -------
    Suspected
        Suspects with falling weight. Without results: what is found in the vehicle first, then the bench. What the
        charts leave open is said in `cant_tell`; solenoids of a shift that no chart tells are not guessed.

    Source
    ------
    Common practice, no source.
    """
    changes, steers = changes_in(told.shift, variant), steered(variant)
    findings = findings_of(evidence, variant, when=told.when, warm_celsius=weights.warm_celsius.value)
    case = _Case(told, weights, variant, changes, steers, findings)
    found = [_suspect(case, cause, part) for cause, part in _candidates(variant, changes, steers)]
    found.sort(key=lambda one: -one.weight)
    cant_tell = (*changes.cant_tell, *((ELECTRONICS,) if variant.electronics_on_board else ()))
    used = {n for one in found for n in one.entries}
    return Suspected(told, changes, steers, tuple(found), cant_tell, _elsewhere(evidence, used))


class _Case(NamedTuple):
    """What all suspects are worked out from."""

    told: Told
    weights: SuspectWeights
    variant: Variant
    changes: Changes
    steers: dict[str, Steers]
    findings: Findings


def _candidates(variant: Variant, changes: Changes, steers: dict[str, Steers]) -> Iterator[tuple[Cause, Part]]:
    for cause in _GENERAL:
        yield cause, Part()
    for one in changes.solenoids:
        clutch = steers[one.name].clutch if one.name in steers else None
        side = _side(clutch, changes)
        for cause in _OF_SOLENOID:
            yield cause, Part(one.name, one, clutch if side is not None else None, side)
    for clutch in (*changes.apply, *changes.release):
        for cause in _OF_CLUTCH:
            yield cause, Part(clutch, None, clutch, clutch in changes.apply)
    for device in variant.devices:
        if isinstance(device, TemperatureSensor):
            yield Cause.TEMPERATURE_SENSOR, Part(device.name)
    yield Cause.ACCUMULATOR, Part()


def _side(clutch: str | None, changes: Changes) -> bool | None:
    if clutch in changes.apply:
        return True
    return False if clutch in changes.release else None


def _suspect(case: _Case, cause: Cause, part: Part) -> Suspect:
    told = case.told
    names = [one.name for one in case.changes.solenoids] if cause is Cause.WIRING else [part.name]
    own = [one for name in names for one in case.findings.get((cause, name), ())]
    own.sort(key=lambda one: one.mark is not Mark.POINTS)
    weighed = _weigh(cause, part, told, case.weights)
    state, factor = _standing(own, case.weights)
    in_vehicle = cause in IN_VEHICLE
    return Suspect(
        cause=cause,
        where=tuple(name for name in names if name),
        what=what_text(cause, part.name, told),
        weight=_ranked(weighed.weight * factor, state, in_vehicle=in_vehicle),
        state=state,
        in_vehicle=in_vehicle,
        why=(
            *(one.words for one in own),
            *role_text(part, told, case.steers.get(part.name)),
            *because(cause, told, feel_factor=weighed.feel),
        ),
        tests=tests_of(cause, part.name, case.variant, told, case.changes),
        entries=tuple(sorted({n for one in own for n in one.entries})),
    )


def _weigh(cause: Cause, part: Part, told: Told, weights: SuspectWeights) -> _Weighed:
    """Base times the factors of the words that were said."""
    one = weights.of(cause)
    when = one.when.get(told.when.value, 1.0) if told.when is not None else 1.0
    event = one.event.get(told.shift.event.value, 1.0)
    feel = one.feel.get(told.feel.value, 1.0) if told.feel is not None else 1.0
    if told.feel is not None and part.applies is not None:
        side = weights.applies if part.applies else weights.releases
        feel *= side.feel.get(told.feel.value, 1.0)
    return _Weighed(one.base * when * event * feel, feel)


def _standing(own: Iterable[Finding], weights: SuspectWeights) -> tuple[State, float]:
    """A failed test counts before a good one; good and undecided together are not proved."""
    marks = {one.mark for one in own}
    if Mark.POINTS in marks:
        return State.POINTS_AT_IT, weights.found.points.value
    if Mark.GOOD in marks and Mark.UNSURE not in marks:
        return State.PROVED_GOOD, weights.found.good.value
    if marks & {Mark.GOOD, Mark.PARTLY}:
        return State.NOT_YET, weights.found.partly.value
    return State.NOT_YET, 1.0


def _ranked(strength: float, state: State, *, in_vehicle: bool) -> float:
    """The step plus a part that grows with the strength and never reaches one."""
    step = 0
    if state is State.POINTS_AT_IT:
        step = _STEP_POINTS + in_vehicle
    elif state is State.NOT_YET:
        step = _STEP_IN_VEHICLE if in_vehicle else _STEP_BENCH
    return round(step + strength / (1.0 + strength), _DIGITS)


def _elsewhere(evidence: Evidence, used: set[int]) -> tuple[str, ...]:
    """What failed and has no part in this shift: not forgotten, only not suspected of this."""
    failed = (row for row in evidence.rows if row.verdict is Verdict.FAIL and not used & set(row.entries))
    return tuple(dict.fromkeys(f"{row.what}: {VERDICT_TEXT[row.verdict]}" for row in failed))
