"""Typed flex tests: from the entries of a session to what each series says.

Gathering needs no arrays and is cheap; finding does, and remembers what it was asked last.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from valvebench.judge.flex_rows import FlexFind, FlexFinds, FlexSeries, SeriesKey, series_in, series_of
from valvebench.model.flex import FlexFound
from valvebench.model.meter import parse_meter
from valvebench.model.session import Item

_REMEMBERED: Final = 256


def flex_of(items: Iterable[Item]) -> FlexFinds:
    """What every typed series of a session says; arrays come in only where there is one."""
    return {key: find_in(key, own) for key, own in series_in(items).items()}


def find_in(key: SeriesKey, items: Iterable[Item]) -> FlexFind:
    """What the entries of one series say."""
    series = series_of(key, items)
    return FlexFind(series, found_in(series))


def found_in(series: FlexSeries) -> FlexFound:
    """What one series says [ohm, s]."""
    return _found(series.ohm, series.t_s, series.key.meter)


@lru_cache(maxsize=_REMEMBERED)
def _found(ohm: tuple[float | None, ...], t_s: tuple[float, ...], meter: str | None) -> FlexFound:
    import numpy as np

    from valvebench.diagnose import flex

    shown = np.array([math.inf if one is None else one for one in ohm], float)
    times = np.array(t_s, float) if t_s else None
    return flex.look_at(flex.FlexSeries(shown, times), parse_meter(meter) if meter is not None else None)
