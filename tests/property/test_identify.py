"""Whatever is seen: order and files' order do not matter, what was not seen changes nothing, and no NaN."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.diagnose.identify_library import FAULTS, coil, feature, identifier, variant
from valvebench.diagnose.explain_readings import said_one
from valvebench.diagnose.identified import CANNOT_SEE, SOMETHING_ELSE, Identity, Look
from valvebench.model.entry import Reading
from valvebench.model.words import Seen

NAMES = ("mark", "cap", "bolts")
VALUES = ("none", "dot", "bar")
ANSWERS = (*VALUES, SOMETHING_ELSE, CANNOT_SEE)

stated = st.sampled_from((None, *VALUES))
features = st.tuples(
    *(st.builds(feature, st.just(n), stated, st.just(VALUES), must_match=st.booleans()) for n in NAMES)
)
coils = st.sampled_from(((), (coil("Heron", ("1", "2"), 5.0),), (coil("Heron", ("1", "2"), 12.0),)))
libraries = st.lists(st.tuples(features, coils), min_size=1, max_size=5).map(
    lambda drawn: [variant(f"v{i}", *each, devices=devices) for i, (each, devices) in enumerate(drawn)]
)
looks = st.lists(
    st.builds(Look, st.sampled_from(NAMES), st.sampled_from(ANSWERS), st.sampled_from(list(Seen))), max_size=8
)
readings = st.lists(
    st.tuples(st.floats(0.0, 1e9), st.sampled_from((("1", "2"), ("2", "3"), ("1", "case")))), max_size=3
).map(
    lambda drawn: [
        said_one(n, Reading(from_node=a, to_node=b, ohm=ohm, celsius=20.0), FAULTS)
        for n, (ohm, (a, b)) in enumerate(drawn)
    ]
)
few = settings(max_examples=60, deadline=None)


def told(found):
    """Everything but where it came from."""
    return found._replace(left_out=())


@few
@given(library=libraries, seen=looks, read=readings, data=st.data())
def test_the_order_of_looks_does_not_matter(library, seen, read, data):
    known = identifier(*library)
    again = data.draw(st.permutations(seen))
    assert told(known.identify(again, read)) == told(known.identify(seen, read))


@few
@given(library=libraries, seen=looks, name=st.sampled_from(NAMES), how=st.sampled_from(list(Seen)))
def test_what_cannot_be_seen_changes_no_chance(library, seen, name, how):
    known = identifier(*library)
    before, after = known.identify(seen), known.identify([*seen, Look(name, CANNOT_SEE, how)])
    assert (after.posterior, after.p_none, after.verdict) == (before.posterior, before.p_none, before.verdict)


@few
@given(library=libraries, seen=looks, read=readings, data=st.data())
def test_the_order_of_files_does_not_matter(library, seen, read, data):
    shuffled = data.draw(st.permutations(library))
    before, after = identifier(*library).identify(seen, read), identifier(*shuffled).identify(seen, read)
    assert dict(after.posterior) == pytest.approx(dict(before.posterior), rel=1e-12)
    same = ("verdict", "leading", "contradictions", "must", "holds_back", "first", "not_checked", "groups")
    assert [getattr(after, name) for name in same] == [getattr(before, name) for name in same]
    assert [ask.feature for ask in after.next] == [ask.feature for ask in before.next]


@few
@given(library=libraries, seen=looks, read=readings)
def test_chances_are_numbers_and_sum_to_one(library, seen, read):
    found = identifier(*library).identify(seen, read)
    chances = [*dict(found.posterior).values(), found.p_none]
    assert all(0.0 <= p <= 1.0 for p in chances)
    assert math.fsum(chances) == pytest.approx(1.0, abs=1e-12)
    assert all(ask.bits > 0 for ask in found.next)


@few
@given(library=libraries, seen=looks, read=readings)
def test_confirmed_only_with_every_must_match_point_seen(library, seen, read):
    """Held against the looks themselves, with none of the program's rules."""
    found = identifier(*library).identify(seen * 2, read)
    if found.verdict is not Identity.CONFIRMED:
        return
    (key,) = found.leading
    best = next(one for one in library if one.key == key)
    own = {(look.feature, look.value) for look in seen if look.seen is not Seen.PHONE}
    assert all((one.name, one.this) in own for one in best.features if one.must_match)
    assert not any(one.variant == key for one in found.contradictions)
