"""The band of one device, from what its variant states."""

from __future__ import annotations

from collections.abc import Callable
from functools import singledispatch
from typing import Final

from valvebench.model.limits import ASSUMED_REF_CELSIUS, Limits
from valvebench.model.variant import Coil, Device, Link, Source, Switch, TemperatureSensor
from valvebench.model.words import SourceKind, SwitchState
from valvebench.physics.sensor import SensorBand, beta_ohm, steinhart_hart_ohm, table_band

SWITCH_OPEN_MIN_OHM: Final = 100_000.0
SWITCH_CLOSED_MAX_OHM: Final = 10.0
"""Contacts: common practice, no source."""


def source_text(source: Source | None) -> str:
    """Where a limit comes from, in words."""
    if source is None:
        return "source not stated"
    words = {
        SourceKind.MANUAL: "manual",
        SourceKind.MEASURED: "measured on one good body"
        if source.n == 1
        else f"measured on {source.n or 'some'} good bodies",
        SourceKind.LEARNED: f"learned from {source.n or 'some'} good bodies",
        SourceKind.MEMORY: "from memory",
    }[source.kind]
    return f"{words}: {source.text}" if source.text else words


@singledispatch
def limits_of(device: Device, celsius: float) -> Limits:  # noqa: ARG001  one signature for every kind
    """The band of a device for a reading at `celsius` (kinds without one: no limits)."""
    return Limits(source=source_text(device.source))


@limits_of.register
def _(device: Coil, celsius: float) -> Limits:  # noqa: ARG001
    return Limits(
        low_ohm=device.low_ohm,
        high_ohm=device.high_ohm,
        ref_celsius=ASSUMED_REF_CELSIUS if device.ref_celsius is None else device.ref_celsius,
        is_ref_stated=device.ref_celsius is not None,
        k_celsius=device.k,
        source=source_text(device.source),
    )


@limits_of.register
def _(device: TemperatureSensor, celsius: float) -> Limits:
    band = sensor_band(device, celsius)
    source = source_text(device.source)
    if band is None:
        stated = bool(device.points)
        note = f"The sensor's table does not reach {celsius:g} degrees Celsius." if stated else ""
        return Limits(k_celsius=None, source=source, note=note)
    note = f"{band.beyond_celsius:g} degrees beyond the table: its end is carried on." if band.beyond_celsius else ""
    return Limits(
        low_ohm=band.low_ohm,
        high_ohm=band.high_ohm,
        k_celsius=None,
        slope_per_celsius=band.slope_per_celsius,
        source=source,
        note=note,
    )


@limits_of.register
def _(device: Switch, celsius: float) -> Limits:  # noqa: ARG001
    if device.at_rest is SwitchState.OPEN:
        return Limits(low_ohm=SWITCH_OPEN_MIN_OHM, k_celsius=None, source="open at rest: common practice, no source")
    if device.at_rest is SwitchState.CLOSED:
        stated = device.closed_max_ohm
        source = source_text(device.source) if stated else "closed at rest: common practice, no source"
        return Limits(high_ohm=stated or SWITCH_CLOSED_MAX_OHM, k_celsius=None, source=source)
    return Limits(k_celsius=None, source=source_text(device.source))


@limits_of.register
def _(device: Link, celsius: float) -> Limits:  # noqa: ARG001
    return Limits(high_ohm=device.max_ohm, k_celsius=None, source=source_text(device.source))


def sensor_band(device: TemperatureSensor, celsius: float) -> SensorBand | None:
    """Limits [ohm] of a temperature sensor at a temperature, from its table or equation."""
    if device.points:
        return table_band(celsius, device.points)
    if device.beta is not None:
        beta = device.beta
        return _with_tolerance(
            lambda t: beta_ohm(t, r_ohm=beta.r_ohm, at_celsius=beta.at_celsius, beta_kelvin=beta.b_kelvin),
            celsius,
            beta.tolerance_pct,
        )
    if device.steinhart_hart is not None:
        law = device.steinhart_hart
        return _with_tolerance(lambda t: steinhart_hart_ohm(t, a=law.a, b=law.b, c=law.c), celsius, law.tolerance_pct)
    return None


def _with_tolerance(ohm_at: Callable[[float], float], celsius: float, tolerance_pct: float) -> SensorBand:
    middle = ohm_at(celsius)
    slope = (ohm_at(celsius + 0.05) - ohm_at(celsius - 0.05)) / 0.1 / middle
    share = 0.01 * tolerance_pct
    return SensorBand(middle * (1 - share), middle * (1 + share), slope, 0.0)
