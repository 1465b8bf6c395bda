"""Like devices of one heat run compared at the same moments: that needs no thermal model."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, NamedTuple

from valvebench.model.format import decimals_for
from valvebench.model.meter import Meter, parse_meter
from valvebench.report.cells import Sheet
from valvebench.report.heat_cases import HeatCase, Logs
from valvebench.report.look import SECTION, TEXT, VERDICT, WRAPPED, decimals
from valvebench.report.tables import write_heads

if TYPE_CHECKING:  # arrays would make the room slow to open
    from valvebench.diagnose.heat_data import HeatRun
    from valvebench.diagnose.heat_matched import Ratio

TITLE: Final = "Like devices at the same moments"
RATIO_COLUMNS: Final = ("Device", "To", "Does the ratio stay?", "In words", "Read from", "Ratio", "U")
_K: Final = 2.0
CONSTANT_TEXT: Final = MappingProxyType({True: "it stays", False: "it changes", None: "can't tell"})
_WORDS: Final = MappingProxyType(
    {
        True: "They move alike as they warm: if one is copper, so is the other.",
        False: "They do not move alike: one of them holds more than copper.",
        None: "Whether they move alike cannot be told from these readings.",
    }
)


class Compared(NamedTuple):
    """Two devices, their ratio, and what both were read from."""

    ratio: Ratio
    source: str


def ratios_of(cases: Sequence[HeatCase], logs: Logs) -> tuple[Compared, ...]:
    """Each two devices of one log, or of one session's rounds with the same meter, that are like."""
    groups: dict[tuple[str, str], list[HeatCase]] = {}
    for case in cases:
        groups.setdefault(_together(case), []).append(case)
    return tuple(found for (source, _), own in groups.items() for found in _of_group(source, own, logs))


def _together(case: HeatCase) -> tuple[str, str]:
    """What devices share that can be compared: the words for it, and what tells one group from the next."""
    if case.log is not None:
        return case.log.file_name, f"{case.log.sha256} {case.log.meter}"
    return "the rounds of this session", f"{case.row.at} {case.found.meter}"


def _of_group(source: str, cases: Sequence[HeatCase], logs: Logs) -> Iterable[Compared]:
    from valvebench.diagnose.heat_matched import ratio_of

    for a, b in itertools.combinations(cases, 2):
        runs = _runs(a, b, logs)
        ratio = ratio_of(a.device, b.device, runs, _meter(a)) if runs is not None and a.device != b.device else None
        if ratio is not None:
            yield Compared(ratio, source)


def _meter(case: HeatCase) -> Meter | None:
    return None if case.found.meter_is_assumed else parse_meter(case.found.meter)


def _runs(a: HeatCase, b: HeatCase, logs: Logs) -> tuple[HeatRun, HeatRun] | None:
    """Both runs side by side; of rounds those that both were read in."""
    if a.rounds is None or b.rounds is None:
        of_a, of_b = (logs.get(case.row.entries[0]) for case in (a, b))
        return (of_a, of_b) if of_a is not None and of_b is not None else None
    both = [number for number in dict.fromkeys(a.rounds.rounds) if number in set(b.rounds.rounds)]
    return _in_rounds(a, both), _in_rounds(b, both)


def _in_rounds(case: HeatCase, numbers: Sequence[int]) -> HeatRun:
    import numpy as np

    from valvebench.diagnose.heat_data import HeatRun

    rounds = case.rounds
    if rounds is None:
        raise TypeError("only a run of rounds has rounds")
    at = [rounds.rounds.index(number) for number in numbers]
    return HeatRun(np.array([rounds.celsius[i] for i in at]), np.array([rounds.ohm[i] for i in at]))


def write_ratios(sheet: Sheet, row: int, compared: Sequence[Compared]) -> int:
    """The table of ratios; the last row it took, nothing where there are none."""
    if not compared:
        return row - 1
    sheet.text(row, 1, TITLE, SECTION)
    write_heads(sheet, row + 1, RATIO_COLUMNS)
    for number, one in enumerate(compared, start=row + 2):
        ratio = one.ratio
        look = decimals(decimals_for(_K * ratio.ratio.u))
        sheet.text(number, 1, ratio.a)
        sheet.text(number, 2, ratio.b)
        sheet.text(number, 3, CONSTANT_TEXT[ratio.constant], VERDICT._replace(align=""))
        sheet.text(number, 4, _WORDS[ratio.constant], WRAPPED)
        sheet.text(number, 5, one.source, TEXT)
        sheet.number(number, 6, ratio.ratio.value, look)
        sheet.number(number, 7, _K * ratio.ratio.u, look)
    return row + 1 + len(compared)
