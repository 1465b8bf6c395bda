"""The order of pairs: every pair once, the clip moved as seldom as can be."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valvebench.diagnose.order import clip_moves, clip_order

NODES = ["1", "2", "3", "4", "5", "6", "case"]


def smallest_cover_by_trying_all(pairs: list[tuple[str, str]]) -> int:
    """The definition itself: try all sets of nodes, smallest first."""
    nodes = sorted({node for pair in pairs for node in pair})
    return next(
        size
        for size in range(len(nodes) + 1)
        for chosen in combinations(nodes, size)
        if all(set(pair) & set(chosen) for pair in pairs)
    )


@given(st.lists(st.sampled_from(list(combinations(NODES, 2))), unique=True))
def test_every_pair_once_with_the_fewest_clip_moves(pairs: list[tuple[str, str]]) -> None:
    order = clip_order(pairs)
    assert sorted(probe.place for probe in order) == list(range(len(pairs)))
    assert all({probe.tip, probe.clip} == set(pairs[probe.place]) for probe in order)
    assert clip_moves(order) == smallest_cover_by_trying_all(pairs)


@pytest.mark.parametrize(
    ("pairs", "clips"),
    [
        pytest.param([], [], id="nothing"),
        pytest.param([("3", "11"), ("7", "11"), ("11", "2")], ["11"] * 3, id="one common: the clip stays on it"),
        pytest.param([("1", "case"), ("3", "11"), ("7", "11")], ["11", "11", "case"], id="the casting comes last"),
        pytest.param([("1", "2"), ("4", "5")], ["2", "5"], id="loose pairs"),
    ],
)
def test_where_the_clip_stays(pairs: list[tuple[str, str]], clips: list[str]) -> None:
    assert [probe.clip for probe in clip_order(pairs)] == clips
