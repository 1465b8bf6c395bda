"""The demo jobs of air as a number: what is found is what the simulated truth holds, made without our formulas."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.data.air_truth import emptied
from valvebench.bench.demo_air import (
    BORE,
    DRIFT_KELVIN_S,
    KNOWN_HOLE,
    LEAKS,
    LOOP_AMPERE,
    NEW_AIR,
    OLD_AIR,
    PRESSURES,
    SEATS,
    STATED_KPA,
    VESSEL_ML,
)
from valvebench.compose import view_session
from valvebench.diagnose.compare import compare
from valvebench.diagnose.compared import Side
from valvebench.model.words import Verdict
from valvebench.simulate.air import AMBIENT_KPA, Hole, Vessel

SAMPLES = Path(__file__).parents[2] / "sample_sessions"
STORIES = {"old": OLD_AIR, "new": NEW_AIR}


def rows(which):
    return [row for row in view_session(SAMPLES / STORIES[which].folder).judged().rows if row.leak or row.sweep]


def leak(which, port, method):
    (row,) = [row for row in rows(which) if row.port == port and row.leak.found.method.value == method]
    return row


@pytest.mark.parametrize("which", STORIES)
@pytest.mark.parametrize("port", ["P3", "P4", "P5", "P6"])
def test_two_gauges_find_each_leak_within_its_doubt(which, port):
    judged = leak(which, port, "steady").leak
    found = judged.found
    # choked at these pressures: conductance times absolute pressure
    truth = LEAKS[which][port] * (found.at_kpa_gauge + AMBIENT_KPA)
    assert abs(found.leak_ml_min.value - truth) <= judged.U_ml_min


@pytest.mark.parametrize("which", STORIES)
def test_no_port_stands_above_what_the_variant_states(which):
    """The supply is raised until the port stands at the stated pressure; a gauge of the shop is 0.5 % and 1 digit."""
    items = view_session(SAMPLES / STORIES[which].folder).session.items_of("leak")
    shown = [kpa for item in items for kpa in item.body.port_kpa_gauge]
    assert len(shown) == 10
    assert all(abs(kpa - STATED_KPA) <= 0.005 * STATED_KPA + 0.1 for kpa in shown)


def test_the_leaking_port_fails_on_the_old_body_and_passes_on_the_new_one():
    assert leak("old", "P6", "steady").verdict is Verdict.FAIL
    assert leak("new", "P6", "steady").verdict is Verdict.PASS


def test_a_vacuum_finds_its_leak():
    judged = leak("old", "P4", "vacuum").leak
    truth = BORE.c_ml_min_kpa * AMBIENT_KPA  # choked, so the same at any such vacuum
    assert abs(judged.found.leak_ml_min.value - truth) <= judged.U_ml_min


def test_the_known_hole_passes_what_an_ideal_nozzle_does():
    sound_m_s = (1.4 * 287.05 * 293.15) ** 0.5
    area_mm2 = math.pi / 4 * 0.5**2
    ml_min = sound_m_s * (2 / 2.4) ** 3 * area_mm2 * 60  # m/s * mm2 is ml/s; of 100 kPa
    assert pytest.approx(ml_min / 100, rel=2e-3) == KNOWN_HOLE.c_ml_min_kpa


def test_a_cooling_hose_looks_like_a_leak_and_is_none():
    row = leak("old", "P5", "decay")
    assert row.verdict is Verdict.PASS
    assert row.leak.found.leak_ml_min.value <= row.leak.U_ml_min


def test_the_sweep_finds_its_loop():
    (row,) = [row for row in rows("old") if row.sweep]
    # widest at half the current: 2 * 2 * 0.03 * 0.5 * 0.5 A of 0.9 A that move the pressure
    truth = 100.0 * 4.0 * LOOP_AMPERE * 0.25 / 0.9
    assert row.sweep.hysteresis_pct.value == pytest.approx(truth, abs=0.35)
    assert (row.verdict, row.sweep.found.hysteresis_pct_span.resolved) == (Verdict.PASS, True)


@pytest.mark.parametrize("which", STORIES)
def test_the_seat_of_a_solenoid_is_found_within_its_doubt_and_passes(which):
    (row,) = [row for row in rows(which) if row.leak and row.key == "seat Plover"]
    truth = SEATS[which] * (row.leak.found.at_kpa_gauge + AMBIENT_KPA)  # choked
    assert abs(row.leak.found.leak_ml_min.value - truth) <= row.leak.U_ml_min
    assert row.verdict is Verdict.PASS


def test_the_clutch_that_the_leaking_port_feeds_lacks_pressure():
    judged = view_session(SAMPLES / OLD_AIR.folder).judged()
    found = {(row.pressure.taken.tap, row.pressure.taken.kpa_gauge): row.verdict for row in judged.rows if row.pressure}
    assert set(found) == {(tap, kpa) for tap, kpa, _, _ in PRESSURES}
    assert [tap for (tap, _), verdict in found.items() if verdict is Verdict.FAIL] == ["Dipper"]
    assert not [one for one in judged.missing if one.kind == "pressure"]


def test_of_the_two_bodies_only_the_leaking_port_differs():
    views = [view_session(SAMPLES / story.folder) for story in (OLD_AIR, NEW_AIR)]
    found = [row for row in compare(*(Side(view.session, view.variant) for view in views)) if row.unit == "ml/min"]
    assert [row.what for row in found if row.significant] == ["leak P6 (steady)"]
    assert all({"gain", "restriction"} <= set(row.common) for row in found if "steady" in row.what)


def test_the_simulated_vessel_empties_as_the_one_of_the_tests_does():
    """Two programs of one physics, written apart: 60 s, 40 ml/min at the start."""
    hole = Hole(c_ml_min_kpa=40.0 / (250.0 + AMBIENT_KPA))
    kpa = Vessel(volume_ml=VESSEL_ML).fall(STATED_KPA, hole, every_s=1.0, count=61)
    _, other = emptied(40.0, volume_ml=VESSEL_ML, kpa_gauge=250.0, t_s=60.0, hz=1.0)
    assert kpa == pytest.approx(other, abs=0.05)
    drifting = Vessel(volume_ml=VESSEL_ML, wall_kelvin_s=DRIFT_KELVIN_S)
    cooled = drifting.fall(250.0, Hole(c_ml_min_kpa=0.0), every_s=1.0, count=61)
    _, other = emptied(0.0, volume_ml=VESSEL_ML, kpa_gauge=250.0, t_s=60.0, hz=1.0, drift_kelvin=-1.0)
    assert cooled == pytest.approx(other, abs=0.05)
