"""What is said of a part: never more than was checked, and always what to do."""

from __future__ import annotations

import pytest

from tests.unit.diagnose.identify_library import feature, identifier, looks, variant
from valvebench.diagnose.identified import (
    Alike,
    Ask,
    Because,
    Contradiction,
    First,
    HoldBack,
    Holding,
    Lost,
    Misfit,
    MustPoint,
    MustState,
    NotUsed,
    Question,
)
from valvebench.diagnose.identify_words import (
    alike_text,
    choices_text,
    first_text,
    head_text,
    holding_text,
    left_out_text,
    lost_text,
    must_text,
    next_text,
    none_text,
)

MARKS = ("none", "dot", "bar")
PLATE = Question("plate mark", MARKS, "Look at the plate.")


def name(key):
    return f"body {key}"


@pytest.mark.parametrize(
    ("what", "features", "words"),
    [
        (Holding.CHANCE, (), "What was seen does not make it sure enough."),
        (Holding.PHONE, ("cap", "rim"), "It rests on what was told by phone: look at cap and rim."),
        (Holding.PHONE, (), "It rests on what was told by phone."),
        (Holding.MUST_MATCH, ("a", "b", "c"), "Not seen by us or in a photo: a, b and c."),
        (Holding.NOT_STATED, ("rim",), "The variant file does not state rim, which must match."),
        (Holding.LOOK_AGAIN, ("rim",), "Look again: rim does not fit, seen once or unclear."),
        (Holding.STANDS, ("rim", "cap"), "Rim and cap do not fit, and a second look says the same."),
    ],
)
def test_what_holds_back(what, features, words):
    assert holding_text(HoldBack(what, features)) == words


@pytest.mark.parametrize(
    ("group", "words"),
    [
        (
            Alike(("a", "b"), ("cap",)),
            "body a or body b: no feature separates them. Cap would, once each file states it.",
        ),
        (Alike(("a", "b"), (), ("3", "4")), "body a or body b: no feature separates them. A reading at 3\u20134 does."),
        (
            Alike(("a", "b"), ()),
            (
                "body a or body b: no feature separates them. "
                "Nothing in the library says how they differ: state a feature or a limit that does."
            ),
        ),
    ],
)
def test_variants_that_nothing_separates(group, words):
    assert alike_text(group, name) == words


def test_why_a_variant_lost():
    against = (Contradiction("a", "cap", "steel", "black", 1), Contradiction("a", "rim", "cut", "plain", 2))
    misfits = (Misfit("1", "2", 5.0, 12.0), Misfit("3", "4", 5.0, None))
    assert lost_text(Lost("a", 0.004, against, misfits), name) == (
        "body a (less than 1 in 100): cap: saw steel, needs black; rim: saw cut, also on a second look, needs plain; "
        "1\u20132: read 5.00 \u03a9, needs about 12.0 \u03a9; 3\u20134: read 5.00 \u03a9, needs no connection."
    )
    assert lost_text(Lost("a", 0.2, (), ()), name).endswith("nothing contradicts it, it states less or fits less well.")


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (MustState.SEEN, "rim: cut, seen."),
        (MustState.TOLD, "rim: cut, told by phone only."),
        (MustState.NOT_SEEN, "rim: needs cut, not seen."),
        (MustState.CONTRADICTED, "rim: needs cut, saw plain."),
        (MustState.NOT_STATED, "rim: the variant file does not say what it needs."),
    ],
)
def test_points_that_must_match(state, words):
    assert must_text(MustPoint("rim", "cut", state, "plain")) == words


def test_what_to_look_at():
    again, must = First("plate mark", Because.LOOK_AGAIN), First("plate mark", Because.MUST_MATCH)
    assert first_text(again, PLATE) == (
        "Look again at plate mark: it contradicts the leading variant. Look at the plate."
    )
    assert first_text(must, PLATE) == "Look at plate mark: it must match. Look at the plate."
    assert choices_text(PLATE) == "one of none, dot, bar, or cannot see, or something else"


def library():
    return identifier(*(variant(mark, feature("plate mark", mark, MARKS)) for mark in MARKS))


def test_heads_that_name_nobody():
    known = library()
    assert head_text(known.identify(()), name) == (
        "Open: nothing was seen yet, body bar, body dot or body none possible."
    )
    strange = known.identify(looks("plate mark=something else"))
    assert head_text(strange, name).startswith("Open: body bar, body dot or body none, equally likely")
    assert none_text(strange) == "None of these: about 21 in 100."


def test_a_head_where_none_of_these_leads():
    known = identifier(variant("x", *(feature(letter, "no") for letter in "abcd")))
    seen = looks(*(f"{letter}=yes" for letter in "abcd"))
    assert head_text(known.identify(seen), name).startswith(
        "Open: perhaps none of these (better than 99 in 100); body x"
    )
    assert head_text(known.identify(seen * 2), name) == (
        "None of these: better than 99 in 100. The closest, body x, is contradicted."
    )


def test_many_that_lead_are_counted():
    known = identifier(*(variant(key, feature("plate mark", "dot", MARKS)) for key in "abcde"))
    assert head_text(known.identify(()), name) == "Open: nothing was seen yet, 5 variants possible."


def test_equal_features_are_asked_for_together():
    found = library().identify(())._replace(next=(Ask("plate mark", 1.2), Ask("rim", 1.2), Ask("cap", 0.3)))
    assert next_text(found, {"plate mark": PLATE}) == "Look at plate mark or rim: tells most (1.2 bit)."
    alone = found._replace(next=(Ask("plate mark", 1.2),))
    assert next_text(alone, {"plate mark": PLATE}) == "Look at plate mark: tells most (1.2 bit). Look at the plate."
    assert next_text(found._replace(next=()), {}) == "Nothing else in the library tells more."


def test_what_is_left_out():
    assert left_out_text(NotUsed(4, "rim", "no such thing")) == "Left out: entry 4, rim: no such thing."
    assert left_out_text(NotUsed(0, "rim", "no such thing")) == "Left out: rim: no such thing."
