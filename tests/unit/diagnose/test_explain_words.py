"""Explanations in words: a fault with its place, what decides, and never a winner where there is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_words import chance_text, fault_text, head_text, told_lines
from valvebench.diagnose.explained import HARNESS, HOT, Explained, Explanation, Told
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import CASE, AccessPoint

ROOT = Path(__file__).parents[3]
TERN = read_variant((ROOT / "resources" / "variants" / "tern-body-2.json").read_bytes(), source="tern-body-2")


@pytest.mark.parametrize(
    ("fault", "where", "words"),
    [
        pytest.param(Fault.TERMINAL_RESISTIVE, ("3",), "pin 3 (Heron) has a poor contact or inner conductor", id="one"),
        pytest.param(
            Fault.TERMINAL_OPEN,
            ("2",),
            "the wire of pin 2 (Gull, Dunlin) is broken or its contact pushed back",
            id="two devices",
        ),
        pytest.param(
            Fault.TERMINAL_RESISTIVE,
            ("11",),
            "pin 11 (common of 4) has a poor contact or inner conductor",
            id="a common of many",
        ),
        pytest.param(Fault.LEAK, ("8", CASE), "pin 8 (Plover) leaks to the case", id="to the case"),
        pytest.param(Fault.LEAK, ("3", "9"), "pin 3 (Heron) leaks to pin 9 (Reel)", id="to another pin"),
        pytest.param(
            Fault.TERMINAL_RESISTIVE, ("3", HARNESS), "the vehicle's harness is poor at pin 3 (Heron)", id="harness"
        ),
        pytest.param(Fault.DEVICE_OPEN, ("Heron",), "Heron (3\u201311) is open", id="a device with its pins"),
        pytest.param(Fault.SWAP, ("4", "5"), "the wires of pins 4 and 5 are changed over", id="two wires"),
        pytest.param(
            Fault.MIRRORED, (), "the pins were counted from the wrong side, left for right", id="pins mirrored"
        ),
        pytest.param(Fault.LEADS, (), "the resistance of the meter leads is still in the readings", id="leads"),
    ],
)
def test_a_fault_stands_with_its_place(fault, where, words):
    assert fault_text(fault, where, TERN) == words


def told(read, predicted):
    return Told("3", "11", AccessPoint.CASE_CONNECTOR, predicted, read)


def answer(fault, where, p, *predicts):
    return Explanation(fault, where, p, None, (), None, predicts)


def test_what_the_next_answer_predicts_stands_beside_where_it_differs():
    first = answer(Fault.VALUE_HIGH, ("Heron",), 0.9, told(8.2, 8.19), told(5.2, 5.2), told(None, None))
    second = answer(Fault.HEALTHY, (), 0.1, told(8.2, 5.2), told(5.2, 5.2), told(None, 5.2))
    assert told_lines(first, second) == [
        "3\u201311: read 8.20 \u03a9, this predicts 8.19 \u03a9, the next answer 5.20 \u03a9",
        "3\u201311: read 5.20 \u03a9, this predicts 5.20 \u03a9",
        "3\u201311: read open, this predicts open, the next answer 5.20 \u03a9",
    ]


def test_without_a_next_answer_that_predicts_the_line_ends_there():
    first = answer(Fault.MIRRORED, (), 1.0, told(None, None))
    for other in (None, answer(Fault.HEALTHY, (), 0.0)):
        assert told_lines(first, other) == ["3\u201311: read open, this predicts open"]


def test_where_many_are_possible_none_is_said_to_be_it():
    found = Explained(
        explanations=(answer(Fault.HEALTHY, (), 0.44),),
        next=(),
        possible=14,
        invisible=(),
        left_out=(),
        readings=2,
        celsius=((20.0, 1.0),),
        is_strained=False,
        called_bad=(),
        access=(),
    )
    words = "Still possible: 14 explanations. Likeliest so far: nothing wrong shows, about 44 in 100."
    assert head_text(found, TERN) == words


@pytest.mark.parametrize(
    ("p", "words"),
    [
        (0.9901, "odds better than 99 in 100"),
        (1.0, "odds better than 99 in 100"),
        (0.955, "about 96 in 100"),
        (0.03, "about 3 in 100"),
        (0.0099, "less than 1 in 100"),
        (0.0, "less than 1 in 100"),
    ],
)
def test_a_chance_has_two_digits_at_most(p, words):
    assert chance_text(p) == words


def test_what_shows_only_hot_is_decided_by_no_reading_at_rest():
    told = (Told("1", "8", AccessPoint.CASE_CONNECTOR, 5.9, 5.91),)
    hot = Explanation(Fault.TERMINAL_RESISTIVE, ("2",), 0.9, None, (), None, told, HOT)
    assert told_lines(hot) == ["No cold reading shows it: what was found as the part warmed decides."]
    assert told_lines(hot._replace(when=None)) == ["1\u20138: read 5.91 \u03a9, this predicts 5.90 \u03a9"]
