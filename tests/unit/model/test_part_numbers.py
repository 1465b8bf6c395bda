"""Chains of part numbers, followed by hand."""

from __future__ import annotations

import pytest

from valvebench.model.part_numbers import chains_of, newest_of, numbers_in_force
from valvebench.model.variant import PartNumber


def parts(*pairs):
    return tuple(PartNumber(number=number, superseded_by=after) for number, after in pairs)


CHAIN = parts(("QT-3", "QT-3-A"), ("QT-3-A", "QT-3-C"), ("QT-3-C", None))


@pytest.mark.parametrize("number", ["QT-3", "QT-3-A", "QT-3-C"])
def test_every_number_of_a_chain_leads_to_the_newest(number):
    assert newest_of(number, CHAIN) == "QT-3-C"
    assert newest_of("QT-9", CHAIN) == "QT-9"


def test_a_chain_is_told_once_from_its_oldest_number():
    assert chains_of(CHAIN) == (("QT-3", "QT-3-A", "QT-3-C"),)
    assert numbers_in_force(CHAIN) == ("QT-3-C",)


def test_two_numbers_that_one_replaced_and_one_without_a_row_of_its_own():
    two = parts(("A", "C"), ("B", "C"), ("D", None))
    assert chains_of(two) == (("A", "C"), ("B", "C"), ("D",))
    assert numbers_in_force(two) == ("C", "D")


def test_a_chain_that_leads_back_ends():
    ring = parts(("A", "B"), ("B", "A"))
    assert newest_of("A", ring) == "B"
    assert chains_of(ring) == (("A", "B"),)
    assert chains_of((*ring, *parts(("C", None)))) == (("C",), ("A", "B"))


def test_no_numbers():
    assert chains_of(()) == ()
    assert numbers_in_force(()) == ()
