"""How likely each fault is before anything was read: data, read at the edge and handed in."""

from __future__ import annotations

import json
import math
from enum import Enum
from typing import Annotated, Final, Literal, dataclass_transform

import msgspec

from valvebench.model.errors import BadInput, Problem
from valvebench.model.strict_json import loads
from valvebench.model.validate import build

Share = Annotated[float, msgspec.Meta(ge=0, le=1)]
Above = Annotated[float, msgspec.Meta(gt=0)]
Why = Annotated[str, msgspec.Meta(min_length=10)]
_SUM_TOLERANCE: Final = 1e-9


class Fault(Enum):
    """What can be wrong with a part, or with the way it was read."""

    HEALTHY = "healthy"
    DEVICE_OPEN = "device_open"
    DEVICE_SHORT = "device_short"
    VALUE_LOW = "value_low"
    VALUE_HIGH = "value_high"
    TERMINAL_OPEN = "terminal_open"
    TERMINAL_RESISTIVE = "terminal_resistive"
    LEAK = "leak"
    LEADS = "leads"
    TEMPERATURE = "temperature"
    SWAP = "swap"
    MIRRORED = "mirrored"
    OTHER_VARIANT = "other_variant"
    ONE_BAD_READING = "one_bad_reading"


@dataclass_transform(frozen_default=True, kw_only_default=True)  # heirs of a frozen Struct are frozen
class Assumed(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Base of everything assumed: each number stands beside its reason."""


class FaultPrior(Assumed, kw_only=True):
    """Share of a kind of fault, all its places together."""

    p: Share
    why: Why


class Number(Assumed, kw_only=True):
    """One number; its unit stands in its name."""

    value: Above
    why: Why


class Decades(Assumed, kw_only=True):
    """Sizes evenly over the logarithm, `step_ln` apart [ohm]."""

    low: Above
    high: Above
    step_ln: Above
    why: Why


class Steps(Assumed, kw_only=True):
    """Sizes one by one, each as wide (one standard deviation) as `width` of itself."""

    steps: Annotated[tuple[float, ...], msgspec.Meta(min_length=1)]
    width: Above
    why: Why


class Scales(Assumed, kw_only=True):
    """Factors on the assumed spread, and how likely each is."""

    steps: tuple[Above, ...]
    weights: tuple[Share, ...]
    why: Why


class Sizes(Assumed, kw_only=True):
    """How large a fault can be."""

    leak_ohm: Decades
    terminal_ohm: Decades
    closed_ohm: Decades
    value_ln: Steps
    leads_ohm: Steps
    temperature_kelvin: Steps


class ReadingPriors(Assumed, kw_only=True):
    """What a reading is like beyond what its meter states."""

    wild: Number
    wild_open: Number
    contact_ohm: Number
    lead_rest_ohm: Number
    gain_common_below_ohm: Number
    range_share: Number
    open_above_ohm: Number
    damp_body: Number
    damp_wet: Number
    damp_dry: Number
    damp_from_ohm: Number


class PartPriors(Assumed, kw_only=True):
    """What a sound part is like beyond what its variant states."""

    band_over_sd: Number
    lot_share: Number
    own_share: Number
    unknown_ln: Number
    link_part: Number
    link_ln: Number
    contact_ohm: Number
    harness_ohm: Number
    harness_sd_ohm: Number
    spread_scales: Scales


class ClassPriors(Assumed, kw_only=True):
    """When two faults count as one answer."""

    alike: Number
    invisible: Number


class HeatRow(Assumed, kw_only=True):
    """What a heat run finds of a circuit that really is so, as shares; `clear` beyond some of its own doubts."""

    copper: Share
    fixed_series_faint: Share
    fixed_series_clear: Share
    grows_with_heat_faint: Share
    grows_with_heat_clear: Share
    step_faint: Share
    step_clear: Share
    open: Share
    why: Why

    def shares(self) -> tuple[float, ...]:
        """All of them."""
        fixed, grows = (
            (self.fixed_series_faint, self.fixed_series_clear),
            (self.grows_with_heat_faint, self.grows_with_heat_clear),
        )
        return (self.copper, *fixed, *grows, self.step_faint, self.step_clear, self.open)


class HeatPriors(Assumed, kw_only=True):
    """How heat runs and matched sets count.

    A row for each truth; how many standard uncertainties make a result clear, and a part show; the most a slope may
    be unsure by; the share of a kind of fault that shows only when hot; how often one of a set parts when it grows, and
    by chance; below which share a result counts as called false.
    """

    copper: HeatRow
    fixed: HeatRow
    grows: HeatRow
    opens: HeatRow
    clear: Number
    shows: Number
    widest_slope: Number
    hot_share: Number
    parts_if_grows: Number
    parts_by_chance: Number
    false_alarm: Number

    def rows(self) -> dict[str, HeatRow]:
        """The rows by name."""
        return {"copper": self.copper, "fixed": self.fixed, "grows": self.grows, "opens": self.opens}


class Seconds(Assumed, kw_only=True):
    """What asking costs a person [s]."""

    pair: Above
    repeat: Above
    lead_short: Above
    meter_check: Above
    warm: Above
    vehicle_plug: Above
    device_terminals: Above
    why: Why


class NextPriors(Assumed, kw_only=True):
    """What is worth asking."""

    least_bits: Number
    seconds: Seconds
    warm_celsius: Number


class Priors(Assumed, kw_only=True):
    """The whole file `resources/priors.json`."""

    format: Literal[1]
    note: str
    faults: dict[str, FaultPrior]
    neighbour_weight: Number
    leak_between_share: Number
    sizes: Sizes
    reading: ReadingPriors
    part: PartPriors
    classes: ClassPriors
    heat: HeatPriors
    next: NextPriors

    def of(self, fault: Fault) -> float:
        """Share of a kind of fault."""
        return self.faults[fault.value].p


def read_priors(raw: bytes, *, source: str) -> Priors:
    """The priors of a file; all its problems at once (raises BadInput)."""
    found, findings = build(loads(raw, source=source), Priors)
    problems = [finding.problem for finding in findings]
    if isinstance(found, Priors) and not problems:
        problems = _wrong_sums(found)
    if problems or not isinstance(found, Priors):
        raise BadInput(problems, source=source)
    return found


def schema_text() -> str:
    """The JSON Schema of the file, for `resources/schema`."""
    from valvebench.model.schema import file_schema

    return json.dumps(file_schema("valvebench priors file", Priors), indent=1, ensure_ascii=False) + "\n"


def _wrong_sums(priors: Priors) -> list[Problem]:
    problems = []
    known = {fault.value for fault in Fault} - {Fault.ONE_BAD_READING.value}
    if set(priors.faults) != known:
        found = ", ".join(sorted(set(priors.faults) ^ known))
        problems.append(Problem(where="faults", found=f"too many or missing: {found}", expected="each fault once"))
    sums = {"faults": [prior.p for prior in priors.faults.values()]}
    scales = priors.part.spread_scales
    sums["part.spread_scales.weights"] = list(scales.weights)
    sums |= {f"heat.{name}": list(row.shares()) for name, row in priors.heat.rows().items()}
    for where, shares in sums.items():
        if abs(math.fsum(shares) - 1.0) > _SUM_TOLERANCE:
            problems.append(Problem(where=where, found=f"a sum of {math.fsum(shares):g}", expected="a sum of 1"))
    if len(scales.steps) != len(scales.weights):
        found = f"{len(scales.weights)} weights for {len(scales.steps)} steps"
        problems.append(Problem(where="part.spread_scales", found=found, expected="a weight for each step"))
    return problems
