"""A file -> the numbers of the one column that was asked for by its heading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from valvebench.bench.column_log import ColumnLog
from valvebench.capture.faults import Faults
from valvebench.capture.named import Named, table_of


def column_log(raw: bytes, *, source: str, column: str) -> ColumnLog:
    """The numbers below a heading; a cell that is none is a fault with its line (raises BadInput)."""
    wanted = _folded(column)

    def choose(heading: str) -> Named | None:
        return Named("value", "number") if heading == wanted else None

    table = table_of(raw, source=source, choose=choose, check=_nothing_more, expected=f"a column {column}", key=_folded)
    return ColumnLog(table.numbers["value"], tuple(table.lines), table.told["value"])


def _folded(heading: str) -> str:
    """Headings are the same whatever their blanks and capitals."""
    return " ".join(heading.split()).casefold()


def _nothing_more(told: Mapping[str, str], cells: Sequence[str], faults: Faults) -> None:
    """One column is all that is needed."""
