"""A learned band put into a variant file, only where somebody asked for it."""

from __future__ import annotations

import math
from typing import Any

from valvebench.diagnose.learned import Learned
from valvebench.model.draft_file import variant_bytes
from valvebench.model.errors import bad, nearest
from valvebench.model.format import decimals_for
from valvebench.model.strict_json import loads
from valvebench.model.variant import Coil
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import SourceKind


def with_learned(raw: bytes, band: Learned, *, source: str, archive_id: str, may_replace: bool = False) -> bytes:
    """The file with the band as limits of its device, source *learned* (raises BadInput).

    Limits that somebody stated stay unless `may_replace`; those that were learned before give way.
    """
    if band.limits is None:
        raise bad("band", "none", "a band that can be told", " ".join(band.warnings), source=source)
    _check(raw, band, source=source, may_replace=may_replace)
    data = loads(raw, source=source)
    row = next(one for one in data["devices"] if one["name"] == band.device)
    row |= _limits(band, archive_id)
    changed = variant_bytes(data)
    read_variant(changed, source=source)
    return changed


def _check(raw: bytes, band: Learned, *, source: str, may_replace: bool) -> None:
    variant = read_variant(raw, source=source)
    if variant.key != band.variant:
        raise bad("key", repr(variant.key), repr(band.variant), "The band is of that variant.", source=source)
    device = variant.device_named(band.device)
    if not isinstance(device, Coil):
        names = [one.name for one in variant.devices if isinstance(one, Coil)]
        advice = nearest(band.device, names)
        raise bad("device", repr(band.device), "a solenoid or sensor of this file", advice, source=source)
    is_stated = device.low_ohm is not None or device.high_ohm is not None
    is_learned = device.source is not None and device.source.kind is SourceKind.LEARNED
    if is_stated and not is_learned and not may_replace:
        kind = device.source.kind.value if device.source is not None else "source not said"
        where = f"limits of {band.device}"
        advice = "Say --replace where the learned ones are to take their place."
        raise bad(where, f"limits ({kind})", "none, or learned ones", advice, source=source)


def _limits(band: Learned, archive_id: str) -> dict[str, Any]:
    """Rounded outwards, so that the band holds at least what it says."""
    found = band.limits
    if found is None:
        raise TypeError("no band")
    scale = 10 ** decimals_for((found.high_ohm - found.low_ohm) / 20)
    last = max(one.closed_at for one in band.values)[:10]
    share, sure = f"{100 * band.asked.coverage:g} %", f"{100 * band.asked.confidence:g} %"
    text = f"holds {share} with {sure} confidence; archive {archive_id}, up to {last}"
    return {
        "low_ohm": max(0.0, math.floor(found.low_ohm * scale) / scale),
        "high_ohm": math.ceil(found.high_ohm * scale) / scale,
        "ref_celsius": band.ref_celsius,
        "source": {"kind": SourceKind.LEARNED.value, "text": text, "n": band.used},
    }
