"""The speed table can be made: its modules import, its rivals agree, its arithmetic is right.  No time is asserted."""

from __future__ import annotations

import importlib
import itertools

import numpy as np
import pytest

from tests.speed import judging
from tests.speed.__main__ import GROUPS, from_workbook, line
from tests.speed.measure import Row, interleaved, row


@pytest.mark.parametrize("name", [*GROUPS, "window_child"])
def test_imports(name):
    importlib.import_module(f"tests.speed.{name}")


def test_the_rivals_agree():
    assert judging.differences() < 1e-9


def test_uncertainties_agrees():
    shown, celsius = judging.readings(200)
    mine = judging.ours(shown, celsius)
    values, guards, _ = zip(*judging.one_by_one(shown, celsius), strict=True)
    assert np.allclose(mine.ohm_at_ref, values, rtol=1e-12)
    assert np.allclose(2 * mine.u_ohm_at_ref, guards, rtol=1e-9)


def test_pairs_take_turns():
    order = []

    def run(name, seconds):
        def act():
            order.append(name)
            return {"wall": next(seconds)}

        return act

    pairs = interleaved(run("a", itertools.count(2, 2)), run("b", itertools.count(1)), pairs=3)
    assert order == ["a", "b", "a", "b", "b", "a", "a", "b"]
    assert pairs[0] == ({"wall": 4}, {"wall": 2})


def test_a_row_takes_medians_of_neighbours():
    pairs = [({"wall": a}, {"wall": b}) for a, b in ((2.0, 1.0), (3.0, 1.0), (9.0, 1.0))]
    found = row("x", pairs, figure="wall", limit=3.0)
    assert (found.ours_ms, found.bare_ms, found.ratio, found.verdict) == (3000.0, 1000.0, 3.0, "kept")
    assert row("x", pairs, figure="wall", limit=2.9).verdict == "MISSED"


def test_a_row_of_times_faster():
    found = row("x", [({"wall": 1.0}, {"wall": 1.0})], figure="wall", limit=100, scale=0.002, at_least=True)
    assert (found.ratio, found.verdict) == (500.0, "kept")


def test_a_line_names_what_was_missed():
    assert "MISSED" in line(Row("x", 2.0, 1.0, 2.0, limit=1.5))
    assert line(Row("x", 2.0, 1.0, 2.0)).split() == ["x", "2.000", "1.000", "2.00"]


def test_the_workbook_gives_two_rows():
    found = {"readings": 5, "cells": 9, "limit": 1.3, "ours_s": 2.0, "raw_s": 1.0}
    rows = from_workbook(found | {"raw_with_a_style_for_each_cell_s": 4.0})
    assert [(one.ratio, one.verdict) for one in rows] == [(2.0, "MISSED"), (0.5, "")]
