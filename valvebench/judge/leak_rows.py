"""Leaks measured at ports and seats -> judged rows: items of their own, which no answer by ear takes back."""

from __future__ import annotations

from typing import Final

from valvebench.judge.leak import LeakJudgement, judge_leak
from valvebench.judge.row import Row
from valvebench.model.air_tests import LeakTest
from valvebench.model.format import flow_text
from valvebench.model.leak import LeakFound, LeakMethod
from valvebench.model.session import Item
from valvebench.model.variant import Port, Solenoid, Variant
from valvebench.model.words import VERDICT_TEXT, Lean, Rule, SwitchState, Verdict

LEAK_KEY: Final = "leak "
"""Begins the key of every measured leak: an answer by ear at the same port is another item."""
SEAT_KEY: Final = "seat "
"""Begins the key of every leak at the seat of a solenoid."""
LEAK_KIND: Final = "leak"
LEAK_WORDS: Final = ", leak"
"""Ends what a row is about."""
SEAT_WORDS: Final = ", leak at its seat"
SAME_PRESSURE: Final = 0.01
"""How near a leak must be told to the pressure of its limit: as `diagnose.leak_difference`."""
_MOST_NAMED: Final = 2
_SHARE_NAMED: Final = 0.1
_GIVEN: Final = "given with the test"
_SHUT: Final = {
    SwitchState.CLOSED: "Normally closed: its seat is shut without current.",
    SwitchState.OPEN: "Normally open: its seat is shut only while current flows.",
}
_SIDE: Final = {True: "below", False: "above"}


def leak_key(port: str) -> str:
    """The key of a port's leak."""
    return f"{LEAK_KEY}{port}"


def seat_key(device: str) -> str:
    """The key of a leak at a solenoid's seat."""
    return f"{SEAT_KEY}{device}"


def hole_of(variant: Variant | None, *, port: str | None, device: str | None) -> Port | None:
    """What is tested, with its limit: a port, or the seat of a solenoid; None where the variant has neither."""
    if variant is None:
        return None
    return variant.seat_named(device) if device is not None else variant.port_named(port or "")


def stated_kpa_gauge(port: Port, method: LeakMethod) -> float | None:
    """Where the limit of a port holds, as a test of that method would meet it [kPa]; None where nobody says.

    A port that is tested by vacuum states how far below the air around.
    """
    if port.kpa_gauge is None or not is_of_method(port, method):
        return None
    return -port.kpa_gauge if method is LeakMethod.VACUUM else port.kpa_gauge


def is_of_method(port: Port, method: LeakMethod) -> bool:
    """Whether a test draws or presses as the port's limit has it; the two ways of pressing are alike."""
    return (port.method == LeakMethod.VACUUM.value) == (method is LeakMethod.VACUUM)


def is_above_stated(port: Port, method: LeakMethod, kpa: float, *, slack_kpa: float) -> bool:
    """Whether a pressure (or how far below the air around it is) goes beyond what the variant states."""
    return port.kpa_gauge is not None and is_of_method(port, method) and kpa > port.kpa_gauge + slack_kpa


def leak_row(variant: Variant | None, item: Item, rule: Rule | None) -> Row | None:
    """The row of a measured leak; None for every other entry."""
    body = item.body
    if not isinstance(body, LeakTest):
        return None
    port = hole_of(variant, port=body.port, device=body.device)
    stated = port.max_ml_min if port is not None else None
    limit = stated if stated is not None else body.max_ml_min
    judgement = judge_leak(body.found, limit, rule=rule or body.rule or Rule.PROVED)
    steps: tuple[str, ...] = ()
    if port is not None and stated is not None:
        judgement, steps = held_at(judgement, port, body.method)
    return Row(
        entries=(item.n,),
        key=seat_key(body.of) if body.is_seat else leak_key(body.of),
        what=f"{body.of}{SEAT_WORDS if body.is_seat else LEAK_WORDS}",
        kind=LEAK_KIND,
        verdict=judgement.verdict,
        port=body.port,
        leak=judgement,
        limit_source=_source_of(variant, body, limit, stated),
        reasons=(*judgement.reasons, *_doubt_words(judgement), *_place_words(variant, port, body)),
        next_steps=steps,
        is_corrected=item.is_corrected,
    )


def held_at(judgement: LeakJudgement, port: Port, method: LeakMethod) -> tuple[LeakJudgement, tuple[str, ...]]:
    """What a verdict is worth where the leak is told at another pressure than the limit, and what to do then.

    A leak grows with its pressure: too much at less is too much, enough at more is enough, the rest is
    *Can't tell*.
    """
    limit = f"the limit of {judgement.max_ml_min:g} ml/min"
    if not is_of_method(port, method):
        how = "a vacuum" if port.method == LeakMethod.VACUUM.value else "pressure"
        return _not_told(judgement, f"{limit} is for {how}"), (f"Test {port.name} with {how}.",)
    stated, told = stated_kpa_gauge(port, method), judgement.found.at_kpa_gauge
    if stated is None or judgement.found.leak_ml_min is None or abs(told - stated) <= SAME_PRESSURE * abs(stated):
        return judgement, ()
    is_less = abs(told) < abs(stated)
    if judgement.verdict is (Verdict.FAIL if is_less else Verdict.PASS):
        words = "less already" if is_less else "more even"
        reason = f"The limit is stated for {_kpa(stated)}: it was {words}."
        return judgement._replace(reasons=(*judgement.reasons, reason)), ()
    step = f"Test {port.name} at {abs(stated):g} kPa, where its limit holds."
    return _not_told(judgement, f"{limit} is stated for {_kpa(stated)}"), (step,)


def _kpa(kpa_gauge: float) -> str:
    return f"{abs(kpa_gauge):g} kPa {_SIDE[kpa_gauge < 0]} the air around"


def _not_told(judgement: LeakJudgement, why: str) -> LeakJudgement:
    lean = {Verdict.PASS: Lean.INSIDE, Verdict.FAIL: Lean.OUTSIDE}.get(judgement.verdict, judgement.lean)
    found = judgement.found
    value = leak_words(found, judgement.U_ml_min)
    told = f"{value} at {_kpa(found.at_kpa_gauge)}" if value else "no leak can be told"
    first = f"{VERDICT_TEXT[Verdict.CANT_TELL]}: {told}, but {why}."
    return judgement._replace(
        verdict=Verdict.CANT_TELL, lean=lean, plain_verdict=None, reasons=(first, *judgement.reasons[1:])
    )


def leak_words(found: LeakFound, expanded_ml_min: float) -> str:
    """A leak with its expanded uncertainty; nothing where none is told."""
    return flow_text(found.leak_ml_min.value, expanded_ml_min) if found.leak_ml_min is not None else ""


def _doubt_words(judgement: LeakJudgement) -> list[str]:
    """What most of the doubt comes from."""
    named = [line for line in judgement.budget[:_MOST_NAMED] if line.share >= _SHARE_NAMED]
    if judgement.found.leak_ml_min is None or not named:
        return []
    parts = ", ".join(f"{line.term} {100 * line.share:.0f} %" for line in named)
    return [f"Most of the doubt: {parts}."]


def _source_of(variant: Variant | None, body: LeakTest, limit: float | None, stated: float | None) -> str | None:
    if stated is None:
        return _GIVEN if limit is not None else None
    device = variant.device_named(body.device) if variant is not None and body.device is not None else None
    return device.source.text if device is not None and device.source is not None else None


def _place_words(variant: Variant | None, port: Port | None, body: LeakTest) -> list[str]:
    """Whether the variant knows what was tested, and when a seat is shut at all."""
    if variant is None:
        return []
    if port is None:
        what = "solenoid" if body.is_seat else "port"
        return [f"{body.of} is no {what} of this variant: was the right one tested?"]
    device = variant.device_named(body.device) if body.device is not None else None
    normally = device.normally if isinstance(device, Solenoid) else None
    return [_SHUT[normally]] if normally is not None else []
