"""A flex test: one pair watched while harness or conductor plate is moved, and what it says."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Annotated, Final, Literal

import msgspec

from valvebench.model.errors import BadReading, Problem
from valvebench.model.heat import Kept, Sized
from valvebench.model.measured import HIGHEST_CELSIUS, LOWEST_CELSIUS
from valvebench.model.meter import parse_meter
from valvebench.model.words import AccessPoint, LeadState, TemperatureSource

MOST_TYPED: Final = 10_000
"""More readings than anybody types; a logger's file holds them beside the journal."""
FLEXED_USUAL: Final = "the harness at the plug"
FLEXED_PLACES: Final = (
    FLEXED_USUAL,
    "the harness along its length",
    "the connector in the case",
    "the inner conductor plate",
    "the wire at the device",
)
"""What is flexed most: common practice, no source; any other words do as well."""
_LARGEST_OHM: Final = 1e12
_LOWEST_SHOWN_OHM: Final = -1.0  # a nulled meter may show a little less than nothing

_Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
_Text = Annotated[str, msgspec.Meta(max_length=10_000)]
_Quantity = Annotated[float, msgspec.Meta(ge=0)]


class FlexEvent(Kept, kw_only=True):
    """Something a contact did: an opening, a jump that went back, a step that stayed [s, ohm].

    `sample` is the first reading that shows it, from 1; `count` says how many do (of a step: 1).
    """

    kind: Literal["open", "jump", "step"]
    sample: int
    count: int = 1
    t_s: float | None = None
    size_ohm: Sized | None = None


class FlexFound(Kept, kw_only=True):
    """Everything found in a series; None is "there is none", never nought.

    `problem` says why no step can be told; an opening counts all the same.  `is_restless`: the
    readings move more than meter and warmth explain, but in no step.
    """

    n: int
    open_n: int = 0
    middle_ohm: float | None = None
    spread_ohm: float | None = None
    drift_ohm: float | None = None
    meter: str
    meter_is_assumed: bool = False
    is_enough: bool = False
    is_restless: bool = False
    problem: str = ""
    events: tuple[FlexEvent, ...] = ()
    reasons: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()


class FlexTest(Kept, kw_only=True, rename={"from_node": "from", "to_node": "to"}):
    """Readings of one pair in their order, typed or from a logger's file kept beside the journal.

    `ohm` is what the meter showed, None for open [ohm].  `follows` is the entry that began the
    series: each reading typed in the window is an entry of its own.  The find of a file stands in
    the entry, so that the verdict needs neither the file nor today's program.
    """

    from_node: _Name
    to_node: _Name
    at: AccessPoint = AccessPoint.CASE_CONNECTOR
    flexed: Annotated[str, msgspec.Meta(min_length=1, max_length=200)] = FLEXED_USUAL
    ohm: Annotated[tuple[float | None, ...], msgspec.Meta(max_length=MOST_TYPED)] = ()
    t_s: tuple[float, ...] = ()
    follows: Annotated[int, msgspec.Meta(ge=1)] | None = None
    celsius: float | None = None
    temperature: TemperatureSource | None = None
    range_ohm: float | None = None
    meter: Annotated[str, msgspec.Meta(max_length=200)] | None = None
    meter_is_assumed: bool = False
    meter_id: _Text | None = None
    leads: LeadState = LeadState.NEITHER
    lead_ohm: _Quantity | None = None
    sha256: Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")] | None = None
    file_name: _Name | None = None
    size_bytes: int | None = None
    column: Annotated[str, msgspec.Meta(max_length=200)] | None = None
    found: FlexFound | None = None
    note: _Text | None = None
    program: str = ""

    def __post_init__(self) -> None:
        """A series that exists can be looked at; everything wrong is reported at once."""
        problems = [*_source_problems(self), *_value_problems(self), *_time_problems(self), *_bench_problems(self)]
        if problems:
            raise BadReading(problems)
        if self.meter is not None:
            parse_meter(self.meter)

    @property
    def is_logged(self) -> bool:
        """Whether the readings stand in a file."""
        return self.sha256 is not None

    @property
    def pair(self) -> frozenset[str]:
        """The two nodes, in no order."""
        return frozenset((self.from_node, self.to_node))


def _source_problems(test: FlexTest) -> list[Problem]:
    problems = []
    if test.from_node == test.to_node:
        problems.append(Problem(where="to", found=repr(test.to_node), expected="another node than 'from'"))
    of_file = (test.sha256, test.file_name, test.size_bytes, test.found)
    is_whole_file = all(part is not None for part in of_file)
    if any(part is not None for part in of_file) and not is_whole_file:
        problems.append(Problem(where="file", found="half of it", expected="hash, name, size and find together"))
    if bool(test.ohm) == test.is_logged:
        found = "both" if test.ohm else "nothing"
        problems.append(Problem(where="flex", found=found, expected="readings in their order, or a logger's file"))
    if test.is_logged and (test.t_s or test.follows is not None):
        problems.append(Problem(where="flex", found="a file and times beside it", expected="the times in the file"))
    return problems


def _value_problems(test: FlexTest) -> list[Problem]:
    return [
        Problem(
            where=f"ohm, reading {place}",
            found=f"{ohm:g}",
            expected="a resistance from 0 to 1e12 ohm, or open",
            what_to_do="Type OL for open.",
        )
        for place, ohm in enumerate(test.ohm, 1)
        if ohm is not None and not _LOWEST_SHOWN_OHM <= ohm <= _LARGEST_OHM
    ]


def _time_problems(test: FlexTest) -> list[Problem]:
    if not test.t_s:
        return []
    if len(test.t_s) != len(test.ohm):
        found, expected = f"{len(test.t_s)} times", f"one for each of the {len(test.ohm)} readings"
        return [Problem(where="t_s", found=found, expected=expected)]
    is_growing = all(map(math.isfinite, test.t_s)) and all(a < b for a, b in pairwise(test.t_s))
    return [] if is_growing else [Problem(where="t_s", found="times that stand still", expected="times that grow")]


def _bench_problems(test: FlexTest) -> list[Problem]:
    problems = []
    if test.celsius is not None and not LOWEST_CELSIUS <= test.celsius <= HIGHEST_CELSIUS:
        expected = "a coil temperature from -50 to 180 degrees Celsius"
        problems.append(Problem(where="celsius", found=f"{test.celsius:g}", expected=expected))
    if (test.leads is LeadState.SUBTRACT) != (test.lead_ohm is not None):
        expected = "the reading with the tips shorted with leads 'subtract', and only there"
        found = "nothing" if test.lead_ohm is None else f"{test.lead_ohm:g} with leads '{test.leads.value}'"
        problems.append(Problem(where="lead-ohm", found=found, expected=expected))
    if test.range_ohm is not None and not 0 < test.range_ohm <= _LARGEST_OHM:
        problems.append(Problem(where="range-ohm", found=f"{test.range_ohm:g}", expected="a range above 0 ohm"))
    return problems
