"""What is asked of the archive and what it answers: plain facts, no database."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import NamedTuple

import msgspec

from valvebench.bench.evidence import ChainProblem
from valvebench.model.words import LeadState, Rule, Verdict

Step = Callable[[int, int], bool]
"""Hears how many of how many are done and says whether to go on."""


def always(_done: int, _of: int) -> bool:
    """Go on to the end."""
    return True


class Fate(Enum):
    """What became of a part, in one word: the latest thing said of it."""

    COMEBACK_HOT = "comeback_hot"
    COMEBACK_COLD = "comeback_cold"
    NO_COMEBACK = "no_comeback"
    FITTED = "fitted"
    NOT_FITTED = "not_fitted"


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """What to look for: anything typed, filters, and the key of the page before."""

    text: str = ""
    variant: str | None = None
    verdict: Verdict | None = None
    outcome: Fate | None = None
    since: str | None = None
    after: str | None = None
    most: int = 50


class Listed(msgspec.Struct, frozen=True, kw_only=True):
    """One closed session in a list; `closed_at` is RFC 3339 in UTC."""

    id: str
    job: str
    serial: str | None
    part: str | None
    customer: str | None
    variant: str | None
    verdict: Verdict
    outcome: Fate | None
    closed_at: str
    is_revised: bool = False


class ListedPage(NamedTuple):
    """Sessions, newest first, and the key of the next page; None at the end."""

    sessions: tuple[Listed, ...]
    next: str | None


class OpenListed(NamedTuple):
    """A session that is not closed: where it lies and how far it was when it was last seen."""

    path: Path
    job: str
    entries: int
    seen_at: str
    state: str
    """`open`, `closed` (and not added since) or `gone`, as it is now."""


class Change(Enum):
    """What adding a session did."""

    ADDED = "added"
    TAIL = "tail"
    NOTHING = "nothing"
    OPEN = "open"


class Added(NamedTuple):
    """What adding a session did, and the identity it has; None for one that is still open."""

    id: str | None
    change: Change
    job: str
    notes: tuple[str, ...] = ()


class OutcomeTold(NamedTuple):
    """What became of the part: everything said, the later over the earlier."""

    fate: Fate | None
    fitted: bool | None
    comeback: str | None
    months: float | None
    odometer_km: float | None


class Linked(NamedTuple):
    """Another session of the archive that belongs to this one, and why."""

    id: str
    job: str
    closed_at: str
    how: str
    """`came_back_as`, `comeback_of`, `revised_by` or `revises`."""
    why: str | None = None


class Rejudgement(NamedTuple):
    """A later judgement beside the one the session was closed with."""

    run: int
    at: str
    what: str
    verdict: Verdict


class Shown(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the archive says of one session; `problems` are empty where it is as it was written."""

    session: Listed
    entries: int
    head: str
    tail: int
    anchors: tuple[dict[str, str | None], ...]
    outcome: OutcomeTold | None
    links: tuple[Linked, ...]
    judgements: tuple[Rejudgement, ...]
    files: tuple[str, ...]
    problems: tuple[ChainProblem, ...]


class Point(NamedTuple):
    """One value of a device at the reference temperature with its standard uncertainty [ohm]; None: none was told."""

    id: str
    closed_at: str
    ohm_at_ref: float
    u_ohm_at_ref: float | None
    celsius: float
    verdict: Verdict


class DeviceName(NamedTuple):
    """A device of which the archive holds values: its variant, its name, and the access point they were read at."""

    variant: str
    device: str
    at: str


class Names(NamedTuple):
    """What the archive can be asked about: keys of variants, and devices that were read."""

    variants: tuple[str, ...]
    devices: tuple[DeviceName, ...]


class Month(NamedTuple):
    """All values of a month [ohm]; `month` is such as 2031-05, `failed` counts those outside their limits."""

    month: str
    n: int
    mean_ohm: float
    low_ohm: float
    high_ohm: float
    failed: int


class Trend(NamedTuple):
    """Values of one device over time; `ref_celsius` is None where they stand at the temperature they were read at."""

    variant: str
    device: str
    kind: str
    ref_celsius: float | None
    points: tuple[Point, ...]
    months: tuple[Month, ...]


class CheckPoint(NamedTuple):
    """One meter check: how far the check resistor read off, leads taken off as far as they were told [ohm].

    Only checks of one `meter` (its number, else how exact it is), resistor and state of the leads go together.
    """

    id: str
    job: str
    at: str
    meter: str
    leads: LeadState
    check_ohm: float
    off_ohm: float
    step_ohm: float


class Again(msgspec.Struct, frozen=True, kw_only=True):
    """How to judge anew: a rule, a corrected band of one device, and which sessions."""

    rule: Rule | None = None
    variant: str | None = None
    device: str | None = None
    low_ohm: float | None = None
    high_ohm: float | None = None
    since: str | None = None
    why: str = ""


class Rejudged(NamedTuple):
    """A new dated judgement: how many sessions and readings, and how many changed from what to what."""

    run: int
    at: str
    sessions: int
    readings: int
    changed: tuple[tuple[Verdict, Verdict, int], ...]
    not_judged: tuple[tuple[str, str], ...] = ()
    """Sessions that could not be judged anew, each with the reason."""


class Unlike(NamedTuple):
    """Something in the archive that is not as it was written: which session (None: the file itself), and what."""

    id: str | None
    job: str | None
    what: str


class Checked(NamedTuple):
    """What checking the whole archive found."""

    ok: bool
    sessions: int
    files: int
    problems: tuple[Unlike, ...]
    notes: tuple[str, ...]


class Counted(NamedTuple):
    """How much a long piece of work did; `is_whole` is False where it was stopped.

    `notes` say what could not be done, such as a file that is missing.
    """

    sessions: int
    files: int
    is_whole: bool
    notes: tuple[str, ...] = ()
