"""Values of one device, or checks of one meter, over time: what a chart and its table show.

Every call reads the archive and may take a while, so ask beside the window.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final, NamedTuple

from valvebench.bench.archived import Point
from valvebench.bench.learning import MeterDrift, SupplierDrift, learned, meter_drifts, supplier_drifts
from valvebench.bench.ports import Archive
from valvebench.diagnose.learned import Ask
from valvebench.diagnose.odd import odd_places
from valvebench.judge.device_limits import limits_of
from valvebench.model.errors import BenchError
from valvebench.model.format import limits_text, ohm_text
from valvebench.model.limits import NO_LIMITS, Limits
from valvebench.model.words import JOBS_TEXT, LEAD_TEXT, JobKind, Verdict

K: Final = 2.0
MIXED: Final = (
    "Bodies of complaints and bodies that were only checked differ for other reasons than time: "
    "choose one kind of job before a supplier is blamed."
)
_SECONDS_A_DAY: Final = 86_400.0


class Line(NamedTuple):
    """A level across the chart, and what it is; words of a low one stand below it."""

    value: float
    words: str = ""
    is_low: bool = False


class Charted(NamedTuple):
    """One row of values in the order of time: days since 1970, ohm, expanded uncertainty or None, verdict or None.

    `low` and `high` are the limits of the latest variant there, `odd` places of odd values, `moved_at` the place where
    a drift shows.
    """

    title: str
    ids: tuple[str, ...]
    days: tuple[float, ...]
    ohm: tuple[float, ...]
    reach: tuple[float | None, ...]
    verdicts: tuple[Verdict | None, ...]
    low: float | None
    high: float | None
    odd: frozenset[int]
    moved_at: int | None
    lines: tuple[Line, ...]
    words: tuple[str, ...]


def day_of(at: str) -> float:
    """A moment as days since 1970."""
    return datetime.fromisoformat(at).timestamp() / _SECONDS_A_DAY


def device_chart(archive: Archive, variant: str, device: str, *, at: str, job: JobKind | None = None) -> Charted:
    """All values of one device at the reference temperature, of one kind of job where that is asked.

    Raises BadInput where it was never read.
    """
    trend = archive.trend(variant, device, at=at, job=job)
    points = trend.points
    limits = _limits(archive, points[-1].id, device, trend.ref_celsius) if points else NO_LIMITS
    ohm = tuple(point.ohm_at_ref for point in points)
    odd = frozenset(odd_places(ohm))
    where = f"at {trend.ref_celsius:g} \u00b0C" if trend.ref_celsius is not None else "as it was read"
    lines, said = _learned(archive, variant, device, at)
    return Charted(
        title=f"{device}, {where}",
        ids=tuple(point.id for point in points),
        days=tuple(day_of(point.closed_at) for point in points),
        ohm=ohm,
        reach=tuple(_reach(point) for point in points),
        verdicts=tuple(point.verdict for point in points),
        low=limits.low_ohm,
        high=limits.high_ohm,
        odd=odd,
        moved_at=None,
        lines=lines,
        words=(
            _counted(points, odd, job),
            _limits_words(limits),
            *said,
            *supplier_words(archive, variant, device, at=at, job=job),
        ),
    )


def _reach(point: Point) -> float | None:
    return K * point.u_ohm_at_ref if point.u_ohm_at_ref is not None else None


def _counted(points: Sequence[Point], odd: frozenset[int], job: JobKind | None) -> str:
    failed = sum(point.verdict is Verdict.FAIL for point in points)
    what = "1 value" if len(points) == 1 else f"{len(points)} values"
    what += f" of {JOBS_TEXT[job]}" if job is not None else ""
    strange = f"; {len(odd)} odd among the others (modified z above 3.5)" if odd else ""
    return f"{what}, {failed} failed{strange}."


def _limits(archive: Archive, ident: str, device: str, celsius: float | None) -> Limits:
    """Limits as the latest session has them; none where its variant cannot be read or states none."""
    if celsius is None:
        return NO_LIMITS
    try:
        variant = archive.view(ident).variant
    except BenchError:
        return NO_LIMITS
    found = next((one for one in variant.devices if one.name == device), None) if variant is not None else None
    return limits_of(found, celsius) if found is not None else NO_LIMITS


def _limits_words(limits: Limits) -> str:
    if limits.low_ohm is None and limits.high_ohm is None:
        return "The latest session states no limits for it."
    return f"Limits of the latest session: {limits_text(limits.low_ohm, limits.high_ohm)} \u03a9 ({limits.source})."


def _learned(archive: Archive, variant: str, device: str, at: str) -> tuple[tuple[Line, ...], tuple[str, ...]]:
    """The band that bodies which did well would give: a help to look, never used by itself."""
    found = learned(archive, variant, device, ask=Ask(), at=at)
    if found.limits is None:
        return (), found.warnings[:1]
    low, high = found.limits.low_ohm, found.limits.high_ohm
    words = (
        f"From {found.used} bodies that did well: {ohm_text(low)} to {ohm_text(high)}. It is drawn and judges nothing; "
        "'valvebench archive learn' offers it to a variant."
    )
    return (Line(low, "learned, low", is_low=True), Line(high, "learned, high")), (words, *found.warnings)


def supplier_words(
    archive: Archive, variant: str, device: str, *, at: str = "case_connector", job: JobKind | None = None
) -> tuple[str, ...]:
    """Suppliers whose values drift, each with the kinds of job they are from, and a caution where these are mixed."""
    found = supplier_drifts(archive, variant, device, at=at, job=job)
    moved = [one for one in found if one.drift.moved_at is not None]
    mixed = (MIXED,) if any(len(one.jobs) > 1 for one in moved) else ()
    return (*(f"From {one.supplier}, {_jobs_words(one)}: {one.drift.words}" for one in moved), *mixed)


def _jobs_words(one: SupplierDrift) -> str:
    return ", ".join(f"{n} of {JOBS_TEXT[kind]}" for kind, n in one.jobs)


def meter_charts(archive: Archive) -> tuple[Charted, ...]:
    """Every meter by its check resistor, those that drift first."""
    return tuple(_meter_chart(one) for one in meter_drifts(archive))


def _meter_chart(one: MeterDrift) -> Charted:
    chart, off = one.drift.chart, tuple(point.off_ohm for point in one.points)
    lines = () if chart is None else (Line(chart.middle), Line(chart.low, "low", is_low=True), Line(chart.high, "high"))
    return Charted(
        title=f"{one.meter}, check resistor {ohm_text(one.check_ohm)}, {LEAD_TEXT[one.leads]}",
        ids=tuple(point.id for point in one.points),
        days=tuple(day_of(point.at) for point in one.points),
        ohm=off,
        reach=(None,) * len(off),
        verdicts=(None,) * len(off),
        low=None,
        high=None,
        odd=frozenset(one.drift.outside),
        moved_at=one.drift.moved_at,
        lines=lines,
        words=(one.drift.words,),
    )
