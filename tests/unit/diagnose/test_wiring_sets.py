"""Matched sets proposed from a found wiring."""

from __future__ import annotations

from valvebench.diagnose.wiring import Wired, WiredKind, find_wiring
from valvebench.diagnose.wiring_readings import WireReading
from valvebench.diagnose.wiring_sets import proposed_sets


def coils(*ohms):
    """Coils of these values, each on two pins of its own."""
    pins = [str(pin) for pin in range(1, 2 * len(ohms) + 1)]
    pairs = list(zip(pins[::2], pins[1::2], strict=True))
    return find_wiring(pins, [WireReading(a, b, ohm) for (a, b), ohm in zip(pairs, ohms, strict=True)]).devices


def members(devices):
    sets = proposed_sets(devices)
    return [
        [wired.ohm for wired in devices if sets.get(wired.between) == name] for name in dict.fromkeys(sets.values())
    ]


def test_like_coils_are_one_set_and_others_another():
    assert members(coils(5.2, 5.3, 12.6, 5.1, 12.4)) == [[5.2, 5.3, 5.1], [12.6, 12.4]]


def test_a_coil_gone_odd_stays_with_three_like_ones():
    """6.4 is 23 % above 5.2."""
    assert members(coils(5.2, 5.3, 5.1, 6.4)) == [[5.2, 5.3, 5.1, 6.4]]


def test_two_like_ones_claim_no_third():
    assert members(coils(5.2, 5.3, 6.4)) == [[5.2, 5.3]]


def test_a_coil_of_another_size_is_in_no_set():
    assert members(coils(5.2, 5.3, 5.1, 12.6)) == [[5.2, 5.3, 5.1]]


def test_sensors_and_links_are_in_no_set():
    parts = [Wired(WiredKind.LINK, (pin, "case"), 0.1, ()) for pin in "123"]
    assert proposed_sets(parts) == {}
