"""Numbers as text: never a value from something that is none.  Values by hand."""

from __future__ import annotations

import json

import pytest

from valvebench.__main__ import main
from valvebench.model.numbers import typed_ohm

NO_NUMBERS = [
    "nan", "NaN", "-nan", "inf", "Infinity", "-inf", "1_000", "1__0", "_1", "0x10", "0b1", "0o7", "1e999", "-1e999",
    "+1.0E+400", "1e+400", "1e", "e5", "1e5e5", "1e1.5", "--5", "+-5", "5-", "5+", "1.2.3", "1,2,3", ".", ",", "-", "+",
    "\uff15", "\u0665", "5\uff0e2", "\u00bd", "5\u00b2", "V", "five", "5;6", "5/2", "5%", "5 6", "1 000", "1'000",
    "(5)", "5j", "True", "null", "\u22125", "5\u200b", "\u200e5", "5\x00", "12k",
]  # fmt: skip
NUMBERS = {
    "5": 5.0, "5.2": 5.2, "5,2": 5.2, "+5": 5.0, "05": 5.0, ".5": 0.5, ",5": 0.5, "5.": 5.0, "1e2": 100.0,
    "1E+2": 100.0, "20e-1": 2.0,
}  # fmt: skip


@pytest.mark.parametrize("text", NO_NUMBERS, ids=ascii)
def test_an_option_takes_no_wrong_number(text, capsys):
    code = main(["reading", f"--ohm={text}", "--celsius=23", "--json"])
    out, err = capsys.readouterr()
    assert (code, out) == (2, "")
    assert "--ohm" in err


@pytest.mark.parametrize(("text", "ohm"), NUMBERS.items())
def test_an_option_takes_a_right_number(text, ohm, capsys):
    assert main(["reading", f"--ohm={text}", "--celsius=23", "--leads=four_wire", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["ohm"] == pytest.approx(ohm, rel=1e-15)


MEANT_OTHERWISE_IN_THE_FIELD = {"inf", "1 000", "1'000", "12k", "1,2,3", "1.2.3"}


@pytest.mark.parametrize("text", sorted(set(NO_NUMBERS) - MEANT_OTHERWISE_IN_THE_FIELD), ids=ascii)
def test_the_field_takes_no_wrong_number(text):
    found = typed_ohm(text)
    assert found.ohm is None
    assert found.choices == ()
    assert not found.is_open
    assert found.problem


@pytest.mark.parametrize("text", ["1e5", "1E5", "1.0e3"])
def test_the_field_takes_no_exponent(text):
    assert typed_ohm(text).problem


@pytest.mark.parametrize(("text", "ohm"), [("1 000", 1000.0), ("1'000", 1000.0), ("12k", 12_000.0)])
def test_the_field_takes_what_people_type(text, ohm):
    assert typed_ohm(text).ohm == ohm


def test_inf_on_the_display_is_open_and_no_number():
    assert typed_ohm("inf").is_open
    assert typed_ohm("inf").ohm is None


@pytest.mark.parametrize("text", ["1.2.3", "1,2,3"])
def test_groups_that_are_none_are_no_number(text):
    assert typed_ohm(text).problem
