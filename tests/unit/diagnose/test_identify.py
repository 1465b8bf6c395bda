"""Which variant a part is: chances by hand, what is confirmed and what is not."""

from __future__ import annotations

import math

import pytest

from tests.unit.diagnose.identify_library import coil, feature, identifier, looks, variant
from valvebench.diagnose.identified import Because, Holding, Identity, Look, MustState
from valvebench.model.errors import BadInput
from valvebench.model.words import Seen

MARKS = ("none", "dot", "bar")
NAMES = "abcdefgh"


def apart(key, answer, count=8, *, must=2, mark="dot"):
    """A variant whose features a, b, c ... all have one answer, the first few must match."""
    features = [feature(name, answer, must_match=i < must) for i, name in enumerate(NAMES[:count])]
    return variant(key, *features, feature("mark", mark, MARKS, must_match=True))


@pytest.fixture
def two():
    """Two variants that differ in every feature but the mark."""
    return identifier(apart("one", "no"), apart("two", "yes"))


def seen(answer, *, names=NAMES, mark="dot"):
    return looks(*(f"{name}={answer}" for name in names), *([f"mark={mark}"] if mark else []))


def test_chances_by_hand():
    """0.98/3 each, times 0.95 where it fits and 0.05/2 where it does not; none of these 0.02/3: hand arithmetic."""
    library = identifier(*(variant(mark, feature("mark", mark, MARKS)) for mark in MARKS))
    found = library.identify(looks("mark=dot"))
    weights = {"dot": 0.98 / 3 * 0.95, "none": 0.98 / 3 * 0.025, "bar": 0.98 / 3 * 0.025}
    total = sum(weights.values()) + 0.02 / 3
    assert dict(found.posterior) == pytest.approx({key: weight / total for key, weight in weights.items()}, abs=1e-15)
    assert found.p_none == pytest.approx(0.02 / 3 / total, abs=1e-15)
    assert found.leading == ("dot",)


def test_nothing_seen_names_nobody():
    library = identifier(*(variant(mark, feature("mark", mark, MARKS)) for mark in MARKS))
    found = library.identify(())
    assert (found.verdict, found.leading, found.must, found.first) == (Identity.OPEN, ("bar", "dot", "none"), (), ())


def test_a_library_of_one_is_no_reason_to_name_it():
    library = identifier(variant("only", feature("mark", "dot", MARKS)))
    assert library.identify(()).verdict is Identity.OPEN
    assert library.identify(looks("mark=cannot see")).verdict is Identity.OPEN
    assert library.identify(looks("mark=dot")).verdict is Identity.NARROWED


def test_a_variant_that_states_nothing_gets_one_in_k_for_every_answer():
    library = identifier(variant("says", feature("mark", "dot", MARKS)), variant("silent"))
    found = dict(library.identify(looks("mark=bar")).posterior)
    assert found["says"] / found["silent"] == pytest.approx(0.025 / (1 / 3))


def test_answers_of_several_variants_are_joined():
    library = identifier(
        variant("one", feature("mark", "dot", ("none", "dot"))), variant("two", feature("mark", "star", ("star",)))
    )
    (question,) = library.questions
    assert question.answers == ("none", "dot", "star")
    found = dict(library.identify(looks("mark=star")).posterior)
    assert found["two"] / found["one"] == pytest.approx(0.95 / (0.05 / 2))


def test_questions_stand_in_the_order_of_keys_not_of_files():
    one = variant("one", feature("mark", "dot", ("none", "dot")), feature("cap", "no"))
    two = variant("two", feature("cap", "no", ("yes", "no")), feature("mark", "star", ("star",)))
    assert identifier(two, one).questions == identifier(one, two).questions


def test_a_feature_nobody_disagrees_about_still_speaks_against_none_of_these():
    found = identifier(variant("only", feature("mark", "dot", ()))).identify(looks("mark=dot"))
    assert found.posterior[0][1] / found.p_none == pytest.approx(49 * 0.95 / 0.5)
    assert found.next == ()


def test_something_else_fits_nobody():
    library = identifier(variant("says", feature("mark", "dot", MARKS)), variant("silent"))
    found = dict(library.identify(looks("mark=something else")).posterior)
    assert found["says"] / found["silent"] == pytest.approx(0.025 / (1 / 3))


def test_everything_seen_confirms(two):
    found = two.identify(seen("no"))
    assert (found.verdict, found.leading) == (Identity.CONFIRMED, ("one",))
    assert found.p_best > 0.999
    assert [point.state for point in found.must] == [MustState.SEEN] * 3
    assert (found.holds_back, found.first, found.not_checked) == ((), (), ())


def test_a_must_match_point_that_was_not_seen_holds_back(two):
    found = two.identify(seen("no", mark=None))
    assert found.p_best > 0.999
    assert found.verdict is Identity.NARROWED
    assert [(one.what, one.features) for one in found.holds_back] == [(Holding.MUST_MATCH, ("mark",))]
    assert [(one.feature, one.because) for one in found.first] == [("mark", Because.MUST_MATCH)]
    assert found.not_checked == ("mark",)


@pytest.mark.parametrize("how", [Seen.US, Seen.PHOTO])
def test_a_photo_serves_for_a_must_match_point(two, how):
    assert two.identify([*seen("no", mark=None), Look("mark", "dot", how)]).verdict is Identity.CONFIRMED


def test_a_must_match_point_told_by_phone_holds_back(two):
    found = two.identify([*seen("no", mark=None), Look("mark", "dot", Seen.PHONE)])
    assert found.verdict is Identity.NARROWED
    assert found.must[-1].state is MustState.TOLD
    assert found.told_only == ("mark",)


def test_nothing_rests_on_the_phone_alone(two):
    """Must-match points are seen, and it takes what was told to be sure."""
    told = [Look(name, "no", Seen.PHONE) for name in NAMES[2:]]
    found = two.identify([*seen("no", names=NAMES[:2]), *told, *(told * 2)])
    assert found.p_best > 0.999
    assert found.verdict is Identity.NARROWED
    assert found.holds_back[0].what is Holding.PHONE
    assert found.holds_back[0].features == tuple(NAMES[2:])


def test_the_first_contradiction_asks_for_a_second_look(two):
    found = two.identify(seen("no", mark="bar"))
    assert found.verdict is Identity.NARROWED
    mine = [one for one in found.contradictions if one.variant == "one"]
    assert [(one.feature, one.saw, one.needs, one.looks) for one in mine] == [("mark", "bar", "dot", 1)]
    assert [(one.feature, one.because) for one in found.first] == [("mark", Because.LOOK_AGAIN)]
    assert "mark" in [ask.feature for ask in found.next]


def test_a_second_look_that_agrees_stands_whatever_the_rest_says(two):
    found = two.identify([*seen("no", mark="bar"), Look("mark", "bar")])
    assert found.verdict is Identity.CONTRADICTED
    assert [one.looks for one in found.contradictions if one.variant == "one"] == [2]
    assert found.must[-1].state is MustState.CONTRADICTED
    assert found.first == ()


def test_a_contradiction_stands_at_any_feature_not_only_at_must_match_points(two):
    found = two.identify([*seen("no", names=NAMES[:7]), *looks("h=yes", "h=yes")])
    assert found.verdict is Identity.CONTRADICTED


def test_a_second_look_that_differs_asks_for_a_third_and_that_clears_it(two):
    looked = seen("no", mark="bar") + looks("mark=dot")
    assert two.identify(looked).verdict is Identity.NARROWED
    assert two.identify(looked).first[0].because is Because.LOOK_AGAIN
    cleared = two.identify(looked + looks("mark=dot"))
    assert (cleared.verdict, cleared.first) == (Identity.CONFIRMED, ())


def test_elsewhere_a_second_look_that_differs_clears_it(two):
    looked = seen("no", names=NAMES[:7]) + looks("h=yes")
    assert two.identify(looked).verdict is Identity.NARROWED
    assert two.identify(looked + looks("h=no")).verdict is Identity.CONFIRMED


def test_what_we_see_outranks_what_was_told(two):
    told = [Look("mark", "bar", Seen.PHONE)] * 2
    assert [one.looks for one in two.identify(seen("no", mark=None) + told).contradictions if one.variant == "one"] == [
        1
    ]
    assert two.identify(seen("no", mark=None) + told).verdict is Identity.NARROWED
    assert two.identify(seen("no") + told).verdict is Identity.CONFIRMED


def test_what_was_told_and_seen_the_same_stands(two):
    found = two.identify([*seen("no", mark="bar"), Look("mark", "bar", Seen.PHONE)])
    assert found.verdict is Identity.CONTRADICTED


def test_none_of_these_only_once_the_closest_was_looked_at_twice():
    """A body that shows what no variant has."""
    library = identifier(*(variant(key, *(feature(name, this) for name in NAMES)) for key, this in (("x", "no"),)))
    once = library.identify(seen("yes", mark=None))
    assert once.p_none > 0.99
    assert (once.verdict, [one.feature for one in once.first]) == (Identity.OPEN, list(NAMES))
    assert {one.because for one in once.first} == {Because.LOOK_AGAIN}
    assert library.identify(seen("yes", mark=None) * 2).verdict is Identity.NONE_OF_THESE


def test_alike_looks_count_less_and_less(two):
    """Twice the same counts 1.4 times: chances against each other go with the power; a third time adds nothing."""

    def odds(times):
        found = dict(two.identify(looks(*["a=no"] * times)).posterior)
        return math.log(found["one"] / found["two"])

    assert odds(2) == pytest.approx(1.4 * odds(1))
    assert odds(3) == pytest.approx(odds(2))


def test_an_unfinished_must_match_point_holds_back():
    features = [feature(name, "no") for name in NAMES]
    library = identifier(variant("unfinished", *features, feature("mark", None, MARKS, must_match=True)))
    found = library.identify(seen("no"))
    assert found.p_best > 0.999
    assert found.verdict is Identity.NARROWED
    assert found.holds_back[0].what is Holding.NOT_STATED
    assert found.must[0].state is MustState.NOT_STATED


def test_next_is_what_tells_most_and_equals_stand_by_name():
    library = identifier(
        variant("one", feature("z", "no"), feature("m", "no"), feature("a", "no")),
        variant("two", feature("z", "yes"), feature("m", "no"), feature("a", "yes")),
    )
    found = library.identify(())
    assert [ask.feature for ask in found.next] == ["a", "z", "m"]
    assert found.next[0].bits == found.next[1].bits > found.next[2].bits
    asked = [ask.feature for ask in library.identify(looks("a=cannot see")).next]
    assert asked == ["z", "m"]
    assert library.identify(looks("a=cannot see")).not_checked == ("z", "m", "a")
    told = library.identify(looks(("a", "cannot see", Seen.PHONE)))
    assert "a" in [ask.feature for ask in told.next], "a voice did not look as we can"


def test_variants_that_nothing_separates_are_one_group_with_what_would():
    here = feature("mark", "dot", MARKS)
    library = identifier(
        variant("a", here, feature("cap", "no")), variant("b", here), variant("c", feature("mark", "bar", MARKS))
    )
    (group,) = library.identify(looks("mark=dot")).groups
    assert (group.variants, group.features, group.pair) == (("a", "b"), ("cap",), None)


def test_a_group_says_where_a_reading_would_tell():
    library = identifier(
        variant("a", devices=[coil("Heron", ("1", "2"), 5.0)]), variant("b", devices=[coil("Heron", ("1", "2"), 12.0)])
    )
    (group,) = library.identify(()).groups
    assert (group.variants, group.features, group.pair) == (("a", "b"), (), ("1", "2"))


def test_why_others_lost(two):
    (lost,) = two.identify(seen("no")).lost
    assert lost.variant == "two"
    assert {one.feature for one in lost.against} == set(NAMES)


def test_looks_that_say_nothing_are_named():
    library = identifier(variant("one", feature("mark", "dot", MARKS)))
    found = library.identify([Look("marks", "dot", entry=4), Look("mark", "star", entry=5)])
    assert [(one.entry, one.what) for one in found.left_out] == [(4, "marks"), (5, "mark")]
    assert found.verdict is Identity.OPEN
    (against,) = library.identify([Look("mark", "bars"), Look("mark", "none"), Look("mark", "bars")]).contradictions
    assert (against.saw, against.looks) == ("none", 1)


@pytest.mark.parametrize(
    ("variants", "words"),
    [
        pytest.param((), "at least one variant", id="none"),
        pytest.param((variant("one"), variant("one")), "key 'one' 2 times", id="one key twice"),
        pytest.param((variant("none_of_these"),), "another key", id="a key with a meaning of its own"),
    ],
)
def test_a_library_that_cannot_serve(variants, words):
    with pytest.raises(BadInput, match=words):
        identifier(*variants)
