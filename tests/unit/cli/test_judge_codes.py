"""Selector positions on the command line: `record switch --selector`, `judge`, the report.  All invented."""

from __future__ import annotations

import json

import pytest

from tests.unit.cli.conftest import VARIANT

TABLE = [
    {"position": "P", "switches": {"Reel": "closed", "Rill": "open"}},
    {"position": "N", "switches": {"Reel": "open", "Rill": "open"}},
    {"position": "D", "switches": {"Reel": "open", "Rill": "closed"}},
]


@pytest.fixture
def variant_file(tmp_path):
    switches = [
        {"name": name, "kind": "switch", "between": [pin, "case"]} for name, pin in (("Reel", "5"), ("Rill", "6"))
    ]
    path = tmp_path / "variant.json"
    path.write_text(json.dumps({**VARIANT, "devices": switches, "ports": [], "selector_codes": TABLE}), "utf-8")
    return path


@pytest.fixture
def saw(record):
    def record_it(position, **states):
        for name, state in states.items():
            record("switch", "--device", name, "--state", state, "--selector", position)

    return record_it


def test_every_position_is_a_row_with_its_reasons(run, job, saw):
    saw("P", Reel="open", Rill="open")
    saw("n", Reel="open", Rill="open")
    saw("D", Rill="closed")
    answer = run("judge", job, "--json")
    told = {row["what"]: (row["kind"], row["entries"], row["verdict"]) for row in answer.data["rows"]}
    assert told == {
        "selector P": ("selector", [2, 3], "fail"),
        "selector N": ("selector", [4, 5], "pass"),
        "selector D": ("selector", [6], "not_taken"),
    }
    first = answer.data["rows"][0]
    assert first["reasons"] == [
        "Fail: in P Reel is open, it should be closed.",
        "Reel reads open in every position it was read in (2): stuck open, or its wire is broken.",
        "What was read is the code of N.",
    ]
    assert first["advice"] == ["Adjust or check the lever before blaming Reel, then read P again."]
    assert answer.data["missing"] == [
        {"what": "selector D", "kind": "selector", "from": None, "to": None, "port": None}
    ]
    assert answer.code == 1


def test_the_text_says_why(run, job, saw):
    saw("P", Reel="open", Rill="open")
    text = run("judge", job).out
    assert "selector P" in text
    assert "      What was read is the code of N.\n      Next: Adjust or check the lever" in text
    assert "selector 0 of 3 positions passed, 1 failed, 2 not finished" in text


def test_a_slip_is_taken_back(run, job, saw, record):
    saw("P", Reel="open", Rill="open")
    record("correct", "--entry", "2", "--state", "closed", "--why", "wrong key")
    answer = run("judge", job, "--json")
    assert [row["verdict"] for row in answer.data["rows"]] == ["pass"]
    assert answer.code == 3  # two positions are still to be read


CONTACT = {
    "name": "Fluid",
    "kind": "temperature_sensor",
    "between": ["1", "2"],
    "points": [[20, 2540, 2800], [80, 300, 350]],
    "in_series_with": "Reel",
}


@pytest.fixture
def contact_file(tmp_path):
    reel, rill = (
        {"name": name, "kind": "switch", "between": [pin, "case"]} for name, pin in (("Reel", "5"), ("Rill", "6"))
    )
    path = tmp_path / "contact.json"
    data = {**VARIANT, "devices": [CONTACT, reel, rill], "ports": [], "selector_codes": TABLE}
    path.write_text(json.dumps(data), "utf-8")
    return path


def test_a_sensor_read_through_an_open_contact_is_not_usable_and_with_a_closed_one_a_fail(run, tmp_path, contact_file):
    folder = tmp_path / "contact job"
    assert run("open-job", folder, "--variant", contact_file, "--job", "T-2").code == 0
    opened = ("--from", "1", "--to", "2", "--open", "--range-ohm", "6e7", "--celsius", "20")
    assert run("record", folder, "reading", *opened, "--selector", "N").code == 0
    (row,) = run("judge", folder, "--json").data["rows"]
    assert (row["verdict"], row["advice"]) == ("not_usable", ["Move the selector to P, say so, and read again."])
    assert run("record", folder, "correct", "--entry", "2", "--selector", "P", "--why", "it was in P").code == 0
    (row,) = run("judge", folder, "--json").data["rows"]
    assert row["verdict"] == "fail"


def test_expect_says_what_a_contact_has_to_do_with_it(run, contact_file):
    pair = ("expect", contact_file, "--from", "1", "--to", "2")
    known = run(*pair, "--selector", "P", "--json").data
    assert (known["state"], known["ohm"], known["why"]) == (
        "value",
        2670.0,
        "Fluid is read through Reel, which is closed in P.",
    )
    assert run(*pair, "--selector", "N", "--json").data["state"] == "open"
    unknown = run(*pair)
    assert "unknown" in unknown.out
    assert "nothing says how that stands" in unknown.out
    wrong = run(*pair, "--selector", "L")
    assert (wrong.code, "one of P, N, D" in wrong.err) == (2, True)
