"""Sweeps of solenoids -> judged rows."""

from __future__ import annotations

from typing import Final

from valvebench.judge.row import Row
from valvebench.judge.sweep import judge_sweep
from valvebench.model.air_tests import SweepTest
from valvebench.model.session import Item
from valvebench.model.variant import Solenoid, Variant
from valvebench.model.words import Rule

SWEEP_KEY: Final = "sweep "
"""Begins the key of every sweep of a solenoid."""
SWEEP_KIND: Final = "sweep"
SWEEP_WORDS: Final = ", sweep"
"""Ends what a row is about."""


def sweep_row(variant: Variant | None, item: Item, rule: Rule | None) -> Row | None:
    """The row of a sweep; None for every other entry."""
    body = item.body
    if not isinstance(body, SweepTest):
        return None
    device = variant.device_named(body.device) if variant is not None else None
    coil = device if isinstance(device, Solenoid) else None
    judgement = judge_sweep(body.found, coil.max_hysteresis_pct if coil is not None else None, rule=rule or Rule.PROVED)
    source = coil.source if coil is not None else None
    return Row(
        entries=(item.n,),
        key=f"{SWEEP_KEY}{body.device}",
        what=f"{body.device}{SWEEP_WORDS}",
        kind=SWEEP_KIND,
        verdict=judgement.verdict,
        sweep=judgement,
        limit_source=source.text if source is not None and judgement.max_hysteresis_pct is not None else None,
        reasons=judgement.reasons,
        is_corrected=item.is_corrected,
    )
