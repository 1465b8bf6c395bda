"""Typed text -> number: every accepted spelling, every refusal, every question back."""

from __future__ import annotations

import pytest

from valvebench.model.errors import BadInput
from valvebench.model.numbers import decimal, decimals, number_meanings, typed_ohm


@pytest.mark.parametrize(
    ("text", "ohm"),
    [
        ("5.2", 5.2),
        ("5,2", 5.2),
        (" 5.2 ", 5.2),
        ("+5.2", 5.2),
        ("-0.1", -0.1),
        ("5.", 5.0),
        (".5", 0.5),
        (",5", 0.5),
        ("0", 0.0),
        ("007", 7.0),
        ("12k", 12_000.0),
        ("12 K", 12_000.0),
        ("1.2 M", 1_200_000.0),
        ("2,61 kohm", 2610.0),
        ("5.2 \u03a9", 5.2),
        ("5.2\u2126", 5.2),
        ("5 ohms", 5.0),
        ("1,234,567", 1_234_567.0),
        ("1.234.567", 1_234_567.0),
        ("1,234.5", 1234.5),
        ("1.234,5", 1234.5),
        ("1 234", 1234.0),
        ("1'234.5", 1234.5),
        ("1\u2019234.5", 1234.5),
        ("1\u202f234,5", 1234.5),
        ("12\u00a0345", 12_345.0),
        ("0,123", 0.123),
        ("1234,567", 1234.567),
        ("1,23", 1.23),
        ("1,234k", 1234.0),
        ("1e", None),
    ],
    ids=repr,
)
def test_typed_number(text, ohm):
    assert typed_ohm(text).ohm == (pytest.approx(ohm, rel=1e-15) if ohm is not None else None)


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("1,234", (1.234, 1234.0)),
        ("1.234", (1.234, 1234.0)),
        ("12.345", (12.345, 12_345.0)),
        ("-1,234", (-1.234, -1234.0)),
    ],
)
def test_truly_ambiguous_text_is_asked_about(text, choices):
    found = typed_ohm(text)
    assert found.choices == choices
    assert found.ohm is None


@pytest.mark.parametrize("text", ["OL", "ol", "O.L", "0L", "0.L", "open", "inf", "over", "*", "---", " OL "])
def test_open_words(text):
    assert typed_ohm(text).is_open


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "abc",
        "5m",
        "5 mohm",
        "1.2.3",
        "1,2,3",
        "12,34,567",
        "1 23",
        "1' 234",
        "1'234.5.6",
        "1.234 5",
        "1 234.567,8",
        "1,234.56.7",
        "1,.5",
        "'5",
        "5'",
        "nan",
        "1_000",
        "\u0665",
        "1e5",
        "5.2 V",
        "5 5 5",
        "1e400",
        "9" * 14,
        "2000000 M",
        "--5",
        ".",
    ],
    ids=repr,
)
def test_what_is_no_reading_says_what_to_type(text):
    found = typed_ohm(text)
    assert found.ohm is None
    assert not found.is_open
    assert not found.choices
    assert "ype" in found.problem


def test_small_m_is_asked_about_because_it_is_milli_and_mega():
    assert "milliohm or megohm" in typed_ohm("5m").problem


@pytest.mark.parametrize(
    ("text", "number"), [("5,2", 5.2), ("1e3", 1000.0), ("-4.", -4.0), (" 7 ", 7.0), (",5E-1", 0.05)]
)
def test_option(text, number):
    assert decimal(text, where="ohm") == number


@pytest.mark.parametrize(
    "text", ["nan", "inf", "", "1 2", "1,234.5", "0x10", "1e400", "1_0", "5 ohm", "\u0665", "5.2.1"]
)
def test_bad_option_names_itself_and_what_was_found(text):
    with pytest.raises(BadInput) as caught:
        decimal(text, where="--ohm")
    assert "--ohm" in str(caught.value)
    assert repr(text)[1:-1] in str(caught.value)


@pytest.mark.parametrize("text", ["6.41 6,40;6.39", "6.41; 6.40 ; 6.39 ", " 6.41\t6.40\n6.39"])
def test_several_numbers(text):
    assert decimals(text, where="repeats") == (6.41, 6.40, 6.39)


@pytest.mark.parametrize(
    ("text", "meanings"),
    [
        pytest.param("280,5", (280.5,), id="comma"),
        pytest.param(" \u22120.3 ", (-0.3,), id="typographic-minus"),
        pytest.param("1,234", (1.234, 1234.0), id="two-meanings"),
        pytest.param("1'234.5", (1234.5,), id="grouped"),
        *(pytest.param(text, (), id=f"none-{text!a}") for text in ("", "-", "--3", "3-4", "1.2.3", "abc", "\u00b2")),
    ],
)
def test_what_plain_digits_can_mean(text, meanings):
    assert number_meanings(text) == meanings
