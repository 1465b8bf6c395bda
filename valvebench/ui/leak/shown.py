"""What the leak page shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from valvebench.judge.decide import guard_width
from valvebench.judge.leak import LeakJudgement, lines_of
from valvebench.judge.leak_rows import is_of_method, leak_words
from valvebench.judge.row import Row
from valvebench.model.errors import BadInput
from valvebench.model.format import flow_text, plus_minus
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound, LeakLaw, LeakMethod
from valvebench.model.variant import Port, Solenoid
from valvebench.model.words import VERDICT_TEXT, Lean, Verdict
from valvebench.physics.uncertainty import combine
from valvebench.ui.leak.holes import Hole
from valvebench.ui.leak.readings import Asked
from valvebench.ui.leak.set_up import FIELDS, field_of
from valvebench.ui.ports.shown import SUPPLY_SAFETY

METHODS: Final = (LeakMethod.STEADY, LeakMethod.VACUUM, LeakMethod.DECAY)
METHOD_TEXT: Final = {
    LeakMethod.STEADY: "Two gauges",
    LeakMethod.VACUUM: "Vacuum",
    LeakMethod.DECAY: "Falling pressure",
}
HOW: Final = {
    LeakMethod.STEADY: "Supply, known restriction, port. Read both gauges when they stand still.",
    LeakMethod.VACUUM: "Same pump and hose throughout: first a blank, then a known hole, then the bore.",
    LeakMethod.DECAY: "",
}
HOW_AT_SEAT: Final = {
    LeakMethod.STEADY: "Supply, known restriction, seat; the port gauge stands before the seat. "
    "Read both when they stand still.",
    LeakMethod.VACUUM: "Same pump and hose throughout: first a blank, then a known hole, then the seat.",
    LeakMethod.DECAY: "",
}
YES_WORDS: Final = "+ says yes"
NOTHING_YET: Final = "The leak stands here as soon as there is a reading."
WORKING: Final = "working"
NONE_PROPOSED: Final = "No pressure is stated here: none is proposed. Stay at or under what the maker states."
_LEAN_TEXT: Final = {
    Lean.INSIDE: "It leans to a Pass.",
    Lean.OUTSIDE: "It leans to a Fail.",
    Lean.STRADDLES: "It leans to neither side.",
}
_LAW_TEXT: Final = {
    LeakLaw.ORIFICE: "It behaves like a hole.",
    LeakLaw.GAP: "It behaves like a long thin gap.",
    LeakLaw.CANT_TELL: "Hole or gap: the readings do not tell them apart.",
}
_OPTION: Final = re.compile(r"--[a-z][a-z-]+")
_PHRASES: Final = (
    ("give --zero-kpa or --test-kpa-gauge", "say what the gauge reads when vented"),  # as earlier entries keep it
    ("--restriction-mm or --restriction-c", "restriction"),
    ("use --method vacuum", "take the vacuum test"),
    ("--blank-kpa", "vacuum on the blank"),
    ("--known-kpa", "vacuum on the known hole"),
    ("t_s: ", "time: "),
)
_K: Final = 2.0
_MOST_LINES: Final = 7


@dataclass(frozen=True, kw_only=True)
class PortShown:
    """What is tested: what it is, its pressure, its limit, what was kept of it; `supply` where current must flow."""

    name: str
    about: str
    pressure: str
    limit: str
    kept: str = ""
    is_seat: bool = False
    supply: str = ""


@dataclass(frozen=True, kw_only=True)
class RulerShown:
    """Leak, its doubt and its limit on the ruler [ml/min]."""

    value: float
    expanded: float
    limit: float | None
    guard: float
    verdict: Verdict
    text: str


@dataclass(frozen=True, kw_only=True)
class ResultShown:
    """What the readings say so far."""

    verdict: Verdict | None = None
    headline: str = NOTHING_YET
    lines: tuple[str, ...] = ()
    ruler: RulerShown | None = None
    is_problem: bool = False
    about: str = ""


def plain_words(words: str) -> str:
    """A sentence of the command as somebody at the page reads it: fields in place of options."""
    for option, said in _PHRASES:
        words = words.replace(option, said)
    return _OPTION.sub(lambda found: _label(found[0]), words)


def _label(option: str) -> str:
    name = field_of(option)
    label = FIELDS[name].label if name else option.removeprefix("--").replace("-", " ")
    return label.split(",")[0].lower()


def refusal_words(error: Exception) -> str:
    """Everything that is wrong, one line each."""
    if not isinstance(error, BadInput):
        return str(error)
    return "\n".join(plain_words(problem.text()) for problem in error.problems[:_MOST_LINES])


def how_words(method: LeakMethod, hole: Hole | None) -> str:
    """How a method goes."""
    return (HOW_AT_SEAT if hole is not None and hole.is_seat else HOW)[method]


def supply_asked(solenoid: Solenoid) -> Asked:
    """Whether the supply of a solenoid is limited; short, for it stands in a row beside its key."""
    ampere = solenoid.max_ampere
    words = "Supply limited?" if ampere is None else f"Limited to {ampere:g} A?"
    return Asked(words=words, unit="", lead=YES_WORDS, is_confirmation=True)


def port_shown(hole: Hole, method: LeakMethod, *, limit_ml_min: float | None, kept: str = "") -> PortShown:
    """A port or seat as it is asked for with a method."""
    port = hole.port
    is_there = port.max_ml_min is not None and port.kpa_gauge is not None and is_of_method(port, method)
    there = " there" if is_there else ""
    limit = f"At most {limit_ml_min:g} ml/min{there}." if limit_ml_min is not None else "No limit is stated."
    return PortShown(
        name=port.name,
        about=hole.about,
        pressure=f"{hole.shut} {_pressure(port, method, 'seat' if hole.is_seat else 'port')}".lstrip(),
        limit=limit,
        kept=kept,
        is_seat=hole.is_seat,
        supply=_supply(hole.solenoid) if hole.is_fed and hole.solenoid is not None else "",
    )


def _supply(solenoid: Solenoid) -> str:
    """How a solenoid is fed whose seat current has to shut."""
    if solenoid.max_ampere is None:
        return f"{SUPPLY_SAFETY} No highest current is stated: none is proposed."
    return f"{SUPPLY_SAFETY} At most {solenoid.max_ampere:g} A, as the variant states."


def _pressure(port: Port, method: LeakMethod, what: str) -> str:
    if port.kpa_gauge is None or not is_of_method(port, method):
        return NONE_PROPOSED
    if method is LeakMethod.VACUUM:
        return f"The variant states {port.kpa_gauge:g} kPa below the air around."
    if method is LeakMethod.DECAY:
        return f"Fill to {port.kpa_gauge:g} kPa above the air around, as the variant states, and no further."
    return f"Raise the supply until the {what} stands at {port.kpa_gauge:g} kPa, as the variant states, and no further."


def kept_shown(row: Row) -> ResultShown:
    """A leak that was kept before; its entry is named."""
    return replace(result_shown(row), about=f"kept, entry {row.entries[0]}")


def result_shown(row: Row, *, look: str = "") -> ResultShown:
    """A judged leak; with `look`, which says when its verdict comes, without it."""
    judged = row.leak
    if judged is None:
        return ResultShown()
    found, value = judged.found, leak_words(judged.found, judged.U_ml_min)
    headline, *reasons = (plain_words(reason) for reason in row.reasons)
    verdict = None if look else row.verdict
    lean = judged.lean if row.verdict is Verdict.CANT_TELL and not look else None
    lines = [
        *([_LEAN_TEXT[lean]] if lean is not None else []),
        *_hole_words(found),
        *reasons,
        *(plain_words(one) for one in row.advice),
    ]
    return ResultShown(
        verdict=verdict,
        headline=f"So far {value or 'no number'}. {look}" if look else headline,
        lines=tuple(lines[:_MOST_LINES]),
        ruler=_ruler(judged, verdict, value),
    )


def _ruler(judged: LeakJudgement, verdict: Verdict | None, value: str) -> RulerShown | None:
    leak = judged.found.leak_ml_min
    if leak is None:
        return None
    guard = float(guard_width(combine(lines_of(judged.found.lines)), judged.rule)) if judged.found.lines else 0.0
    return RulerShown(
        value=leak.value,
        expanded=judged.U_ml_min,
        limit=judged.max_ml_min,
        guard=guard,
        verdict=verdict or Verdict.NOT_TAKEN,
        text=value,
    )


def _hole_words(found: LeakFound) -> list[str]:
    lines = []
    mean = found.mean_leak_ml_min
    if found.conductance_dm3_s_bar is not None and found.orifice_mm is not None:
        lines.append(
            f"Conductance {_pair(found.conductance_dm3_s_bar)} dm\u00b3/(s bar), as a round hole of "
            f"{_pair(found.orifice_mm)} mm."
        )
    if mean is not None:
        lines.append(f"On average {flow_text(mean.value, _K * mean.u)} over the run.")
    if found.leak_ml_min is not None:
        law = f" {_LAW_TEXT[found.law]}" if found.method is not LeakMethod.VACUUM else ""
        lines.append(f"Volumes at {found.ref_celsius:g} \u00b0C and {found.ref_kpa_abs:g} kPa.{law}")
    return lines


def _pair(one: Sized) -> str:
    return plus_minus(one.value, _K * one.u)


def kept_words(rows: Sequence[Row]) -> str:
    """What was kept at a port, the newest first."""
    told = [
        f"entry {row.entries[0]}, {leak_words(row.leak.found, row.leak.U_ml_min) or 'no number'}, "
        f"{VERDICT_TEXT[row.verdict]}"
        for row in reversed(rows)
        if row.leak is not None
    ]
    if not told:
        return ""
    more = f", and {len(told) - 1} before" if len(told) > 1 else ""
    return f"Kept here: {told[0]}{more}."
