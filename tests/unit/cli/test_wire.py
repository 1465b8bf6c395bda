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


# On 1 hang 5.2, 5.3, 12.4 and 13.0 ohm (invented): 12.4 may as well be 7.1 ohm behind 5.3.
STAR = [
    *(("1", pin, ohm) for pin, ohm in (("2", "5,2"), ("3", "5,3"), ("4", "12,4"), ("5", "13,0"))),
    *(("2", pin, ohm) for pin, ohm in (("3", "10,5"), ("4", "17,6"), ("5", "18,2"))),
    *((pin, "case", "OL") for pin in ("1", "2")),
]


def test_the_short_walk_takes_parts_on_one_hub_for_side_by_side(run, table):
    answer = run("wire", table(STAR), "--pins", 5, "--json")
    assert (answer.code, answer.data["cannot_tell"]) == (0, [])


def test_the_thorough_walk_asks_whether_one_hangs_behind_the_other(run, table):
    answer = run("wire", table(STAR), "--pins", 5, "--thorough", "--json")
    assert answer.code == 3
    assert "4 may hang on 1, or behind 3." in [one["why"] for one in answer.data["cannot_tell"]]
    settled = [("3", "4", "17,7"), ("3", "5", "18,3"), ("4", "5", "25,4")]
    assert run("wire", table([*STAR, *settled]), "--pins", 5, "--thorough", "--json").code == 0


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


def test_a_body_without_variant_has_the_pins_of_its_connector(run, tmp_path):
    assert run("open-job", tmp_path / "unknown", "--job", "T-8").code == 0
    recorded = run("record", tmp_path / "unknown", "connector", "--pins", 3, "--casting", "no")
    assert recorded.code == 0, recorded.err
    answer = run("wire", tmp_path / "unknown", "--json")
    assert answer.data["pins"] == ["1", "2", "3"]
    assert all("case" not in (one["from"], one["to"]) for one in answer.data["next"])
