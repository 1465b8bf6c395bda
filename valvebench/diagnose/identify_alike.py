"""Variants that no feature separates: one line each, with what would."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from valvebench.diagnose.identified import Alike
from valvebench.diagnose.identify_table import Table
from valvebench.model.variant import Coil, Variant

_Bands = dict[tuple[str, str], tuple[float, float]]


def alike_groups(table: Table, variants: Sequence[Variant], among: Sequence[int]) -> tuple[Alike, ...]:
    """Groups among these variants (numbers, the most probable first) of which no two state different answers.

    Parameters
    ----------
    table, variants : the library, in the same order
    among : those to be held against one another
    """
    codes = table.codes[:, list(among)]
    both = (codes[:, :, None] >= 0) & (codes[:, None, :] >= 0)
    is_apart = (both & (codes[:, :, None] != codes[:, None, :])).any(axis=0)
    groups: list[list[int]] = []
    for i in range(len(among)):
        group = next((group for group in groups if not is_apart[i, group].any()), None)
        if group is None:
            groups.append([i])
        else:
            group.append(i)
    return tuple(_alike(table, variants, [among[i] for i in group]) for group in groups if len(group) > 1)


def _alike(table: Table, variants: Sequence[Variant], members: Sequence[int]) -> Alike:
    keys = tuple(sorted(table.keys[v] for v in members))
    stated = table.codes[:, list(members)] >= 0
    would = np.flatnonzero(stated.any(axis=1) & ~stated.all(axis=1))
    features = tuple(sorted(table.questions[f].feature for f in would))
    return Alike(keys, features, _telling_pair([variants[v] for v in members]))


def _telling_pair(variants: Sequence[Variant]) -> tuple[str, str] | None:
    """The first pair of nodes at which two of them have windings whose bands do not meet, or only one has any."""
    bands = [_bands(variant) for variant in variants]
    for a, b in sorted({pair for each in bands for pair in each}):
        if any(_differ(one, other, (a, b)) for one, other in combinations(bands, 2)):
            return a, b
    return None


def _differ(one: _Bands, other: _Bands, pair: tuple[str, str]) -> bool:
    here, there = one.get(pair), other.get(pair)
    if here is None or there is None:
        return here is not there
    return here[1] < there[0] or there[1] < here[0]


def _bands(variant: Variant) -> _Bands:
    found: _Bands = {}
    for device in variant.devices:
        if isinstance(device, Coil) and device.low_ohm is not None and device.high_ohm is not None:
            a, b = sorted(device.between)
            found[a, b] = device.low_ohm, device.high_ohm
    return found
