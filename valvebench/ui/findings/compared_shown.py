"""What the card of two bodies shows, as plain frozen facts and as text.  No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from valvebench.diagnose.compared import Compared
from valvebench.diagnose.comparison import ANSWER_TEXT, Comparison, amount_text, state_text
from valvebench.model.format import MINUS, decimals_for, ohm_text
from valvebench.model.session import Session
from valvebench.ui.widgets.whisker_rows import Whisker

MOST_CHARTED: Final = 16
WIDEST_PERCENT: Final = 25.0
"""Beyond it a line stands at the edge, so that the others can still be told apart."""
AT_20: Final = "Copper is compared at 20 \u00b0C. A difference is no verdict: limits decide, or what the job needs."
_MOST_DECIMALS: Final = 4


@dataclass(frozen=True, kw_only=True)
class ComparedRow:
    """One line of the table."""

    what: str
    here: str
    there: str
    difference: str
    answer: str
    why: str


@dataclass(frozen=True, kw_only=True)
class ComparedShown:
    """The whole card: sentence, lines of chart and table, what does not cancel, what only one body has."""

    other: str
    sentence: str
    rows: tuple[ComparedRow, ...]
    whiskers: tuple[Whisker, ...]
    widest_percent: float | None
    left_out: str
    notes: tuple[str, ...]

    def text(self, job: str) -> str:
        """Everything as plain lines, to be pasted elsewhere."""
        lines = [f"Job {job} compared with {self.other}", f"{self.sentence}."]
        lines += [f"{row.what}\t{row.here}\t{row.there}\t{row.difference}\t{row.answer}" for row in self.rows]
        return "\n".join([*lines, *self.notes])


def session_name(session: Session) -> str:
    """A session as a person calls it."""
    serial = f", serial {session.job.serial}" if session.job.serial else ""
    return f"job {session.job.job}{serial}"


def compared_shown(found: Comparison, other: Session) -> ComparedShown:
    """The card of a comparison."""
    numbers = [row for row in found.rows if _percent(row) is not None]
    charted = tuple(_whisker(row) for row in numbers[:MOST_CHARTED])
    left = len(numbers) - len(charted)
    return ComparedShown(
        other=session_name(other),
        sentence=found.sentence,
        rows=tuple(_row(row) for row in found.rows),
        whiskers=charted,
        widest_percent=_widest(charted),
        left_out=f"The chart holds the {MOST_CHARTED} clearest; {left} more are in the table." if left > 0 else "",
        notes=(*_only(found), *found.notes, AT_20),
    )


def _only(found: Comparison) -> tuple[str, ...]:
    sides = ((found.only_a, "this body"), (found.only_b, "the other body"))
    return tuple(f"Read on {words} only: {', '.join(pairs)}." for pairs, words in sides if pairs)


def _row(row: Compared) -> ComparedRow:
    return ComparedRow(
        what=row.what,
        here=_value(row, row.a),
        there=_value(row, row.b),
        difference=_difference(row),
        answer=ANSWER_TEXT[row.significant],
        why=row.why,
    )


def _value(row: Compared, value: float | str | None) -> str:
    if not isinstance(value, float):
        return state_text(value)
    if row.unit != "ohm" or row.k is None or row.u_difference is None:
        return state_text(value, row.unit)
    return ohm_text(value, decimals=min(_MOST_DECIMALS, decimals_for(row.k * row.u_difference)))


def _difference(row: Compared) -> str:
    if row.difference is None:
        return ""
    if row.k is None or row.u_difference is None:
        return "no doubt known"
    words = amount_text(row, row.difference, row.k * row.u_difference)
    return words if words.startswith(MINUS) or row.difference <= 0 else f"+{words}"


def _percent(row: Compared) -> tuple[float, float] | None:
    """Difference and its reach in percent of the other body's value."""
    if row.difference is None or row.k is None or row.u_difference is None:
        return None
    if not isinstance(row.b, float) or row.b == 0.0:
        return None
    return 100.0 * row.difference / abs(row.b), 100.0 * row.k * row.u_difference / abs(row.b)


def _whisker(row: Compared) -> Whisker:
    value, reach = _percent(row) or (0.0, 0.0)
    return Whisker(
        name=row.what,
        value=value,
        reach=reach,
        words=_difference(row),
        answer=ANSWER_TEXT[row.significant],
        stands_out=row.significant is True,
    )


def _widest(rows: tuple[Whisker, ...]) -> float | None:
    """The farthest end among the lines that a ruler can hold together; None where it holds all."""
    ends = [abs(row.value) + row.reach for row in rows]
    near = [end for end in ends if end <= WIDEST_PERCENT]
    return None if len(near) == len(ends) else max(near, default=WIDEST_PERCENT)
