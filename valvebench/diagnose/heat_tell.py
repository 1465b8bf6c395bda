"""Which kind a heat run is: copper, with a series part, with a part that grows, or not to be told."""

from __future__ import annotations

from typing import Final

from valvebench.diagnose.heat_fit import COPPER, OFFSET, Found, Problem, fit_from
from valvebench.diagnose.heat_growth import Growth, best_growth, fitted_anew, may_grow, ways_to_grow
from valvebench.diagnose.heat_part import Doubts, Part, lag_hides
from valvebench.model.heat import HeatKind

_SURE: Final = 2.6
"""Standard uncertainties a series part must stand off nought before it is called one."""
_SURE_GROWTH: Final = 2.3**2
"""Fall of the scaled sum of squares a growing part must bring; a healthy coil brings it in under 5 of 100 runs."""
_WORTH_A_SEARCH: Final = 4.0
_BETTER_THAN_SERIES: Final = 6.0
_BESIDE_SERIES: Final = 25.0
_ROUNDING: Final = 1e-9
"""Part of a resistance below which a residual is the arithmetic's own."""


def tell(free: Problem, series: Found, doubts: Doubts) -> Part:
    """Which of the kinds it is; asked in the order in which one excludes the next.

    Parameters
    ----------
    free : what is fitted, with an offset that nothing holds
    series : its fit
    doubts : what all samples share
    """
    hidden = lag_hides(free, series)
    if hidden is not None:
        return Part(HeatKind.NOT_SEPARABLE, series, None, hidden)
    growth = _growing(free, series, doubts)
    if growth is not None:
        return Part(HeatKind.GROWS_WITH_HEAT, series, growth, None)
    if series.value[OFFSET] > _SURE * doubts.of_offset(series):
        return Part(HeatKind.FIXED_SERIES, series, None, None)
    return Part(HeatKind.COPPER, series, None, None)


def _offset_weight(found: Found, doubts: Doubts) -> float:
    return found.variance / doubts.common_offset(found) ** 2


def _growing(free: Problem, series: Found, doubts: Doubts) -> Growth | None:
    """A growing part, or None; where a series part stands beside it, both are free."""
    held = free._replace(offset_weight=_offset_weight(series, doubts))
    copper = fit_from(held, series.value, None)
    if not may_grow(held, copper, least=_WORTH_A_SEARCH):
        return None
    ways = ways_to_grow(held, copper)
    # a growing part that is left out looks like noise: the offset is held by the noise without it
    held = free._replace(offset_weight=_offset_weight(ways.better, doubts))
    copper, ways = fit_from(held, copper.value, None), fitted_anew(held, ways)
    if not _grows(copper, series, ways.better, doubts):
        return None
    beside = fitted_anew(free, ways)
    both = beside.better
    if series.value[OFFSET] > 0 and series.square - both.square < _BESIDE_SERIES * both.variance:
        return None
    has_series = both.value[OFFSET] > _SURE * doubts.of_offset(both)
    return best_growth(free, beside) if has_series else best_growth(held, ways)


def _grows(copper: Found, series: Found, growth: Found, doubts: Doubts) -> bool:
    # a display can put every reading on one line to the last bit: what is left then is rounding, not noise
    noise = max(growth.variance, (_ROUNDING * float(copper.value[COPPER])) ** 2)
    gain = (copper.square - growth.square) / noise
    over_series = (series.square - growth.square) / noise
    # a slope above copper's cannot be a series part: against that alone it need not win
    is_above = series.value[OFFSET] < -_SURE * doubts.of_offset(series)
    return gain > _SURE_GROWTH and (is_above or over_series > _BETTER_THAN_SERIES)
