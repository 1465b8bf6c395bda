"""What a suspect is, and what was found out about one: plain facts, for whoever shows them."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.diagnose.suspects_shift import Changes, Shift, Steers
from valvebench.diagnose.suspects_weights import Cause
from valvebench.model.words import AccessPoint, Feel, When

FLUID_KEY: Final = "fluid"
"""The key of fluid and debris as found; all others are the keys of judged items, such as `device Heron`."""


class Mark(Enum):
    """What a result does to a cause; `PARTLY`: good, but not as the complaint has it."""

    POINTS = "points"
    GOOD = "good"
    PARTLY = "partly"
    UNSURE = "unsure"


class Finding(NamedTuple):
    """One result about a cause, in words, with the entries it came from."""

    mark: Mark
    words: str
    entries: tuple[int, ...] = ()


Findings = Mapping[tuple[Cause, str], tuple[Finding, ...]]
"""By cause and the name of its solenoid, clutch or sensor, empty for the others."""
NO_FINDINGS: Final[Findings] = MappingProxyType({})


class State(Enum):
    """Where a suspect stands."""

    NOT_YET = "not_yet"
    PROVED_GOOD = "proved_good"
    POINTS_AT_IT = "points_at_it"


class Told(NamedTuple):
    """A complaint as it is understood; None where nothing was said, or nothing that is known."""

    shift: Shift
    when: When | None = None
    feel: Feel | None = None


class Test(NamedTuple):
    """One thing to do, and the key of the item where its result is typed; None where there is no place for it.

    `at` is the access point that matters; without one any result of the item will do.
    """

    words: str
    key: str | None = None
    at: AccessPoint | None = None


class Suspect(NamedTuple):
    """A cause that could be behind the complaint.

    `weight` says only what comes first: its whole part is the step (4 and 3 a result points at it, in the vehicle or
    on the bench; 2 in the vehicle; 1 on the bench; 0 proved good), the rest how strongly the words of the complaint and
    the results speak for it.  It is no probability of anything.
    """

    cause: Cause
    where: tuple[str, ...]
    what: str
    weight: float
    state: State
    in_vehicle: bool
    why: tuple[str, ...]
    tests: tuple[Test, ...]
    entries: tuple[int, ...] = ()


class Suspected(NamedTuple):
    """Everything: the complaint as understood, what changes, the suspects in order, what stands beside them.

    `steers` tells the clutch a switching solenoid moves with; `elsewhere` names what failed and has no part in this
    shift.
    """

    told: Told
    changes: Changes
    steers: Mapping[str, Steers]
    suspects: tuple[Suspect, ...]
    cant_tell: tuple[str, ...]
    elsewhere: tuple[str, ...] = ()
