"""Bodies of one device with what became of them, meter checks over time, and counts of failures."""

from __future__ import annotations

from typing import Any, Final

from valvebench.archive.chain import read_journal
from valvebench.archive.store_find import since_ms, storable, time_text
from valvebench.archive.store_first import FIRST_LINE, job_told
from valvebench.archive.store_open import Database
from valvebench.archive.store_show import kept
from valvebench.archive.store_trend import devices_of, factor_between
from valvebench.archive.store_words import code_of
from valvebench.bench.archived import CheckPoint
from valvebench.diagnose.failures import Cell, Cells
from valvebench.diagnose.learned import Bodies, Body, Read, value_of
from valvebench.judge.again import CODE_OF, CODES
from valvebench.judge.rows import check_of
from valvebench.model.entry import KIND_OF_BODY, MeterCheck
from valvebench.model.meter import DEFAULT_PRESET, PRESETS, parse_meter
from valvebench.model.session import fold
from valvebench.model.words import Verdict

_BODIES: Final = (
    "SELECT s.id, s.key, s.job, s.closed_at, r.ohm_ref, r.u, r.verdict, s.serial, s.supplier, s.batch, "
    "o.fitted, o.comeback, o.months, o.odometer_km, EXISTS (SELECT 1 FROM revision v WHERE v.of_key = s.key), "
    f"CASE WHEN o.odometer_km IS NOT NULL OR s.supplier IS NOT NULL THEN {FIRST_LINE} END, "
    "r.celsius "
    "FROM reading r JOIN session s ON s.id = r.session_id JOIN journal j ON j.session_id = s.id "
    "LEFT JOIN outcome o ON o.session_id = s.id WHERE r.device = ? ORDER BY r.closed_at, r.session_id, r.seq"
)
_FAIL: Final = CODE_OF[Verdict.FAIL]
_DEVICE_CELLS: Final = (
    "SELECT variant, name, supplier, batch, count(*), sum(failed) FROM (SELECT d.variant AS variant, d.name AS name, "
    "coalesce(s.supplier, '') AS supplier, coalesce(s.batch, '') AS batch, "
    f"max(r.verdict = {_FAIL}) AS failed "
    "FROM reading r JOIN device d ON d.id = r.device JOIN session s ON s.id = r.session_id "
    "WHERE r.closed_at >= ? AND (? IS NULL OR d.variant = ?) GROUP BY d.variant, d.name, r.session_id) "
    "GROUP BY variant, name, supplier, batch"
)
_SESSION_CELLS: Final = (
    "SELECT coalesce(variant, ''), '', coalesce(supplier, ''), coalesce(batch, ''), count(*), "
    f"sum(verdict = {_FAIL}) FROM session WHERE closed_at >= ? AND (? IS NULL OR variant = ?) GROUP BY 1, 3, 4"
)
_CHECKED: Final = (
    "SELECT j.session_id, s.key, s.job FROM journal j JOIN session s ON s.id = j.session_id "
    'WHERE instr(j.bytes, CAST(\'"kind":"meter-check"\' AS BLOB)) > 0 ORDER BY s.closed_at, s.id'
)


def bodies(database: Database, variant: str, name: str, *, at: str) -> Bodies:
    """Of every session the value read nearest to the reference temperature, the earliest first.

    Raises BadInput where the device was never read.
    """
    with database.reading():
        devices = devices_of(database, variant, name, at)
        rows = [(one, database.execute(_BODIES, (one.number,)).fetchall()) for one in devices]
        came_back = {row[0] for row in database.execute("SELECT of_job FROM comeback").fetchall()}
    last = devices[-1]
    found: dict[int, list[tuple[int, Read, Body]]] = {}
    for device, some in rows:
        if (device.ref_celsius is None) == (last.ref_celsius is None):
            factor = factor_between(device, last)
            for row in some:
                body = _body(row, factor, came_back)
                away = abs(row[-1] - last.ref_celsius) if last.ref_celsius is not None else 0.0
                read = Read(body.ohm_at_ref, body.u_ohm_at_ref, away)
                found.setdefault(row[0], []).append((row[3], read, body))
    in_time = sorted(found, key=lambda number: (found[number][0][0], number))
    one_each = tuple(_one_of(found[number]) for number in in_time)
    return Bodies(variant=variant, device=name, kind=last.kind, ref_celsius=last.ref_celsius, bodies=one_each)


def _one_of(values: list[tuple[int, Read, Body]]) -> Body:
    place, agrees = value_of([read for _, read, _ in values])
    return values[place][2]._replace(agrees=agrees)


def _body(row: Any, factor: float, came_back: set[str]) -> Body:
    _, key, job, closed_at, ohm, u, verdict, serial, supplier, batch = row[:10]
    fitted, comeback, months, odometer_km, is_revised, first = row[10:16]
    told = job_told(first)
    drove = None
    if odometer_km is not None and told.odometer_km is not None:
        drove = odometer_km - told.odometer_km
    return Body(
        id=key.hex(),
        job=job,
        closed_at=time_text(closed_at),
        ohm_at_ref=ohm * factor,
        u_ohm_at_ref=u * factor if u is not None else None,
        verdict=CODES[verdict],
        kind=told.kind,
        serial=serial,
        supplier=supplier,
        batch=batch,
        fitted=bool(fitted) if fitted is not None else None,
        comeback=comeback,
        months=months,
        km=drove,
        came_back=code_of(job) in came_back,
        is_revised=bool(is_revised),
    )


def failure_cells(database: Database, *, variant: str | None = None, since: str | None = None) -> Cells:
    """How many sessions failed, by everything that can be asked for; as they were closed (raises BadInput)."""
    asked = storable(variant) if variant is not None else None
    values = (since_ms(since) or 0, asked, asked)
    with database.reading():
        devices = database.execute(_DEVICE_CELLS, values).fetchall()
        sessions = database.execute(_SESSION_CELLS, values).fetchall()
    return Cells(tuple(Cell(*row) for row in devices), tuple(Cell(*row) for row in sessions))


def meter_checks(database: Database) -> tuple[CheckPoint, ...]:
    """Every meter check that counts, in the order of time."""
    with database.reading():
        rows = database.execute(_CHECKED).fetchall()
        found = [point for number, key, job in rows for point in _checks(database, number, key.hex(), job)]
    return tuple(sorted(found, key=lambda point: point.at))


def _checks(database: Database, number: int, ident: str, job: str) -> list[CheckPoint]:
    session = fold(read_journal(kept(database, number).raw, source=job).entries)
    items = session.items_of(KIND_OF_BODY[MeterCheck])
    return [_check_point(item.body, ident, job, item.at) for item in items if isinstance(item.body, MeterCheck)]


def _check_point(body: MeterCheck, ident: str, job: str, at: str) -> CheckPoint:
    check = check_of(body)
    meter = parse_meter(body.meter) if body.meter is not None else PRESETS[DEFAULT_PRESET]
    return CheckPoint(
        id=ident,
        job=job,
        at=at,
        meter=body.meter_id or meter.text(),
        leads=body.leads,
        check_ohm=check.ohm,
        off_ohm=check.read_ohm - (check.zero_ohm or 0.0) - check.ohm,
        step_ohm=meter.step,
    )
