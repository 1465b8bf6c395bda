"""Pins on grid, ring and free faces: where they stand, and where they go when they are moved."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valvebench.model.draft_field import Part
from valvebench.model.draft_names import with_cell
from valvebench.model.draft_places import (
    columns_of,
    filled_up,
    layout_of,
    moved,
    placed,
    stepped,
    with_layout,
    with_pin_count,
    with_pins_named,
)
from valvebench.model.variant_draft import Spot, empty_draft, row_of, with_cells, with_rows


def places(draft, face=0):
    return {pin.name: (pin.x, pin.y) for pin in placed(draft, face)}


def grid(count=12, **texts):
    return with_layout(with_pin_count(empty_draft(), 0, count), 0, texts)


def test_twelve_pins_stand_in_two_rows_of_six():
    found = places(with_pin_count(empty_draft(), 0, 12))
    assert (found["1"], found["6"], found["7"], found["12"]) == ((0, 0), (5, 0), (0, 1), (5, 1))


def test_more_pins_keep_the_grid_and_never_meet():
    found = places(with_pin_count(grid(4), 0, 12))
    assert found["7"] == (0, 1)
    assert len(set(found.values())) == 12


def test_fewer_pins_take_the_last_ones_away():
    assert list(places(with_pin_count(grid(6), 0, 4))) == ["1", "2", "3", "4"]


def test_columns_are_stated_or_follow_from_the_rows_or_are_eight():
    draft = empty_draft()
    assert columns_of(draft, 0, 12) == 6
    assert columns_of(with_cell(draft, Spot(Part.FACES, 0, "columns"), "4"), 0, 12) == 4
    assert columns_of(with_cell(draft, Spot(Part.FACES, 0, "rows"), "x"), 0, 12) == 8


def test_a_ring_goes_clockwise_from_the_top():
    found = places(grid(4, layout="ring"))
    # by hand: the quarters of a circle of radius 1/2 about (1/2, 1/2), y downward
    assert found == {"1": (0.5, 0.0), "2": (1.0, 0.5), "3": (0.5, 1.0), "4": (0.0, 0.5)}


def test_a_grid_made_free_keeps_its_picture_in_fractions():
    found = places(grid(6, layout="free"))
    assert found == {"1": (0, 0), "2": (0.5, 0), "3": (1, 0), "4": (0, 1), "5": (0.5, 1), "6": (1, 1)}


def test_a_pin_moved_on_a_grid_changes_places():
    found = places(moved(grid(6), 0, 0, (1.2, 0.9)))
    assert (found["1"], found["5"]) == ((1, 1), (0, 0))


def test_a_pin_moved_to_an_empty_place_leaves_its_own_empty():
    found = places(moved(grid(6), 0, 0, (3.0, -0.4)))
    assert found["1"] == (3, 0)
    assert (0, 0) not in found.values()


def test_a_pin_dropped_on_a_ring_takes_the_nearest_place():
    found = places(moved(grid(4, layout="ring"), 0, 0, (0.9, 0.6)))
    assert (found["1"], found["2"]) == ((1.0, 0.5), (0.5, 0.0))


def test_a_free_pin_stays_where_it_is_put_inside_the_face():
    assert places(moved(grid(6, layout="free"), 0, 0, (0.25, -0.3)))["1"] == (0.25, 0.0)


def test_a_free_pin_is_put_on_no_other():
    draft = grid(6, layout="free")
    assert moved(draft, 0, 0, (0.505, 0.001)) == draft


def test_one_more_pin_spaces_a_ring_anew():
    found = places(with_pins_named(grid(3, layout="ring"), ["4"]))
    assert found == {"1": (0.5, 0.0), "2": (1.0, 0.5), "3": (0.5, 1.0), "4": (0.0, 0.5)}


@pytest.mark.parametrize(("layout", "place"), [("grid", (1, 0)), ("ring", (1.0, 0.5)), ("free", (0.02, 0.0))])
def test_an_arrow_key_moves_by_one_step(layout, place):
    assert places(stepped(grid(4, layout=layout), 0, 0, (1.0, 0.0)))["1"] == place


def test_nothing_to_the_left_of_the_edge():
    draft = grid(4)
    assert stepped(draft, 0, 0, (-1.0, 0.0)) == draft
    assert moved(draft, 0, 99, (1, 1)) == draft


def test_pins_named_by_devices_come_in_the_order_of_their_numbers():
    found = places(with_pins_named(empty_draft(), ["11", "3", "11", "GND", "2"]))
    assert list(found) == ["2", "3", "11", "GND"]
    assert len(set(found.values())) == 4


def test_each_connector_has_its_own_pins():
    two = with_rows(empty_draft(), Part.FACES, [row_of(Part.FACES, {"name": n, "layout": "grid"}) for n in "AB"])
    pins = [row_of(Part.PINS, {"name": str(n), "face": face}) for n, face in enumerate("ABBA")]
    draft = filled_up(with_rows(two, Part.PINS, pins))
    assert (list(places(draft, 0)), list(places(draft, 1))) == (["0", "3"], ["1", "2"])


def test_an_unreadable_place_is_drawn_in_turn_and_kept_as_typed():
    draft = with_cells(grid(4), {Spot(Part.PINS, 1, "x"): "left"})
    assert places(draft)["2"] == (1, 0)
    assert draft.text(Part.PINS, 1, "x") == "left"
    assert layout_of(with_cell(draft, Spot(Part.FACES, 0, "layout"), "spiral"), 0) == "grid"


@given(
    layout=st.sampled_from(["grid", "ring"]),
    count=st.integers(2, 20),
    moves=st.lists(st.tuples(st.integers(0, 19), st.floats(-3, 9), st.floats(-3, 9)), max_size=8),
)
def test_no_two_pins_ever_meet(layout, count, moves):
    draft = grid(count, layout=layout)
    for row, x, y in moves:
        draft = moved(draft, 0, row, (x, y))
    found = list(places(draft).values())
    assert len(set(found)) == count
    assert all(math.isfinite(value) for place in found for value in place)
