"""Sessions for the tests of the report: built from entries, with readings of every kind."""

from __future__ import annotations

import random
import zlib

from valvebench.bench.judging import judged_whole
from valvebench.model.entry import (
    GENESIS,
    KIND_OF_BODY,
    AirTest,
    Entry,
    MeterCheck,
    Note,
    OpenJob,
    Reading,
    SolenoidTest,
    SwitchTest,
    encode_line,
    sha256_of,
)
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AirResult, Flow, LeadState, Place, Rule, SwitchState, TemperatureSource
from valvebench.report.workbook import workbook_bytes

PRINTED_AT = "2031-05-06T10:11:12Z"
PROGRAM = "valvebench test"
VARIANT = b"""{"format": 1, "key": "tern-test", "title": "Quillon Tern, test body", "note": "invented",
"pins": [{"name": "1"}, {"name": "2"}, {"name": "3"}, {"name": "4"}, {"name": "5"}, {"name": "6"}, {"name": "7"}],
"devices": [
 {"name": "Gull", "kind": "solenoid", "between": ["1", "7"], "low_ohm": 4.9, "high_ohm": 5.5, "ref_celsius": 20,
  "source": {"kind": "manual", "text": "invented, page 1"}},
 {"name": "Heron", "kind": "solenoid", "between": ["2", "7"], "low_ohm": 12.0, "high_ohm": 15.0, "ref_celsius": null,
  "source": {"kind": "measured", "n": 1}},
 {"name": "Curlew", "kind": "solenoid", "between": ["3", "7"]},
 {"name": "Fluid", "kind": "temperature_sensor", "between": ["4", "5"], "points": [[20, 2540, 2800], [80, 300, 350]]},
 {"name": "Reel", "kind": "switch", "between": ["6", "case"], "at_rest": "open", "closes_with": "P3"}],
"isolation": {"min_ohm": 1000000.0},
"ports": [{"name": "P3", "expect": [{"reaction": "holds"}]}, {"name": "P4"}]}"""


def variant():
    return read_variant(VARIANT, source="test")


def session_of(*bodies, job=None, by="Ada"):
    """A session whose entries are these bodies, one a minute."""
    entries, prev = [], GENESIS
    for n, body in enumerate((job or OpenJob(session="s-1", job="T-1"), *bodies), start=1):
        at = f"2031-05-06T{8 + n // 60 % 12:02d}:{n % 60:02d}:00Z"
        line = encode_line(n=n, at=at, by=by, body=body, prev=prev)
        entries.append(Entry(n, at, by, KIND_OF_BODY[type(body)], body, prev, prev := sha256_of(line)))
    return fold(entries)


def workbook_of(session, of_variant=None, *, rule=None, photos=None, logs=None, printed_at=PRINTED_AT):
    judged = judged_whole(session, of_variant, rule)
    given = {"printed_at": printed_at, "program": PROGRAM, "photos": photos or {}, "logs": logs or {}}
    return workbook_bytes(session, of_variant, judged, **given)


def chance(name):
    """Random numbers that belong to a name and never change."""
    return random.Random(zlib.crc32(name.encode()))


PAIRS = (
    ("1", "7", 5.2),
    ("2", "7", 13.5),
    ("3", "7", 8.0),
    ("4", "5", 1900.0),
    ("1", "case", None),
    ("6", "case", None),
)
METERS = (None, "0.9%+2x0.1", "0.5%+5x0.01", "1%+0x0.1", "0.2%+1x0.001")


def random_readings(rng, count):
    """Bodies of readings of every kind, valid ones, none twice the same."""
    return [body for _ in range(count) for body in _random_step(rng)]


def _random_step(rng):
    a, b, ohm = rng.choice(PAIRS)
    if ohm is None:
        return [_isolation(rng, a, b)]
    common = _temperature(rng) | {"from_node": a, "to_node": b, "meter": rng.choice(METERS)}
    common |= {"rule": rng.choice((None, *Rule))}
    if (a, b) == ("3", "7"):
        common |= _given_limits(rng)
    value = round(ohm * rng.uniform(0.85, 1.2), rng.choice((1, 2, 3)))
    kind = rng.choice((_single, _single, _single, _repeats, _checked, _volts, _given, _open, _same_again))
    return kind(rng, common, value)


def _temperature(rng):
    celsius = round(rng.uniform(15, 100), 1)
    known = rng.choice(
        (
            {},
            {"temperature": rng.choice(tuple(TemperatureSource))},
            {"celsius_accuracy": round(rng.uniform(0, 4), 1)},
            {"u_celsius": round(rng.uniform(0, 3), 2)},
        )
    )
    return {"celsius": celsius, **known}


def _given_limits(rng):
    sides = rng.choice(((7.5, 8.5), (None, 8.2), (7.7, None), (None, None)))
    ref = rng.choice(({"ref_celsius": 25.0}, {"ref_not_stated": True}, {}))
    return {"low_ohm": sides[0], "high_ohm": sides[1], "k_celsius": rng.choice((None, 225.0)), **ref}


def _leads(rng):
    state = rng.choice(tuple(LeadState))
    extra = {"lead_ohm": round(rng.uniform(0, 0.5), 2)} if state is LeadState.SUBTRACT else {}
    allowance = {"lead_allowance_ohm": round(rng.uniform(0, 0.6), 2)} if state is LeadState.NEITHER else {}
    return {"leads": state, **extra, **allowance}


def _single(rng, common, value):
    return [Reading(**common, **_leads(rng), ohm=value)]


def _repeats(rng, common, value):
    spread = rng.choice((0.0, 0.003, 0.02, 0.3))
    times = rng.choice((2, 3, 4, 5, 6, 9))
    shown = tuple(round(value + rng.uniform(-spread, spread), 3) for _ in range(times))
    more = rng.choice(({}, {"u_ohm": rng.choice((0.0, 0.004))}))
    return [Reading(**common, **_leads(rng), **more, repeats_ohm=shown)]


def _same_again(rng, common, value):
    """The same pair under like conditions, in entries of their own."""
    leads = _leads(rng)
    nearby = [common | {"celsius": common["celsius"] + step} for step in (0.0, 0.4, 0.3, 1.2, 0.1, 1.9)]
    count = rng.choice((2, 3, 6))
    return [
        Reading(**conditions, **leads, ohm=round(value + 0.01 * rng.randint(0, 3), 2)) for conditions in nearby[:count]
    ]


def _checked(rng, common, value):
    check = {"check_ohm": 5.0, "check_read_ohm": round(rng.uniform(4.9, 5.4), 2), "check_pct": rng.choice((0.1, 1.0))}
    zero = {"zero_read_ohm": round(rng.uniform(0, 0.3), 2)}
    shown = rng.choice(({"ohm": value}, {"repeats_ohm": (value, value + 0.01, value + 0.02)}))
    return [Reading(**common, **check, **zero, **shown, leads=LeadState.NEITHER)]


def _volts(rng, common, value):
    volts = {"volts_check": round(rng.uniform(0.2, 1.5), 3)}
    volts |= {
        "volts_x": round(volts["volts_check"] * value / 5.0, 3),
        "volts_meter": rng.choice((None, "0.5%+0x0.001")),
    }
    return [Reading(**common, **volts, check_ohm=5.0)]


def _given(rng, common, value):
    return [Reading(**common, **_leads(rng), ohm=value, u_ohm=rng.choice((0.0, 0.01, 0.2)))]


def _open(rng, common, _value):
    return [Reading(**common, open=True, range_ohm=rng.choice((4.0, 400.0, 6e7)))]


def _isolation(rng, a, b):
    if rng.random() < 0.5:
        return Reading(from_node=a, to_node=b, celsius=22.0, open=True, range_ohm=rng.choice((4e5, 6e7)))
    return Reading(from_node=a, to_node=b, celsius=22.0, ohm=rng.choice((0.02, 3e5, 2.5e6)), meter="2%+5x1000")


def everything():
    """A small job with a body of nearly every kind."""
    rng = chance("everything")
    meter = {"meter": "0.5%+5x0.01"}
    return (
        MeterCheck(check_ohm=5.0, read_ohm=5.1, zero_read_ohm=0.1, leads=LeadState.NEITHER, **meter),
        Reading(from_node="1", to_node="7", ohm=5.31, celsius=23.0, temperature=TemperatureSource.TAPED, **meter),
        Reading(from_node="1", to_node="7", ohm=6.6, celsius=80.0, temperature=TemperatureSource.TAPED, **meter),
        Reading(from_node="2", to_node="7", repeats_ohm=(13.1, 13.2, 13.1, 13.3, 13.2), celsius=23.0),
        Reading(from_node="4", to_node="5", ohm=2610.0, celsius=21.0, meter="1%+3x1"),
        Reading(from_node="1", to_node="case", open=True, range_ohm=6e7, celsius=23.0),
        *random_readings(rng, 12),
        AirTest(
            port="P3", place=Place.BODY, result=AirResult.PASS, kpa_gauge=200.0, selector="D", solenoids={"Gull": "on"}
        ),
        AirTest(port="P4", place=Place.CASE, result=AirResult.BLEEDS),
        SwitchTest(device="Reel", state=SwitchState.OPEN),
        SolenoidTest(device="Heron", click=True, air_off=Flow.HOLDS, air_on=Flow.FLOWS),
        Note(text="Dark fluid in the pan."),
    )
