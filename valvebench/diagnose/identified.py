"""Which variant a part is, as found: facts without numpy, for whoever shows them."""

from __future__ import annotations

from enum import Enum
from typing import Final, NamedTuple

from valvebench.model.words import Seen

CONFIRMED_ABOVE: Final = 0.999
NARROWED_ABOVE: Final = 0.9
LEAST_BITS: Final = 1e-9
"""A feature that tells less than this is not asked for any more."""
CANNOT_SEE: Final = "cannot see"
SOMETHING_ELSE: Final = "something else"
"""What can be answered to every question beside its own answers."""
NONE_OF_THESE: Final = "none_of_these"


class Identity(Enum):
    """How sure it is which variant a part is."""

    CONFIRMED = "confirmed"
    NARROWED = "narrowed"
    CONTRADICTED = "contradicted"
    NONE_OF_THESE = "none_of_these"
    OPEN = "open"


class MustState(Enum):
    """How a point stands that has to match before a part is ordered."""

    SEEN = "seen"
    TOLD = "told"
    NOT_SEEN = "not_seen"
    CONTRADICTED = "contradicted"
    NOT_STATED = "not_stated"


class Because(Enum):
    """Why a feature is asked for first."""

    LOOK_AGAIN = "look_again"
    MUST_MATCH = "must_match"


class Holding(Enum):
    """What keeps a leading variant from being confirmed."""

    CHANCE = "chance"
    PHONE = "phone"
    MUST_MATCH = "must_match"
    NOT_STATED = "not_stated"
    LOOK_AGAIN = "look_again"
    STANDS = "stands"


class Look(NamedTuple):
    """One feature looked at once: what was answered, how it was seen, the number of the entry where there is one."""

    feature: str
    value: str
    seen: Seen = Seen.US
    entry: int = 0


class Question(NamedTuple):
    """A feature of the library: what can be answered, and how to ask for it."""

    feature: str
    answers: tuple[str, ...]
    ask: str = ""
    ask_phone: str = ""


class Contradiction(NamedTuple):
    """A look that a variant does not fit; `looks` 1: look again, 2: it stands."""

    variant: str
    feature: str
    saw: str
    needs: str
    looks: int


class MustPoint(NamedTuple):
    """One must-match point of the leading variant, and what was seen there."""

    feature: str
    needs: str
    state: MustState
    saw: str = ""


class Ask(NamedTuple):
    """A feature worth looking at, and how much it is expected to tell."""

    feature: str
    bits: float


class First(NamedTuple):
    """A feature to be looked at before anything else."""

    feature: str
    because: Because


class HoldBack(NamedTuple):
    """One reason why the leading variant is not confirmed, with the features it is about."""

    what: Holding
    features: tuple[str, ...] = ()


class Misfit(NamedTuple):
    """A reading far from what a variant lets one expect [ohm]; nothing where it expects no connection."""

    from_node: str
    to_node: str
    ohm: float
    needs_ohm: float | None


class Lost(NamedTuple):
    """A variant that is not the leading one: its chance, and what speaks against it."""

    variant: str
    p: float
    against: tuple[Contradiction, ...]
    misfits: tuple[Misfit, ...]


class Alike(NamedTuple):
    """Variants that no feature separates.

    `features` would, once every one of them states it; `pair` is where a reading would, if their devices differ.
    """

    variants: tuple[str, ...]
    features: tuple[str, ...]
    pair: tuple[str, str] | None = None


class NotUsed(NamedTuple):
    """Something seen or read that says nothing here, and why; `entry` 0 where it is no entry."""

    entry: int
    what: str
    why: str


class Identified(NamedTuple):
    """The whole answer.

    `posterior` has every variant, most probable first; `leading` those that share the highest chance (one, unless
    nothing tells them apart); what stands in `must`, `holds_back` and `first` is about a single leading variant.
    `told_only` are features known from the telephone alone; without `has_evidence` the chances are those from before
    anything was seen.
    """

    posterior: tuple[tuple[str, float], ...]
    p_none: float
    verdict: Identity
    leading: tuple[str, ...]
    contradictions: tuple[Contradiction, ...]
    must: tuple[MustPoint, ...]
    holds_back: tuple[HoldBack, ...]
    next: tuple[Ask, ...]
    first: tuple[First, ...]
    not_checked: tuple[str, ...]
    told_only: tuple[str, ...]
    groups: tuple[Alike, ...]
    lost: tuple[Lost, ...]
    left_out: tuple[NotUsed, ...]
    has_evidence: bool

    @property
    def p_best(self) -> float:
        """Chance of the most probable variant."""
        return self.posterior[0][1]
