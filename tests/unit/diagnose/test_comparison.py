"""Two bodies compared: the order of the lines, the sentence on top, what does not cancel."""

from __future__ import annotations

import pytest

from tests.unit.diagnose.test_compare import read, session
from tests.unit.report.samples import VARIANT, variant
from valvebench.diagnose.compared import Side
from valvebench.diagnose.comparison import NO_COMMON_PAIR, SAME_PLACES, comparison
from valvebench.model.entry import AirTest
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint, AirResult, Place, TemperatureSource


def both(a, b, *, variants=(None, None), hours=(8, 9)):
    sides = [Side(session(*bodies, hour=hour), one) for bodies, hour, one in zip((a, b), hours, variants, strict=True)]
    return comparison(*sides)


def pair(pin, ohm, **more):
    return read(ohm, from_node=pin, **more)


HIGHER = "0.410 \u00b1 0.079 \u03a9 higher than in the other body"


# One meter, 0.5 % and 5 x 0.01: a difference shows beyond 1.927 sqrt(2) 0.05/sqrt(3) = 0.079.
@pytest.mark.parametrize(
    ("here", "sentence"),
    [
        ((5.0, 5.0), "Two lines show no difference"),
        (
            (5.0, 5.41),
            "2\u20137 differs: 0.410 \u00b1 0.079 \u03a9 higher than in the other body; one other shows no difference",
        ),
        (
            (4.8, 5.0),
            "1\u20137 differs: 0.200 \u00b1 0.079 \u03a9 lower than in the other body; one other shows no difference",
        ),
        (
            (5.1, 5.41),
            "2\u20137 and 1\u20137 differ, 2\u20137 more clearly: " + HIGHER,
        ),
    ],
)
def test_the_sentence_says_what_differs_and_by_how_much(here, sentence):
    found = both([pair("1", here[0]), pair("2", here[1])], [pair("1", 5.0), pair("2", 5.0)])
    assert found.sentence == sentence


def test_a_device_is_called_by_its_name():
    found = both([pair("1", 5.4)], [pair("1", 5.0)], variants=(variant(), variant()))
    assert found.sentence.startswith("Gull differs")
    assert not any(SAME_PLACES in note for note in found.notes)


@pytest.mark.parametrize(
    ("of_variant", "what", "name"),
    [
        (None, "1\u20137 (vehicle plug)", "1\u20137 (vehicle plug)"),
        (variant(), "1\u20137 Gull (vehicle plug)", "Gull (vehicle plug)"),
    ],
)
def test_an_access_point_other_than_the_case_connector_is_named(of_variant, what, name):
    plug = {"at": AccessPoint.VEHICLE_PLUG}
    here, there = [pair("1", 5.4, **plug), pair("2", 5.0, **plug)], [pair("1", 5.0, **plug)]
    found = both(here, there, variants=(of_variant, of_variant))
    assert [row.what for row in found.rows] == [what]
    assert found.sentence.startswith(f"{name} differs")
    assert found.only_a == ("2\u20137 (vehicle plug)",)


def test_more_than_two_name_the_clearest():
    found = both(
        [pair(pin, ohm) for pin, ohm in zip("123", (5.3, 5.9, 5.5), strict=True)], [pair(p, 5.0) for p in "123"]
    )
    assert found.sentence.startswith("2\u20137, 3\u20137 and 1 more differ, 2\u20137 most clearly")


def test_the_clearest_stands_first_and_what_cannot_be_told_before_what_shows_none():
    hot = {"temperature": TemperatureSource.NOT_SOAKED}
    here = [pair("1", 5.0), pair("2", 5.3), pair("3", 5.9), pair("4", 5.0, **hot)]
    found = both(here, [pair(pin, 5.0) for pin in "1234"])
    assert [row.what for row in found.rows] == ["3\u20137", "2\u20137", "4\u20137", "1\u20137"]
    assert found.sentence.endswith("one other shows no difference; one other can't be told")


def test_open_on_one_is_the_clearest_difference_and_is_told_by_its_states():
    opened = read(None, open=True, range_ohm=6e7)
    found = both([opened, pair("2", 5.9)], [pair("1", 5.0), pair("2", 5.0)])
    assert found.rows[0].what == "1\u20137"
    assert "> 60 M\u03a9 here, 5.00 \u03a9 on the other body" in found.sentence


def test_pairs_of_one_body_only_are_listed():
    found = both([pair("1", 5.0), pair("2", 5.0)], [pair("1", 5.0), pair("3", 5.0), pair("3", 5.1)])
    assert (found.only_a, found.only_b) == (("2\u20137",), ("3\u20137",))


def test_without_a_common_pair_it_says_so():
    found = both([pair("1", 5.0)], [pair("2", 5.0)])
    assert found.sentence == "Nothing was read on both bodies"
    assert NO_COMMON_PAIR in found.notes


def test_each_reason_stands_once_with_its_number():
    found = both([pair("1", 5.0), pair("2", 5.0)], [pair("1", 5.0), pair("2", 5.0)], hours=(8, 11))
    assert "2 lines: More than two hours apart: nothing cancels. Copper assumed." in found.notes


@pytest.mark.parametrize(
    ("variants", "words"),
    [
        ((None, None), "Neither session has a variant"),
        ((variant(), None), "Only one session has a variant"),
        ((None, variant()), "Only one session has a variant"),
        (
            (variant(), read_variant(VARIANT.replace(b'"tern-test"', b'"tern-other"'), source="test")),
            "Two variants",
        ),
    ],
)
def test_pairs_matched_by_pin_names_are_said_to_be(variants, words):
    found = both([pair("1", 5.0)], [pair("1", 5.0)], variants=variants)
    assert any(note.startswith(words) and SAME_PLACES in note for note in found.notes)


def test_what_was_heard_is_told_by_its_verdicts():
    holds, bleeds = (
        AirTest(port="P3", place=Place.BODY, result=result) for result in (AirResult.PASS, AirResult.BLEEDS)
    )
    found = both([holds], [bleeds], variants=(variant(), variant()))
    assert found.sentence == "Port P3 differs: Pass here, Fail on the other body"
    assert found.notes == ()
