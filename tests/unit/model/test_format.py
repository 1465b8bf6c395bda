"""Number -> text: two digits of doubt (JCGM 100, 7.2.6), limits rounded inward, prefix and unit."""

from __future__ import annotations

import math

import pytest

from valvebench.model import format as text
from valvebench.model.numbers import typed_ohm


@pytest.mark.parametrize(
    ("u", "decimals"),
    [
        (0.33, 2),
        (0.033, 3),
        (3.3, 1),
        (33.0, 0),
        (330.0, 0),
        (0.1, 2),
        (0.0, 2),
        (math.nan, 2),
        (math.inf, 2),
        (1e-15, 9),
    ],
)
def test_decimals_for_two_significant_digits(u, decimals):
    assert text.decimals_for(u) == decimals


@pytest.mark.parametrize(
    ("ohm", "shown"),
    [
        (5.24, "5.24 \u03a9"),
        (2610.0, "2.61 k\u03a9"),
        (60e6, "60.0 M\u03a9"),
        (0.0, "0.00 \u03a9"),
        (999.0, "999 \u03a9"),
        (1000.0, "1.00 k\u03a9"),
        (0.051, "0.0510 \u03a9"),
        (-0.1, "\u22120.100 \u03a9"),
    ],
)
def test_ohm_text(ohm, shown):
    assert text.ohm_text(ohm) == shown


@pytest.mark.parametrize(
    ("ohm", "shown"), [(5.2, "5.200 \u03a9"), (-0.05, "\u22120.050 \u03a9"), (2610.0, "2.61 k\u03a9")]
)
def test_ohm_text_with_decimals(ohm, shown):
    assert text.ohm_text(ohm, decimals=3) == shown


@pytest.mark.parametrize(
    ("ohm", "expanded", "unit", "shown"),
    [
        (5.1749, 0.101, True, "5.17 \u00b1 0.10 \u03a9"),
        (2610.0, 41.0, True, "2.610 \u00b1 0.041 k\u03a9"),
        (2610.0, 41.0, False, "2.610 \u00b1 0.041 k"),
        (5.1749, None, True, "5.17 \u03a9"),
        (5.1749, None, False, "5.17"),
        (-0.12, 0.33, True, "\u22120.12 \u00b1 0.33 \u03a9"),
    ],
)
def test_value_with_its_doubt(ohm, expanded, unit, shown):
    assert text.value_text(ohm, expanded, unit=unit) == shown


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [
        (4.9, 5.5, "4.90\u20135.50"),
        (1e6, None, "> 1.00 M"),
        (None, 2.0, "< 2.00"),
        (None, None, ""),
        (4.901, 5.509, "4.91\u20135.50"),
        (12.34, 15.0, "12.4\u201315.0"),
        (2540.0, 2800.0, "2.54 k\u20132.80 k"),
    ],
    ids=repr,
)
def test_limits_are_rounded_inward(low, high, shown):
    assert text.limits_text(low, high) == shown


@pytest.mark.parametrize(
    ("celsius", "shown"),
    [(20.0, "20 \u00b0C"), (23.4, "23.4 \u00b0C"), (-5.04, "\u22125 \u00b0C"), (-5.5, "\u22125.5 \u00b0C")],
)
def test_celsius_text(celsius, shown):
    assert text.celsius_text(celsius) == shown


@pytest.mark.parametrize(
    ("p", "shown"),
    [
        (0.999, "better than 99 in 100"),
        (0.5, "about 50 in 100"),
        (0.001, "less than 1 in 100"),
        (0.01, "about 1 in 100"),
    ],
)
def test_chance_never_promises(p, shown):
    assert text.chance_text(p) == shown


@pytest.mark.parametrize(
    ("range_ohm", "shown"), [(None, "open"), (0.0, "open"), (6e7, "> 60 M"), (400.0, "> 400"), (4000.0, "> 4 k")]
)
def test_open_text(range_ohm, shown):
    assert text.open_text(range_ohm) == shown


@pytest.mark.parametrize(
    ("ohm", "shown"),
    [(None, ""), (5.2, "5.2"), (6e7, "60 M"), (2610.0, "2.61 k"), (123.456789, "123.456789"), (0.0, "0")],
)
def test_typed_text_reads_back(ohm, shown):
    assert text.typed_text(ohm) == shown
    assert ohm is None or typed_ohm(shown).ohm == pytest.approx(ohm, rel=1e-12)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.0, "0 s"),
        (30.4, "30 s"),
        (59.6, "1 min"),
        (600.0, "10 min"),
        (1505.0, "25 min 5 s"),
        (3600.0, "1 h"),
        (7205.0, "2 h"),
        (9000.0, "2 h 30 min"),
    ],
)
def test_how_long_in_the_two_largest_units(seconds, words):
    assert text.duration_text(seconds) == words


@pytest.mark.parametrize(
    ("stamp", "words"),
    [
        ("2031-05-06T10:11:12Z", "2031-05-06 10:11 UTC"),
        ("2031-05-06T10:11:59.999+02:00", "2031-05-06 08:11 UTC"),
        ("2031-05-06T10:11:12", "2031-05-06T10:11:12"),
        ("soon", "soon"),
        ("", ""),
    ],
)
def test_a_time_stamp_is_told_in_universal_time(stamp, words):
    assert text.stamp_text(stamp) == words
