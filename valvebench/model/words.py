"""The closed choices of the program, each one word as it stands in files and answers."""

from __future__ import annotations

from enum import Enum
from types import MappingProxyType
from typing import Final


class Word(Enum):
    """One of a closed set of words, hashed as what it is: an `Enum` hashes its name by a call of Python each time."""

    __hash__ = object.__hash__


class Verdict(Word):
    """What is said of one item, and of a whole session (`NOT_FINISHED` only there)."""

    PASS = "pass"  # noqa: S105  a verdict, no password
    FAIL = "fail"
    CANT_TELL = "cant_tell"
    NO_LIMIT = "no_limit"
    NOT_TAKEN = "not_taken"
    NOT_USABLE = "not_usable"
    NOT_FINISHED = "not_finished"


VERDICT_TEXT: Final = MappingProxyType(
    {
        Verdict.PASS: "Pass",
        Verdict.FAIL: "Fail",
        Verdict.CANT_TELL: "Can't tell",
        Verdict.NO_LIMIT: "No limit",
        Verdict.NOT_TAKEN: "Not taken",
        Verdict.NOT_USABLE: "Not usable",
        Verdict.NOT_FINISHED: "Not finished",
    }
)


class Lean(Word):
    """Which side an undecided reading leans to."""

    INSIDE = "inside"
    OUTSIDE = "outside"
    STRADDLES = "straddles"


class Rule(Word):
    """How much proof a verdict needs."""

    PROVED = "proved"
    PROVED5 = "proved5"
    PLAIN = "plain"


RULE_TEXT: Final = MappingProxyType(
    {
        Rule.PROVED: "Proved only",
        Rule.PROVED5: "Proved, 5 % risk",
        Rule.PLAIN: "Plain comparison",
    }
)


class LeadState(Word):
    """What was done about the resistance of the meter leads."""

    NULLED = "nulled"
    SUBTRACT = "subtract"
    NEITHER = "neither"
    FOUR_WIRE = "four_wire"


LEAD_TEXT: Final = MappingProxyType(
    {
        LeadState.NULLED: "nulled on the meter",
        LeadState.SUBTRACT: "tips read and taken off",
        LeadState.NEITHER: "leads not taken off",
        LeadState.FOUR_WIRE: "four wires",
    }
)


class AccessPoint(Word):
    """Where along the wiring a reading was taken."""

    VEHICLE_PLUG = "vehicle_plug"
    CASE_CONNECTOR = "case_connector"
    DEVICE_TERMINALS = "device_terminals"


ACCESS_TEXT: Final = MappingProxyType(
    {
        AccessPoint.VEHICLE_PLUG: "vehicle plug",
        AccessPoint.CASE_CONNECTOR: "case connector",
        AccessPoint.DEVICE_TERMINALS: "device terminals",
    }
)


def with_access(words: str, at: AccessPoint) -> str:
    """What was read, and where along the wiring if it was not at the case connector."""
    return words if at is AccessPoint.CASE_CONNECTOR else f"{words} ({ACCESS_TEXT[at]})"


class TemperatureSource(Word):
    """How the coil temperature is known."""

    TAPED = "taped"
    ROOM_2H = "room_2h"
    ROOM_SHORT = "room_short"
    IR_TAPE = "ir_tape"
    IR_BARE = "ir_bare"
    UNKNOWN = "unknown"
    NOT_SOAKED = "not_soaked"


TEMPERATURE_TEXT: Final = MappingProxyType(
    {
        TemperatureSource.TAPED: "contact probe taped to the can, soaked",
        TemperatureSource.ROOM_2H: "two hours or more in this room",
        TemperatureSource.ROOM_SHORT: "less than two hours in this room",
        TemperatureSource.IR_TAPE: "infra-red on matt tape",
        TemperatureSource.IR_BARE: "infra-red on bare metal",
        TemperatureSource.UNKNOWN: "not measured",
        TemperatureSource.NOT_SOAKED: "straight from washer or vehicle",
    }
)

# Common practice, no source: the trade's habits as half-widths of a rectangle, in kelvin.
# None means that no correction can be trusted and the reading is not usable.
TEMPERATURE_HALF_WIDTH_CELSIUS: Final = MappingProxyType(
    {
        TemperatureSource.TAPED: 2.0,
        TemperatureSource.ROOM_2H: 3.0,
        TemperatureSource.ROOM_SHORT: 8.0,
        TemperatureSource.IR_TAPE: 3.0,
        TemperatureSource.IR_BARE: 20.0,
        TemperatureSource.UNKNOWN: 10.0,
        TemperatureSource.NOT_SOAKED: None,
    }
)


class ItemState(Word):
    """What kind of answer the meter gave."""

    VALUE = "value"
    OPEN = "open"
    BELOW_RESOLUTION = "below_resolution"


class JobKind(Word):
    """What the session is for."""

    COMPLAINT = "complaint"
    BENCH_CHECK = "bench_check"
    ENQUIRY = "enquiry"


JOBS_TEXT: Final = MappingProxyType(
    {JobKind.COMPLAINT: "complaints", JobKind.BENCH_CHECK: "bench checks", JobKind.ENQUIRY: "enquiries"}
)


class When(Word):
    """When a complaint shows."""

    HOT = "hot"
    COLD = "cold"
    SOMETIMES = "sometimes"
    ALWAYS = "always"


class Feel(Word):
    """What a shift feels like to whoever complains."""

    HARSH = "harsh"
    FLARE = "flare"
    SLIP = "slip"
    LATE = "late"
    EARLY = "early"
    BUMP = "bump"
    BIND = "bind"
    SHUDDER = "shudder"
    DELAYED = "delayed"
    NONE = "none"
    STUCK = "stuck"


class AirResult(Word):
    """What was heard or felt at a port."""

    PASS = "pass"  # noqa: S105  a result, no password
    FAIL = "fail"
    BLEEDS = "bleeds"
    NOT_POSSIBLE = "not_possible"


class Place(Word):
    """Where a port is: a clutch circuit in the case, or the valve body itself."""

    CASE = "case"
    BODY = "body"


class CheckTime(Word):
    """When a line of the checklist is looked after."""

    BEFORE_OPENING = "before_opening"
    WHILE_OPEN = "while_open"
    BEFORE_REFIT = "before_refit"
    AFTER = "after"


class Reaction(Word):
    """What a port ought to do under air."""

    HOLDS = "holds"
    COMES_OUT = "comes_out"
    CLICKS = "clicks"
    BLEEDS = "bleeds"
    THUD = "thud"


class SwitchState(Word):
    """Whether a switch is seen open or closed."""

    OPEN = "open"
    CLOSED = "closed"


class CodeState(Word):
    """What a table of codes says of one switch in one position; `EITHER` means that it does not matter."""

    OPEN = "open"
    CLOSED = "closed"
    EITHER = "either"


class Flow(Word):
    """Whether air is held or flows."""

    HOLDS = "holds"
    FLOWS = "flows"


class Supply(Word):
    """What feeds a solenoid that is tried by function."""

    RATED_VOLTAGE = "rated_voltage"
    LIMITED_CURRENT = "limited_current"


class Seen(Word):
    """How a feature was seen."""

    US = "us"
    PHOTO = "photo"
    PHONE = "phone"


class WhichPart(Word):
    """Which part was looked at: the one the session is about, or the new one held beside it."""

    OLD = "old"
    NEW = "new"


class Duty(Word):
    """How a solenoid is driven."""

    LINEAR = "linear"
    PULSED = "pulsed"
    ON_OFF = "on_off"


class SourceKind(Word):
    """Where a limit comes from."""

    MANUAL = "manual"
    MEASURED = "measured"
    LEARNED = "learned"
    MEMORY = "memory"


class AnchorKind(Word):
    """To whom the head of a session was given."""

    OWN_ARCHIVE = "own_archive"
    TAG_HANDED_OVER = "tag_handed_over"
    SENT_TO_CUSTOMER = "sent_to_customer"
    TIME_STAMP_SERVICE = "time_stamp_service"


class Comeback(Word):
    """Whether the unit came back, and when the fault shows."""

    NO = "no"
    COLD = "cold"
    HOT = "hot"


class Cooler(Word):
    """What was done about the cooler and its lines."""

    FLUSHED = "flushed"
    REPLACED = "replaced"
    NOT_FLUSHED = "not_flushed"
    NOT_KNOWN = "not_known"


COOLER_TEXT: Final = MappingProxyType(
    {
        Cooler.FLUSHED: "flushed",
        Cooler.REPLACED: "replaced",
        Cooler.NOT_FLUSHED: "not flushed",
        Cooler.NOT_KNOWN: "not known",
    }
)


CASE: Final = "case"
"""The node name of the casting."""
