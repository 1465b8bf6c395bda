"""The band a value is held against."""

from __future__ import annotations

from typing import Final

import msgspec

COPPER_K_CELSIUS: Final = 234.5
"""Copper conductor constant: IEC 60028 alpha20 = 0.00393 /K gives 234.45, rounded to 234.5."""
ASSUMED_REF_CELSIUS: Final = 20.0
"""Assumed where a manual states no reference temperature: common practice, no source."""
ASSUMED_REF_HALF_WIDTH_CELSIUS: Final = 5.0
"""Added for that assumption: common practice, no source."""


class Limits(msgspec.Struct, frozen=True, kw_only=True):
    """Lowest and highest value [ohm], and how they move with coil temperature.

    With `k_celsius` they hold at `ref_celsius` and follow the conductor law; without it they
    hold at the coil temperature itself, where the value changes by `slope_per_celsius` of
    itself for each kelvin.
    """

    low_ohm: float | None = None
    high_ohm: float | None = None
    ref_celsius: float = ASSUMED_REF_CELSIUS
    is_ref_stated: bool = True
    k_celsius: float | None = COPPER_K_CELSIUS
    slope_per_celsius: float = 0.0
    source: str = ""
    note: str = ""

    @property
    def is_stated(self) -> bool:
        """Whether there is anything to hold a value against."""
        return self.low_ohm is not None or self.high_ohm is not None


NO_LIMITS: Final = Limits()
