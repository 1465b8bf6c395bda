"""Two bodies compared, put in order and into words.  A difference is no verdict."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Final, NamedTuple

from valvebench.diagnose.compare import Detail, details, shared_variant
from valvebench.diagnose.compare_air import only_in
from valvebench.diagnose.compared import Compared, Side
from valvebench.judge.rows import taken_readings
from valvebench.model.format import OHM, ohm_text, plus_minus, value_text
from valvebench.model.variant import Variant
from valvebench.model.words import VERDICT_TEXT, AccessPoint, Verdict, with_access

ANSWER_TEXT: Final = {True: "different", False: "no difference shown", None: "can't tell"}
NO_COMMON_PAIR: Final = "No pair and no port was read on both bodies: there is nothing to compare."
SAME_PLACES: Final = "Names of pins must mean the same on both bodies."
_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_MOST_NAMED: Final = 2
_RESISTANCE: Final = "ohm"
_ACCESS: Final = frozenset(with_access("", at).strip() for at in AccessPoint)
_HEARD: Final = {verdict.value: VERDICT_TEXT[verdict] for verdict in Verdict}


class Comparison(NamedTuple):
    """Lines, the clearest difference first; pairs read on one body only; what does not cancel, and why."""

    details: tuple[Detail, ...]
    only_a: tuple[str, ...]
    only_b: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def rows(self) -> tuple[Compared, ...]:
        """The lines without what they rest on."""
        return tuple(detail.compared for detail in self.details)

    @property
    def sentence(self) -> str:
        """What differs, as one sentence."""
        return sentence_of(self.rows)


def comparison(a: Side, b: Side) -> Comparison:
    """Compare two sessions and put the clearest difference first.

    Returns
    -------
    Comparison; differences are a - b.

    Source
    ------
    As `compare`; the order is by difference over expanded uncertainty.
    """
    found = sorted(details(a, b), key=lambda detail: clearness(detail.compared))
    only_a, only_b = _only(a, b), _only(b, a)
    return Comparison(tuple(found), only_a, only_b, (*_variant_notes(a, b), *_reasons(found)))


def clearness(row: Compared) -> tuple[int, float]:
    """Different first, the clearest before the others; then what cannot be told, then the rest."""
    place = {True: 0, None: 1, False: 2}[row.significant]
    return place, -ratio_of(row)


def ratio_of(row: Compared) -> float:
    """How many expanded uncertainties a difference is; infinite for a difference without a number."""
    if row.difference is None or row.u_difference is None or row.k is None:
        return math.inf if row.significant else 0.0
    reach = row.k * row.u_difference
    if reach > 0:
        return abs(row.difference) / reach
    return math.inf if row.significant else 0.0


def _only(side: Side, other: Side) -> tuple[str, ...]:
    """What was read on one body only, in the order it was read."""
    theirs = {(one.reading.pair, one.reading.at) for one in taken_readings(other.session, other.variant)}
    own = [
        with_access(f"{one.reading.from_node}\u2013{one.reading.to_node}", one.reading.at)
        for one in taken_readings(side.session, side.variant)
        if (one.reading.pair, one.reading.at) not in theirs
    ]
    return tuple(dict.fromkeys([*own, *only_in(side, other)]))


def _variant_notes(a: Side, b: Side) -> tuple[str, ...]:
    one, other = a.variant, b.variant
    if one is None and other is None:
        return (f"Neither session has a variant; pairs are matched by the names of their pins. {SAME_PLACES}",)
    if one is None or other is None:
        return (_half_known(shared_variant(a, b)),)
    if one.key != other.key:
        titles = f"{one.title} and {other.title}"
        return (f"Two variants ({titles}); pairs are matched by the names of their pins. {SAME_PLACES}",)
    return ()


def _half_known(variant: Variant | None) -> str:
    title = variant.title if variant is not None else ""
    return f"Only one session has a variant ({title}); it names the pairs of both. {SAME_PLACES}"


def _reasons(found: Sequence[Detail]) -> tuple[str, ...]:
    """Each reason once, with how many lines it holds for."""
    if not found:
        return (NO_COMMON_PAIR,)
    rows = [detail.compared for detail in found]
    counted = Counter(row.why for row in rows if row.difference is not None or row.significant is None)
    return tuple(f"{_count(number, 'line', 'lines')}: {why}" for why, number in counted.items())


def _count(number: int, one: str, more: str) -> str:
    return f"{number} {one if number == 1 else more}"


def sentence_of(rows: Sequence[Compared]) -> str:
    """What differs and by how much, how many others show no difference, how many cannot be told."""
    if not rows:
        return "Nothing was read on both bodies"
    different = sorted((row for row in rows if row.significant), key=clearness)
    alike = sum(row.significant is False for row in rows)
    unclear = sum(row.significant is None for row in rows)
    parts = [_differ(different), _rest(alike, "shows no difference", "show no difference", has_more=bool(different))]
    parts.append(_rest(unclear, "can't be told", "can't be told", has_more=bool(different or alike)))
    return _capital("; ".join(part for part in parts if part))


def _differ(rows: Sequence[Compared]) -> str:
    if not rows:
        return ""
    if len(rows) > _MOST_NAMED:
        names = ", ".join(_name(row) for row in rows[:_MOST_NAMED])
        return (
            f"{names} and {len(rows) - _MOST_NAMED} more differ, {_name(rows[0])} most clearly: {by_how_much(rows[0])}"
        )
    if len(rows) == 1:
        return f"{_name(rows[0])} differs: {by_how_much(rows[0])}"
    return f"{_name(rows[0])} and {_name(rows[1])} differ, {_name(rows[0])} more clearly: {by_how_much(rows[0])}"


def _name(row: Compared) -> str:
    """A device by its name, a pair by its pins."""
    place, _, name = row.what.partition(" ")
    is_named = "\u2013" in place and name and name not in _ACCESS
    return name if is_named else row.what


def by_how_much(row: Compared) -> str:
    """A difference in words; where there is no number, both states."""
    if row.difference is None or row.u_difference is None or row.k is None:
        return f"{state_text(row.a, row.unit)} here, {state_text(row.b, row.unit)} on the other body"
    words = amount_text(row, abs(row.difference), row.k * row.u_difference)
    return f"{words} {'higher' if row.difference > 0 else 'lower'} than in the other body"


def amount_text(row: Compared, value: float, expanded: float) -> str:
    """A number of a line with its expanded uncertainty, in the unit of the line."""
    if row.unit == _RESISTANCE:
        return value_text(value, expanded)
    return plus_minus(value, expanded, unit=row.unit)


def state_text(state: float | str | None, unit: str = _RESISTANCE) -> str:
    """One value of a line in words: a number, an open circuit, a verdict by ear; none that was not told."""
    if state is None:
        return "no number"
    if isinstance(state, float):
        return ohm_text(state) if unit == _RESISTANCE else f"{state:.4g} {unit}"
    words = _HEARD.get(state or "", state or "")
    return f"{words}{OHM}" if words.startswith(">") else words


def _rest(number: int, one: str, more: str, *, has_more: bool) -> str:
    if not number:
        return ""
    words = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    noun = ("other" if number == 1 else "others") if has_more else ("line" if number == 1 else "lines")
    return f"{words} {noun} {one if number == 1 else more}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
