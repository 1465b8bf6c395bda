"""`valvebench wire` on tables and on a session."""

from __future__ import annotations

import json

import pytest

from valvebench.model.variant_rules import read_variant

# 1 and 2 hang on 3 by 5.2 and 5.3 ohm (invented).
ROWS = [
    ("1", "2", "10,5"),
    ("1", "3", "5,2"),
    ("2", "3", "5,3"),
    ("1", "case", "OL"),
    ("2", "case", ""),
    ("3", "case", "inf"),
]
KEYS = {"pins", "nets", "devices", "case_nets", "cannot_tell", "contradictions", "next"}


@pytest.fixture
def table(tmp_path):
    def write(rows=ROWS, sign=";", head="from;to;ohm"):
        path = tmp_path / "readings.csv"
        path.write_text("\n".join([head.replace(";", sign), *(sign.join(row) for row in rows)]), "utf-8")
        return path

    return write


@pytest.mark.parametrize("sign", [";", "\t", ","])
def test_a_table_in_three_dialects(run, table, sign):
    rows = [tuple(cell.replace(",", ".") for cell in row) for row in ROWS] if sign == "," else ROWS
    answer = run("wire", table(rows, sign), "--pins", 3, "--json")
    assert answer.code == 0, answer.err
    assert set(answer.data) == KEYS
    assert [(one["between"], one["ohm"], one["kind"]) for one in answer.data["devices"]] == [
        (["1", "3"], 5.2, "coil_like"),
        (["2", "3"], 5.3, "coil_like"),
    ]
    assert answer.data["nets"] == [["1", "2", "3"], ["case"]]


def test_not_yet_is_three_and_says_what_next(run, table):
    answer = run("wire", table(ROWS[:2]), "--pins", 4, "--json")
    assert answer.code == 3
    assert {"from", "to"} <= set(answer.data["next"][0])
    assert "black clip on" in run("wire", table(ROWS[:2]), "--pins", 4).out


def test_an_empty_table_begins_the_walk(run, table):
    answer = run("wire", table([]), "--pins", 4, "--json")
    assert (answer.code, answer.data["pins"]) == (3, ["1", "2", "3", "4"])


@pytest.mark.parametrize(
    ("rows", "head", "part"),
    [
        ([("1", "1", "5")], "from;to;ohm", "line 2"),
        ([("1", "2", "five")], "from;to;ohm", "five"),
        ([("1", "2", "5", "300")], "from;to;ohm;celsius", "celsius"),
        ([("1", "2", "5")], "a;b;c", "header"),
        ([("1", "9", "5")], "from;to;ohm", "'9'"),
        ([("1", "2", "5", "6")], "from;to;ohm", "4 cells"),
    ],
)
def test_bad_tables_are_refused_in_one_message(run, table, rows, head, part):
    answer = run("wire", table(rows, ";", head), "--pins", 3)
    assert answer.code == 2
    assert part in answer.err
    assert "Traceback" not in answer.err


def test_save_variant_opens_again(run, table, tmp_path):
    target = tmp_path / "found body.json"
    assert run("wire", table(), "--pins", 3, "--save-variant", target).code == 0
    body = read_variant(target.read_bytes(), source="found")
    assert body.key == "found-body"
    assert [one.between for one in body.devices] == [("1", "3"), ("2", "3")]
    expected = run("expect", target, "--from", "1", "--to", "2", "--json")
    assert expected.data["state"] == "value"


def test_nothing_found_saves_nothing(run, table, tmp_path):
    target = tmp_path / "none.json"
    assert run("wire", table([]), "--pins", 3, "--save-variant", target).code == 2
    assert not target.exists()


def test_a_session_is_read_like_a_table(run, job, record):
    for a, b, *shown in (("1", "2", "--ohm", 5.2), ("1", "case", "--open", "--range-ohm", 6e7)):
        record("reading", "--from", a, "--to", b, *shown, "--celsius", 23)
    answer = run("wire", job, "--json")
    assert answer.code == 3
    assert [one["between"] for one in answer.data["devices"]] == [["1", "2"]]
    assert json.dumps(answer.data["pins"]) == '["1", "2", "3", "4", "5", "6"]'
