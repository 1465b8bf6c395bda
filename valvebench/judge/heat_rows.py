"""What heat runs found -> judged rows: each run is a row of its own, and none hides another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.judge.device_limits import limits_of
from valvebench.judge.heat import HeatJudgement, judge_heat
from valvebench.judge.nets import has_path_beside
from valvebench.judge.row import Row
from valvebench.model.heat import HeatFound, HeatTest
from valvebench.model.limits import ASSUMED_REF_CELSIUS, NO_LIMITS, Limits
from valvebench.model.session import Item
from valvebench.model.variant import Solenoid, SpeedSensor, Variant
from valvebench.model.words import VERDICT_TEXT, Lean, Rule, Verdict

HEAT_KEY: Final = "heat "
"""Begins the key of every heat run: a cold reading of the same device is another item."""
HEAT_KIND: Final = "heat-run"
HEAT_WORDS: Final = ", heat run"
"""Ends what a row is about."""
_BESIDE: Final = (
    "Another path runs beside this device: what the run shows may be the other path's, so no limit is held against it."
)


class HeatFind(NamedTuple):
    """What one heat run says of a device, with the entries it came from and the place where it was read.

    `limits` and `rule` were given with the readings; they serve where nothing else is stated.
    """

    device: str
    entries: tuple[int, ...]
    found: HeatFound
    from_node: str | None = None
    to_node: str | None = None
    at: str | None = None
    limits: Limits = NO_LIMITS
    rule: Rule | None = None
    is_corrected: bool = False


HeatFinds = Mapping[str, Sequence[HeatFind]]
"""By the name of the device: one find for each place, meter and lead state it was read with."""
NO_FINDS: Final[HeatFinds] = MappingProxyType({})


def heat_key(device: str) -> str:
    """The key of a device's heat runs."""
    return f"{HEAT_KEY}{device}"


def run_row(variant: Variant | None, item: Item, rule: Rule | None) -> Row | None:
    """The row of a logger's run kept with the session; None for every other entry."""
    body = item.body
    if not isinstance(body, HeatTest):
        return None
    find = HeatFind(body.device, (item.n,), body.found, is_corrected=item.is_corrected)
    return find_row(variant, find, rule)


def find_row(variant: Variant | None, find: HeatFind, rule: Rule | None) -> Row:
    """The judged row of one heat run; a device the variant does not have is held against nothing."""
    coil = _coil(variant, find.device)
    limits = limits_of(coil, ASSUMED_REF_CELSIUS) if coil is not None else NO_LIMITS
    limits = limits if limits.is_stated else find.limits
    chosen = rule or find.rule or Rule.PROVED
    if has_other_path(variant, find.device):
        judgement = judge_beside(find.found, rule=chosen)
    else:
        judgement = judge_heat(find.found, limits, rule=chosen)
    reasons = judgement.reasons
    if variant is not None and coil is None:
        reasons = (*reasons, f"{find.device} is no winding of this variant: there is nothing to hold the run against.")
    return Row(
        entries=find.entries,
        key=heat_key(find.device),
        what=f"{find.device}{HEAT_WORDS}",
        kind=HEAT_KIND,
        verdict=judgement.verdict,
        from_node=find.from_node,
        to_node=find.to_node,
        at=find.at,
        celsius=find.found.hottest_celsius,
        heat=judgement,
        limit_source=judgement.limits.source or None,
        reasons=reasons,
        is_corrected=find.is_corrected,
    )


def _coil(variant: Variant | None, name: str) -> Solenoid | SpeedSensor | None:
    device = variant.device_named(name) if variant is not None else None
    return device if isinstance(device, Solenoid | SpeedSensor) else None


def has_other_path(variant: Variant | None, name: str) -> bool:
    """Whether current can pass beside a winding, so that its own pair shows more than it."""
    coil = _coil(variant, name)
    return variant is not None and coil is not None and has_path_beside(variant, coil)


def judge_beside(found: HeatFound, *, rule: Rule) -> HeatJudgement:
    """A run with another path beside its winding, without limits: a fault may be the other path's as well."""
    judged = judge_heat(found, NO_LIMITS, rule=rule)
    judged = judged._replace(reasons=(*judged.reasons, _BESIDE))
    if judged.verdict is not Verdict.FAIL:
        return judged
    words = judged.reasons[0].partition(": ")[2].removesuffix(", whatever the limits.")
    first = f"{VERDICT_TEXT[Verdict.CANT_TELL]}: {words}, here or in a path beside it."
    return judged._replace(verdict=Verdict.CANT_TELL, lean=Lean.OUTSIDE, reasons=(first, *judged.reasons[1:]))
