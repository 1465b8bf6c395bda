"""Tables for a spreadsheet: read back by another library, and no cell that runs."""

from __future__ import annotations

import csv

import pandas as pd
import pytest

from tests.data.archived import reading, session_in
from valvebench.archive import store_export
from valvebench.archive.store_export import READINGS, SESSIONS, plain
from valvebench.bench.archived import Asked
from valvebench.model.entry import Outcome
from valvebench.model.errors import BadInput


@pytest.fixture
def filled(store, tmp_path):
    outcome = Outcome(fitted=True, months=3)
    store.add(session_in(tmp_path, "E-0", outcome=outcome, customer='=HYPERLINK("x")', serial="0418", batch='a,b\n"c"'))
    store.add(session_in(tmp_path, "E-1", [reading("Fluid", 2600.0, celsius=20.0), reading("Heron", 5.25)]))
    return store


def test_what_is_written_is_what_is_found(filled, tmp_path):
    counted = filled.export(tmp_path / "out")
    assert (counted.sessions, counted.files) == (2, 2)
    sessions = pd.read_csv(tmp_path / "out" / "sessions.csv", dtype=str, keep_default_na=False)
    assert list(sessions.columns) == list(SESSIONS)
    found = {one.id: one for one in filled.find(Asked()).sessions}
    assert set(sessions["id"]) == set(found)
    assert list(sessions["closed_at"]) == [found[ident].closed_at for ident in sessions["id"]]
    first = sessions.iloc[0]
    assert (first["serial"], first["fitted"], first["months"], first["outcome"]) == ("0418", "yes", "3.0", "fitted")
    assert first["batch"] == 'a,b\n"c"'
    readings = pd.read_csv(tmp_path / "out" / "readings.csv")
    assert list(readings.columns) == list(READINGS)
    points = filled.trend("tern-body-2", "Heron").points
    heron = readings[readings["device"] == "Heron"]
    assert list(heron["ohm_at_ref"]) == [point.ohm_at_ref for point in points]  # to the last digit
    assert len(readings) == 4


def test_no_cell_begins_like_a_formula(filled, tmp_path):
    filled.export(tmp_path / "out")
    with (tmp_path / "out" / "sessions.csv").open(encoding="utf-8-sig", newline="") as file:
        cells = [cell for row in csv.reader(file) for cell in row]
    # signs that begin a formula: OWASP ASVS 5.0, 1.2.10; the full-width one is ours
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@", "\t", "\r", "\x00", "＝"))]
    assert '\'=HYPERLINK("x")' in cells


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1", "'=1"),
        ("-1", "'-1"),
        ("＝1", "'＝1"),
        ("\x00x", "'\ufffdx"),
        ("a=1", "a=1"),
        (None, ""),
        (-1.5, -1.5),
        (0, 0),
    ],
)
def test_one_cell(cell, written):
    assert plain(cell) == written


def test_pages_of_rows_lose_none(filled, tmp_path, monkeypatch):
    monkeypatch.setattr(store_export, "_ROWS", 1)
    filled.export(tmp_path / "out")
    assert [len(pd.read_csv(tmp_path / "out" / f"{name}.csv")) for name in ("sessions", "readings")] == [2, 4]


def test_stopped_nothing_is_left(filled, tmp_path, monkeypatch):
    monkeypatch.setattr(store_export, "_ROWS", 1)
    before = sorted(path.name for path in tmp_path.iterdir())
    assert not filled.export(tmp_path / "out", step=lambda done, of: False).is_whole
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_a_folder_with_something_in_it_is_refused(filled, tmp_path):
    with pytest.raises(BadInput, match="a new or empty folder"):
        filled.export(tmp_path)
