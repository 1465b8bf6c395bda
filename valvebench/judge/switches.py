"""What a switch did at rest and under air -> verdict.  Common practice, no source."""

from __future__ import annotations

from typing import Final

from valvebench.judge.air import Heard
from valvebench.judge.resistance import judge
from valvebench.model.entry import Reading, SwitchTest
from valvebench.model.limits import Limits
from valvebench.model.variant import Switch, Variant
from valvebench.model.variant_codes import code_at
from valvebench.model.words import VERDICT_TEXT, SwitchState, Verdict

ROOM_CELSIUS: Final = 20.0
"""A contact has no temperature to correct for; a reading needs one."""
_WORST_FIRST: Final = (Verdict.FAIL, Verdict.CANT_TELL, Verdict.NOT_USABLE, Verdict.NO_LIMIT, Verdict.PASS)


def judge_switch(variant: Variant | None, test: SwitchTest) -> Heard:
    """Judge a switch at rest, or with air where the variant names the port that moves it.

    Where its contact was read closed, that counts as well: an assumed meter, leads not taken off.  The pressures at
    which it changes are shown; no variant states limits of them.
    """
    device = variant.device_named(test.device) if variant is not None else None
    switch = device if isinstance(device, Switch) else None
    stood = _stood(variant, switch, test)
    contact = _contact(switch, test)
    moved = _moved_words(test)
    if contact is None:
        return stood._replace(reasons=(*stood.reasons, *moved))
    first, second = sorted((stood, contact), key=lambda heard: _WORST_FIRST.index(heard.verdict))
    return Heard(first.verdict, (*first.reasons, *second.reasons, *moved), (*first.next_steps, *second.next_steps))


def _contact(switch: Switch | None, test: SwitchTest) -> Heard | None:
    """What the closed contact reads, against its limit; None where nothing was read or no limit is stated."""
    if test.closed_ohm is None:
        return None
    if switch is None or switch.closed_max_ohm is None:
        return Heard(Verdict.NO_LIMIT, (f"Its contact read {test.closed_ohm:g} ohm; no limit is stated.",))
    a, b = switch.between
    reading = Reading(from_node=a, to_node=b, ohm=test.closed_ohm, celsius=ROOM_CELSIUS)
    judged = judge(reading, Limits(high_ohm=switch.closed_max_ohm, k_celsius=None))
    words = f"Its closed contact read {test.closed_ohm:g} ohm, at most {switch.closed_max_ohm:g} ohm is stated:"
    said = judged.reasons[0] if judged.reasons else VERDICT_TEXT[judged.verdict]
    step = ("Read it on Pins with the leads taken off: that narrows the doubt.",)
    return Heard(judged.verdict, (f"{words} {said}",), step if judged.verdict is Verdict.CANT_TELL else ())


def _moved_words(test: SwitchTest) -> tuple[str, ...]:
    """Where it changed going up and coming down, and how far these lie apart [kPa gauge]."""
    up, down = test.up_kpa_gauge, test.down_kpa_gauge
    if up is None and down is None:
        return ()
    ways = [f"{kpa:g} kPa {way}" for kpa, way in ((up, "going up"), (down, "coming down")) if kpa is not None]
    apart = f", {up - down:g} kPa apart" if up is not None and down is not None else ""
    return (f"It changes at {' and '.join(ways)}{apart}.",)


def _stood(variant: Variant | None, switch: Switch | None, test: SwitchTest) -> Heard:
    expected = _expected_switch(switch, test) if switch is not None else None
    if expected is None:
        return Heard(Verdict.NO_LIMIT, (_no_code(variant, test),))
    when = "with air" if test.is_under_air else "at rest"
    if test.state is expected:
        return Heard(Verdict.PASS, (f"Pass: {expected.value} {when}, as it should be.",))
    return Heard(Verdict.FAIL, (f"Fail: {test.state.value} {when}, it should be {expected.value}.",))


def _no_code(variant: Variant | None, test: SwitchTest) -> str:
    if variant is None or test.selector is None or test.is_under_air or not variant.selector_codes:
        return "No limit: nothing says how this switch should stand."
    if code_at(variant.selector_codes, test.selector) is None:
        known = ", ".join(code.position for code in variant.selector_codes)
        return f"No limit: the code table has no position {test.selector}, only {known}."
    return f"No limit: the code table does not say how this switch should stand in {test.selector}."


def _expected_switch(device: Switch, test: SwitchTest) -> SwitchState | None:
    if device.at_rest is None or test.selector is not None:
        return None
    if not test.is_under_air:
        return device.at_rest
    if device.closes_with is None:
        return None
    return SwitchState.CLOSED if device.at_rest is SwitchState.OPEN else SwitchState.OPEN
