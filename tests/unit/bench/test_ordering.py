"""An order sheet never claims more than was checked."""

from __future__ import annotations

import msgspec
import pytest

from tests.unit.report.samples import session_of
from valvebench.bench.ordering import Fit, Sure, Which, numbers_of, order_sheet, which_of
from valvebench.diagnose.identified import (
    Ask,
    Because,
    Contradiction,
    First,
    HoldBack,
    Holding,
    Identified,
    Identity,
)
from valvebench.model.entry import FeatureSeen, Photo, Reading
from valvebench.model.variant import Feature, OrderLine, PartNumber, Pin, Variant
from valvebench.model.words import Seen, WhichPart

# Invented.
FEATURES = (
    Feature(name="plate mark", values=("none", "dot"), this="dot", must_match=True),
    Feature(name="ears", values=("three", "four"), this="four", must_match=True),
    Feature(name="cast mark", values=("star", "wave"), this="star"),
)


def variant(*numbers, features=FEATURES, order_with=()):
    parts = tuple(PartNumber(number=number, superseded_by=after) for number, after in numbers)
    return Variant(
        format=1,
        key="tern-test",
        title="Tern test",
        pins=(Pin(name="1"),),
        features=features,
        part_numbers=parts,
        order_with=order_with,
    )


def look(name, value, seen=Seen.US):
    return FeatureSeen(name=name, value=value, seen=seen)


def sheet(*looks, sure=Sure.CONFIRMED, of=None, **more):
    return order_sheet(session_of(*looks), None, Which(sure=sure, leading=of or variant()), **more)


BOTH = (look("plate mark", "dot"), look("ears", "four"))


def test_confirmed_with_every_point_seen_stays_confirmed():
    assert sheet(*BOTH).sure is Sure.CONFIRMED
    assert sheet(BOTH[0], look("ears", "four", Seen.PHOTO)).sure is Sure.CONFIRMED


def test_a_new_part_seen_in_the_same_session_stands_beside_the_old_one():
    new = FeatureSeen(name="ears", value="three", part=WhichPart.NEW)
    made = sheet(*BOTH, new)
    assert made.sure is Sure.CONFIRMED
    assert made.has_new
    assert [(point.old_fit, point.new_fit) for point in made.points] == [
        (Fit.FITS, Fit.NOT_SEEN),
        (Fit.FITS, Fit.DIFFERS),
    ]
    assert [look.feature for look in made.looks] == ["plate mark", "ears"]


@pytest.mark.parametrize(
    "looks",
    [
        BOTH[:1],
        (BOTH[0], look("ears", "four", Seen.PHONE)),
        (BOTH[0], look("ears", "three")),
        (*BOTH, look("ears", "three")),
        (BOTH[0], look("ears", "cannot see")),
        (),
    ],
    ids=["one not seen", "one told by phone", "one differs", "one look of two differs", "one hidden", "nothing seen"],
)
def test_confirmed_is_taken_back_where_a_point_was_not_seen(looks):
    assert sheet(*looks).sure is Sure.NARROWED


def test_confirmed_is_taken_back_where_no_point_is_stated():
    assert sheet(look("cast mark", "star"), of=variant(features=FEATURES[2:])).sure is Sure.NARROWED


@pytest.mark.parametrize("sure", [one for one in Sure if one is not Sure.CONFIRMED])
def test_nothing_is_ever_raised(sure):
    assert sheet(*BOTH, sure=sure).sure is sure


@pytest.mark.parametrize(
    ("looks", "fit"),
    [
        ([], Fit.NOT_SEEN),
        ([look("ears", "four")], Fit.FITS),
        ([look("ears", "four", Seen.PHOTO)], Fit.FITS),
        ([look("ears", "four", Seen.PHONE)], Fit.TOLD_ONLY),
        ([look("ears", "three", Seen.PHONE)], Fit.DIFFERS),
        ([look("ears", "three", Seen.PHONE), look("ears", "four")], Fit.FITS),
        ([look("ears", "four", Seen.PHONE), look("ears", "three")], Fit.DIFFERS),
        ([look("ears", "cannot see")], Fit.NOT_SEEN),
    ],
)
def test_own_looks_outrank_the_telephone(looks, fit):
    assert next(point for point in sheet(*looks).points if point.feature == "ears").old_fit is fit


def test_the_new_part_stands_beside_the_old():
    found = sheet(*BOTH, new=session_of(look("plate mark", "none")))
    assert [(point.feature, point.old_fit, point.new_fit) for point in found.points] == [
        ("plate mark", Fit.FITS, Fit.DIFFERS),
        ("ears", Fit.FITS, Fit.NOT_SEEN),
    ]
    assert found.has_new


def test_a_point_whose_value_is_not_stated_never_fits():
    of = variant(features=(Feature(name="ears", must_match=True),))
    assert sheet(look("ears", "four"), of=of).points[0].old_fit is Fit.NOT_STATED


@pytest.mark.parametrize(
    ("numbers", "chains"),
    [
        ([], ()),
        ([("A", None)], (("A",),)),
        ([("A", "B"), ("B", None)], (("A", "B"),)),
        ([("B", None), ("A", "B")], (("A", "B"),)),
        ([("A", "B")], (("A", "B"),)),
        ([("A", "C"), ("B", "C"), ("C", None)], (("A", "C"), ("B", "C"))),
        ([("A", "B"), ("B", "A")], (("A", "B"), ("B", "A"))),
    ],
    ids=["none", "one", "superseded", "any order", "not in the file", "two into one", "in a ring"],
)
def test_numbers_lead_to_the_one_to_order(numbers, chains):
    assert numbers_of(variant(*numbers)) == chains


@pytest.mark.parametrize(
    ("sure", "may"),
    [
        (Sure.CONFIRMED, True),
        (Sure.NARROWED, True),
        (Sure.NOT_ASKED, True),
        (Sure.OPEN, False),
        (Sure.CONTRADICTED, False),
        (Sure.NONE_OF_THESE, False),
    ],
)
def test_a_number_is_named_only_where_one_variant_stands(sure, may):
    assert sheet(*BOTH, sure=sure).may_name is may


def test_without_identification_the_chosen_variant_stands():
    found = order_sheet(session_of(), variant(("A", None), order_with=("seal set",)))
    assert (found.sure, found.variant.key, found.numbers) == (Sure.NOT_ASKED, "tern-test", (("A",),))
    assert found.order_with == (OrderLine(text="seal set"),)


def test_what_was_not_checked_is_named():
    assert sheet(BOTH[0], look("cast mark", "cannot see")).not_checked == ("ears", "cast mark")
    open_one = Which(sure=Sure.OPEN, not_checked=("ears", "lid"))
    assert order_sheet(session_of(BOTH[1]), None, open_one).not_checked == ("lid",)


def test_photos_and_readings_are_counted():
    photo = Photo(sha256="0" * 64, file_name="a.png", of="plug", size_bytes=3)
    found = sheet(photo, Reading(from_node="1", to_node="2", ohm=5.0, celsius=20.0))
    assert ([item.n for item in found.photos], found.readings) == ([2], 1)


# What an identification said

FOUND = Identified(
    posterior=(("tern-test", 0.97), ("tern-other", 0.02)),
    p_none=0.01,
    verdict=Identity.NARROWED,
    leading=("tern-test",),
    contradictions=(
        Contradiction("tern-test", "ears", "three", "four", 2),
        Contradiction("tern-other", "plate mark", "dot", "bar", 1),
    ),
    must=(),
    holds_back=(HoldBack(Holding.MUST_MATCH, ("ears",)),),
    next=(Ask("cast mark", 0.5), Ask("ears", 0.2)),
    first=(First("ears", Because.MUST_MATCH),),
    not_checked=("ears", "cast mark"),
    told_only=(),
    groups=(),
    lost=(),
    left_out=(),
    has_evidence=True,
)
LIBRARY = (variant(), msgspec.structs.replace(variant(), key="tern-other", title="Tern other"))


def test_an_identification_is_told_as_it_was():
    found = which_of(FOUND, LIBRARY)
    assert (found.sure, found.leading.key, found.p_none) == (Sure.NARROWED, "tern-test", 0.01)
    assert found.likely == (("Tern test", 0.97), ("Tern other", 0.02))
    assert found.holds_back == ("Not seen by us or in a photo: ears.",)
    assert found.against == ("Ears: saw three, also on a second look, needs four.",), (
        "only what speaks against this one"
    )
    assert (found.look_next, found.not_checked) == (("ears", "cast mark"), ("ears", "cast mark"))


def test_several_that_lead_together_are_no_variant_to_order():
    found = which_of(FOUND._replace(leading=("tern-test", "tern-other"), verdict=Identity.OPEN), LIBRARY)
    assert (found.leading, found.against) == (None, ())
    assert not order_sheet(session_of(), None, found).may_name


@pytest.mark.parametrize("identity", Identity)
def test_every_identity_has_its_word(identity):
    assert which_of(FOUND._replace(verdict=identity), LIBRARY).sure.value == identity.value


def test_capitals_and_blanks_are_no_difference():
    found = sheet(look("Plate  Mark", "DOT"), look("ears", " four "))
    assert [point.old_fit for point in found.points] == [Fit.FITS, Fit.FITS]
    assert found.sure is Sure.CONFIRMED
    assert found.not_checked == ("cast mark",)
