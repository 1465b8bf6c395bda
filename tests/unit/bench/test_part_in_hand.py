"""The finding of wiring from a session: the truth of an invented body, its odd coil, and what no reading tells."""

from __future__ import annotations

import json

import pytest

from tests.fakes.clock import Clock
from tests.fakes.hand_bodies import ODD_PART, TWELVE, Body, body_of
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.bench.part_in_hand import found_in, source_of
from valvebench.diagnose.wiring_variant import Said, variant_data
from valvebench.model.entry import Connector, OpenJob, Reading
from valvebench.model.strict_json import dumps
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import LeadState

FINE, COARSE = "0.9%+2x0.01", "1%+3x0.1"


def desk_with(connector: Connector | None) -> Desk:
    first = first_line(OpenJob(session="s", job="T-9"), at="2031-05-06T09:00:00.000Z", by="Ann")
    desk = Desk(SessionStore(first), clock=Clock())
    if connector is not None:
        desk.record(connector)
    return desk


def reading(a: str, b: str, shown: str, *, meter: str) -> Reading:
    fields = {"from_node": a, "to_node": b, "celsius": 20.0, "meter": meter, "leads": LeadState.NULLED}
    if shown == "*":
        return Reading(**fields, open=True, range_ohm=6e7)
    return Reading(**fields, ohm=float(shown))


def walk(body: Body, *, meter: str, step_ohm: float) -> Desk:
    """Answer every question as the body would."""
    desk = desk_with(Connector(pins=len(body.pins)))
    while steps := found_in(desk.session, None).wiring.next:
        black, red = steps[0].black, steps[0].red
        desk.record(reading(red, black, body.shown(red, black, step_ohm=step_ohm), meter=meter))
    return desk


@pytest.mark.parametrize(("meter", "step_ohm"), [(FINE, 0.01), (COARSE, 0.1)], ids=["0.01 ohm steps", "0.1 ohm steps"])
def test_readings_alone_give_wiring_and_odd_one(meter, step_ohm):
    found = found_in(walk(TWELVE, meter=meter, step_ohm=step_ohm).session, None)
    assert {frozenset(one.between) for one in found.wiring.devices} == TWELVE.wires
    assert found.odd() == {ODD_PART}
    assert found.wiring.is_done


CHAIN = body_of(6, [("1", "2", 5.2), ("2", "3", 4.8), ("3", "4", 9.7), ("4", "5", 27.0)])
TERN_2 = body_of(
    12,
    [
        ("1", "2", 5.2),
        ("2", "11", 10.4),
        ("3", "11", 5.2),
        ("4", "5", 5.2),
        ("5", "11", 12.6),
        ("7", "11", 5.1),
        ("8", "case", 13.0),
        ("6", "12", 2400.0),
    ],
)
"""Wired as the invented Quillon Tern, body 2: parts one behind the other, twice."""


@pytest.mark.parametrize("body", [CHAIN, TERN_2], ids=["chain", "tern body 2"])
@pytest.mark.parametrize(("meter", "step_ohm"), [(FINE, 0.01), (COARSE, 0.1)], ids=["0.01 ohm steps", "0.1 ohm steps"])
def test_parts_behind_each_other_are_found_and_none_is_taken_for_granted(body, meter, step_ohm):
    found = found_in(walk(body, meter=meter, step_ohm=step_ohm).session, None)
    assert {frozenset(one.between) for one in found.wiring.devices} == body.wires
    assert not found.wiring.cannot_tell


def test_what_the_steps_of_the_meter_hide_is_not_told():
    """2400 behind 5.2 reads 2405 and beside it 2410, in steps of 10."""
    hidden = body_of(3, [("1", "3", 5.2), ("2", "3", 2400.0)])
    (unclear,) = found_in(walk(hidden, meter=COARSE, step_ohm=0.1).session, None).wiring.cannot_tell
    assert set(unclear.either) == {(("3", "2"),), (("1", "2"),)}


def test_every_part_read_straight_has_its_doubt():
    found = found_in(walk(TWELVE, meter=COARSE, step_ohm=0.1).session, None)
    doubts = [found.judgement(one) for one in found.wiring.devices]
    assert all(one is not None and one.U_ohm_at_ref > 0 for one in doubts)


def test_a_coarse_meter_does_not_call_a_small_difference_odd():
    """0.3 ohm of difference under 3 counts of 0.1 ohm: nothing can be said."""
    like = body_of(8, [("1", "8", 5.2), ("2", "8", 5.3), ("3", "8", 5.1), ("4", "8", 5.6)])
    assert found_in(walk(like, meter=COARSE, step_ohm=0.1).session, None).odd() == frozenset()


def test_the_finest_step_stated_decides_how_fine_readings_are():
    desk = desk_with(Connector(pins=4))
    desk.record(reading("1", "2", "2500", meter="1%+3x10"))
    desk.record(reading("3", "4", "5.2", meter=COARSE))
    source = source_of(desk.session, None)
    assert source.resolution_ohm == 0.1
    assert source.instruments[frozenset("12")].meter.step == 10.0
    assert source.instrument.meter.step == 0.1


def test_pins_come_from_the_connector_said_last():
    desk = desk_with(Connector(pins=4))
    desk.record(Connector(pins=3, case=False))
    source = source_of(desk.session, None)
    assert (source.pins, source.has_case) == (("1", "2", "3"), False)


def test_without_a_connector_the_pins_that_were_read_count():
    desk = desk_with(None)
    for a, b in (("10", "2"), ("1", "case"), ("A10", "A2")):
        desk.record(reading(a, b, "5.2", meter=FINE))
    assert source_of(desk.session, None).pins == ("A2", "A10", "1", "2", "10")


def test_without_a_connector_no_pin_is_assumed():
    assert source_of(desk_with(None).session, None).pins == ()


def test_an_odd_one_lends_no_limits_and_a_face_places_the_pins():
    found = found_in(walk(TWELVE, meter=FINE, step_ohm=0.01).session, None)
    said = {ODD_PART: Said(name="Heron", has_limits=False)}
    face = {"name": "A", "rows": 2, "columns": 6}
    data = variant_data(
        found.wiring, key="tern-x", title="Tern X", instrument=found.source.instrument, said=said, face=face
    )
    body = read_variant(dumps(data), source="x.json")
    heron = body.device_named("Heron")
    fellow = next(one for one in body.devices if set(one.between) == {"3", "11"})
    assert (heron.low_ohm, heron.high_ohm, heron.matched_set) == (None, None, fellow.matched_set)
    assert fellow.low_ohm < 5.2 < fellow.high_ohm
    assert "odd one out" in heron.note
    assert {(pin.name, pin.x, pin.y) for pin in body.pins if pin.name in ("1", "6", "7")} == {
        ("1", 0.0, 0.0),
        ("6", 5.0, 0.0),
        ("7", 0.0, 1.0),
    }
    assert json.loads(dumps(data))["faces"][0]["columns"] == 6


def test_kind_and_set_are_the_persons_to_say():
    found = found_in(walk(TWELVE, meter=FINE, step_ohm=0.01).session, None)
    said = {
        ODD_PART: Said(name="Knot", is_in_set=False),
        frozenset(("6", "12")): Said(name="Turns", kind="speed_sensor"),
    }
    data = variant_data(found.wiring, key="x", title="x", instrument=found.source.instrument, said=said)
    body = read_variant(dumps(data), source="x.json")
    assert body.device_named("Knot").matched_set is None
    assert type(body.device_named("Turns")).__name__ == "SpeedSensor"
