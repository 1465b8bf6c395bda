"""Values of one device over time, at the reference temperature."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import cache, lru_cache
from typing import Any, Final, NamedTuple

from valvebench.archive.store_find import sound_row, storable, time_text
from valvebench.archive.store_first import FIRST_LINE, job_told
from valvebench.archive.store_open import Database
from valvebench.bench.archived import Month, Point, Trend
from valvebench.judge.again import CODE_OF, CODES
from valvebench.model.errors import bad, nearest
from valvebench.model.words import JobKind, Verdict
from valvebench.physics.conductor import resistance_at

_POINTS: Final = (
    "SELECT s.key, r.closed_at, r.ohm_ref, r.u, r.celsius, r.verdict FROM reading r "
    "JOIN session s ON s.id = r.session_id WHERE r.device = ? ORDER BY r.closed_at, r.session_id, r.seq"
)
_POINTS_WITH_JOB: Final = (
    f"SELECT s.key, r.closed_at, r.ohm_ref, r.u, r.celsius, r.verdict, {FIRST_LINE} FROM reading r "
    "JOIN session s ON s.id = r.session_id JOIN journal j ON j.session_id = s.id "
    "WHERE r.device = ? ORDER BY r.closed_at, r.session_id, r.seq"
)
_MONTH: Final = (
    "SELECT {} AS month, count(*), avg(ohm_ref), min(ohm_ref), max(ohm_ref), "
    f"sum(CASE WHEN verdict = {CODE_OF[Verdict.FAIL]} THEN 1 ELSE 0 END) "
    "FROM reading WHERE device = ? AND closed_at >= ? AND closed_at < ?"
)
_MOST_MONTHS: Final = 240
"""For one statement: SQLite joins no more than 500."""


class Device(NamedTuple):
    """A device as the archive numbers it; more than one where its reference or its constant changed."""

    number: int
    kind: str
    ref_celsius: float | None
    k_celsius: float | None


def devices_of(database: Database, variant: str, name: str, at: str) -> list[Device]:
    """All numbers of one device, the latest way its limits were stated last (raises BadInput where there is none)."""
    sql = "SELECT id, kind, ref_celsius, k_celsius FROM device WHERE variant = ? AND name = ? AND at = ? ORDER BY id"
    asked = (storable(variant), storable(name), storable(at))
    found = [Device(*row) for row in database.execute(sql, asked).fetchall()]
    if found:
        return found
    variants = [row[0] for row in database.execute("SELECT DISTINCT variant FROM device").fetchall()]
    if variant not in variants:
        expected = "a variant of which the archive holds readings"
        raise bad("variant", repr(variant), expected, nearest(variant, variants))
    names = [row[0] for row in database.execute("SELECT DISTINCT name FROM device WHERE variant = ?", (variant,))]
    raise bad("device", repr(name), f"one that was read, such as {', '.join(sorted(names)[:8])}", nearest(name, names))


def trend(database: Database, variant: str, name: str, *, at: str, job: JobKind | None = None) -> Trend:
    """All values and their months, of one kind of job where that is asked (raises BadInput for an unknown device)."""
    with database.reading():
        devices = devices_of(database, variant, name, at)
        with sound_row():
            rows = [(one, _rows_of(database, one.number, job)) for one in devices]
            months = [
                (one, months_of(database, one.number) if job is None else _months_in(found)) for one, found in rows
            ]
    last = devices[-1]
    with sound_row():
        points = [_point(row, factor_between(one, last)) for one, found in rows for row in found]
        return Trend(
            variant=variant,
            device=name,
            kind=last.kind,
            ref_celsius=last.ref_celsius,
            points=tuple(sorted(points, key=lambda point: point.closed_at)),
            months=_joined(months, last),
        )


def _rows_of(database: Database, device: int, job: JobKind | None) -> Sequence[Any]:
    """Values in the order of time; the index knows no kinds of job, the first lines of the journals do."""
    if job is None:
        return database.execute(_POINTS, (device,)).fetchall()
    rows = database.execute(_POINTS_WITH_JOB, (device,)).fetchall()
    return [row[:6] for row in rows if job_told(row[6]).kind is job]


def factor_between(device: Device, last: Device) -> float:
    """Carries a value from where its limits held to where those of the last way hold."""
    ref, k, to = device.ref_celsius, device.k_celsius, last.ref_celsius
    if ref is None or k is None or to is None or ref == to:
        return 1.0
    moved: float = resistance_at(1.0, from_celsius=ref, to_celsius=to, k_celsius=k)
    return moved


def _point(row: Any, factor: float) -> Point:
    key, closed_at, ohm, u, celsius, verdict = row
    return Point(
        id=key.hex(),
        closed_at=time_text(closed_at),
        ohm_at_ref=ohm * factor,
        u_ohm_at_ref=u * factor if u is not None else None,
        celsius=celsius,
        verdict=CODES[verdict],
    )


class MonthRow(NamedTuple):
    """A month of one device: its place among all months since the year 0, count, mean, least, most [ohm], failed."""

    month: int
    n: int
    mean_ohm: float
    low_ohm: float
    high_ohm: float
    failed: int


def months_of(database: Database, device: int) -> list[MonthRow]:
    """The monthly aggregate of one device, months of the calendar in UTC; empty months are left out.

    One walk along the key for each month: no row is looked at twice, nothing is sorted, and where months begin is no
    business of the database.
    """
    ends = database.execute("SELECT min(closed_at), max(closed_at) FROM reading WHERE device = ?", (device,)).fetchone()
    if ends is None or ends[0] is None:
        return []
    first, last = _month_of(ends[0]), _month_of(ends[1])
    months = list(enumerate(itertools.pairwise(_begins_of(first, last)), first))
    found = []
    for start in range(0, len(months), _MOST_MONTHS):
        some = months[start : start + _MOST_MONTHS]
        values = [value for _, (low, high) in some for value in (device, low, high)]
        rows = database.execute(_months_sql(len(some)), tuple(values)).fetchall()
        found += [MonthRow(some[row[0]][0], *row[1:]) for row in rows if row[1]]
    return found


def _months_in(rows: Sequence[Any]) -> list[MonthRow]:
    """The same of values in the order of time that were chosen among all."""
    found = []
    for month, some in itertools.groupby(rows, key=lambda row: _month_of(row[1])):
        values = [(row[2], row[5]) for row in some]
        ohm = [value for value, _ in values]
        failed = sum(verdict == CODE_OF[Verdict.FAIL] for _, verdict in values)
        found.append(MonthRow(month, len(ohm), sum(ohm) / len(ohm), min(ohm), max(ohm), failed))
    return found


@cache
def _months_sql(count: int) -> str:
    return " UNION ALL ".join(_MONTH.format(number) for number in range(count))


@lru_cache(maxsize=64)
def _begins_of(first: int, last: int) -> tuple[int, ...]:
    return tuple(_begins(month) for month in range(first, last + 2))


def _month_of(moment_ms: int) -> int:
    moment = datetime.fromtimestamp(moment_ms / 1000, UTC)
    return moment.year * 12 + moment.month - 1


def _begins(month: int) -> int:
    return round(datetime(month // 12, month % 12 + 1, 1, tzinfo=UTC).timestamp() * 1000)


def _joined(found: Sequence[tuple[Device, Sequence[Any]]], last: Device) -> tuple[Month, ...]:
    """The months of all ways a device was stated, values carried to the last one."""
    months: dict[int, MonthRow] = {}
    for device, rows in found:
        factor = factor_between(device, last)
        for row in rows:
            one = MonthRow(row[0], row[1], row[2] * factor, row[3] * factor, row[4] * factor, row[5])
            months[one.month] = _together(months[one.month], one) if one.month in months else one
    return tuple(Month(_name(one.month), *one[1:]) for _, one in sorted(months.items()))


def _together(one: MonthRow, other: MonthRow) -> MonthRow:
    n = one.n + other.n
    return MonthRow(
        month=one.month,
        n=n,
        mean_ohm=(one.n * one.mean_ohm + other.n * other.mean_ohm) / n,
        low_ohm=min(one.low_ohm, other.low_ohm),
        high_ohm=max(one.high_ohm, other.high_ohm),
        failed=one.failed + other.failed,
    )


def _name(month: int) -> str:
    return f"{month // 12:04d}-{month % 12 + 1:02d}"


def points_in_numpy(database: Database, device: int) -> Any:
    """Time [ms], value and standard uncertainty [ohm] of one device as columns, (3, n): for charts and fits."""
    import numpy as np

    sql = "SELECT closed_at, ohm_ref, coalesce(u, -1) FROM reading WHERE device = ? ORDER BY closed_at, session_id, seq"
    rows = database.plain_rows(sql, (device,))
    columns = np.fromiter(itertools.chain.from_iterable(rows), float, 3 * len(rows)).reshape(-1, 3).T
    columns[2][columns[2] < 0] = np.nan  # none was told
    return columns
