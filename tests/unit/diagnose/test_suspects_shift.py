"""What changes in a shift: small charts written by hand, answers worked out by hand from them."""

from __future__ import annotations

import pytest

from tests.data.suspects_body import BODY, body
from valvebench.diagnose.suspects_shift import Event, Steers, Switched, changes_in, read_shift, steered
from valvebench.model.errors import BadInput

# Invented chart:      P: -      R: Crake Dipper   N: -
#   1: Auk Dipper      2: Auk Crake      3: Brant Crake
# Solenoids:  Gull on in 1 2, off in 3 R N P: with Auk.  Heron on in 2 3 R: with Crake.
#   Knot off in every row but 3: with Brant.  Dunlin only in the lock-up row.


def of(text, variant=BODY):
    return changes_in(read_shift(text, variant), variant)


def names(changes):
    return [one.name for one in changes.solenoids]


@pytest.mark.parametrize(
    ("text", "apply", "release", "solenoids"),
    [
        pytest.param("1-2", ["Crake"], ["Dipper"], ["Heron"], id="up"),
        pytest.param("2-1", ["Dipper"], ["Crake"], ["Heron"], id="the same way down"),
        pytest.param("2-3", ["Brant"], ["Auk"], ["Gull", "Knot"], id="two solenoids"),
        pytest.param("3-1", ["Auk", "Dipper"], ["Brant", "Crake"], ["Gull", "Heron", "Knot"], id="skipping one"),
        pytest.param("N-D", ["Auk", "Dipper"], [], ["Gull"], id="D is the first forward gear"),
        pytest.param("N-R", ["Crake", "Dipper"], [], ["Heron"], id="into reverse"),
        pytest.param("P-R", ["Crake", "Dipper"], [], ["Heron"], id="from park"),
        pytest.param("D-N", [], ["Auk", "Dipper"], ["Gull"], id="out of gear"),
        pytest.param("R-D", ["Auk"], ["Crake"], ["Gull", "Heron"], id="reverse to drive keeps Dipper"),
        pytest.param("lock-up", ["Fulmar"], [], ["Dunlin"], id="lock-up comes on"),
        pytest.param("lock-up off", [], ["Fulmar"], ["Dunlin"], id="lock-up goes off"),
    ],
)
def test_what_applies_releases_and_switches(text, apply, release, solenoids):
    found = of(text)
    assert (list(found.apply), list(found.release), names(found)) == (apply, release, solenoids)
    assert found.is_answered
    assert found.cant_tell == ()


def test_a_solenoid_says_from_what_to_what():
    assert of("1-2").solenoids == (Switched("Heron", "off", "on"),)
    assert of("2-1").solenoids == (Switched("Heron", "on", "off"),)
    assert of("lock-up").solenoids == (Switched("Dunlin", None, "on"),)


@pytest.mark.parametrize("text", ["selector N-D", "n-d", " N - D ", "N\u2013D", "N\u2192D", "N to D"])
def test_the_same_shift_in_other_writing(text):
    assert read_shift(text, BODY)[1:] == ("N", "1", Event.ENGAGE)


@pytest.mark.parametrize(
    ("text", "event"),
    [
        ("1-2", Event.UP),
        ("3-1", Event.DOWN),
        ("N-R", Event.ENGAGE),
        ("D-N", Event.DISENGAGE),
        ("lockup", Event.LOCK_UP),
    ],
)
def test_what_kind_of_shift_it_is(text, event):
    assert read_shift(text, BODY).event is event


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("1-9", "'9' in '1-9', expected positions of tern-suspects: P, R, N, 1, 2, 3", id="unknown gear"),
        pytest.param("downshift", "two positions with a dash", id="no gears named"),
        pytest.param("", "two positions with a dash", id="nothing"),
        pytest.param("2-2", "2 and 2 are the same", id="no change"),
        pytest.param("D-1", "D and 1 are the same", id="D is first gear"),
        pytest.param("lock-uq", "lock", id="a slip in lock-up"),
    ],
)
def test_what_is_no_shift_is_refused_in_words(text, words):
    with pytest.raises(BadInput) as caught:
        read_shift(text, BODY)
    assert words in str(caught.value)


def test_what_the_charts_do_not_say_is_not_guessed():
    half = body(apply_chart={"1": ["Auk"]}, solenoid_chart={})
    found = of("1-2", half)
    assert (found.apply, found.release, found.solenoids) == ((), (), ())
    assert not found.is_answered
    assert found.cant_tell == (
        "Can't tell: the apply chart says nothing of 2, so which clutches change is not known.",
        "Can't tell: this variant has no solenoid chart, so which solenoids switch is not known.",
    )


def test_a_solenoid_of_one_row_only_is_not_said_to_switch():
    found = of("1-2", body(solenoid_chart={"1": {"Gull": "on"}, "2": {"Gull": "on", "Heron": "on"}}))
    assert found.solenoids == ()
    assert "gives Heron on one side of this shift only" in found.cant_tell[0]


def test_a_shift_that_changes_nothing_says_so():
    found = of("1-2", body(apply_chart={"1": ["Auk"], "2": ["Auk"]}))
    assert (found.apply, found.release) == ((), ())
    assert found.knows_clutches
    assert "the same clutches on both sides" in found.cant_tell[0]


def test_lock_up_beside_a_whole_gear_tells_only_its_own():
    """A row that repeats the gear it is engaged in: what some forward gear has is none of lock-up's doing."""
    rows = {"1": {"Gull": "on", "Dunlin": "off"}, "2": {"Gull": "off", "Dunlin": "off"}}
    found = of(
        "lock-up",
        body(
            apply_chart={"1": ["Auk"], "2": ["Crake"], "3": ["Brant"], "lock-up": ["Auk", "Fulmar"]},
            solenoid_chart={**rows, "lock-up": {"Gull": "on", "Dunlin": "on"}},
        ),
    )
    assert found.apply == ("Fulmar",)
    assert found.solenoids == (Switched("Dunlin", "off", "on"),)


def test_a_variant_without_gears_takes_any_names_and_cannot_tell():
    found = of("5-6", body(gears=[], apply_chart={}, solenoid_chart={}))
    assert not found.is_answered
    assert len(found.cant_tell) == 2


def test_the_clutch_a_solenoid_goes_with():
    assert steered(BODY) == {
        "Gull": Steers("Auk", "on"),
        "Heron": Steers("Crake", "on"),
        "Knot": Steers("Brant", "on"),
    }


def test_a_solenoid_that_goes_with_two_clutches_goes_with_none():
    """Auk and Brant stand alike in every gear: nobody can say which of them Gull moves."""
    twins = body(
        apply_chart={"1": ["Auk", "Brant"], "2": []}, solenoid_chart={"1": {"Gull": "on"}, "2": {"Gull": "off"}}
    )
    assert steered(twins) == {}


def test_a_solenoid_that_is_off_where_its_clutch_applies():
    turned = body(apply_chart={"1": ["Auk"], "2": []}, solenoid_chart={"1": {"Gull": "off"}, "2": {"Gull": "on"}})
    assert steered(turned) == {"Gull": Steers("Auk", "off")}
