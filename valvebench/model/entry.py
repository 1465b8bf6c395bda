"""Entries of a session's journal: what was done, by whom, when, chained by hashes.

A line is `{"n", "at", "by", "kind", "body", "prev"}`; `prev` is the SHA-256 of the previous
line's bytes without its line feed, sixty-four noughts before the first.
"""

from __future__ import annotations

import hashlib
from types import MappingProxyType
from typing import Annotated, Any, Final, Literal, NamedTuple, dataclass_transform

import msgspec

from valvebench.model.air_tests import LeakTest, PressureTaken, SweepTest
from valvebench.model.errors import BadInput, BadReading, Problem
from valvebench.model.flex import FlexTest
from valvebench.model.heat import HeatTest
from valvebench.model.measured import Measured, check_problems
from valvebench.model.meter import parse_meter
from valvebench.model.strict_json import dumps, loads
from valvebench.model.validate import build
from valvebench.model.words import (
    AccessPoint,
    AirResult,
    AnchorKind,
    Comeback,
    Cooler,
    Flow,
    JobKind,
    LeadState,
    Place,
    Rule,
    Seen,
    Supply,
    SwitchState,
    WhichPart,
)

GENESIS: Final = "0" * 64
Text = Annotated[str, msgspec.Meta(max_length=10_000)]
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
Gauge = Annotated[float, msgspec.Meta(ge=-101.325, le=10_000)]
Number = Annotated[int, msgspec.Meta(ge=1)]
Quantity = Annotated[float, msgspec.Meta(ge=0)]
Sha256 = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]


@dataclass_transform(frozen_default=True, kw_only_default=True)  # heirs of a frozen Struct are frozen
class Body(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of every entry body."""


class OpenJob(Body, kw_only=True):
    """The job as it came in; `variant` is the hash of the frozen variant file.

    `revises` names a closed session that this one says something later about, `revises_why` the reason.
    """

    session: Name
    job: Name
    kind: JobKind = JobKind.COMPLAINT
    variant: Sha256 | None = None
    vehicle: Text | None = None
    odometer_km: Quantity | None = None
    customer: Text | None = None
    part: Text | None = None
    batch: Text | None = None
    trim: Text | None = None
    serial: Text | None = None
    mark: Text | None = None
    supplier: Text | None = None
    comeback_of: Text | None = None
    shift: Text | None = None
    when: Text | None = None
    feel: Text | None = None
    require_air: bool = False
    program: Text = ""
    revises: Name | None = None
    revises_why: Text | None = None

    def __post_init__(self) -> None:
        """A revision says why."""
        if (self.revises is None) != (not self.revises_why):
            lacking = "revises_why" if self.revises is not None else "revises"
            expected = "both: the session that is revised, and the reason"
            raise BadInput([Problem(where=lacking, found="nothing", expected=expected)])


class Complaint(Body, kw_only=True):
    """The complaint as it turned out after the job was opened; it takes the place of what was said then."""

    shift: Text | None = None
    when: Text | None = None
    feel: Text | None = None

    def __post_init__(self) -> None:
        """Nothing said is no complaint."""
        if not any((self.shift, self.when, self.feel)):
            raise BadInput([Problem(where="complaint", found="nothing", expected="one of shift, when or feel")])


class Reading(Measured, kw_only=True, rename={"from_node": "from", "to_node": "to"}):
    """One resistance between two nodes."""

    from_node: Name
    to_node: Name
    at: AccessPoint = AccessPoint.CASE_CONNECTOR
    selector: Text | None = None  # where the lever stood, where the reading runs through a contact of it
    round: Number | None = None  # of a heat run: read after the temperature had settled, once round all pairs
    note: Text | None = None

    def __post_init__(self) -> None:
        """Two different nodes, and everything a reading without a place needs."""
        if self.from_node == self.to_node:
            problem = Problem(where="to", found=repr(self.to_node), expected="another node than 'from'")
            raise BadReading([problem])
        super().__post_init__()

    @property
    def pair(self) -> frozenset[str]:
        """The two nodes, in no order."""
        return frozenset((self.from_node, self.to_node))


class MeterCheck(Body, kw_only=True):
    """A known resistor read with the same leads.  Ohm, tolerance in percent."""

    check_ohm: float
    read_ohm: float
    check_pct: Annotated[float, msgspec.Meta(ge=0)] = 0.1
    zero_read_ohm: float | None = None
    lead_ohm: float | None = None
    meter: str | None = None
    meter_id: str | None = None
    range_ohm: float | None = None
    leads: LeadState = LeadState.NEITHER

    def __post_init__(self) -> None:
        """A check that cannot be used is refused here, not silently passed over later."""
        problems = check_problems(
            self.check_ohm, self.read_ohm, self.zero_read_ohm, leads=self.leads, lead_ohm=self.lead_ohm
        )
        if self.meter is not None:
            parse_meter(self.meter)
        if problems:
            raise BadReading(problems)


class AirTest(Body, kw_only=True):
    """What a port did under air.

    `has_cover` says whether the cover plate was on the body, None where nobody said; `came_out_at` names the port
    where the air came out.
    """

    port: Name
    place: Place
    result: AirResult
    kpa_gauge: Gauge | None = None
    selector: Text | None = None
    solenoids: dict[str, Literal["on", "off"]] = {}
    has_cover: bool | None = None
    came_out_at: Name | None = None
    gauge_id: Text | None = None
    note: Text | None = None

    def __post_init__(self) -> None:
        """Air does not come out where it is blown in, and only a body has a cover plate."""
        problems = []
        if self.came_out_at == self.port:
            expected = "another port than the one that is blown into"
            problems.append(Problem(where="came_out_at", found=repr(self.came_out_at), expected=expected))
        if self.has_cover is not None and self.place is Place.CASE:
            expected = "nothing for a clutch circuit in the case: the cover plate belongs to the body"
            problems.append(Problem(where="has_cover", found=str(self.has_cover).lower(), expected=expected))
        if problems:
            raise BadInput(problems)


class SwitchTest(Body, kw_only=True):
    """What a switch did, at rest or under air.

    `up_kpa_gauge` is the pressure at which it changed going up, `down_kpa_gauge` the one at which it changed back;
    `closed_ohm` is what its closed contact read, leads not taken off.
    """

    device: Name
    state: SwitchState
    has_air: bool | None = None
    kpa_gauge: Gauge | None = None
    up_kpa_gauge: Gauge | None = None
    down_kpa_gauge: Gauge | None = None
    closed_ohm: Quantity | None = None
    selector: Text | None = None
    note: Text | None = None

    def __post_init__(self) -> None:
        """No pressure at rest, changed back at most where it changed, and only a closed contact is read."""
        problems = _switch_problems(self)
        if problems:
            raise BadInput(problems)

    @property
    def is_under_air(self) -> bool:
        """Whether air stood at it: said so, or a pressure tells."""
        return bool(self.has_air or self.kpa_gauge or self.up_kpa_gauge or self.down_kpa_gauge)


class SolenoidTest(Body, kw_only=True):
    """A solenoid clicked, and blown through off and on.

    `heard` of `tries` clicks; `supply` is what fed it, with its current limit [A].
    """

    device: Name
    click: bool
    heard: Annotated[int, msgspec.Meta(ge=0, le=1000)] | None = None
    tries: Annotated[int, msgspec.Meta(ge=1, le=1000)] | None = None
    supply: Supply | None = None
    limit_ampere: Annotated[float, msgspec.Meta(gt=0, le=1000)] | None = None
    air_off: Flow | None = None
    air_on: Flow | None = None
    kpa_gauge: Gauge | None = None
    note: Text | None = None

    def __post_init__(self) -> None:
        """A count has both numbers, and says the same as the click."""
        problem = _count_problem(heard=self.heard, tries=self.tries, click=self.click)
        if problem is not None:
            raise BadInput([problem])


def _switch_problems(test: SwitchTest) -> list[Problem]:
    up, down = test.up_kpa_gauge, test.down_kpa_gauge
    problems = []
    if test.has_air is False and test.is_under_air:
        expected = "no pressure at rest, or air"
        problems.append(Problem(where="switch at rest", found="a pressure", expected=expected))
    if up is not None and down is not None and down > up:
        expected = f"at most the {up:g} of the way up"
        problems.append(Problem(where="pressure it changed back at", found=f"{down:g}", expected=expected))
    if test.closed_ohm is not None and test.state is SwitchState.OPEN:
        expected = "nothing while the switch is open"
        problems.append(Problem(where="closed contact", found=f"{test.closed_ohm:g}", expected=expected))
    return problems


def _count_problem(*, heard: int | None, tries: int | None, click: bool) -> Problem | None:
    if heard is None and tries is None:
        return None
    if heard is None or tries is None:
        lacking = "heard" if heard is None else "tries"
        return Problem(where=lacking, found="nothing", expected="both: how many clicks were heard, of how many tries")
    if heard > tries:
        return Problem(where="heard", found=str(heard), expected=f"at most the {tries} tries")
    if click is not (heard > 0):
        said = "yes" if click else "no"
        return Problem(where="click", found=said, expected=f"what {heard} heard of {tries} says")
    return None


class FeatureSeen(Body, kw_only=True):
    """A feature looked at, on the part the session is about or on the new one held beside it.

    `carried` tells where the look was first kept, if that was another session: which, its entry, who and when.
    """

    name: Name
    value: Text
    seen: Seen = Seen.US
    part: WhichPart = WhichPart.OLD
    carried: Text | None = None


class FluidFound(Body, kw_only=True):
    """Fluid and debris as found, and what was done about the cooler; None where nobody said."""

    colour: Text | None = None
    smell: Text | None = None
    level: Text | None = None
    debris: Text | None = None
    cooler: Cooler | None = None

    def __post_init__(self) -> None:
        """Nothing said is nothing found out."""
        if not any((self.colour, self.smell, self.level, self.debris, self.cooler)):
            expected = "one of colour, smell, level, debris or cooler"
            raise BadInput([Problem(where="fluid", found="nothing", expected=expected)])


class Connector(Body, kw_only=True):
    """The connector of a body without a variant: how many pins, in how many rows, and whether the casting is probed."""

    pins: Annotated[int, msgspec.Meta(ge=1, le=200)]
    rows: Annotated[int, msgspec.Meta(ge=1, le=20)] = 2
    case: bool = True

    @property
    def names(self) -> tuple[str, ...]:
        """The pins, called 1, 2, 3, ..."""
        return tuple(str(number + 1) for number in range(self.pins))

    @property
    def columns(self) -> int:
        """Pins in a row, the last row perhaps shorter."""
        return -(-self.pins // self.rows)


class Photo(Body, kw_only=True):
    """A picture kept beside the journal by its hash."""

    sha256: Sha256
    file_name: Name
    of: Text
    size_bytes: int


class Note(Body, kw_only=True):
    """Free words."""

    text: Annotated[str, msgspec.Meta(min_length=1, max_length=10_000)]


class Correct(Body, kw_only=True):
    """A new body for an earlier entry; the earlier one stays readable."""

    entry: Number
    why: Annotated[str, msgspec.Meta(min_length=1, max_length=10_000)]
    body: dict[str, Any]


class Withdraw(Body, kw_only=True):
    """An earlier entry no longer counts; undo is one of these."""

    entry: Number
    why: Text = ""


class Restore(Body, kw_only=True):
    """A withdrawn entry counts again; redo is one of these."""

    entry: Number


class Close(Body, kw_only=True):
    """The last entry of a session: what was concluded, with which rule."""

    verdict: Name
    scope: Text
    rule: Rule = Rule.PROVED
    missing: tuple[str, ...] = ()
    program: Text = ""


class Outcome(Body, kw_only=True):
    """What became of the part."""

    fitted: bool | None = None
    comeback: Comeback | None = None
    months: Quantity | None = None
    odometer_km: Quantity | None = None

    def __post_init__(self) -> None:
        """Nothing said is no outcome."""
        if all(part is None for part in (self.fitted, self.comeback, self.months, self.odometer_km)):
            raise BadInput(
                [Problem(where="outcome", found="nothing", expected="fitted, comeback, months or odometer-km")]
            )


class Anchor(Body, kw_only=True):
    """To whom the head was given."""

    kind: AnchorKind
    to: Text | None = None


AnyBody = (
    OpenJob
    | Complaint
    | Reading
    | MeterCheck
    | AirTest
    | SwitchTest
    | SolenoidTest
    | HeatTest
    | FlexTest
    | LeakTest
    | PressureTaken
    | SweepTest
    | FeatureSeen
    | FluidFound
    | Connector
    | Photo
    | Note
    | Correct
    | Withdraw
    | Restore
    | Close
    | Outcome
    | Anchor
)

BODY_OF_KIND: Final = MappingProxyType(
    {
        "open-job": OpenJob,
        "complaint": Complaint,
        "reading": Reading,
        "meter-check": MeterCheck,
        "air": AirTest,
        "switch": SwitchTest,
        "solenoid": SolenoidTest,
        "heat-run": HeatTest,
        "flex": FlexTest,
        "leak": LeakTest,
        "pressure": PressureTaken,
        "sweep": SweepTest,
        "feature": FeatureSeen,
        "fluid": FluidFound,
        "connector": Connector,
        "photo": Photo,
        "note": Note,
        "correct": Correct,
        "withdraw": Withdraw,
        "restore": Restore,
        "close": Close,
        "outcome": Outcome,
        "anchor": Anchor,
    }
)
KIND_OF_BODY: Final = MappingProxyType({body: kind for kind, body in BODY_OF_KIND.items()})
TAIL_KINDS: Final = frozenset({"outcome", "anchor"})
DATA_KINDS: Final = frozenset(BODY_OF_KIND) - TAIL_KINDS - {"open-job", "correct", "withdraw", "restore", "close"}


class _ReadingLine(msgspec.Struct, forbid_unknown_fields=True):
    n: int
    at: str
    by: str
    kind: Literal["reading"]
    body: Reading
    prev: str


_READING_LINE: Final = msgspec.json.Decoder(_ReadingLine)
_ENCODER: Final = msgspec.json.Encoder()
_LONGEST_PLAIN_BYTES: Final = 1 << 20
_LARGEST_PLAIN_NUMBER: Final = 2**53 - 1


class Entry(NamedTuple):
    """One line of the journal, with the hash of its own bytes."""

    n: int
    at: str
    by: str
    kind: str
    body: AnyBody
    prev: str
    sha256: str


def body_from(kind: str, data: object, *, source: str = "") -> AnyBody:
    """The body of one kind from decoded JSON, all problems at once."""
    if kind not in BODY_OF_KIND:
        expected = f"one of {', '.join(sorted(BODY_OF_KIND))}"
        raise BadInput([Problem(where="kind", found=repr(kind), expected=expected)], source=source)
    try:
        body: AnyBody = msgspec.convert(data, BODY_OF_KIND[kind])
    except msgspec.ValidationError:
        # The fast way stops at the first fault; the slow way names every one.
        _, findings = build(data, BODY_OF_KIND[kind])
        raise BadInput([finding.problem for finding in findings], source=source) from None
    return body


def encode_line(*, n: int, at: str, by: str, body: AnyBody, prev: str) -> bytes:
    """The bytes of one line, without its line feed."""
    kind = KIND_OF_BODY[type(body)]
    return dumps({"n": n, "at": at, "by": by, "kind": kind, "body": msgspec.to_builtins(body), "prev": prev})


def decode_line(line: bytes, *, source: str) -> Entry:
    """An entry from the bytes of one line (without line feed); its place in the chain is not checked here."""
    return _plain_reading(line) or _any_entry(line, source)


def _plain_reading(line: bytes) -> Entry | None:
    """A reading whose bytes are just those we write for it, in a tenth of the time; None for every other line.

    Bytes that come out again as they went in have one meaning: no key twice, no other spelling of a number.
    """
    try:
        found = _READING_LINE.decode(line)
    except (msgspec.MsgspecError, UnicodeDecodeError):
        return None
    if len(line) > _LONGEST_PLAIN_BYTES or _ENCODER.encode(found) != line or found.n > _LARGEST_PLAIN_NUMBER:
        return None
    return Entry(found.n, found.at, found.by, found.kind, found.body, found.prev, sha256_of(line))


def _any_entry(line: bytes, source: str) -> Entry:
    data = loads(line, source=source)
    expected = {"n": int, "at": str, "by": str, "kind": str, "body": dict, "prev": str}
    well_formed = isinstance(data, dict) and set(data) == set(expected)
    if not well_formed or not all(type(data[key]) is kind for key, kind in expected.items()):
        problem = Problem(where="entry", found=repr(data)[:80], expected="n, at, by, kind, body and prev")
        raise BadInput([problem], source=source)
    body = body_from(data["kind"], data["body"], source=source)
    return Entry(data["n"], data["at"], data["by"], data["kind"], body, data["prev"], sha256_of(line))


def sha256_of(raw: bytes) -> str:
    """SHA-256 in hexadecimal digits."""
    return hashlib.sha256(raw).hexdigest()
