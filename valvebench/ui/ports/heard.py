"""The tables of the Ports page: what was heard, and the solenoids with all that was tried.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from valvebench.judge.air import item_of
from valvebench.judge.leak_rows import leak_words
from valvebench.judge.row import Row
from valvebench.model.air_tests import LeakTest
from valvebench.model.entry import AirTest, AnyBody, SolenoidTest, SwitchTest
from valvebench.model.leak import LeakMethod
from valvebench.model.variant import AnyDevice, Solenoid, Switch, Variant
from valvebench.model.words import VERDICT_TEXT, AirResult, Reaction, Verdict
from valvebench.ui.ports.questions import Part, SolenoidQuestion, SwitchQuestion
from valvebench.ui.ports.set_up import COVER_TEXT

KEEPING: Final = "keeping"
NOT_STATED: Final = "not stated"
_WORST_FIRST: Final = (
    *(Verdict.FAIL, Verdict.NOT_USABLE, Verdict.NOT_TAKEN, Verdict.CANT_TELL, Verdict.PASS, Verdict.NO_LIMIT),
)
_SHORT_REACTION: Final = {
    Reaction.HOLDS: "holds",
    Reaction.CLICKS: "clicks",
    Reaction.BLEEDS: "bleeds",
    Reaction.THUD: "thud, holds",
}
_METHOD_TEXT: Final = {
    LeakMethod.STEADY: "gauges, ml/min",
    LeakMethod.VACUUM: "vacuum, ml/min",
    LeakMethod.DECAY: "falling, ml/min",
}
_RESULT_TEXT: Final = {
    AirResult.PASS: "as expected",
    AirResult.FAIL: "differs",
    AirResult.BLEEDS: "bleeds",
    AirResult.NOT_POSSIBLE: "not possible",
}


@dataclass(frozen=True, kw_only=True)
class HeardShown:
    """One line of the table of results; `number` is its entry, or below nought while it is not on disk."""

    number: int
    what: str
    states: str
    kpa: str = ""
    expected: str
    heard: str
    verdict: Verdict | None
    tip: str = ""


@dataclass(frozen=True, kw_only=True)
class SolenoidShown:
    """One solenoid by function: what is expected, what was heard, and what that makes together.

    `number` is its place in the list.
    """

    number: int
    name: str
    expected: str
    clicks: str = ""
    off: str = ""
    on: str = ""
    seat: str = ""
    verdict: Verdict | None = None
    tip: str = ""


# -- the list of solenoids -----------------------------------------------------------------------


def solenoid_shown(
    number: int, solenoid: Solenoid, tests: Sequence[SolenoidTest], row: Row | None, *, seat: Sequence[Row] = ()
) -> SolenoidShown:
    """One solenoid with everything tried on it, and what was measured at its seat: the mark is the worst of both."""
    judged = [one for one in (row, *seat) if one is not None]
    asked = [SolenoidQuestion(solenoid=solenoid, part=part) for part in (Part.AIR_OFF, Part.AIR_ON)]
    is_stated = solenoid.normally is not None
    return SolenoidShown(
        number=number,
        name=solenoid.name,
        expected=" / ".join(each.flow.value for each in asked) if is_stated else "clicks",
        clicks=_clicks(tests),
        off=" / ".join(dict.fromkeys(test.air_off.value for test in tests if test.air_off is not None)),
        on=" / ".join(dict.fromkeys(test.air_on.value for test in tests if test.air_on is not None)),
        seat=_seat_words(seat),
        verdict=next((verdict for verdict in _WORST_FIRST for one in judged if one.verdict is verdict), None),
        tip="\n".join(line for one in judged for line in (*one.reasons, *one.next_steps)),
    )


def _seat_words(seat: Sequence[Row]) -> str:
    """The newest leak at a seat; nothing where none was measured."""
    leak = seat[-1].leak if seat else None
    if leak is None:
        return ""
    return leak_words(leak.found, leak.U_ml_min).removesuffix(" ml/min") or "not told"


def _flows_expected(asked: Sequence[SolenoidQuestion]) -> str:
    return ", ".join(f"{'on' if each.has_current else 'off'}: {each.flow.value}" for each in asked)


def _clicks(tests: Sequence[SolenoidTest]) -> str:
    counted = [(test.heard, test.tries) for test in tests if test.heard is not None and test.tries is not None]
    if counted:
        return f"{sum(heard for heard, _ in counted)} of {sum(tries for _, tries in counted)}"
    return "" if not tests else "yes" if all(test.click for test in tests) else "no"


# -- the table of results ----------------------------------------------------------------------


def heard_shown(number: int, body: AnyBody, row: Row | None, variant: Variant | None) -> HeardShown | None:
    """One line of the table; without a judged row it is on its way to the disk."""
    if isinstance(body, LeakTest) and row is not None:
        return _measured_shown(number, body, row)
    words = _words(body, variant)
    if words is None:
        return None
    note = getattr(body, "note", None)
    reasons = row.reasons if row is not None else ()
    return HeardShown(
        number=number,
        what=words.what,
        states=words.states,
        kpa=_kpa(getattr(body, "kpa_gauge", None)),
        expected=words.expected,
        heard=words.heard if row is not None else KEEPING,
        verdict=row.verdict if row is not None else None,
        tip="\n".join((*reasons, *((f"Note: {note}",) if note else ()))),
    )


class _Words(NamedTuple):
    what: str
    states: str
    expected: str
    heard: str


def _measured_shown(number: int, body: LeakTest, row: Row) -> HeardShown:
    """One line of the table for a leak that was measured at a port [ml/min]."""
    leak = row.leak
    found = body.found
    limit = leak.max_ml_min if leak is not None else None
    told = leak_words(found, leak.U_ml_min).removesuffix(" ml/min") if leak is not None else ""
    return HeardShown(
        number=number,
        what=body.of,
        states=_METHOD_TEXT[body.method],
        kpa=f"{found.at_kpa_gauge:.0f}".replace("-", "\u2212"),
        expected=NOT_STATED if limit is None else f"\u2264 {limit:g}",
        heard=told or "not told",
        verdict=row.verdict,
        tip="\n".join((*row.reasons, *row.next_steps, *((f"Note: {body.note}",) if body.note else ()))),
    )


def _words(body: AnyBody, variant: Variant | None) -> _Words | None:
    if isinstance(body, AirTest):
        return _Words(body.port, _test_states(body), _expected(body, variant), _air_heard(body))
    device = variant.device_named(getattr(body, "device", "")) if variant is not None else None
    if isinstance(body, SwitchTest):
        expected = _expected_switch(device, is_moved=body.is_under_air)
        return _Words(body.device, _switch_states(body), expected, _switch_seen(body))
    if isinstance(body, SolenoidTest):
        return _Words(body.device, "by function", _expected_solenoid(device, body), _solenoid_heard(body))
    return None


def _switch_states(body: SwitchTest) -> str:
    moved = (("up", body.up_kpa_gauge), ("down", body.down_kpa_gauge))
    ways = [f"{way} {kpa:g}" for way, kpa in moved if kpa is not None]
    return ", ".join(["with air" if body.is_under_air else "at rest", *ways])


def _switch_seen(body: SwitchTest) -> str:
    return body.state.value if body.closed_ohm is None else f"{body.state.value}, {body.closed_ohm:g} \u03a9"


def _expected_switch(device: AnyDevice | None, *, is_moved: bool) -> str:
    if not isinstance(device, Switch) or device.at_rest is None:
        return NOT_STATED
    return SwitchQuestion(switch=device, port=None).moved.value if is_moved else device.at_rest.value


def _expected_solenoid(device: AnyDevice | None, body: SolenoidTest) -> str:
    if body.air_off is None and body.air_on is None:
        return "clicks"
    if not isinstance(device, Solenoid) or device.normally is None:
        return NOT_STATED
    parts = [part for part in (Part.AIR_OFF, Part.AIR_ON) if getattr(body, part.value) is not None]
    return _flows_expected([SolenoidQuestion(solenoid=device, part=part) for part in parts])


def _test_states(body: AirTest) -> str:
    cover = "" if body.has_cover is None else f"cover plate {COVER_TEXT[body.has_cover]}"
    parts = [body.selector or "", *(f"{name} {state}" for name, state in body.solenoids.items()), cover]
    return ", ".join(part for part in parts if part)


def _air_heard(body: AirTest) -> str:
    return f"out at {body.came_out_at}" if body.came_out_at is not None else _RESULT_TEXT[body.result]


def _kpa(kpa_gauge: float | None) -> str:
    return f"{kpa_gauge:g}" if kpa_gauge else ""


def _expected(body: AirTest, variant: Variant | None) -> str:
    item = item_of(variant, body)
    short = (
        f"out at {each.at}" if each.reaction is Reaction.COMES_OUT else _SHORT_REACTION[each.reaction]
        for each in item.expected
    )
    return (" and " if item.is_told_apart else " or ").join(short) or NOT_STATED


def _solenoid_heard(body: SolenoidTest) -> str:
    counted = "" if body.tries is None else f" {body.heard} of {body.tries}"
    if not body.click:
        return f"no click{counted}"
    flows = (("off", body.air_off), ("on", body.air_on))
    return ", ".join(f"{state}: {flow.value}" for state, flow in flows if flow is not None) or f"clicks{counted}"


def kept_sentence(shown: HeardShown) -> str:
    """One line on what was just kept."""
    verdict = VERDICT_TEXT[shown.verdict] if shown.verdict is not None else ""
    return f"Kept {shown.what}, {shown.heard}. {verdict}."
