"""How far the walk is: the bound is never too small, and nothing counts as settled too early."""

from __future__ import annotations

import math

import pytest

from tests.fakes.hand_bodies import TWELVE, Body, body_of
from valvebench.diagnose.wiring import find_wiring
from valvebench.diagnose.wiring_readings import WireReading


def walked(body: Body, *, step_ohm: float = 0.1, has_case: bool = True):
    """Follow every question to the end; what was said after each reading."""
    taken: list[WireReading] = []
    said = [find_wiring(body.pins, taken, resolution_ohm=step_ohm, has_case=has_case)]
    while not said[-1].is_done:
        step = said[-1].next[0]
        shown = body.shown(step.black, step.red, step_ohm=step_ohm)
        ohm = math.inf if shown == "*" else float(shown)
        taken.append(WireReading(step.black, step.red, ohm, 6e7))
        said.append(find_wiring(body.pins, taken, resolution_ohm=step_ohm, has_case=has_case))
    return taken, said


BODIES = [
    pytest.param(TWELVE, id="twelve pins"),
    pytest.param(body_of(6, [("1", "2", 5.2), ("3", "4", 5.3), ("5", "6", 5.1)]), id="pairs"),
    pytest.param(body_of(5, [(pin, "case", 12.0) for pin in "12345"]), id="case returns"),
    pytest.param(body_of(6, []), id="nothing in it"),
]


@pytest.mark.parametrize("body", BODIES)
def test_never_more_pairs_are_asked_for_than_was_said(body):
    taken, said = walked(body)
    for count, wiring in enumerate(said):
        later = {reading.pair for reading in taken[count:]} - {reading.pair for reading in taken[:count]}
        assert wiring.pairs_left >= len(later)


def test_at_the_beginning_every_pair_may_be_asked_for():
    """12 pins and the casting: 13 x 12 / 2 pairs."""
    assert find_wiring(TWELVE.pins, []).pairs_left == 78


def test_at_the_end_nothing_is_left_and_all_is_settled():
    _, said = walked(TWELVE)
    assert (said[-1].pairs_left, said[-1].unsettled) == (0, frozenset())
    assert said[0].unsettled == {*TWELVE.pins, "case"}


def test_pins_that_only_hang_together_are_not_settled():
    """One value joins 1 and 2; which of the two is a common is not known yet."""
    assert {"1", "2"} <= find_wiring(["1", "2", "3"], [WireReading("1", "2", 10.4)]).unsettled


def test_a_net_whose_walks_wait_for_others_is_not_settled():
    """1, 2 and 3 are parted from all others; their second walk comes after 4 and the casting."""
    taken = [WireReading("1", "2", 10.4), WireReading("1", "3", 10.5)]
    taken += [WireReading("1", "4", math.inf), WireReading("1", "case", math.inf)]
    found = find_wiring(["1", "2", "3", "4"], taken)
    assert {found.next[0].black, found.next[0].red} == {"4", "case"}
    assert {"1", "2", "3"} <= found.unsettled


def test_without_the_casting_it_is_never_asked_for():
    taken, said = walked(TWELVE, has_case=False)
    assert all("case" not in reading.pair for reading in taken)
    assert "case" not in said[-1].nodes
    assert said[-1].is_done


def test_a_pair_left_for_later_comes_round_at_last():
    first = find_wiring(["1", "2"], []).next[0]
    left = frozenset((first.black, first.red))
    other = find_wiring(["1", "2"], [], later={left}).next[0]
    assert frozenset((other.black, other.red)) != left
    every = {frozenset(pair) for pair in (("1", "2"), ("1", "case"), ("2", "case"))}
    assert find_wiring(["1", "2"], [], later=every).next
