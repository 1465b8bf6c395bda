"""Whatever the charts and the results: both directions mirror each other, and what is proved good never rises."""

from __future__ import annotations

import json
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.data.made_up import heat_test, reading, session_of
from tests.data.suspects_body import BODY, DATA
from valvebench.bench.judging import judged_whole
from valvebench.bench.suspecting import evidence_of
from valvebench.diagnose.suspected import State, Told
from valvebench.diagnose.suspects import suspects
from valvebench.diagnose.suspects_shift import changes_in, read_shift
from valvebench.diagnose.suspects_weights import Cause, read_weights
from valvebench.model.entry import AirTest, FluidFound, SolenoidTest
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AirResult, Feel, Place, When

WEIGHTS = read_weights((Path(__file__).parents[2] / "resources" / "suspects.json").read_bytes(), source="suspects")
GEARS, CLUTCHES, SOLENOIDS = ("P", "R", "N", "1", "2", "3"), DATA["clutches"], ("Gull", "Heron", "Knot", "Dunlin")
PINS = {"Gull": "1", "Heron": "2", "Knot": "3", "Dunlin": "4"}
TWO = st.lists(st.sampled_from(GEARS), min_size=2, max_size=2, unique=True)
CHARTS = st.tuples(
    st.dictionaries(st.sampled_from(GEARS), st.lists(st.sampled_from(CLUTCHES), unique=True)),
    st.dictionaries(
        st.sampled_from(GEARS), st.dictionaries(st.sampled_from(SOLENOIDS), st.sampled_from(["on", "off"]))
    ),
)
WORDS = st.tuples(st.sampled_from([None, *When]), st.sampled_from([None, *Feel]))
RESULTS = st.lists(
    st.one_of(
        st.builds(
            lambda name, ohm: reading(PINS[name], "7", ohm), st.sampled_from(SOLENOIDS), st.sampled_from([5.5, 7.0])
        ),
        st.builds(
            lambda name, hot: heat_test(name, 5.5, hottest_celsius=hot),
            st.sampled_from(SOLENOIDS),
            st.sampled_from([45.0, 110.0]),
        ),
        st.builds(
            lambda name, click: SolenoidTest(device=name, click=click), st.sampled_from(SOLENOIDS), st.booleans()
        ),
        st.builds(
            lambda port, result: AirTest(port=port, place=Place.BODY, result=result),
            st.sampled_from(["P2", "P3", "P4"]),
            st.sampled_from(AirResult),
        ),
        st.builds(lambda level: FluidFound(level=level), st.sampled_from(["low", "right", "odd"])),
    ),
    max_size=4,
)


def of(apply_chart, solenoid_chart):
    return read_variant(
        json.dumps({**DATA, "apply_chart": apply_chart, "solenoid_chart": solenoid_chart}).encode(), source="made up"
    )


def suspected(bodies, gears, words, variant=BODY):
    told = Told(read_shift("-".join(gears), variant), *words)
    rows = judged_whole(session := session_of(*bodies), variant, None).rows
    return suspects(variant, told, WEIGHTS, evidence_of(session, rows))


def ahead(found, suspect, name):
    """How many suspects of something else come first."""
    return sum(one.where != (name,) for one in found.suspects[: found.suspects.index(suspect)])


@settings(max_examples=60)
@given(charts=CHARTS, gears=TWO)
def test_both_directions_mirror_each_other(charts, gears):
    variant = of(*charts)
    there, back = (changes_in(read_shift("-".join(way), variant), variant) for way in (gears, gears[::-1]))
    assert (there.apply, there.release) == (back.release, back.apply)
    assert not set(there.apply) & set(there.release)
    assert [(one.name, one.before, one.after) for one in there.solenoids] == [
        (one.name, one.after, one.before) for one in back.solenoids
    ]
    assert there.is_answered == back.is_answered
    assert bool(there.cant_tell) == bool(back.cant_tell)


@settings(max_examples=30)
@given(charts=CHARTS, gears=TWO, words=WORDS)
def test_only_what_changes_is_suspected_and_the_vehicle_comes_first(charts, gears, words):
    variant = of(*charts)
    found = suspected([], gears, words, variant)
    changing = {*found.changes.apply, *found.changes.release, *(one.name for one in found.changes.solenoids), "Fluid"}
    assert {name for one in found.suspects for name in one.where} <= changing
    assert [one.in_vehicle for one in found.suspects] == sorted(
        (one.in_vehicle for one in found.suspects), reverse=True
    )


@settings(max_examples=40)
@given(results=RESULTS, gears=TWO, words=WORDS, name=st.sampled_from(SOLENOIDS))
def test_a_solenoid_proved_good_never_rises(results, gears, words, name):
    """One more good result of a solenoid lifts none of its suspects, neither in weight nor in place."""
    before = suspected(results, gears, words)
    good = [reading(PINS[name], "7", 5.5), heat_test(name, 5.5), SolenoidTest(device=name, click=True)]
    for one in good:
        after = suspected([*results, one], gears, words)
        for suspect in before.suspects:
            if suspect.where != (name,) or suspect.cause is Cause.WIRING:
                continue
            later = next(s for s in after.suspects if (s.cause, s.where) == (suspect.cause, suspect.where))
            assert later.weight <= suspect.weight
            assert ahead(after, later, name) >= ahead(before, suspect, name)
            assert later.state is not State.POINTS_AT_IT or suspect.state is State.POINTS_AT_IT
