"""What every run of a logger's file says, and like devices beside each other; arrays come in only when asked for."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from valvebench.bench.heat_find import TakenWith, find_of
from valvebench.bench.heat_log import Stopped
from valvebench.model.errors import BadInput
from valvebench.model.heat import HeatFound
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.meter import parse_meter

if TYPE_CHECKING:
    from valvebench.bench.heat_log import HeatLog, Step
    from valvebench.diagnose.heat_data import HeatRun
    from valvebench.diagnose.heat_matched import Ratio


class Said(NamedTuple):
    """What the run of one column says, or why nothing can be said."""

    found: HeatFound | None
    problem: str = ""


def said_of(log: HeatLog, taken: TakenWith, k_celsius: Mapping[str, float]) -> dict[str, Said]:
    """Compare the run of every column with the conductor it is wound of (copper where none is named) [degC]."""
    return {column: _said(run, taken, k_celsius.get(column, COPPER_K_CELSIUS)) for column, run in log.runs.items()}


def _said(run: HeatRun, taken: TakenWith, k_celsius: float) -> Said:
    try:
        return Said(find_of(run, taken, k_celsius))
    except BadInput as error:
        return Said(None, " ".join(problem.text() for problem in error.problems))


def ratios_of(runs: Mapping[str, HeatRun], meter: str | None = None, step: Step | None = None) -> tuple[Ratio, ...]:
    """Every pair of like devices that were read at the same moments (raises Stopped where `step` says so)."""
    from valvebench.diagnose.heat_matched import ratio_of

    given = parse_meter(meter) if meter else None
    ratios = []
    for count, ((a, of_a), (b, of_b)) in enumerate(itertools.combinations(runs.items(), 2)):
        if step is not None and not step(count):
            raise Stopped("Nobody waits for the comparison any more.")
        ratios.append(ratio_of(a, b, (of_a, of_b), given))
    return tuple(ratio for ratio in ratios if ratio is not None)
