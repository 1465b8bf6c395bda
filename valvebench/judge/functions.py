"""Solenoids by function: clicks heard and air through them -> one judged row for each solenoid.

Everything that was tried on one solenoid is weighed together: a click says that the plunger moves, only air that
changes says that the valve does.  Common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.row import Row
from valvebench.model.entry import SolenoidTest
from valvebench.model.session import Item
from valvebench.model.variant import Solenoid, Variant
from valvebench.model.words import Duty, Flow, ItemState, Supply, SwitchState, Verdict

FUNCTION_KEY: Final = "function "
"""Begins the key of every solenoid by function."""
FUNCTION_KIND: Final = "solenoid"
_DEVICE: Final = "device "
_STUCK: Final = {
    Flow.FLOWS: "the valve in it is stuck open, or leaks at its seat",
    Flow.HOLDS: "the valve in it is stuck closed, or its passage is not free",
}
_SAY_AGAIN: Final = "Take back the entry that was a slip, or try it again."


class Function(NamedTuple):
    """Verdict of a solenoid by function, the reasons, and what to do next."""

    verdict: Verdict
    reasons: tuple[str, ...]
    next_steps: tuple[str, ...] = ()


class _Tried(NamedTuple):
    """What was heard of one solenoid: whether it clicked at each try, clicks and tries, flows off and on."""

    clicked: frozenset[bool]
    heard: int
    tries: int
    off: frozenset[Flow]
    on: frozenset[Flow]

    @property
    def is_torn(self) -> bool:
        """Whether air was said to hold and to flow in one state."""
        return len(self.off) > 1 or len(self.on) > 1

    def sure(self) -> tuple[Flow | None, Flow | None]:
        """Air without and with current; None where it was not tried."""
        return next(iter(self.off), None), next(iter(self.on), None)


def judge_function(solenoid: Solenoid | None, tests: Sequence[SolenoidTest]) -> Function:
    """Weigh everything that was tried on one solenoid.

    Parameters
    ----------
    solenoid : how it stands without current and what it bears; None where no variant says so
    tests : at least one

    Returns
    -------
    Function
        Fail where nothing clicks or air does otherwise than it should; *Can't tell* where only some clicks were
        heard, where no click was heard but air changes, and where an answer stands against another.

    Source
    ------
    Common practice, no source.
    """
    tried = _tried(tests)
    air = _air(solenoid, tried)
    found = _with_clicks(tried, air)
    return found._replace(reasons=(*found.reasons, *_fed_words(solenoid, tests)))


def _tried(tests: Sequence[SolenoidTest]) -> _Tried:
    counted = [test for test in tests if test.heard is not None and test.tries is not None]
    return _Tried(
        clicked=frozenset(test.click for test in tests),
        heard=sum(test.heard or 0 for test in counted),
        tries=sum(test.tries or 0 for test in counted),
        off=frozenset(test.air_off for test in tests if test.air_off is not None),
        on=frozenset(test.air_on for test in tests if test.air_on is not None),
    )


def _with_clicks(tried: _Tried, air: Function | None) -> Function:
    """Clicks and air together."""
    changes = air is not None and air.verdict is Verdict.PASS and None not in tried.sure()
    if False in tried.clicked:
        if changes:
            words = "Can't tell: no click was heard, yet air changes with the current."
            return Function(Verdict.CANT_TELL, (words,), ("Listen again, with a finger or a rod on the solenoid.",))
        return Function(Verdict.FAIL, (_no_click(tried), *(air.reasons if air is not None else ())))
    if air is not None and air.verdict is not Verdict.PASS:
        return air
    if tried.heard < tried.tries:
        words = f"Can't tell: {tried.heard} of {tried.tries} clicks were heard."
        return Function(Verdict.CANT_TELL, (words,), ("Click it again in a quiet moment: one that misses now sticks.",))
    counted = f", {tried.heard} of {tried.tries} times" if tried.tries else ""
    through = f", and {air.reasons[0]}" if air is not None else ""
    return Function(Verdict.PASS, (f"Pass: it clicks{counted}{through}.",))


def _no_click(tried: _Tried) -> str:
    counted = f" at {tried.tries} tries" if tried.tries and not tried.heard else ""
    return f"Fail: no click{counted}." if True not in tried.clicked else "Fail: no click at one of the tries."


def _air(solenoid: Solenoid | None, tried: _Tried) -> Function | None:
    """What air through it says; None where nobody blew, or where nothing says how it should stand."""
    off, on = tried.sure()
    if off is None and on is None:
        return None
    if tried.is_torn:
        words = "Can't tell: air was said to hold and to flow in one state."
        return Function(Verdict.CANT_TELL, (words,), (_SAY_AGAIN,))
    if off is not None and off is on:
        return _unchanged(off, solenoid)
    normally = solenoid.normally if solenoid is not None else None
    if normally is not None:
        return _as_stated(off, on, normally)
    is_whole = off is not None and on is not None
    return Function(Verdict.PASS, ("air changes with the current",)) if is_whole else None


def _unchanged(flow: Flow, solenoid: Solenoid | None) -> Function | None:
    """Air that does the same without and with current; one that is not switched may let some through in both."""
    if solenoid is None:
        return None
    does = f"air {flow.value} with and without current"
    if solenoid.normally is None and solenoid.duty is not Duty.ON_OFF:
        words = f"Can't tell: {does}, and nothing says how it should stand."
        return Function(Verdict.CANT_TELL, (words,), ("Compare with the same solenoid of a known good body.",))
    words = f"Fail: {does}: {_STUCK[flow]}."
    return Function(Verdict.FAIL, (words,), ("Clean it and try it again; a click alone does not say that it works.",))


def _as_stated(off: Flow | None, on: Flow | None, normally: SwitchState) -> Function:
    """Held against how it stands without current; air off and on are not the same here."""
    is_closed = normally is SwitchState.CLOSED
    wanted_off, wanted_on = (Flow.HOLDS, Flow.FLOWS) if is_closed else (Flow.FLOWS, Flow.HOLDS)
    tried = [(off, wanted_off, "without current"), (on, wanted_on, "with current")]
    said = " and ".join(f"air {flow.value} {when}" for flow, _, when in tried if flow is not None)
    if all(flow in (None, wanted) for flow, wanted, _ in tried):
        return Function(Verdict.PASS, (said,))
    if off is not None and on is not None:
        words = f"Fail: {said}, the other way round than normally {normally.value}."
        return Function(Verdict.FAIL, (words,), ("Make sure that it is the right part and is wired as stated.",))
    wanted = wanted_off if off is not None else wanted_on
    return Function(Verdict.FAIL, (f"Fail: {said}; normally {normally.value}, so {wanted.value} is right there.",))


def _fed_words(solenoid: Solenoid | None, tests: Sequence[SolenoidTest]) -> tuple[str, ...]:
    """What the supply may have done to it."""
    if solenoid is None:
        return ()
    words = []
    if solenoid.duty in (Duty.LINEAR, Duty.PULSED) and any(test.supply is Supply.RATED_VOLTAGE for test in tests):
        words.append("It was fed with rated voltage, which may harm a linear or pulsed solenoid: read its coil again.")
    limits = [test.limit_ampere for test in tests if test.limit_ampere is not None]
    if solenoid.max_ampere is not None and any(limit > solenoid.max_ampere for limit in limits):
        words.append(f"The limit was {max(limits):g} A, above the {solenoid.max_ampere:g} A stated for it.")
    return tuple(words)


# -- rows --------------------------------------------------------------------------------------


def function_rows(variant: Variant | None, items: Iterable[Item]) -> tuple[Row, ...]:
    """One row for each solenoid that was tried by function; other entries are passed over."""
    by_device: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        if isinstance(item.body, SolenoidTest):
            by_device[item.body.device].append(item)
    return tuple(function_row(variant, own) for own in by_device.values())


def function_row(variant: Variant | None, items: Sequence[Item]) -> Row:
    """The row of one solenoid; at least one entry, all of the same."""
    tests = [item.body for item in items if isinstance(item.body, SolenoidTest)]
    name = tests[0].device
    device = variant.device_named(name) if variant is not None else None
    found = judge_function(device if isinstance(device, Solenoid) else None, tests)
    return Row(
        entries=tuple(item.n for item in items),
        key=f"{FUNCTION_KEY}{name}",
        what=name,
        kind=FUNCTION_KIND,
        verdict=found.verdict,
        reasons=found.reasons,
        next_steps=found.next_steps,
        is_corrected=any(item.is_corrected for item in items),
    )


def with_coils(rows: Sequence[Row], coils: Mapping[str, Sequence[Row]]) -> tuple[Row, ...]:
    """Say beside a solenoid that does not click what its coil read: broken, or sound so that the fault is mechanical.

    Parameters
    ----------
    rows : judged rows, those by function among them
    coils : the rows read in ohm of each item, by its key
    """
    return tuple(_with_coil(row, coils) if row.key.startswith(FUNCTION_KEY) else row for row in rows)


def coils_of(rows: Iterable[Row]) -> dict[str, list[Row]]:
    """The rows read in ohm, by the key of their item."""
    found: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        if row.judgement is not None and row.key.startswith(_DEVICE):
            found[row.key].append(row)
    return found


def coil_key(function_key: str) -> str:
    """The item of the same solenoid read in ohm."""
    return f"{_DEVICE}{function_key.removeprefix(FUNCTION_KEY)}"


def function_key(coil_key: str) -> str:
    """The item of the same device by function."""
    return f"{FUNCTION_KEY}{coil_key.removeprefix(_DEVICE)}" if coil_key.startswith(_DEVICE) else coil_key


def _with_coil(row: Row, coils: Mapping[str, Sequence[Row]]) -> Row:
    if row.verdict is not Verdict.FAIL or not row.reasons[0].startswith("Fail: no click"):
        return row
    words, step = _coil_words(coils.get(coil_key(row.key), ()))
    return msgspec.structs.replace(row, reasons=(*row.reasons, words), next_steps=(*row.next_steps, step))


def _coil_words(coils: Sequence[Row]) -> tuple[str, str]:
    if any(row.judgement is not None and row.judgement.state is ItemState.OPEN for row in coils):
        return "Its coil reads open: the fault is electrical.", "Look for the break in plug, wire and winding."
    verdicts = {row.verdict for row in coils}
    if Verdict.FAIL in verdicts:
        return "Its coil failed in ohm too: the fault is electrical.", "Settle the coil first."
    if Verdict.PASS in verdicts:
        return (
            "Its coil passed in ohm: the fault is mechanical, or the supply did not reach it.",
            "Feed it at its own terminals; if it is silent there too, its plunger is stuck.",
        )
    return (
        "What its coil reads in ohm is not known for sure.",
        "Read its coil: that tells a broken winding from a stuck plunger.",
    )
