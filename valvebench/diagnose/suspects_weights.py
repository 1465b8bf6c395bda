"""How strongly a complaint speaks for each cause: data, read at the edge and handed in.

None of it is a chance of anything: common practice, no source, from memory.  It only says what to look at first.
"""

from __future__ import annotations

import json
from enum import Enum
from typing import Annotated, Final, Literal, dataclass_transform

import msgspec

from valvebench.diagnose.suspects_shift import Event
from valvebench.model.errors import BadInput, Problem
from valvebench.model.strict_json import loads
from valvebench.model.validate import build
from valvebench.model.words import Feel, When

Factor = Annotated[float, msgspec.Meta(gt=0, le=100)]
Why = Annotated[str, msgspec.Meta(min_length=10)]


class Cause(Enum):
    """What can stand behind a complaint."""

    FLUID_LEVEL = "fluid_level"
    FLUID_CONDITION = "fluid_condition"
    ADAPTATION = "adaptation"
    LEVER_SWITCH = "lever_switch"
    LINE_PRESSURE = "line_pressure"
    WIRING = "wiring"
    SOLENOID_CONTACT = "solenoid_contact"
    SOLENOID_WINDING = "solenoid_winding"
    SOLENOID_STICKS = "solenoid_sticks"
    CLUTCH_CIRCUIT = "clutch_circuit"
    VALVE_BORE = "valve_bore"
    TEMPERATURE_SENSOR = "temperature_sensor"
    ACCUMULATOR = "accumulator"


IN_VEHICLE: Final = frozenset(
    {
        *(Cause.FLUID_LEVEL, Cause.FLUID_CONDITION, Cause.ADAPTATION),
        *(Cause.LEVER_SWITCH, Cause.LINE_PRESSURE, Cause.WIRING),
    }
)
"""Found out before anything is taken apart: these come first."""


ELECTRICAL: Final = frozenset(
    {
        *(Cause.LEVER_SWITCH, Cause.WIRING, Cause.SOLENOID_CONTACT, Cause.SOLENOID_WINDING),
        *(Cause.TEMPERATURE_SENSOR,),
    }
)
HYDRAULIC: Final = frozenset(
    {
        *(Cause.FLUID_LEVEL, Cause.FLUID_CONDITION, Cause.LINE_PRESSURE, Cause.CLUTCH_CIRCUIT),
        *(Cause.VALVE_BORE, Cause.ACCUMULATOR),
    }
)
"""What is in neither is of both: a plunger that sticks, values that were learned."""


def family_of(cause: Cause) -> str:
    """`electrical`, `hydraulic` or `both`."""
    return "electrical" if cause in ELECTRICAL else "hydraulic" if cause in HYDRAULIC else "both"


@dataclass_transform(frozen_default=True, kw_only_default=True)  # heirs of a frozen Struct are frozen
class Weighed(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of every part of the file."""


class CauseWeight(Weighed, kw_only=True):
    """One cause: its weight by itself, and factors by when, feel and event; a word that is missing counts as one."""

    base: Factor
    when: dict[str, Factor] = {}
    feel: dict[str, Factor] = {}
    event: dict[str, Factor] = {}
    why: Why


class RoleWeight(Weighed, kw_only=True):
    """Factors by feel on the side of a shift that applies, or that releases."""

    feel: dict[str, Factor]
    why: Why


class Amount(Weighed, kw_only=True):
    """One number with its reason."""

    value: Annotated[float, msgspec.Meta(gt=0)]
    why: Why


class FoundWeight(Weighed, kw_only=True):
    """What a result does to the weight of a cause."""

    points: Amount
    partly: Amount
    good: Amount


class SuspectWeights(Weighed, kw_only=True):
    """The whole file `resources/suspects.json`."""

    format: Literal[1]
    note: str
    causes: dict[str, CauseWeight]
    applies: RoleWeight
    releases: RoleWeight
    found: FoundWeight
    warm_celsius: Amount

    def of(self, cause: Cause) -> CauseWeight:
        """The weights of one cause."""
        return self.causes[cause.value]


def read_weights(raw: bytes, *, source: str) -> SuspectWeights:
    """The weights of a file; all its problems at once (raises BadInput)."""
    found, findings = build(loads(raw, source=source), SuspectWeights)
    problems = [finding.problem for finding in findings]
    if isinstance(found, SuspectWeights) and not problems:
        problems = _wrong(found)
    if problems or not isinstance(found, SuspectWeights):
        raise BadInput(problems, source=source)
    return found


def schema_text() -> str:
    """The JSON Schema of the file, for `resources/schema`."""
    from valvebench.model.schema import file_schema

    return json.dumps(file_schema("valvebench suspects file", SuspectWeights), indent=1, ensure_ascii=False) + "\n"


def _wrong(weights: SuspectWeights) -> list[Problem]:
    problems = []
    known = {cause.value for cause in Cause}
    if set(weights.causes) != known:
        found = f"too many or missing: {', '.join(sorted(set(weights.causes) ^ known))}"
        problems.append(Problem(where="causes", found=found, expected="each cause once"))
    for name, cause in weights.causes.items():
        for field, words in (("when", When), ("feel", Feel), ("event", Event)):
            problems += _unknown(f"causes.{name}.{field}", getattr(cause, field), words)
    for name in ("applies", "releases"):
        problems += _unknown(f"{name}.feel", getattr(weights, name).feel, Feel)
    found_weights = weights.found
    if not found_weights.good.value < found_weights.partly.value <= 1.0 <= found_weights.points.value:
        expected = "good less than partly, partly at most 1, points at least 1"
        problems.append(Problem(where="found", found="another order", expected=expected))
    return problems


def _unknown(where: str, factors: dict[str, float], words: type[Enum]) -> list[Problem]:
    known = [str(word.value) for word in words]
    return [
        Problem(where=f"{where}.{name}", found=repr(name), expected=f"one of {', '.join(known)}")
        for name in factors
        if name not in known
    ]
