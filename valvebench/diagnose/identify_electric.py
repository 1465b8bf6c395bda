"""Readings as a fingerprint of the variant, on the understanding that any device may be faulty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_priors import Priors
from valvebench.diagnose.identify_priors import ElectricalPriors
from valvebench.diagnose.identify_table import Flags, Floats
from valvebench.judge.device_limits import limits_of
from valvebench.judge.expectation import Circuit, ExpectedState
from valvebench.judge.nets import has_path_beside
from valvebench.judge.targets import known_nodes
from valvebench.model.limits import ASSUMED_REF_HALF_WIDTH_CELSIUS, Limits
from valvebench.model.variant import Coil, Variant
from valvebench.physics.conductor import resistance_at

_SPAN: Final = 3.2
_NODES: Final = np.linspace(-_SPAN, _SPAN, 33)
_LN_WEIGHTS: Final = -0.5 * _NODES**2 - math.log(math.fsum(np.exp(-0.5 * _NODES**2)))
_LN_ROOT_2PI: Final = 0.5 * math.log(2.0 * math.pi)
_STEEPEST_COPPER: Final = 0.006
"""Relative change per kelvin beyond which it is no winding, and warmth does not move it along with the windings."""
_LEAST_LN: Final = 1e-3


class Bands(NamedTuple):
    """What R readings ought to be of each of N variants, as logarithms of ohm: (R, N) each.

    middle : expected value
    own : spread of the device itself, one standard deviation
    shared : spread that all devices of a body have in common
    per_kelvin : relative change with the temperature of the coil
    is_known : a value is expected; else see `is_apart`
    is_apart : no connection is expected
    """

    middle: Floats
    own: Floats
    shared: Floats
    per_kelvin: Floats
    is_known: Flags
    is_apart: Flags


class Readings(NamedTuple):
    """R readings of one part or of many: logarithms of ohm (..., R), NaN where it read open or was not read.

    own_sd, shared_sd : (R,) or (..., R) relative standard uncertainties, its own and common to all (gain, leads)
    u_kelvin : (R,) of the coil temperature, common to all
    """

    ln_ohm: Floats
    own_sd: Floats
    shared_sd: Floats
    u_kelvin: Floats


class Fingerprint(NamedTuple):
    """What readings say for each variant (..., N) and for none of these (...) [nat]."""

    variants: Floats
    none: Floats


class _Band(NamedTuple):
    middle: float = math.nan
    own: float = 0.0
    shared: float = 0.0
    per_kelvin: float = 0.0
    is_known: bool = False
    is_apart: bool = False


class Expecting:
    """What variants let one expect between two nodes; variants with equal devices are asked once.

    Parameters
    ----------
    variants : the library
    faults : the spread of good parts
    electrical : what closed contacts read
    """

    def __init__(self, variants: Sequence[Variant], faults: Priors, electrical: ElectricalPriors) -> None:
        self._variants, self._faults, self._electrical = variants, faults, electrical
        self._nodes = [known_nodes(variant) for variant in variants]
        self._kept: dict[tuple[object, ...], _Band] = {}

    def knows(self, node: str) -> bool:
        """Whether any variant has that node."""
        return any(node in nodes for nodes in self._nodes)

    def bands(self, places: Sequence[tuple[str, str, float]]) -> Bands:
        """Expectations for readings at (node, node, coil temperature [degC])."""
        found = [[self._band(v, *place) for v in range(len(self._variants))] for place in places]
        shape = (len(places), len(self._variants), len(_Band._fields))
        numbers = np.array(found, dtype=float).reshape(shape)
        middle, own, shared, per_kelvin, known, apart = np.moveaxis(numbers, -1, 0)
        return Bands(middle, own, shared, per_kelvin, known > 0, apart > 0)

    def _band(self, number: int, a: str, b: str, celsius: float) -> _Band:
        variant = self._variants[number]
        if not {a, b} <= self._nodes[number]:
            return _Band(is_apart=True)
        key = (variant.devices, min(a, b), max(a, b), celsius)
        band = self._kept.get(key)
        if band is None:
            band = self._kept[key] = self._worked_out(variant, a, b, celsius)
        return band

    def _worked_out(self, variant: Variant, a: str, b: str, celsius: float) -> _Band:
        device = variant.device_between(a, b)
        if isinstance(device, Coil) and not has_path_beside(variant, device):
            return self._of_limits(_at(limits_of(device, celsius), celsius))
        circuit = Circuit(variant, celsius)
        expected = circuit.expected(a, b)
        if expected.state is ExpectedState.OPEN:
            return _Band(is_apart=True)
        if expected.state is ExpectedState.UNKNOWN:
            return _Band()
        if not expected.ohm:
            closed = self._electrical
            return _Band(math.log(closed.contact_ohm.value), closed.contact_ln.value, is_known=True)
        return self._of_limits(circuit.limits(a, b))

    def _of_limits(self, limits: Limits) -> _Band:
        low, high, part = limits.low_ohm, limits.high_ohm, self._faults.part
        if not low or not high:
            return _Band()
        spread = max(0.5 * math.log(high / low) / part.band_over_sd.value, _LEAST_LN)
        own, shared = spread * part.own_share.value, spread * part.lot_share.value
        is_copper = 0.0 <= limits.slope_per_celsius <= _STEEPEST_COPPER
        own, shared = (own, shared) if is_copper else (spread, 0.0)
        if not limits.is_ref_stated:
            assumed = ASSUMED_REF_HALF_WIDTH_CELSIUS * 3.0**-0.5 * limits.slope_per_celsius
            shared = math.hypot(shared, assumed)
        return _Band(0.5 * math.log(low * high), own, shared, limits.slope_per_celsius, is_known=True)


def _at(limits: Limits, celsius: float) -> Limits:
    """The band of a winding at its own temperature, with the slope it has there."""
    k = limits.k_celsius
    if k is None or limits.low_ohm is None or limits.high_ohm is None:
        return limits
    low, high = (
        resistance_at(ohm, from_celsius=limits.ref_celsius, to_celsius=celsius, k_celsius=k)
        for ohm in (limits.low_ohm, limits.high_ohm)
    )
    return Limits(
        low_ohm=low,
        high_ohm=high,
        is_ref_stated=limits.is_ref_stated,
        k_celsius=None,
        slope_per_celsius=1.0 / (k + celsius),
    )


def fingerprint(readings: Readings, bands: Bands, priors: ElectricalPriors) -> Fingerprint:
    """What readings say for each variant.

    Each device is sound or, with some chance, faulty; faulty ones read near the sound value or anywhere, the same for
    every variant.  Gain, leads, warmth and the lot move all readings of a body together: averaged over.  Open says
    nothing: a broken wire of one variant looks like a pair that another does not connect.

    Source
    ------
    Bayes' theorem with a mixture of normal densities of ln R; the shares from `resources/identify.json`.
    """
    broad = 1.0 / math.log(priors.highest_ohm.value / priors.lowest_ohm.value)
    faulty, near = priors.faulty.value, priors.faulty_near.value
    own, shared = _spreads(readings, bands)
    is_read = np.isfinite(readings.ln_ohm)[..., None]
    away = np.where(is_read, readings.ln_ohm[..., None], 0.0) - np.nan_to_num(bands.middle)
    wide = np.hypot(np.hypot(own, shared), priors.faulty_near_ln.value)
    bad = faulty * (near * _density(away, wide) + (1.0 - near) * broad)
    alone = np.where(bands.is_known, (1.0 - faulty) * _density(away, np.hypot(own, shared)) + bad, 0.0)
    alike = priors.none_alike.value
    stranger = alike * alone.max(axis=-1, initial=broad) + (1.0 - alike) * broad
    unknown = np.where(bands.is_apart, faulty * broad, stranger[..., None])
    sums = []
    for z, ln_weight in zip(_NODES.tolist(), _LN_WEIGHTS.tolist(), strict=True):
        sound = (1.0 - faulty) * _density(away - z * shared, own) + bad
        each = np.where(bands.is_known, sound, unknown)
        sums.append(np.log(np.where(is_read, each, 1.0)).sum(axis=-2) + ln_weight)
    none = np.log(np.where(is_read[..., 0], stranger, 1.0)).sum(axis=-1)
    return Fingerprint(np.logaddexp.reduce(sums, axis=0), none)


def misfits(readings: Readings, bands: Bands, *, sds: float) -> Flags:
    """Readings (R, N) of one part that lie beyond so many standard deviations, or where no connection is expected."""
    own, shared = _spreads(readings, bands)
    away = np.abs(readings.ln_ohm[:, None] - np.nan_to_num(bands.middle))
    is_far = bands.is_known & (away > sds * np.hypot(own, shared))
    found: Flags = np.isfinite(readings.ln_ohm)[:, None] & (is_far | bands.is_apart)
    return found


def _spreads(readings: Readings, bands: Bands) -> tuple[Floats, Floats]:
    """Own and shared standard deviations (..., R, N): warmth moves windings together, a sensor by itself."""
    warmth = bands.per_kelvin * readings.u_kelvin[..., None]
    is_winding = (warmth >= 0.0) & (bands.per_kelvin <= _STEEPEST_COPPER)
    own = np.hypot(np.hypot(bands.own, readings.own_sd[..., None]), np.where(is_winding, 0.0, warmth))
    shared = np.hypot(np.hypot(bands.shared, readings.shared_sd[..., None]), np.where(is_winding, warmth, 0.0))
    return np.maximum(own, _LEAST_LN), shared


def _density(away: Floats, sd: Floats) -> Floats:
    found: Floats = np.exp(-0.5 * (away / sd) ** 2 - np.log(sd) - _LN_ROOT_2PI)
    return found
