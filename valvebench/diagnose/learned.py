"""What learning a band from bodies that did well starts from and comes to: plain facts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import Enum
from typing import NamedTuple

from valvebench.model.words import JobKind, Verdict


class Body(NamedTuple):
    """One session in which the device was read: its value at the reference temperature, and what became of it.

    `km` is how far the unit drove since, `came_back` and `is_revised` what other sessions say of this one;
    `agrees` is whether all its values can be of one and the same coil.
    """

    id: str
    job: str
    closed_at: str
    ohm_at_ref: float
    u_ohm_at_ref: float | None
    verdict: Verdict
    kind: JobKind = JobKind.COMPLAINT
    serial: str | None = None
    supplier: str | None = None
    batch: str | None = None
    fitted: bool | None = None
    comeback: str | None = None
    months: float | None = None
    km: float | None = None
    came_back: bool = False
    is_revised: bool = False
    agrees: bool = True


class Read(NamedTuple):
    """One value of a session at the reference temperature, and how far from that it was read [kelvin]."""

    ohm_at_ref: float
    u_ohm_at_ref: float | None
    away_kelvin: float


def value_of(read: Sequence[Read]) -> tuple[int, bool]:
    """Of all values of a session the place of the one that was carried least, and whether they agree.

    They do not where one lies further off than both doubts allow (k = 2): a coil was changed, or a clip slipped.
    """
    place = min(range(len(read)), key=lambda n: (read[n].away_kelvin, -n))
    chosen = read[place]
    away = [
        abs(one.ohm_at_ref - chosen.ohm_at_ref) - 2.0 * math.hypot(chosen.u_ohm_at_ref or 0.0, one.u_ohm_at_ref or 0.0)
        for one in read
    ]
    return place, max(away) <= 0.0


class Bodies(NamedTuple):
    """All sessions in which one device was read, the earliest first; `ref_celsius` None: it has no reference."""

    variant: str
    device: str
    kind: str
    ref_celsius: float | None
    bodies: tuple[Body, ...]


class Ask(NamedTuple):
    """Which bodies did well, and what the band is to hold.

    Fitted and not back after so many months, or after so many km where those are named.  Bodies of `new_from`, a
    supplier whose new bodies are known to be good, count by their bench check.
    """

    months: float = 12.0
    km: float | None = None
    new_from: str | None = None
    coverage: float = 0.9
    confidence: float = 0.95


class Left(Enum):
    """Why a body does not count."""

    REVISED = "revised"
    AGAIN = "again"
    CAME_BACK = "came_back"
    TWO_VALUES = "two_values"
    NOT_FITTED = "not_fitted"
    NOT_TOLD = "not_told"
    TOO_SHORT = "too_short"


class Value(NamedTuple):
    """One value the band is learned from [ohm]; `modified_z` is None where the values have no spread to measure by."""

    id: str
    job: str
    closed_at: str
    ohm_at_ref: float
    u_ohm_at_ref: float | None
    verdict: Verdict
    modified_z: float | None
    is_flagged: bool
    is_left_out: bool


class Limits(NamedTuple):
    """The band and the two limits where one alone is asked for [ohm], k2, and the half-width of the mean [ohm]."""

    low_ohm: float
    high_ohm: float
    low_alone_ohm: float
    high_alone_ohm: float
    k2: float
    mean_half_width_ohm: float


class Learned(NamedTuple):
    """A learned band of one device at `ref_celsius`; `limits` is None where none can be told, `warnings` say why.

    Of `values`, in their order, those that are not left out are `used`; `left` counts the bodies that do not count.
    Mean and standard deviation are those of the used ones; median and median deviation, not scaled, of all.
    """

    variant: str
    device: str
    kind: str
    ref_celsius: float | None
    asked: Ask
    values: tuple[Value, ...]
    used: int
    left: tuple[tuple[Left, int], ...]
    mean_ohm: float | None
    sd_ohm: float | None
    median_ohm: float | None
    mad_ohm: float | None
    limits: Limits | None
    normality_p: float | None
    warnings: tuple[str, ...]
