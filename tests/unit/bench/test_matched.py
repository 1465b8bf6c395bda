"""Where the names of matched sets come from."""

from __future__ import annotations

import itertools

import pytest

from tests.unit.diagnose.test_matched import read, variant
from tests.unit.report.samples import session_of
from valvebench.bench.matched import AS_READ, OF_VARIANT, OF_WIRING, matched_of
from valvebench.model.entry import Reading

STAR = {1: 5.0, 2: 5.1, 3: 5.2, 4: 5.0, 5: 13.0}
"""Coils from each pin to pin 9; between two of them both are read one behind the other."""


def names(found):
    return [[member.name for member in one.members] for one in found.sets]


def across(a, b):
    return Reading(from_node=str(a), to_node=str(b), ohm=round(STAR[a] + STAR[b], 2), celsius=20.0, meter="0.5%+5x0.01")


def test_a_variant_names_them():
    found = matched_of(session_of(read(1, 5.0), read(2, 5.0), read(3, 5.1)), variant())
    assert (names(found), found.note) == ([["Gull, left", "Heron", "Curlew"]], OF_VARIANT)


def test_without_one_the_wiring_does():
    walks = [read(n, ohm) for n, ohm in STAR.items()] + [across(a, b) for a, b in itertools.combinations(STAR, 2)]
    found = matched_of(session_of(*walks), None)
    assert (names(found), found.note) == ([["1\u20139", "2\u20139", "3\u20139", "4\u20139"]], OF_WIRING)


def test_one_walk_does_not_find_the_wiring_so_pairs_are_taken_as_read():
    found = matched_of(session_of(*(read(n, ohm) for n, ohm in STAR.items())), None)
    assert (names(found), found.note) == ([["1\u20139", "2\u20139", "3\u20139", "4\u20139"]], AS_READ)


@pytest.mark.parametrize("ohms", [(5.0, 5.1), (5.0, 5.5, 6.1), (300.0, 300.0, 300.0)])
def test_pairs_that_are_few_or_not_alike_or_no_coils_are_no_set(ohms):
    # Alike is within 6 % of the larger: 5.0 and 5.5 are not.
    found = matched_of(session_of(*(read(n, ohm) for n, ohm in enumerate(ohms, start=1))), None)
    assert found.sets == ()
