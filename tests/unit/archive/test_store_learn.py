"""Bodies with what became of them, meter checks and counts, as they stand in the journals."""

from __future__ import annotations

import pytest

from tests.data.archived import add_to, reading
from valvebench.archive.store_first import job_told
from valvebench.diagnose.failures import Cell
from valvebench.model.entry import MeterCheck, Outcome, Withdraw
from valvebench.model.errors import BadInput, EvidenceBroken
from valvebench.model.words import Comeback, JobKind, LeadState

VARIANT = "tern-body-2"


def bodies(store, device="Heron"):
    return store.bodies(VARIANT, device).bodies


def test_a_body_has_the_value_that_was_carried_least(store, jobs):
    """Copper: R20 = R (234.5 + 20)/(234.5 + T), IEC 60028; 5.61 at 40 degrees is 5.20 at 20."""
    store.add(
        jobs(
            "A",
            reading("Heron", 5.61, celsius=40.0),
            reading("Gull", 5.3),
            reading("Heron", 5.2, celsius=21.0),
            serial="S 1",
        )
    )
    (one,) = bodies(store)
    assert one.ohm_at_ref == pytest.approx(5.2 * 254.5 / 255.5, rel=1e-12)
    assert (one.job, one.serial, one.fitted, one.comeback, one.km, one.agrees) == ("A", "S 1", None, None, None, True)
    assert store.bodies(VARIANT, "Heron").ref_celsius == 20.0


def test_values_of_two_coils_do_not_agree(store, jobs):
    store.add(jobs("A", reading("Heron", 7.0), reading("Heron", 5.61, celsius=40.0)))
    (one,) = bodies(store)
    assert not one.agrees


def test_what_became_of_it_may_be_told_in_pieces(store, jobs, tmp_path):
    folder = jobs("A", odometer_km=184_000.0, outcome=Outcome(fitted=True))
    store.add(folder)
    add_to(folder, Outcome(comeback=Comeback.NO, months=14.0, odometer_km=204_500.0))
    store.add(folder)
    (one,) = bodies(store)
    assert (one.fitted, one.comeback, one.months, one.km) == (True, "no", 14.0, 20_500.0)


def test_another_job_tells_that_it_came_back(store, jobs):
    store.add(jobs("A 1", outcome=Outcome(fitted=True, comeback=Comeback.NO, months=14.0)))
    store.add(jobs("B", comeback_of="a-1", day="2031-07-01"))
    assert [(one.job, one.came_back) for one in bodies(store)] == [("A 1", True), ("B", False)]


def test_a_revised_session_says_so(store, jobs):
    first = store.add(jobs("A")).id
    store.add(jobs("B", revises=first, revises_why="meter was off", day="2031-07-01"))
    assert [(one.job, one.is_revised) for one in bodies(store)] == [("A", True), ("B", False)]


def test_the_kind_of_job_is_known_where_a_supplier_is(store, jobs):
    store.add(jobs("A", kind="bench_check", supplier="Tern Parts Counter", batch="B-114"))
    (one,) = bodies(store)
    assert (one.kind, one.supplier, one.batch) == (JobKind.BENCH_CHECK, "Tern Parts Counter", "B-114")


@pytest.mark.parametrize("line", [b"", b"{", b'{"body":{"kind":"road"}}', b'{"body":{"kind":"\xff"}}'])
def test_a_damaged_first_line_is_told(line):
    assert job_told(None).kind is JobKind.COMPLAINT
    with pytest.raises(EvidenceBroken, match="archive verify"):
        job_told(line)


def test_a_sensor_has_no_reference_and_no_device_is_told(store, jobs):
    store.add(jobs("A", reading("Fluid", 1100.0)))
    assert store.bodies(VARIANT, "Fluid").ref_celsius is None
    with pytest.raises(BadInput, match="one that was read"):
        store.bodies(VARIANT, "Heron")


def test_meter_checks_that_count(store, jobs):
    """5.23 read, 0.2 of it leads, on 5 ohm: 0.03 off; a withdrawn check is gone."""
    check = MeterCheck(
        check_ohm=5.0, read_ohm=5.23, zero_read_ohm=0.2, meter="0.5%+5x0.01", meter_id="M-1", leads=LeadState.SUBTRACT
    )
    wrong = MeterCheck(check_ohm=5.0, read_ohm=9.0, leads=LeadState.NULLED)
    store.add(jobs("B", check, wrong, Withdraw(entry=3), day="2031-07-01"))
    store.add(jobs("A", check, reading("Heron", 5.2), day="2031-05-01"))
    store.add(jobs("C"))
    found = store.meter_checks()
    assert [one.job for one in found] == ["A", "B"]
    assert {(one.meter, one.check_ohm, one.leads, one.step_ohm) for one in found} == {
        ("M-1", 5.0, LeadState.SUBTRACT, 0.01)
    }
    assert [one.off_ohm for one in found] == pytest.approx([0.03, 0.03], abs=1e-12)


def test_cells_count_a_session_once_however_often_it_was_read(store, jobs):
    store.add(
        jobs("A", reading("Heron", 9.0), reading("Heron", 5.6, celsius=40.0), reading("Gull", 5.3), supplier="Counter")
    )
    store.add(jobs("B", reading("Heron", 5.2), supplier="Counter", day="2031-07-01"))
    store.add(jobs("C", reading("Heron", 5.2), day="2031-08-01"))
    found = store.failure_cells()
    assert set(found.devices) == {
        Cell(VARIANT, "Heron", "Counter", "", 2, 1),
        Cell(VARIANT, "Gull", "Counter", "", 1, 0),
        Cell(VARIANT, "Heron", "", "", 1, 0),
    }
    assert sum(cell.sessions for cell in found.sessions) == 3
    assert sum(cell.sessions for cell in store.failure_cells(since="2031-07-01").sessions) == 2
    assert store.failure_cells(variant="another").devices == ()
