"""What the archive teaches: a band of one device, drift of meters and of a supplier, and what fails most.

Every call reads the archive and may take a while, so ask beside the window.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from valvebench.bench.archived import CheckPoint
from valvebench.bench.ports import Archive
from valvebench.diagnose.drift import Drift, drift_of
from valvebench.diagnose.failures import By, Count, counted, warnings_of
from valvebench.diagnose.learned import Ask, Body, Learned
from valvebench.model.words import JobKind, LeadState


class MeterDrift(NamedTuple):
    """The checks of one meter with one resistor, in the order of time, and whether they drift."""

    meter: str
    leads: LeadState
    check_ohm: float
    points: tuple[CheckPoint, ...]
    drift: Drift


class SupplierDrift(NamedTuple):
    """The values of one device from one supplier, in the order of time: identity, time and ohm at the reference.

    `jobs` says how many are of which kind of job.
    """

    supplier: str
    jobs: tuple[tuple[JobKind, int], ...]
    ids: tuple[str, ...]
    times: tuple[str, ...]
    ohm_at_ref: tuple[float, ...]
    drift: Drift


class Failures(NamedTuple):
    """What fails most, the surest first, and what has to be known about such counts."""

    by: By
    counts: tuple[Count, ...]
    warnings: tuple[str, ...]


def learned(archive: Archive, variant: str, device: str, *, ask: Ask, at: str = "case_connector") -> Learned:
    """The band of one device from bodies that did well (raises BadInput where it was never read)."""
    from valvebench.diagnose.learn import learn

    return learn(archive.bodies(variant, device, at=at), ask)


def meter_drifts(archive: Archive) -> tuple[MeterDrift, ...]:
    """Every meter with its checks, those that drift first."""
    groups: dict[tuple[str, LeadState, float], list[CheckPoint]] = {}
    for point in archive.meter_checks():
        groups.setdefault((point.meter, point.leads, point.check_ohm), []).append(point)
    found = [MeterDrift(*key, tuple(points), _meter_drift(points)) for key, points in groups.items()]
    return tuple(sorted(found, key=lambda one: (one.drift.moved_at is None, one.meter, one.check_ohm)))


def _meter_drift(points: list[CheckPoint]) -> Drift:
    return drift_of([point.off_ohm for point in points], least_sd=max(point.step_ohm for point in points))


def supplier_drifts(
    archive: Archive, variant: str, device: str, *, at: str = "case_connector", job: JobKind | None = None
) -> tuple[SupplierDrift, ...]:
    """The values of one device by supplier, of one kind of job where that is asked; those that drift first.

    A body without a supplier is in none, nor is one whose values cannot be of one coil.
    """
    groups: dict[str, list[Body]] = {}
    for body in archive.bodies(variant, device, at=at).bodies:
        is_asked = job is None or body.kind is job
        if body.supplier and body.agrees and not body.is_revised and is_asked:
            groups.setdefault(body.supplier, []).append(body)
    found = [_supplier_drift(supplier, bodies) for supplier, bodies in groups.items()]
    return tuple(sorted(found, key=lambda one: (one.drift.moved_at is None, one.supplier)))


def _supplier_drift(supplier: str, bodies: Sequence[Body]) -> SupplierDrift:
    ohm = tuple(body.ohm_at_ref for body in bodies)
    jobs = tuple((kind, n) for kind in JobKind if (n := sum(body.kind is kind for body in bodies)))
    ids, times = tuple(body.id for body in bodies), tuple(body.closed_at for body in bodies)
    return SupplierDrift(supplier, jobs, ids, times, ohm, drift_of(ohm))


def failures(archive: Archive, by: By, *, variant: str | None = None, since: str | None = None) -> Failures:
    """What fails most, by variant, device, supplier or batch (raises BadInput)."""
    counts = counted(archive.failure_cells(variant=variant, since=since), by)
    return Failures(by, counts, warnings_of(counts))
