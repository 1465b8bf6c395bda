"""What may be said of a variant: contradictions, must-match points, confirmed or not; many parts at once if wanted."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.identified import CONFIRMED_ABOVE
from valvebench.diagnose.identify_table import Flags, Floats, Table, Whole
from valvebench.diagnose.identify_weigh import PHONE, Counts, Weigher

_TWICE: Final = 2
AGAIN_ABOVE: Final = 0.5
"""A variant this likely is worth a second look where something contradicts it, or none of these."""
MUST_ABOVE: Final = 0.9
"""And this likely, the points that must match."""


class Standing(NamedTuple):
    """How looks stand to one variant of each part, feature by feature: (..., F) each.

    doubted : looks speak against it and are not outweighed
    stands : so it was seen twice, and not by telephone alone
    seen : it fits, by our own look or a photo
    told : it fits, by telephone alone
    """

    doubted: Flags
    stands: Flags
    seen: Flags
    told: Flags


def standing(weigher: Weigher, counts: Counts, variant: Whole) -> Standing:
    """Hold looks against a variant.

    What was seen by us or in a photo outranks what was told: the telephone only speaks where nobody looked.  One look
    for and one against clear a feature, but not a must-match point: that takes a third.

    Parameters
    ----------
    counts : (..., 3, R + F) looks
    variant : (...) number of the variant of each part
    """
    row = np.moveaxis(weigher.table.row[:, variant], 0, -1)
    is_stated, must = row >= 0, np.moveaxis(weigher.table.must[:, variant], 0, -1)
    told = counts[..., PHONE, :]
    own = counts.sum(axis=-2) - told
    for_own, against_own = _split(weigher, own, row)
    for_told, against_told = _split(weigher, told, row)
    has_own = for_own + against_own > 0
    pro, contra = np.where(has_own, for_own, for_told), np.where(has_own, against_own, against_told)
    doubted = is_stated & (contra > 0) & ((contra > pro) | (must & (contra == pro)))
    twice = (against_own + against_told >= _TWICE) & (against_own > for_own)
    return Standing(
        doubted=doubted,
        stands=is_stated & twice,
        seen=is_stated & ~doubted & (for_own > 0),
        told=is_stated & ~doubted & ~has_own & (for_told > 0),
    )


def _split(weigher: Weigher, counts: Counts, row: Whole) -> tuple[Counts, Counts]:
    """Looks that fit and those that do not, (..., F) each."""
    fit = np.take_along_axis(counts, np.maximum(row, 0), axis=-1) * (row >= 0)
    return fit, weigher.by_feature(counts) - fit


def without_phone(counts: Counts) -> Counts:
    """The same looks less what was told by telephone."""
    kept = counts.copy()
    kept[..., PHONE, :] = 0
    return kept


def is_confirmed(table: Table, p_best: Floats, p_unphoned: Floats, variant: Whole, how: Standing) -> Flags:
    """Whether a part may be called that variant, (...).

    Only where its chance is high enough with none of these in the running, with the telephone and without it, where
    every must-match point was seen, and where nothing contradicts it that was not looked at again.
    """
    must = np.moveaxis(table.must[:, variant], 0, -1)
    is_sure = (p_best > CONFIRMED_ABOVE) & (p_unphoned > CONFIRMED_ABOVE)
    found: Flags = is_sure & ~(must & ~how.seen).any(axis=-1) & ~(how.doubted | how.stands).any(axis=-1)
    return found


def first_of_all(table: Table, p_best: Floats, p_none: Floats, variant: Whole, how: Standing) -> tuple[Flags, Flags]:
    """Features of the leading variant to look at before others, (..., F) each: again, and those that must match.

    Again where it is likely and something speaks against it, and where none of these is likely, before that is said.
    """
    must = np.moveaxis(table.must[:, variant], 0, -1)
    is_stated = np.moveaxis(table.row[:, variant], 0, -1) >= 0
    again = how.doubted & ~how.stands & (np.maximum(p_best, p_none) > AGAIN_ABOVE)[..., None]
    unseen = must & is_stated & ~how.seen & ~how.doubted & (p_best > MUST_ABOVE)[..., None]
    return again, unseen
