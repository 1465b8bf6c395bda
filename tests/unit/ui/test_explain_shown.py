"""The words of the card of explanations, from facts made up here."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes.explained import AT, BODY, HEALTHY, HIGH, PAIR, TOLD, found, one, shown
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_words import head_text
from valvebench.diagnose.explained import HOT, Ask, Between, FlexSaid, HeatSaid, HeatWord, LeftOut, Place, Value
from valvebench.model.words import AccessPoint
from valvebench.ui.findings.explain_shown import NOT_ASKED, STRAINED

ASSUMED = (
    "Taken as given: coils at 20 \u00b0C \u00b1 2.0 (95 %); parts spread as their limits say, "
    "up to three times that much."
)


def test_one_answer_with_its_chance_size_and_class():
    card = shown(HIGH, HEALTHY)
    assert card.sentence == "Heron (2\u20133) is too high"
    assert card.chance == "about 90 in 100"
    assert card.about == (
        "Size: 8.90 \u00b1 0.10 \u03a9.",
        "These readings cannot tell it from: pin 2 (Heron) has a poor contact or inner conductor.",
    )
    assert card.aside == "from 8 readings"


def test_the_chance_is_capped():
    assert shown(HIGH._replace(p=0.9999), HEALTHY).chance == "odds better than 99 in 100"


def test_the_readings_that_decide_are_predicted_by_the_first_two_answers():
    told = shown(HIGH, HEALTHY).told
    assert [(row.between, row.read, row.predicted, row.otherwise) for row in told] == [
        ("2\u20133", "8.95 \u03a9", "8.90 \u03a9", "5.40 \u03a9"),
        ("1\u20133", "5.41 \u03a9", "5.40 \u03a9", "5.40 \u03a9"),
        ("1\u20132", "open", "open", "open"),
    ]


def test_what_grows_with_heat_is_called_so_and_says_what_was_counted():
    """A contact that is good when cold is never shown as one that is always poor."""
    grows = one(Fault.TERMINAL_RESISTIVE, "2", p=0.92, value=Value(0.24, 0.009))._replace(when=HOT)
    said = HeatSaid("Heron", HeatWord.GROWS, Value(0.24, 0.009), 91.3, (40, 47))
    card = shown(grows, HEALTHY, heat=(said,))
    assert "grows with heat" in card.sentence
    assert (card.about[-1], card.told) == ("No cold reading shows it: what was found as the part warmed decides.", ())
    assert "grows with heat" in shown(HIGH, grows).others[0].words
    assert card.small[:2] == (
        "Counted as it warmed: Heron grows with heat, 0.240 \u00b1 0.018 \u03a9 at 91.3 \u00b0C.",
        "Their warm readings are not counted a second time.",
    )


@pytest.mark.parametrize("possible", [1, 14], ids=["one answer", "still open"])
def test_what_a_flex_test_found_is_never_hidden_by_an_answer(possible):
    flexed = (FlexSaid("Heron", "2", "3", "the harness at the plug"),)
    card = shown(HEALTHY._replace(p=0.4 if possible > 1 else 0.99), HIGH, flexed=flexed, possible=possible)
    assert card.warning == (
        "A flex test found a contact that comes and goes, whatever stands above: "
        "Heron (2\u20133) while the harness at the plug was flexed."
    )


def test_another_access_point_is_named_beside_the_pair():
    plug = TOLD[0]._replace(at=AccessPoint.VEHICLE_PLUG)
    assert shown(HIGH._replace(predicts=(plug,))).told[0].between == "2\u20133, plug"


def test_a_sound_part_names_what_would_not_show():
    card = shown(one(Fault.HEALTHY, p=0.97, same=(Place(Fault.SWAP, ("1", "2")),)))
    assert card.about == ("Would not show: the wires of pins 1 and 2 are changed over.",)


@pytest.mark.parametrize(("p", "is_there"), [(0.02, True), (0.019, False)], ids=str)
def test_nothing_wrong_but_one_bad_reading_is_named_from_two_in_a_hundred(p, is_there):
    bad = one(Fault.ONE_BAD_READING, "2", "3", p=p)
    others = [one(Fault.LEAK, pin, "case", p=0.03) for pin in "1234"]
    names = [other.words for other in shown(HIGH, *others, bad).others]
    assert ("Nothing wrong, and the reading 2\u20133 is a bad one" in names) is is_there


def test_a_sound_part_is_named_however_unlikely_it_is():
    assert shown(HIGH, HEALTHY._replace(p=0.001)).others[-1].chance == "less than 1 in 100"


def test_with_few_readings_there_is_no_winner():
    many = [one(Fault.LEAK, pin, "case", p=0.1) for pin in "1234"]
    card = shown(one(Fault.HEALTHY, p=0.4), *many, possible=14)
    assert card.sentence == "Still possible: 14 explanations"
    assert (card.chance, card.about, card.told) == ("", (), ())
    assert [other.words for other in card.others][:2] == ["Nothing wrong shows", "Pin 1 (Gull) leaks to the case"]
    assert card.others_title == "Among them"


@pytest.mark.parametrize(
    ("p", "possible", "is_open"),
    [(0.49, 2, True), (0.5, 2, False), (0.94, 3, True), (0.95, 3, False), (0.94, 2, False)],
    ids=str,
)
def test_who_is_put_first_is_the_same_as_on_the_command_line(p, possible, is_open):
    facts = HIGH._replace(p=p), HEALTHY
    head, card = head_text(found(*facts, possible=possible), BODY), shown(*facts, possible=possible)
    assert [words.startswith("Still possible") for words in (head, card.sentence)] == [is_open, is_open]


def test_readings_that_cannot_serve_are_no_explanation():
    """As before the part has soaked: then nothing is said of anything, but what was left out."""
    card = shown(HEALTHY._replace(p=0.4), HIGH, possible=40, readings=0, left_out=(LeftOut(3, "why one"),))
    assert card.sentence == "Nothing was read yet that could be explained"
    assert (card.chance, card.others, card.told) == ("", (), ())
    assert card.small == ("Left out: entry 3, why one.",)
    assert card.ask.word == "Measure 1\u20132 next"


def test_where_nothing_explains_them_well_it_says_so_and_gives_no_chance():
    card = shown(HIGH, HEALTHY, is_strained=True)
    assert card.sentence == STRAINED
    assert card.chance == ""
    assert card.about == ("Closest: Heron (2\u20133) is too high.",)
    assert [row.otherwise for row in card.told] == ["", "", ""]


def test_a_reading_that_is_called_bad_is_named():
    assert shown(HIGH, HEALTHY, called_bad=(("1", "3"),)).warning.startswith("It takes the reading 1\u20133 for a bad")


@pytest.mark.parametrize(
    ("ask", "word", "words"),
    [
        (PAIR, "Measure 1\u20132 next", "About 10 seconds."),
        (PAIR._replace(what="repeat"), "Measure 1\u20132 once more", "About 10 seconds."),
        (
            PAIR._replace(what="warm", seconds=900.0),
            "Warm the body, measure 1\u20132 again",
            "About 15 minutes: to about 80 \u00b0C; parts above 60 \u00b0C burn, dry of solvent before any heat.",
        ),
        (
            PAIR._replace(at=AccessPoint.VEHICLE_PLUG),
            "Measure 1\u20132 next",
            "About 10 seconds: at the vehicle's plug, control unit unplugged, battery disconnected first.",
        ),
        (
            Ask("2", "3", AccessPoint.DEVICE_TERMINALS, "pair", 0.4, 60.0),
            "Measure 2\u20133 next",
            "About 60 seconds: at Heron's own terminals.",
        ),
        (
            Ask(None, None, None, "lead_short", 0.4, 8.0),
            "Short the leads",
            "About 8 seconds: hold the tips together and type what the meter shows.",
        ),
        (
            Ask(None, None, None, "meter_check", 0.4, 30.0),
            "Check the meter",
            "About 30 seconds: read a check resistor with the same leads.",
        ),
    ],
    ids=lambda value: value.what if isinstance(value, Ask) else "",
)
def test_each_kind_of_next_step_says_what_where_and_how_long(ask, word, words):
    card = shown(HIGH, HEALTHY, next=(ask,))
    assert (card.ask.word, card.ask.words, card.ends) == (word, words, "")


def test_what_was_done_meanwhile_is_not_asked_again():
    short = Ask(None, None, None, "lead_short", 0.4, 8.0)
    card = shown(HIGH, HEALTHY, next=(short, PAIR), is_done=lambda ask: ask is short)
    assert card.ask.word == "Measure 1\u20132 next"


def test_where_nothing_is_worth_asking_it_says_what_stays_open():
    assert shown(HIGH, HEALTHY, next=()).ends == "Nothing more is worth measuring: what stands above stays open."
    settled = shown(HIGH._replace(p=0.99), HEALTHY, next=())
    assert (settled.ask, settled.ends) == (None, "Nothing more is worth measuring for this.")


def test_of_a_closed_session_nothing_is_asked():
    card = shown(HIGH, HEALTHY, is_closed=True)
    assert (card.ask, card.ends) == (None, NOT_ASKED)


def test_small_print_says_what_lies_between_what_was_left_out_and_what_was_assumed():
    small = shown(
        HIGH,
        HEALTHY,
        access=(Between("2", "3", AccessPoint.VEHICLE_PLUG, AT, 0.8, 0.1),),
        left_out=(LeftOut(5, "why one"), LeftOut(7, "why two"), LeftOut(9, "why one")),
    ).small
    assert small == (
        "Harness of 2\u20133, both wires: 0.80 \u00b1 0.20 \u03a9.",
        "Left out: entries 5, 9, why one.",
        "Left out: entry 7, why two.",
        ASSUMED,
    )


def test_as_text_it_can_be_pasted():
    lines = shown(HIGH, HEALTHY).text().splitlines()
    assert lines[0] == "What explains these readings: Heron (2\u20133) is too high: about 90 in 100."
    assert "2\u20133: read 8.95 \u03a9, predicted 8.90 \u03a9" in lines
    assert "- Nothing wrong shows: about 3 in 100" in lines
    assert "Next: Measure 1\u20132 next (About 10 seconds.)" in lines
    assert replace(shown(HIGH, next=()), small=()).text().splitlines()[-1].startswith("Nothing more is worth")
