"""A logger's file -> the readings of a flex test, or one message with everything that is wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from valvebench.bench.flex_log import FlexLog
from valvebench.capture.columns import Array
from valvebench.capture.faults import Faults
from valvebench.capture.headings import headings
from valvebench.capture.named import Named, Table, table_of
from valvebench.diagnose.flex import MOST_READINGS
from valvebench.model.errors import bad

_EXPECTED: Final = "a header with ohm or NAME_ohm, and t_s where there are times"
_WHICH: Final = "Say which with --column, or keep only one."


def flex_log(raw: bytes, *, source: str, column: str | None = None) -> FlexLog:
    """Read the readings of one pair (raises BadInput).

    Parameters
    ----------
    raw : text with a header line, or an .xlsx workbook whose first sheet has one
    source : name of the file, for messages
    column : heading or device of the column, where there are several

    Returns
    -------
    FlexLog
        Readings [ohm] and times [s] since the first line where they were a clock.
    """
    wanted = column.strip().casefold() if column is not None else None

    def choose(heading: str) -> Named | None:
        one = headings([heading])[0]
        if one.holds == "time":
            return Named("t_s", "time", one.scale)
        if one.holds == "ohm" and wanted in (None, one.device.casefold(), one.text.casefold()):
            return Named("ohm", "ohm", one.scale)
        return None

    table = table_of(raw, source=source, choose=choose, check=_has_readings, expected=_EXPECTED, key=str)
    ohm, t_s = table.numbers["ohm"], table.numbers.get("t_s")
    if ohm.size > MOST_READINGS:
        advice = "Keep the minutes in which it was flexed."
        raise bad("file", f"{ohm.size} readings", f"at most {MOST_READINGS}", advice, source=source)
    if t_s is not None:
        _refuse_times_that_stand_still(t_s, table, source)
    return FlexLog(ohm, t_s, table.told["ohm"], table.not_used)


def _refuse_times_that_stand_still(t_s: Array, table: Table, source: str) -> None:
    still = np.flatnonzero(np.diff(t_s) <= 0)
    if still.size:
        where = f"line {table.lines[int(still[0]) + 1]}, {table.told['t_s']}"
        advice = "Two series in one file? Keep them one by one."
        raise bad(where, "a time that does not grow", "times that grow", advice, source=source)


def _has_readings(told: Mapping[str, str], cells: Sequence[str], faults: Faults) -> None:
    if "ohm" not in told:
        faults.add("header", ", ".join(cells)[:80] or "nothing", _EXPECTED, _WHICH)
