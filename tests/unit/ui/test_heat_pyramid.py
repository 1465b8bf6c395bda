"""Peaks survive however few columns there are; expected values by plain numpy over the samples themselves."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.ui.heat.pyramid import Cloud, Pyramid

COUNT = 100_003


@pytest.fixture
def curve():
    random = np.random.default_rng(7)
    x = np.cumsum(random.uniform(0.5, 1.5, COUNT))
    y = random.normal(0, 1, COUNT)
    y[[77, 50_000, COUNT - 1]] = (50, -60, 70)
    return x, y


@pytest.mark.parametrize("columns", [10, 333, 1000])
def test_every_peak_of_the_whole_is_there(curve, columns):
    x, y = curve
    _, drawn = Pyramid(x, y).columns(x[0], x[-1], columns)
    assert drawn.size <= 2 * columns
    assert (np.sort(drawn)[0], *np.sort(drawn)[-2:]) == (-60, 50, 70)


def test_each_column_spans_what_lies_in_it(curve):
    x, y = curve
    at, drawn = Pyramid(x, y).columns(x[20_000], x[60_000], 200)
    wide = (x[60_000] - x[20_000]) / 200
    for place in range(10, 380, 20):
        near = (x >= at[place]) & (x <= at[place] + 0.6 * wide)
        assert drawn[place] <= y[near].min()
        assert drawn[place + 1] >= y[near].max()


def test_a_peak_stands_near_its_place(curve):
    x, y = curve
    at, drawn = Pyramid(x, y).columns(x[0], x[-1], 500)
    assert at[drawn == -60][0] == pytest.approx(x[50_000], abs=1.3 * (x[-1] - x[0]) / 500)


def test_close_up_the_samples_themselves_are_drawn(curve):
    x, y = curve
    at, drawn = Pyramid(x, y).columns(x[400], x[600], 500)
    assert at.tolist() == x[399:602].tolist()
    assert drawn.tolist() == y[399:602].tolist()


def test_a_gap_stays_a_gap_and_never_eats_its_neighbours(curve):
    x, y = curve
    y[30_000:40_000] = np.nan
    at, drawn = Pyramid(x, y).columns(x[0], x[-1], 300)
    inside = (at > x[30_500]) & (at < x[39_000])
    assert inside.sum() > 40
    assert np.isnan(drawn[inside]).all()
    assert np.isfinite(drawn[(at < x[29_000]) | (at > x[41_000])]).all()


def test_a_pause_in_the_log_makes_no_columns():
    x = np.concatenate([np.arange(5000.0), np.arange(50_000.0, 55_000.0)])
    at, _ = Pyramid(x, x).columns(0, 55_000, 100)
    assert not ((at > 5000) & (at < 49_000)).any()


def test_few_readings_of_one_way_are_drawn_one_by_one():
    cloud = Cloud(np.array([20.0, 30, 40]), np.array([5.0, np.nan, 6]))
    assert cloud.columns(0, 100, 500).celsius.tolist() == [20, 40]
    assert Cloud(np.zeros(0), np.zeros(0)).columns(0, 1, 10).mean.size == 0


@pytest.mark.parametrize("columns", [50, 400])
def test_many_readings_are_gathered_by_temperature_with_their_peaks(columns):
    random = np.random.default_rng(3)
    celsius = random.uniform(20, 110, 200_000)
    ohm = 5 + 0.02 * celsius + random.normal(0, 0.01, celsius.size)
    ohm[1234] = 9.0
    heap = Cloud(celsius, ohm).columns(20, 110, columns)
    assert columns <= heap.celsius.size <= 4 * columns
    assert heap.high.max() == 9.0
    assert heap.celsius[heap.high == 9.0][0] == pytest.approx(celsius[1234], abs=90 / columns)
    assert np.abs(heap.mean - (5 + 0.02 * heap.celsius)).max() < 0.05


def test_close_up_there_are_finer_columns():
    celsius = np.linspace(20, 110, 200_000)
    near = Cloud(celsius, celsius).columns(50, 52, 200)
    assert near.celsius.min() > 49.9
    assert near.celsius.max() < 52.1
    assert near.celsius.size > 200
