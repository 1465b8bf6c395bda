"""`valvebench compare A B`: two sessions pair by pair."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.cli.options import DONE, Parser, answer
from valvebench.cli.services import MakeServices
from valvebench.diagnose.compare import compare
from valvebench.diagnose.compared import Compared, Side
from valvebench.diagnose.comparison import ANSWER_TEXT, Comparison, amount_text, comparison, state_text


def run(words: Sequence[str], services: MakeServices) -> int:
    """Print what differs by more than the meter could make up."""
    parser = Parser("compare", "Compare two sessions pair by pair; no limits are needed.")
    parser.add_argument("a", type=Path, help="one session folder")
    parser.add_argument("b", type=Path, help="the other session folder")
    arguments = parser.read(words)
    views = [services().view_session(folder) for folder in (arguments.a, arguments.b)]
    sides = [Side(view.session, view.variant) for view in views]
    if arguments.json:
        answer(arguments.json, {"rows": [row._asdict() for row in compare(*sides)]}, "")
    else:
        answer(arguments.json, {}, _text(comparison(*sides)))
    return DONE


def _text(found: Comparison) -> str:
    lines = [f"{found.sentence}.", *(_line(row) for row in found.rows)]
    for only, words in ((found.only_a, "the first"), (found.only_b, "the second")):
        lines += [f"Read on {words} body only: {', '.join(only)}"] if only else []
    return "\n".join([*lines, *found.notes])


def _line(row: Compared) -> str:
    return f"  {row.what:<18} {_values(row):<44} {ANSWER_TEXT[row.significant]}"


def _values(row: Compared) -> str:
    if row.difference is None or row.u_difference is None or row.k is None:
        return f"{_one(row.a)} against {_one(row.b)}"
    by = amount_text(row, row.difference, row.k * row.u_difference)
    return f"{_one(row.a)} against {_one(row.b)}, by {by}"


def _one(value: float | str | None) -> str:
    return f"{value:.5g}" if isinstance(value, float) else state_text(value)
