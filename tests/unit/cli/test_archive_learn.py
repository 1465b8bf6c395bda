"""`valvebench archive learn`, `failures` and `drift`: answers, refusals, and a file changed only on request."""

from __future__ import annotations

import json

import pytest

from tests.data.archived import VARIANT_RAW, reading, session_in
from valvebench.model.entry import MeterCheck, Outcome
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Comeback, LeadState, SourceKind

OHM = (5.11, 5.13, 5.16, 5.17, 5.19, 5.20, 5.21, 5.23, 5.24, 5.27)
VARIANT = "tern-body-2"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """Ten bodies that did well, one that came back, one that nobody spoke of; Counter's fail more often."""
    from valvebench.compose import archives

    root = tmp_path_factory.mktemp("learn")
    archive = archives().open(root / "shelf")
    did_well = Outcome(fitted=True, comeback=Comeback.NO, months=14.0)
    for number, ohm in enumerate(OHM):
        check = MeterCheck(check_ohm=5.0, read_ohm=5.01, meter_id="M-1", leads=LeadState.NULLED)
        bodies = [check, reading("Heron", ohm, celsius=20.0)]
        archive.add(session_in(root, f"W-{number}", bodies, outcome=did_well, supplier="Harbour"))
    archive.add(session_in(root, "C-1", [reading("Heron", 9.0)], outcome=Outcome(comeback=Comeback.HOT)))
    archive.add(session_in(root, "N-1", [reading("Heron", 9.0)], supplier="Counter"))
    archive.close()
    return root / "shelf"


@pytest.fixture
def ask(run, shelf):
    def ask_it(*words):
        return run("archive", "--at", shelf, *words)

    return ask_it


def variant_file(tmp_path, **heron):
    data = json.loads(VARIANT_RAW)
    row = next(one for one in data["devices"] if one["name"] == "Heron")
    for key in ("low_ohm", "high_ohm", "source"):
        row.pop(key, None)
    row |= heron
    path = tmp_path / "tern.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    return path


def test_a_band_and_which_bodies_did_not_count(ask):
    answer = ask("learn", VARIANT, "Heron", "--json")
    assert answer.code == 0
    found = answer.data
    assert (found["used"], len(found["values"]), found["into"]) == (10, 10, None)
    assert found["not_counted"] == [{"why": "came_back", "bodies": 1}, {"why": "not_told", "bodies": 1}]
    assert found["limits"]["low_ohm"] < min(OHM) < max(OHM) < found["limits"]["high_ohm"]
    text = ask("learn", VARIANT, "Heron").out
    assert "at least 90 in 100 bodies like these lie from" in text
    assert "Not counted, it came back: 1" in text
    assert "never merely passed" in text
    assert "Nothing is changed by this" in text


def test_a_longer_time_leaves_nothing_to_learn_from(ask):
    answer = ask("learn", VARIANT, "Heron", "--months", "24", "--json")
    assert (answer.code, answer.data["limits"]) == (3, None)
    assert answer.data["warnings"] == ["None of 12 bodies is known to have done well: no band is told."]


def test_into_a_file_as_learned_with_n(ask, tmp_path):
    path = variant_file(tmp_path)
    before = path.read_bytes()
    found = ask("learn", VARIANT, "Heron", "--into", path, "--json").data
    device = read_variant(path.read_bytes(), source="").device_named("Heron")
    assert (device.source.kind, device.source.n, device.ref_celsius) == (SourceKind.LEARNED, 10, 20.0)
    assert "archive" in device.source.text
    # rounded outwards, and by little
    width = found["limits"]["high_ohm"] - found["limits"]["low_ohm"]
    assert 0 <= found["limits"]["low_ohm"] - device.low_ohm < width / 20
    assert 0 <= device.high_ohm - found["limits"]["high_ohm"] < width / 20
    assert path.with_name("tern.json.bak").read_bytes() == before
    assert ask("learn", VARIANT, "Heron", "--into", path).code == 0  # learned ones give way to newer ones


def test_limits_that_somebody_stated_stay_unless_it_is_said(ask, tmp_path):
    path = variant_file(tmp_path, low_ohm=5.0, high_ohm=5.4, source={"kind": "manual", "text": "page 12"})
    before = path.read_bytes()
    answer = ask("learn", VARIANT, "Heron", "--into", path)
    assert answer.code == 2
    assert "limits (manual)" in answer.err
    assert "--replace" in answer.err
    assert path.read_bytes() == before
    assert not path.with_name("tern.json.bak").exists()
    assert ask("learn", VARIANT, "Heron", "--into", path, "--replace").code == 0


@pytest.mark.parametrize(("change", "said"), [({"key": "another"}, "'another'"), ({"devices": []}, "'Heron'")])
def test_a_file_of_something_else_is_refused(ask, tmp_path, change, said):
    path = variant_file(tmp_path)
    path.write_text(json.dumps(json.loads(path.read_text()) | change), encoding="utf-8")
    before = path.read_bytes()
    answer = ask("learn", VARIANT, "Heron", "--into", path)
    assert (answer.code, said in answer.err, path.read_bytes() == before) == (2, True, True)


def test_nothing_is_written_where_no_band_is_told(ask, tmp_path):
    path = variant_file(tmp_path)
    before = path.read_bytes()
    answer = ask("learn", VARIANT, "Heron", "--months", "24", "--into", path)
    assert (answer.code, path.read_bytes() == before) == (3, True)


@pytest.mark.parametrize("words", [("--months", "-1"), ("--coverage", "2"), ("--replace",)])
def test_what_cannot_be_meant_is_refused(ask, words):
    assert ask("learn", VARIANT, "Heron", *words).code == 2


def test_what_fails_most(ask):
    counts = ask("failures", "--by", "supplier", "--json").data["counts"]
    assert [(one["name"], one["sessions"], one["failed"]) for one in counts] == [
        ("", 1, 1),
        ("Counter", 1, 1),
        ("Harbour", 10, 0),
    ]
    text = ask("failures").out
    assert f"{VARIANT} Heron: 2 of 12 failed, 2 to 48 % (95 %)" in text  # scipy.stats.binomtest(2, 12): 0.0209, 0.4841
    assert ask("failures", "--variant", "nothing").out.strip() == "No sessions there."


def test_drift_of_meters_and_suppliers(ask):
    (row,) = ask("drift", "--json").data["rows"]
    assert row["what"] == "meter M-1, 5 ohm, nulled on the meter"
    assert [point[2] for point in row["points"]] == pytest.approx([0.01] * 10)
    assert row["words"] == "10 values: whether they drift is told from 21 on."
    assert [one["what"] for one in ask("drift", VARIANT, "Heron", "--json").data["rows"]] == ["Counter", "Harbour"]
    assert ask("drift", VARIANT).code == 2


def test_drift_of_suppliers_by_the_kind_of_job(ask):
    rows = ask("drift", VARIANT, "Heron", "--json").data["rows"]
    assert [one["jobs"] for one in rows] == [{"complaint": 1}, {"complaint": 10}]
    assert ask("drift", VARIANT, "Heron", "--job-kind", "complaint", "--json").data["rows"] == rows
    assert ask("drift", VARIANT, "Heron", "--job-kind", "bench_check", "--json").data["rows"] == []
    assert "Harbour, 10 of complaints: 10 values" in ask("drift", VARIANT, "Heron").out
    assert ask("drift", VARIANT, "Heron", "--job-kind", "road").code == 2
    assert ask("drift", "--job-kind", "complaint").code == 2
