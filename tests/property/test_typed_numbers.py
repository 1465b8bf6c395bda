"""Numbers typed as four countries write them come back, or are asked about."""

from __future__ import annotations

import contextlib
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valvebench.model.errors import BadInput
from valvebench.model.numbers import decimal, decimals, typed_ohm

# Unicode CLDR: decimal sign and group sign of each; the second ones are what keyboards give instead.
LOCALES = {
    "en": (".", (",",)),
    "de": (",", (".",)),
    "fr": (",", ("\u202f", "\u00a0", " ")),
    "de-CH": (".", ("\u2019", "'")),
}
UNITS = ("", " ohm", "\u03a9", " \u2126", " Ohms")


def written(number, *, sign, group):
    """A number as that country prints it, thousands grouped where a group sign is given."""
    text = f"{number:,f}" if group else f"{number:f}"
    return text.translate({ord(","): group, ord("."): sign})


def numbers(places):
    return st.integers(0, 10**12 * 10**places - 1).map(lambda n: Decimal(n).scaleb(-places))


VALUES = st.one_of(
    *(numbers(places) for places in range(7)),
    st.integers(0, 99_999_999).flatmap(lambda n: st.integers(0, 6).map(lambda p: Decimal(n).scaleb(-p))),
)
SCALES = {"k": 3, "K": 3, "M": 6}


@pytest.mark.parametrize("locale", LOCALES)
@given(data=st.data())
@settings(max_examples=400, deadline=None, derandomize=True)
def test_typed_text_comes_back(locale, data):
    sign, groups = LOCALES[locale]
    number = data.draw(VALUES)
    group = data.draw(st.sampled_from(("", *groups)))
    unit = data.draw(st.sampled_from(UNITS))
    text = written(number, sign=sign, group=group) + unit
    found = typed_ohm(f" {text} ")
    if found.choices:
        assert is_ambiguous(text)
        assert float(number) in found.choices
        assert found.ohm is None
    else:
        assert found.ohm == float(number), (text, found)


def is_ambiguous(text):
    """One point or comma with three digits after it and one to three, not led by a nought, before it."""
    digits = "".join(c for c in text if c.isdigit() or c in ".,'\u2019\u202f\u00a0")
    whole, _, fraction = digits.replace(",", ".").partition(".")
    return whole.isdigit() and fraction.isdigit() and len(fraction) == 3 and len(whole) <= 3 and whole[0] != "0"


@pytest.mark.parametrize("locale", LOCALES)
@given(n=st.integers(0, 999_999), places=st.integers(0, 5), suffix=st.sampled_from(sorted(SCALES)), blank=st.booleans())
@settings(max_examples=200, deadline=None, derandomize=True)
def test_prefix_is_never_asked_about(locale, n, places, suffix, blank):
    number = Decimal(n).scaleb(-places)
    text = written(number, sign=LOCALES[locale][0], group="")
    found = typed_ohm(f"{text}{' ' * blank}{suffix}")
    ohm = float(number) * 10 ** SCALES[suffix]
    if ohm > 1e12:
        assert found.problem
    else:
        assert found.ohm == ohm


@given(number=st.floats(allow_nan=False, allow_infinity=False, width=64), comma=st.booleans())
@settings(max_examples=500, deadline=None, derandomize=True)
def test_an_option_takes_point_or_comma_and_never_groups(number, comma):
    text = repr(number).replace(".", ",") if comma else repr(number)
    assert decimal(text, where="ohm") == number
    assert decimals(f"{text} 1.5;{text}", where="ohm") == (number, 1.5, number)


@given(st.text(max_size=12))
@settings(max_examples=300, deadline=None, derandomize=True)
def test_any_text_has_exactly_one_answer(text):
    found = typed_ohm(text)
    said = [found.ohm is not None, found.is_open, bool(found.choices), bool(found.problem)]
    assert sum(said) == 1
    with contextlib.suppress(BadInput):  # no other exception, whatever the text
        assert isinstance(decimal(text, where="ohm"), float)


@given(st.text(alphabet="0123456789.,' \u2019+-kM", max_size=9))
@settings(max_examples=1500, deadline=None, derandomize=True)
def test_nothing_like_a_number_escapes(text):
    found = typed_ohm(text)
    said = [found.ohm is not None, found.is_open, bool(found.choices), bool(found.problem)]
    assert sum(said) == 1
    values = found.choices or ((found.ohm,) if found.ohm is not None else ())
    digits = "".join(c for c in text if c.isdigit()).lstrip("0")
    for value in values:
        plain = f"{Decimal(repr(abs(value))):f}".replace(".", "")
        assert plain.strip("0") == digits.strip("0")
