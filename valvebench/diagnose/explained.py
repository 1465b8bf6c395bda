"""What an explanation of readings is: facts without numpy, for whoever shows them."""

from __future__ import annotations

from enum import Enum
from typing import Final, NamedTuple

from valvebench.diagnose.explain_priors import Fault
from valvebench.model.words import AccessPoint

SETTLED: Final = 0.95
_A_WINNER: Final = 0.5
COVERAGE: Final = 2.0
HARNESS: Final = "harness"
HOT: Final = "hot"
SOMETIMES: Final = "sometimes"


class LeftOut(NamedTuple):
    """A reading nothing is concluded from, and why."""

    entry: int
    why: str


class Between(NamedTuple):
    """What two access points differ by for one pair: both wires together, there and back [ohm].

    `u` is a standard uncertainty; `is_seen` whether the difference exceeds twice that.
    """

    from_node: str
    to_node: str
    outer: AccessPoint
    inner: AccessPoint
    ohm: float
    u: float

    @property
    def is_seen(self) -> bool:
        """Whether the readings show anything at all."""
        return abs(self.ohm) > COVERAGE * self.u

    @property
    def what(self) -> str:
        """What lies between the two."""
        if self.outer is AccessPoint.CASE_CONNECTOR:
            return "inner conductor"
        return "harness" if self.inner is AccessPoint.CASE_CONNECTOR else "harness and inner conductor"


class Ask(NamedTuple):
    """Something to measure: between which nodes, where, of which kind; what it tells and costs."""

    from_node: str | None
    to_node: str | None
    at: AccessPoint | None
    what: str
    bits: float
    seconds: float


class Place(NamedTuple):
    """A fault and where: names of devices and pins; `when` it shows, None for always."""

    fault: Fault
    where: tuple[str, ...]
    when: str | None = None


class Value(NamedTuple):
    """Size of a fault with its standard uncertainty: ohm, or kelvin for a wrong temperature."""

    value: float
    u: float


class HeatWord(Enum):
    """What was found of a device as it warmed, and counts as evidence."""

    COPPER = "copper"
    FIXED = "fixed_series"
    GROWS = "grows_with_heat"
    STEP = "step"
    OPEN = "open"
    PARTS = "parts"


class HeatSaid(NamedTuple):
    """A heat result that counts: the device, what was found, how much [ohm] at the hottest [degC].

    `entries` are the warm readings it was made from: they are not weighed again.
    """

    device: str
    found: HeatWord
    size: Value | None
    celsius: float
    entries: tuple[int, ...]


class FlexSaid(NamedTuple):
    """A pair that opened or jumped while something was flexed: the device or the pair in words, its nodes, what."""

    what: str
    from_node: str
    to_node: str
    flexed: str


class Told(NamedTuple):
    """A reading as an explanation predicts it, beside what was read [ohm]; None where open."""

    from_node: str
    to_node: str
    at: AccessPoint
    ohm: float | None
    read_ohm: float | None


class Explanation(NamedTuple):
    """One answer: a fault, its share, the faults these readings cannot tell from it.

    `odds` stand against the next answer and are capped at 99; `predicts` begins with the readings that decide;
    `when` is `hot` or `sometimes` for a fault that shows only then.
    """

    fault: Fault
    where: tuple[str, ...]
    p: float
    odds: float | None
    same_as: tuple[Place, ...]
    value: Value | None
    predicts: tuple[Told, ...]
    when: str | None = None


class Explained(NamedTuple):
    """All answers, most probable first; what to ask next; and what stood behind it.

    `possible` is how many faults it takes to hold 95 % together; `invisible` could not show in any usual reading;
    `is_strained` says that even the first answer explains the readings badly: two faults, perhaps; `called_bad` names
    pairs whose only reading the first answer takes for a bad one; `access` what lies between two access points;
    `heat` the heat results that counted; `flexed` what a flex test proved, which is not weighed.
    """

    explanations: tuple[Explanation, ...]
    next: tuple[Ask, ...]
    possible: int
    invisible: tuple[Place, ...]
    left_out: tuple[LeftOut, ...]
    readings: int
    celsius: tuple[tuple[float, float], ...]
    is_strained: bool
    called_bad: tuple[tuple[str, str], ...]
    access: tuple[Between, ...]
    heat: tuple[HeatSaid, ...] = ()
    flexed: tuple[FlexSaid, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether many answers are still possible, so that none of them is put first."""
        first = self.explanations[0]
        return first.p < _A_WINNER or (first.p < SETTLED and self.possible > 2)

    @property
    def is_settled(self) -> bool:
        """Whether one answer holds 95 % and explains what was read, each reading but for one that was repeated.

        Nothing wrong at rest settles nothing where a flex test found something.
        """
        if self.flexed and self.explanations[0].fault is Fault.HEALTHY:
            return False
        return not self.is_strained and not self.called_bad and self.explanations[0].p >= SETTLED
