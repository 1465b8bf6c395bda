"""The short ways to a reading let nothing through, and take nothing for another, that the long ways would not."""

from __future__ import annotations

import math
from unittest import mock

from hypothesis import example, given, settings
from hypothesis import strategies as st

from valvebench.model import entry, measured
from valvebench.model.entry import GENESIS, Reading, decode_line, encode_line
from valvebench.model.errors import BadInput
from valvebench.model.words import AccessPoint, LeadState, Rule, TemperatureSource

SEVERE = settings(max_examples=400, deadline=None, derandomize=True)
ODD = st.sampled_from([math.nan, math.inf, -math.inf, -0.0, 0.0, -1.0, -2.0, 1e12, 2e12, 1e308, 181.0])
NUMBER = st.one_of(st.floats(-10, 1000, allow_nan=False), st.floats(-10, 1000, allow_nan=False), ODD)
FIELDS = {
    "ohm": NUMBER,
    "open": st.booleans(),
    "range_ohm": NUMBER,
    "repeats_ohm": st.lists(NUMBER, max_size=3).map(tuple),
    "temperature": st.sampled_from(TemperatureSource),
    "celsius_accuracy": NUMBER,
    "u_celsius": NUMBER,
    "meter": st.sampled_from(["0.5%+2x0.01", "1%+3x0.1", "1%", "", "101%+1x1"]),
    "meter_is_assumed": st.booleans(),
    "meter_id": st.sampled_from(["blue", "\u00e9", 'a"b\\']),
    "leads": st.sampled_from(LeadState),
    "lead_ohm": NUMBER,
    "lead_allowance_ohm": NUMBER,
    "check_ohm": NUMBER,
    "check_read_ohm": NUMBER,
    "check_pct": NUMBER,
    "zero_read_ohm": NUMBER,
    "volts_x": NUMBER,
    "volts_check": NUMBER,
    "volts_meter": st.sampled_from(["0.5%+2x0.001", "no"]),
    "u_ohm": NUMBER,
    "low_ohm": NUMBER,
    "high_ohm": NUMBER,
    "ref_celsius": NUMBER,
    "ref_not_stated": st.booleans(),
    "k_celsius": NUMBER,
    "rule": st.sampled_from(Rule),
    "at": st.sampled_from(AccessPoint),
    "note": st.text(max_size=3),
}
PLACES = {"from_node": st.sampled_from(["3", "4", "case"]), "to_node": st.sampled_from(["4", "11"])}


def fields():
    """A value in most, and beside it as often nothing as one or two things more, sound or not."""
    needed = {"celsius": NUMBER, **PLACES}
    names = st.lists(st.sampled_from(sorted(FIELDS)), max_size=3)
    return names.flatmap(lambda more: st.fixed_dictionaries(needed | {n: FIELDS[n] for n in {"ohm", *more}}))


def outcome(act):
    """What came of it, or every problem it named; as text, because not-a-number is unlike itself."""
    try:
        return repr(act())
    except BadInput as error:
        return [problem.text() for problem in error.problems]


PLAIN = {"from_node": "3", "to_node": "11", "ohm": 5.2, "celsius": 20.0}
TWO_STATEMENTS = {"temperature": TemperatureSource.TAPED, "celsius_accuracy": 2.0}


@given(given_fields=fields())
@example(given_fields=PLAIN | TWO_STATEMENTS)
@example(given_fields=PLAIN | {"lead_ohm": 0.2})
@example(given_fields=PLAIN | {"leads": LeadState.SUBTRACT})
@example(given_fields=PLAIN | {"meter": "1%"})
@example(given_fields=PLAIN | {"meter": ""})
@SEVERE
def test_a_plain_reading_is_one_the_full_check_would_pass(given_fields):
    soon = outcome(lambda: Reading(**given_fields))
    with mock.patch.object(measured, "_is_plain", return_value=False):
        assert soon == outcome(lambda: Reading(**given_fields))


def test_most_readings_are_plain():
    """Else the test above would compare the full check with itself."""
    set_up = {"meter": "0.5%+2x0.01", "temperature": TemperatureSource.TAPED, "leads": LeadState.NULLED}
    assert measured._is_plain(Reading(**PLAIN, **set_up))


def line_of(**more):
    body = Reading(**{"from_node": "3", "to_node": "11", "ohm": 5.25, "celsius": 20.0, "note": "caf\u00e9", **more})
    return encode_line(n=2, at="2031-05-04T10:00:00Z", by="Ann", body=body, prev=GENESIS)


MARKS = (b"", b" ", b"\n", b",", b"}", b'"', b"0", b"-", b"e400", b"NaN", b"9007199254740993", b"1e16", b".0", b"\x00")
PARTS = (b"\xff", b"\xed\xa0\x80", b"\\ud800", b'"n":3,', b'"ohm":6.0,', b'"open":false,', b'"meter":null,', b'"x":1,')
PIECES = st.sampled_from([*MARKS, *PARTS])


@given(
    line=st.builds(line_of, ohm=st.floats(0, 1e12), celsius=st.floats(-50, 180)),
    place=st.integers(0, 200),
    cut=st.integers(0, 3),
    piece=PIECES,
)
@example(line=line_of(), place=1, cut=0, piece=b'"n":2,')  # the same key twice, with the same value
@example(line=line_of(), place=5, cut=1, piece=b"9007199254740993")  # a number that floats would round
@example(line=line_of(), place=line_of().index(b"5.25"), cut=4, piece=b"5.250")  # another spelling
@SEVERE
def test_a_line_has_one_meaning_however_it_is_read(line, place, cut, piece):
    changed = line[:place] + piece + line[place + cut :]
    soon = outcome(lambda: decode_line(changed, source="journal"))
    with mock.patch.object(entry, "_plain_reading", return_value=None):
        assert soon == outcome(lambda: decode_line(changed, source="journal"))


def test_a_line_as_we_write_it_is_read_the_short_way():
    """Else the test above would compare the long way with itself."""
    assert entry._plain_reading(line_of()) == decode_line(line_of(), source="journal")
    assert entry._plain_reading(line_of().replace(b"5.25", b"5.250")) is None
