"""Switches read in each selector position -> one judged row for each position, held against the code table.

A position that was begun asks for all its switches, and one that was read asks for the whole table.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple

from valvebench.judge.row import Row
from valvebench.model.entry import AnyBody, SwitchTest
from valvebench.model.session import Item
from valvebench.model.variant import CodeRow, Variant
from valvebench.model.variant_codes import asked_of, code_at
from valvebench.model.words import CodeState, SwitchState, Verdict

CODE_KEY: Final = "selector "
"""Begins the key of every selector position."""
CODE_KIND: Final = "selector"
_FEWEST_TO_BE_STUCK: Final = 2
_STUCK_TEXT: Final = {
    SwitchState.OPEN: "stuck open, or its wire is broken",
    SwitchState.CLOSED: "stuck closed, or its wire touches another",
}


class _Read(NamedTuple):
    """What was read of one position: each switch with every state it was read in, and all entries."""

    code: CodeRow
    states: Mapping[str, frozenset[SwitchState]]
    items: tuple[Item, ...]

    def sure(self, switch: str) -> SwitchState | None:
        """The one state a switch was read in; None where it was not read, or in both."""
        found = self.states.get(switch, frozenset())
        return next(iter(found)) if len(found) == 1 else None

    @property
    def torn(self) -> tuple[str, ...]:
        """Switches that were read both open and closed."""
        return tuple(name for name in asked_of(self.code) if len(self.states.get(name, ())) > 1)

    @property
    def lacking(self) -> tuple[str, ...]:
        """Switches that were not read yet."""
        return tuple(name for name in asked_of(self.code) if name not in self.states)

    @property
    def wrong(self) -> tuple[str, ...]:
        """Switches that stand otherwise than the table says."""
        return tuple(name for name in asked_of(self.code) if _is_other(self.sure(name), self.code.switches[name]))

    def gives(self, other: CodeRow) -> bool:
        """Whether what was read is the whole code of a position."""
        asked = asked_of(other)
        sure = {name: self.sure(name) for name in asked}
        return bool(asked) and all(_is_same(sure[name], other.switches[name]) for name in asked)


def _is_same(read: SwitchState | None, stated: CodeState) -> bool:
    return read is not None and read.value == stated.value


def _is_other(read: SwitchState | None, stated: CodeState) -> bool:
    return read is not None and read.value != stated.value


def code_key(position: str) -> str:
    """The key of a selector position."""
    return f"{CODE_KEY}{position}"


def code_of(variant: Variant | None, body: AnyBody) -> CodeRow | None:
    """The position of the table that a test of a switch belongs to; None for every other entry.

    A switch under air answers to the air, and one that does not matter in a position is no part of its code.
    """
    if variant is None or not isinstance(body, SwitchTest) or body.is_under_air:
        return None
    code = code_at(variant.selector_codes, body.selector)
    return code if code is not None and body.device in asked_of(code) else None


def code_rows(variant: Variant | None, items: Iterable[Item]) -> tuple[Row, ...]:
    """One row for each position that was begun.

    Parameters
    ----------
    variant : with its table of selector codes
    items : what counts of the session; other entries are passed over

    Returns
    -------
    tuple of Row, in the order of the table
        Fail names each switch that stands otherwise and what else it could be; a switch that was read both
        open and closed is *Can't tell*; a position with switches still to be read is *Not taken*.

    Source
    ------
    Common practice, no source.
    """
    if variant is None or not variant.selector_codes:
        return ()
    table = variant.selector_codes
    found: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        code = code_of(variant, item.body)
        if code is not None:
            found[code.position].append(item)
    reads = [_read(code, found[code.position]) for code in table if code.position in found]
    stuck = _stuck(reads)
    return tuple(_row(read, table, stuck) for read in reads)


def _read(code: CodeRow, items: Sequence[Item]) -> _Read:
    states: dict[str, set[SwitchState]] = defaultdict(set)
    for item in items:
        if isinstance(item.body, SwitchTest):
            states[item.body.device].add(item.body.state)
    return _Read(code, {name: frozenset(found) for name, found in states.items()}, tuple(items))


def _stuck(reads: Sequence[_Read]) -> dict[str, str]:
    """Switches that never change though the table asks them to, each with what is said of it."""
    said = {}
    for name in dict.fromkeys(name for read in reads for name in read.wrong):
        own = [read for read in reads if name in read.states]
        states = {state for read in own for state in read.states[name]}
        if len(own) >= _FEWEST_TO_BE_STUCK and len(states) == 1:
            (state,) = states
            said[name] = (
                f"{name} reads {state.value} in every position it was read in ({len(own)}): {_STUCK_TEXT[state]}."
            )
    return said


def _row(read: _Read, table: Sequence[CodeRow], stuck: Mapping[str, str]) -> Row:
    verdict, reasons = _verdict(read)
    others = [code.position for code in table if code is not read.code and read.gives(code)]
    reasons += [stuck[name] for name in read.wrong if name in stuck]
    if verdict is Verdict.FAIL and others:
        reasons.append(f"What was read is the code of {_either(others)}.")
    position = read.code.position
    return Row(
        entries=tuple(item.n for item in read.items),
        key=code_key(position),
        what=f"{CODE_KIND} {position}",
        kind=CODE_KIND,
        verdict=verdict,
        reasons=tuple(reasons),
        next_steps=_next_steps(read, verdict, others),
        is_corrected=any(item.is_corrected for item in read.items),
    )


def _verdict(read: _Read) -> tuple[Verdict, list[str]]:
    position = read.code.position
    left = [f"Still to be read in {position}: {', '.join(read.lacking)}."] if read.lacking else []
    if read.wrong:
        wrong = "; ".join(f"{name} is {_found(read, name)}, it should be {_stated(read, name)}" for name in read.wrong)
        return Verdict.FAIL, [f"Fail: in {position} {wrong}.", *left]
    if read.torn:
        names = ", ".join(read.torn)
        return Verdict.CANT_TELL, [f"Can't tell: in {position} {names} was read open and closed.", *left]
    if read.lacking:
        return Verdict.NOT_TAKEN, [f"Not taken in full: still to be read in {position}: {', '.join(read.lacking)}."]
    code = ", ".join(f"{name} {_stated(read, name)}" for name in asked_of(read.code))
    return Verdict.PASS, [f"Pass: the code of {position}: {code}."]


def _found(read: _Read, name: str) -> str:
    state = read.sure(name)
    return state.value if state is not None else "not read"


def _stated(read: _Read, name: str) -> str:
    return read.code.switches[name].value


def _next_steps(read: _Read, verdict: Verdict, others: Sequence[str]) -> tuple[str, ...]:
    position = read.code.position
    if verdict is Verdict.FAIL and others:
        return (f"Adjust or check the lever before blaming {' or '.join(read.wrong)}, then read {position} again.",)
    if verdict is Verdict.FAIL:
        return (f"Check that the lever stands in {position}, and the plug and wire of {' and '.join(read.wrong)}.",)
    if verdict is Verdict.CANT_TELL:
        return ("Read it again without touching the lever, and take back the entry that was a slip.",)
    return ()


def _either(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
