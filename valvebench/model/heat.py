"""What a heat run says of one device, as it is kept and shown."""

from __future__ import annotations

from enum import Enum
from typing import Annotated, Literal, dataclass_transform

import msgspec

from valvebench.model.meter import parse_meter


@dataclass_transform(frozen_default=True, kw_only_default=True)  # heirs of a frozen Struct are frozen
class Kept(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """Base of every part of a result: frozen, unknown keys refused."""


class HeatKind(Enum):
    """How a resistance went with its temperature."""

    COPPER = "copper"
    FIXED_SERIES = "fixed_series"
    GROWS_WITH_HEAT = "grows_with_heat"
    NOT_SEPARABLE = "not_separable"


class Sized(Kept, kw_only=True):
    """A number with its standard uncertainty, in the unit its name says."""

    value: float
    u: float


class HeatEvent(Kept, kw_only=True):
    """Something that happened in a run: an opening or a step [s, degrees Celsius, ohm]."""

    kind: Literal["open", "step"]
    t_s: float | None = None
    probe_celsius: float
    coil_celsius: float
    heating: bool | None = None
    size_ohm: float | None = None


class HeatFound(Kept, kw_only=True):
    """Everything found in the run of one device; None is "there is none", never nought.

    `r20_ohm` is the copper alone, `at_20_ohm` everything a meter would read at 20 degrees Celsius.
    """

    n: int
    kind: HeatKind
    slope_over_copper: Sized
    r20_ohm: Sized
    at_20_ohm: Sized
    series_ohm: Sized | None = None
    grows_from_celsius: Sized | None = None
    excess_ohm_at_hottest: Sized | None = None
    coldest_celsius: float
    hottest_celsius: float
    lag_s: Sized | None = None
    residual_ohm: float
    separable: bool
    left_out: int = 0
    meter: str
    meter_is_assumed: bool = False
    k_celsius: float = 234.5
    events: tuple[HeatEvent, ...] = ()
    reasons: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()


class HeatTest(Kept, kw_only=True):
    """The run of one device from a logger's file kept beside the journal, with what was found in it.

    The find stands in the entry, so that the verdict needs neither the file nor today's program.
    """

    device: Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
    sha256: Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
    file_name: Annotated[str, msgspec.Meta(min_length=1, max_length=200)]
    size_bytes: int
    column: Annotated[str, msgspec.Meta(max_length=200)] | None = None
    is_settled: bool = False
    is_soaked: bool = False
    meter: Annotated[str, msgspec.Meta(max_length=200)] | None = None
    celsius_accuracy: Annotated[float, msgspec.Meta(gt=0, le=50)] = 2.0
    found: HeatFound
    note: Annotated[str, msgspec.Meta(max_length=10_000)] | None = None
    program: str = ""

    def __post_init__(self) -> None:
        """An accuracy that cannot be read is refused here, not when somebody asks for it."""
        if self.meter is not None:
            parse_meter(self.meter)
