"""A heat run on the pins of the face and in the strip: beside the cold verdict of a winding, never behind it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tests.fakes.pins_bench import VARIANT
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Verdict
from valvebench.ui.pins.marks import pin_marks
from valvebench.ui.session_words import verdict_words

BODY = read_variant(VARIANT, source="the bench")
"""Heron lies between 2 and 3; invented."""


@pytest.mark.parametrize(
    ("failed", "words"),
    [
        (["heat Heron"], "Fail: Heron in the heat run"),
        (["device Heron", "heat Heron"], "Fail: Heron is outside its limits"),
        (["device Gull", "heat Heron"], "Fail: Gull and Heron in the heat run"),
        (["device Gull", "device Heron", "heat Heron"], "Fail: Gull and Heron"),
    ],
)
def test_the_strip_names_each_winding_once(failed, words):
    judged = SimpleNamespace(items=dict.fromkeys(failed, Verdict.FAIL), scope="", verdict=Verdict.FAIL)
    assert verdict_words(judged)[0] == words


@pytest.mark.parametrize(
    ("cold", "warm", "mark", "words"),
    [
        (Verdict.PASS, Verdict.FAIL, Verdict.FAIL, "Heron, fail in the heat run"),
        (Verdict.PASS, Verdict.CANT_TELL, Verdict.CANT_TELL, "Heron, can't tell in the heat run"),
        (Verdict.FAIL, Verdict.PASS, Verdict.FAIL, "Heron, fail"),
        (Verdict.PASS, Verdict.NOT_TAKEN, Verdict.PASS, "Heron, pass"),
        (Verdict.CANT_TELL, Verdict.PASS, Verdict.CANT_TELL, "Heron, can't tell"),
        (Verdict.NOT_TAKEN, Verdict.NOT_TAKEN, None, "Heron, not taken"),
    ],
)
def test_a_cold_pass_never_hides_what_shows_in_the_heat(cold, warm, mark, words):
    of = {"device Heron": cold, "heat Heron": warm}
    assert pin_marks(BODY, lambda key: of.get(key, Verdict.NOT_TAKEN))["2"] == (mark, words)
