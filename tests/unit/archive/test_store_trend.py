"""Values over time: at one reference, months of the calendar, recomputed by another library."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from tests.data.archived import reading, session_in
from tests.data.made_up import variant_data
from valvebench.archive.store_trend import points_in_numpy
from valvebench.model.errors import BadInput
from valvebench.model.words import AccessPoint, JobKind, Verdict


@pytest.fixture
def filled(store, tmp_path):
    """Heron read in nine sessions from December to March, at several temperatures."""
    days = ["2030-12-31", "2031-01-01", "2031-01-31", "2031-02-01", "2031-02-28", "2031-03-01", "2031-03-02"]
    for number, day in enumerate(days):
        ohm, celsius = 5.0 + 0.1 * number, 20.0 + 5 * number
        store.add(session_in(tmp_path, f"T-{number}", [reading("Heron", ohm, celsius=celsius)], day=day))
    return store


def test_points_stand_at_the_reference_temperature_in_their_order(filled):
    found = filled.trend("tern-body-2", "Heron")
    assert (found.kind, found.ref_celsius) == ("solenoid", 20.0)
    # copper by IEC 60028: R20 = R (234.5 + 20) / (234.5 + T)
    wanted = [(5.0 + 0.1 * n) * 254.5 / (254.5 + 5 * n) for n in range(7)]
    assert [point.ohm_at_ref for point in found.points] == pytest.approx(wanted, rel=1e-12)
    assert [point.celsius for point in found.points] == [20.0 + 5 * n for n in range(7)]
    assert found.points[0].closed_at == "2030-12-31T09:00:03.000Z"
    assert all(0.01 < point.u_ohm_at_ref < 0.1 for point in found.points)


def test_months_by_another_library(filled):
    found = filled.trend("tern-body-2", "Heron")
    table = pd.DataFrame(
        {
            "at": pd.to_datetime([point.closed_at for point in found.points]),
            "ohm": [point.ohm_at_ref for point in found.points],
            "failed": [point.verdict is Verdict.FAIL for point in found.points],
        }
    )
    groups = table.groupby(table["at"].dt.strftime("%Y-%m"))
    wanted = groups.agg(
        n=("ohm", "size"), mean=("ohm", "mean"), low=("ohm", "min"), high=("ohm", "max"), failed=("failed", "sum")
    )
    assert [one.month for one in found.months] == list(wanted.index)
    assert [(one.n, one.failed) for one in found.months] == list(zip(wanted["n"], wanted["failed"], strict=True))
    ours = [(one.mean_ohm, one.low_ohm, one.high_ohm) for one in found.months]
    assert np.array(ours) == pytest.approx(wanted[["mean", "low", "high"]].to_numpy(), rel=1e-12)


def test_only_one_kind_of_job_where_that_is_asked(store, tmp_path):
    told = [
        ("A", 5.1, "2031-01-05", {"kind": "bench_check"}),
        ("B", 5.9, "2031-01-20", {}),
        ("C", 5.3, "2031-01-25", {"kind": "bench_check", "feel": '"kind":"complaint"'}),
        ("D", 5.4, "2031-03-02", {"kind": "bench_check"}),
    ]
    for job, ohm, day, more in told:
        store.add(session_in(tmp_path, job, [reading("Heron", ohm, celsius=20.0)], day=day, **more))
    checks = store.trend("tern-body-2", "Heron", job=JobKind.BENCH_CHECK)
    assert [point.ohm_at_ref for point in checks.points] == pytest.approx([5.1, 5.3, 5.4])
    # by hand: January holds 5.1 and 5.3, mean 5.2
    assert [(one.month, one.n, one.failed) for one in checks.months] == [("2031-01", 2, 0), ("2031-03", 1, 0)]
    assert checks.months[0][2:5] == pytest.approx((5.2, 5.1, 5.3))
    complaints = store.trend("tern-body-2", "Heron", job=JobKind.COMPLAINT)
    assert ([point.ohm_at_ref for point in complaints.points], complaints.months[0].failed) == ([5.9], 1)
    none = store.trend("tern-body-2", "Heron", job=JobKind.ENQUIRY)
    assert (none.points, none.months) == ((), ())
    assert len(store.trend("tern-body-2", "Heron").points) == 4


def test_columns_for_a_chart_are_the_same_points(filled):
    number = filled.database.rows("SELECT id FROM device WHERE name = 'Heron'")[0][0]
    moments, ohm, u = points_in_numpy(filled.database, number)
    points = filled.trend("tern-body-2", "Heron").points
    assert ohm.tolist() == [point.ohm_at_ref for point in points]
    assert u.tolist() == [point.u_ohm_at_ref for point in points]
    assert pd.to_datetime(moments, unit="ms", utc=True).strftime("%Y-%m-%d").tolist() == [
        p.closed_at[:10] for p in points
    ]


def test_another_reference_temperature_is_carried_to_the_latest(store, tmp_path):
    changed = variant_data()
    changed["devices"][0]["ref_celsius"] = 25
    store.add(session_in(tmp_path, "old", [reading("Heron", 5.2, celsius=20.0)], day="2031-01-02"))
    store.add(
        session_in(
            tmp_path,
            "new",
            [reading("Heron", 5.2, celsius=25.0)],
            day="2031-01-03",
            variant_raw=json.dumps(changed).encode(),
        )
    )
    found = store.trend("tern-body-2", "Heron")
    assert found.ref_celsius == 25.0
    assert [point.ohm_at_ref for point in found.points] == pytest.approx([5.2 * 259.5 / 254.5, 5.2])
    (month,) = found.months
    assert (month.n, month.mean_ohm) == (2, pytest.approx((5.2 * 259.5 / 254.5 + 5.2) / 2))
    assert (month.low_ohm, month.high_ohm) == pytest.approx((5.2, 5.2 * 259.5 / 254.5))


def test_a_sensor_stands_at_the_temperature_it_was_read_at(store, tmp_path):
    store.add(session_in(tmp_path, "s", [reading("Fluid", 1200.0, celsius=45.0)]))
    found = store.trend("tern-body-2", "Fluid")
    assert (found.ref_celsius, [(point.ohm_at_ref, point.celsius) for point in found.points]) == (
        None,
        [(1200.0, 45.0)],
    )


def test_what_was_read_elsewhere_is_no_point_of_the_connector(store, tmp_path):
    plug = reading("Heron", 5.9, at=AccessPoint.VEHICLE_PLUG)
    store.add(session_in(tmp_path, "s", [reading("Heron", 5.2), plug]))
    assert len(store.trend("tern-body-2", "Heron").points) == 1
    assert len(store.trend("tern-body-2", "Heron", at="vehicle_plug").points) == 1


def test_open_is_no_value(store, tmp_path):
    open_reading = reading("Heron", 5.2)
    import msgspec

    opened = msgspec.structs.replace(open_reading, ohm=None, open=True, range_ohm=400.0)
    store.add(session_in(tmp_path, "s", [opened, reading("Gull", 5.2)]))
    with pytest.raises(BadInput, match="such as Gull"):
        store.trend("tern-body-2", "Herron")
    assert store.trend("tern-body-2", "Heron").points == ()


@pytest.mark.parametrize(
    ("variant", "device", "said"),
    [
        ("tern-body-9", "Heron", "Did you mean tern-body-2"),
        ("tern-body-2", "Hero", "Did you mean Heron"),
        ("\ud800", "x", "variant"),
    ],
)
def test_what_is_not_there_is_said_with_the_nearest(filled, variant, device, said):
    with pytest.raises(BadInput, match=said):
        filled.trend(variant, device)


def test_a_session_without_a_variant_has_no_device(store, tmp_path):
    store.add(session_in(tmp_path, "s", [reading("Heron", 5.2)], variant_raw=None))
    assert store.database.rows("SELECT count(*) FROM reading")[0][0] == 0


def test_many_years_are_asked_for_in_parts(store, tmp_path):
    for number, day in enumerate(["2001-01-01", "2041-06-01"]):
        store.add(session_in(tmp_path, f"T-{number}", [reading("Heron", 5.2)], day=day))
    assert [(one.month, one.n) for one in store.trend("tern-body-2", "Heron").months] == [
        ("2001-01", 1),
        ("2041-06", 1),
    ]


def test_midnight_belongs_to_the_new_month(filled):
    number = filled.database.rows("SELECT id FROM device WHERE name = 'Heron'")[0][0]
    midnight = round(pd.Timestamp("2031-02-01", tz="UTC").timestamp() * 1000)
    before = {one.month: one.n for one in filled.trend("tern-body-2", "Heron").months}
    for moment in (midnight - 1, midnight):
        row = (number, moment, 1, 99, 5.0, 20.0, 5.0, None, 2)
        filled.database.execute("INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
    after = {one.month: one.n for one in filled.trend("tern-body-2", "Heron").months}
    assert after == before | {"2031-01": before["2031-01"] + 1, "2031-02": before["2031-02"] + 1}
