"""Flex tests beside an explanation: a contact that comes and goes is told by itself, never weighed.

A reading at rest says nothing of a contact that was at rest: what a flex test proved stands beside
whatever explains the readings, so that neither is taken for the whole.
"""

from __future__ import annotations

from valvebench.diagnose.explained import FlexSaid
from valvebench.diagnose.flex_series import flex_of
from valvebench.judge.flex_rows import FLEX_KEY, flex_row, logged_flex_row
from valvebench.model.flex import FlexTest
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import Verdict


def flexed_faults(session: Session, variant: Variant) -> tuple[FlexSaid, ...]:
    """Each pair that opened or jumped while something was flexed, once for each thing flexed, in their order."""
    flexed = {item.n: item.body.flexed for item in session.items if isinstance(item.body, FlexTest)}
    typed = [flex_row(variant, find) for find in flex_of(session.items).values()]
    logged = [row for item in session.items if (row := logged_flex_row(variant, item)) is not None]
    said = [
        FlexSaid(row.key.removeprefix(FLEX_KEY), row.from_node, row.to_node, flexed[row.entries[0]])
        for row in sorted([*typed, *logged], key=lambda row: row.entries)
        if row.verdict is Verdict.FAIL and row.from_node is not None and row.to_node is not None
    ]
    return tuple(dict.fromkeys(said))
