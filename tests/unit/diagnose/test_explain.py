"""What explains a handful of readings: small circuits whose answer one can see by eye.

Values are made up around the limits of the body (invented); copper at 20 degrees Celsius.
"""

from __future__ import annotations

import json
from math import inf
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.unit.report.samples import session_of
from valvebench.diagnose.explain import Explainer
from valvebench.diagnose.explain_priors import Fault, read_priors
from valvebench.diagnose.explained import Place
from valvebench.model.entry import MeterCheck, Reading
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint, LeadState, TemperatureSource

ROOT = Path(__file__).parents[3]
PRIORS = read_priors((ROOT / "resources" / "priors.json").read_bytes(), source="priors.json")
PLUG, CASE_CONNECTOR, TERMINALS = AccessPoint
# Two like coils and a different one on a common, a sensor beside them, a switch open at rest.
DATA = {
    "format": 1,
    "key": "tern-explain",
    "title": "Quillon Tern, explained",
    "note": "invented",
    "pins": [{"name": str(i + 1), "x": float(i % 4), "y": float(i // 4)} for i in range(8)],
    "devices": [
        {
            "name": "Gull",
            "kind": "solenoid",
            "between": ["1", "4"],
            "low_ohm": 4.9,
            "high_ohm": 5.5,
            "matched_set": "l",
        },
        {
            "name": "Heron",
            "kind": "solenoid",
            "between": ["2", "4"],
            "low_ohm": 4.9,
            "high_ohm": 5.5,
            "matched_set": "l",
        },
        {"name": "Plover", "kind": "solenoid", "between": ["3", "4"], "low_ohm": 12.0, "high_ohm": 14.0},
        {
            "name": "Fluid",
            "kind": "temperature_sensor",
            "between": ["5", "6"],
            "points": [[10, 3600, 4200], [30, 1600, 1900]],
        },
        {"name": "Reel", "kind": "switch", "between": ["7", "case"], "at_rest": "open"},
    ],
    "isolation": {"min_ohm": 1000000.0},
}
VARIANT = read_variant(json.dumps(DATA).encode(), source="test")
SOUND = {("1", "4"): 5.22, ("2", "4"): 5.25, ("3", "4"): 13.05, ("5", "6"): 2560.0}
SOUND |= {(str(pin), "case"): inf for pin in range(1, 9)}


def read(a, b, ohm, *, at=CASE_CONNECTOR, celsius=20.0, temperature=TemperatureSource.TAPED, leads=LeadState.NULLED):
    shown = {"open": True, "range_ohm": 4e7} if ohm == inf else {"ohm": ohm}
    common = {"meter": "0.8%+2x0.01", "leads": leads, "temperature": temperature, "celsius": celsius, "at": at}
    return Reading(from_node=a, to_node=b, **common, **shown)


def explain(*readings, variant=VARIANT, others=()):
    return Explainer(variant, PRIORS, others).explain(session_of(*readings))


def usual(changes=(), **kwargs):
    values = {**SOUND, **dict(changes)}
    return [read(a, b, ohm, **kwargs) for (a, b), ohm in values.items()]


def first(found):
    top = found.explanations[0]
    return {Place(top.fault, top.where), *top.same_as}


def has(found, fault, *where):
    return Place(fault, where) in first(found)


def test_a_sound_part():
    found = explain(*usual())
    assert found.explanations[0].fault is Fault.HEALTHY
    assert found.explanations[0].p > 0.9
    assert not found.is_strained


def test_changed_over_like_coils_are_named_as_what_would_not_show():
    found = explain(*usual())
    assert Place(Fault.SWAP, ("1", "2")) in found.invisible
    assert Place(Fault.SWAP, ("1", "3")) not in found.invisible


def test_an_open_circuit_is_one_class_of_coil_and_wire():
    found = explain(*usual({("2", "4"): inf}))
    assert has(found, Fault.DEVICE_OPEN, "Heron")
    assert has(found, Fault.TERMINAL_OPEN, "2")
    assert not has(found, Fault.TERMINAL_OPEN, "4")
    assert found.explanations[0].value is None


def test_a_single_open_reading_may_be_a_bad_one_and_the_pair_is_asked_for_again():
    found = explain(*usual({("2", "4"): inf}))
    bad = next(one for one in found.explanations if one.fault is Fault.ONE_BAD_READING)
    assert bad.where == ("2", "4")
    assert 0.01 < bad.p < 0.2
    settles = [(ask.from_node, ask.to_node) for ask in found.next[:3]]
    assert any("2" in pair for pair in settles)
    again = explain(*usual({("2", "4"): inf}), read("2", "4", inf))
    assert again.explanations[0].p > found.explanations[0].p
    assert again.is_settled


def test_device_terminals_tell_the_coil_from_its_wire():
    wire = explain(*usual({("2", "4"): inf}), read("2", "4", 5.21, at=TERMINALS))
    assert has(wire, Fault.TERMINAL_OPEN, "2")
    assert not has(wire, Fault.DEVICE_OPEN, "Heron")
    coil = explain(*usual({("2", "4"): inf}), read("Heron.1", "Heron.2", inf, at=TERMINALS))
    assert first(coil) == {Place(Fault.DEVICE_OPEN, ("Heron",))}


def test_the_vehicles_plug_tells_the_harness():
    plug = [read(a, "4", ohm, at=PLUG) for a, ohm in (("1", 8.4), ("2", 5.34), ("3", 13.2))]
    found = explain(*usual(), *plug)
    assert first(found) == {Place(Fault.TERMINAL_RESISTIVE, ("1", "harness"))}
    value = found.explanations[0].value
    assert abs(value.value - 3.1) < 3 * value.u
    assert value.u < 0.2


def test_a_poor_contact_on_the_common_raises_every_coil():
    found = explain(*usual({("1", "4"): 7.2, ("2", "4"): 7.24, ("3", "4"): 15.1}))
    assert has(found, Fault.TERMINAL_RESISTIVE, "4")
    value = found.explanations[0].value
    assert abs(value.value - 2.0) < 3 * value.u


def test_leads_not_taken_off_raise_everything_by_the_same():
    found = explain(*usual({("1", "4"): 5.63, ("2", "4"): 5.65, ("3", "4"): 13.45}), read("1", "2", 10.85))
    assert found.explanations[0].fault is Fault.LEADS
    value = found.explanations[0].value
    assert abs(value.value - 0.4) < 3 * value.u


def test_a_part_hotter_than_said_moves_copper_and_sensor_together():
    """30 K of copper: (234.5 + 50) / (234.5 + 20) = 1.118; the sensor halves each 17 K or so."""
    hot = {("1", "4"): 5.83, ("2", "4"): 5.87, ("3", "4"): 14.6, ("5", "6"): 730.0}
    found = explain(*usual(hot))
    assert found.explanations[0].fault is Fault.TEMPERATURE
    assert found.explanations[0].value.value == pytest.approx(30.0, abs=5.0)


def test_a_leak_is_one_class_of_the_pins_it_may_sit_at():
    ohm = 3.0e4
    found = explain(*usual({(pin, "case"): ohm for pin in "1234"}))
    assert {Place(Fault.LEAK, (pin, "case")) for pin in "1234"} <= first(found)
    assert found.explanations[0].value.value == pytest.approx(ohm, rel=0.02)


def test_a_bridge_between_neighbours_lowers_both_coils():
    """2 ohm from 1 to 2: 5.22 beside 2 + 5.25 is 3.04, and as much from the other side; 1 to 2 is 2 beside 10.47."""
    found = explain(*usual({("1", "4"): 3.05, ("2", "4"): 3.06}), read("1", "2", 1.69))
    assert first(found) == {Place(Fault.LEAK, ("1", "2"))}
    value = found.explanations[0].value
    assert abs(value.value - 2.0) < 3 * value.u


def test_a_leak_between_two_circuits_is_told_by_a_reading_across():
    across = {("5", "4"): 50_010.0, ("6", "4"): 52_560.0}
    found = explain(*usual(), *[read(a, b, ohm) for (a, b), ohm in across.items()])
    assert has(found, Fault.LEAK, "1", "5")
    assert not has(found, Fault.LEAK, "5", "case")
    assert found.explanations[0].value.value == pytest.approx(50_000.0, rel=0.02)


def test_a_leak_between_circuits_that_nobody_read_across_is_named_as_what_would_not_show():
    assert Place(Fault.LEAK, ("1", "5")) in explain(*usual()).invisible


def test_a_low_coil_is_never_called_a_contact():
    found = explain(*usual({("2", "4"): 3.1}))
    assert first(found) == {Place(Fault.VALUE_LOW, ("Heron",))}
    assert found.explanations[0].value.value == pytest.approx(3.06, abs=0.15)


def test_a_high_coil_may_be_a_contact():
    found = explain(*usual({("2", "4"): 7.5}))
    assert has(found, Fault.VALUE_HIGH, "Heron")
    assert has(found, Fault.TERMINAL_RESISTIVE, "2")


def test_a_switch_that_stays_closed_looks_like_a_wire_on_the_case():
    assert first(explain(*usual({("7", "case"): 0.3}))) == {
        Place(Fault.DEVICE_SHORT, ("Reel",)),
        Place(Fault.LEAK, ("7", "case")),
    }


def test_changed_over_wires_of_unlike_coils():
    assert has(explain(*usual({("1", "4"): 13.05, ("3", "4"): 5.22})), Fault.SWAP, "1", "3")


def test_a_mirrored_pinout():
    """Counted from the other side 1 is 4, 2 is 3, 5 is 8, 6 is 7: the common is then under the tip at 1."""
    values = {("1", "4"): 5.22, ("2", "4"): 18.2, ("3", "4"): 10.4, ("5", "6"): inf, ("7", "8"): 2560.0}
    values |= {("2", "1"): 13.05, ("3", "1"): 5.25}
    found = explain(*[read(a, b, ohm) for (a, b), ohm in values.items()])
    assert has(found, Fault.MIRRORED)


def test_another_variant_with_the_same_pins():
    data = json.loads(json.dumps(DATA))
    data["key"] = "tern-other"
    for device in data["devices"][:2]:
        device["low_ohm"], device["high_ohm"] = 8.0, 9.0
    other = read_variant(json.dumps(data).encode(), source="other")
    found = explain(*usual({("1", "4"): 8.5, ("2", "4"): 8.52}), others=[other])
    assert has(found, Fault.OTHER_VARIANT, "tern-other")
    assert not has(explain(*usual(), others=[other]), Fault.OTHER_VARIANT, "tern-other")


def test_ten_times_a_value_is_a_bad_reading_rather_than_a_fault_once_it_was_read_again():
    typo = usual({("2", "4"): 52.5})
    assert explain(*typo, read("2", "4", 5.25)).explanations[0].fault in (Fault.ONE_BAD_READING, Fault.HEALTHY)


def test_a_reading_that_was_turned_out_is_a_bad_one_whatever_could_not_show_beside_it():
    """Read again it is sound; a fault that cannot show explains the first reading no better than a sound part does."""
    found = explain(*usual({("2", "4"): 8.2}), read("2", "4", 5.25))
    top = found.explanations[0]
    assert (top.fault, top.where) == (Fault.ONE_BAD_READING, ("2", "4"))
    assert top.p > 0.9
    assert all(0.0 <= one.p <= 1.0 for one in found.explanations)
    assert sum(one.p for one in found.explanations if one.fault is Fault.HEALTHY) < 0.01


def test_two_faults_are_said_to_be_more_than_one_can_explain():
    found = explain(*usual({("2", "4"): 3.1, ("3", "4"): inf}), read("3", "4", inf), read("2", "4", 3.1))
    assert found.is_strained
    assert not found.is_settled


def test_a_contact_that_grows_with_heat_is_not_forced_into_a_single_fault():
    cold = [read(p, "4", ohm) for p, ohm in (("1", 5.2), ("2", 5.2), ("3", 13.0))]
    warm = [read(p, "4", ohm, celsius=60.0) for p, ohm in (("1", 6.02), ("2", 6.9), ("3", 15.0))]
    hot = [read(p, "4", ohm, celsius=90.0) for p, ohm in (("1", 6.63), ("2", 8.4), ("3", 16.6))]
    assert explain(*cold, *warm, *hot).is_strained


def test_nothing_read_yet():
    found = explain()
    assert found.readings == 0
    assert not found.is_settled
    assert found.next


def test_few_readings_leave_many_explanations():
    found = explain(read("1", "4", 5.22))
    assert found.possible > 5
    assert not found.is_settled
    assert found.next[0].bits >= found.next[-1].bits * 0.1


def test_what_is_asked_is_worth_it_and_comes_by_bits_for_a_minute():
    found = explain(*usual({("2", "4"): 7.5}))
    rates = [ask.bits / ask.seconds for ask in found.next]
    assert rates == sorted(rates, reverse=True)
    assert all(ask.bits >= PRIORS.next.least_bits.value for ask in found.next)
    assert {"warm", "pair"} <= {ask.what for ask in found.next}


def test_a_lead_short_is_worth_asking_where_the_leads_are_in_doubt():
    found = explain(*usual({("1", "4"): 5.43, ("2", "4"): 5.45, ("3", "4"): 13.25}))
    assert "lead_short" in {ask.what for ask in found.next}


def test_the_readings_that_decide_come_first():
    found = explain(*usual({("2", "4"): 3.1}))
    told = found.explanations[0].predicts[0]
    assert {told.from_node, told.to_node} == {"2", "4"}
    assert told.read_ohm == pytest.approx(3.1)
    sound = next(one for one in found.explanations if one.fault is Fault.HEALTHY)
    assert sound.predicts[0].ohm == pytest.approx(5.2, abs=0.4)


def test_odds_are_capped():
    found = explain(*usual({("7", "case"): 0.3}), read("7", "case", 0.3))
    assert found.explanations[0].odds == 99.0
    assert all(one.odds <= 99.0 for one in found.explanations)


@pytest.mark.parametrize(
    ("reading", "words"),
    [
        pytest.param(read("1", "2", 10.4, temperature=TemperatureSource.NOT_SOAKED), "soaked", id="not soaked"),
        pytest.param(read("1", "x", 10.4), "no place", id="no such pin"),
    ],
)
def test_readings_that_cannot_serve_are_named(reading, words):
    found = explain(*usual(), reading)
    assert [words in one.why for one in found.left_out] == [True]
    assert found.explanations[0].fault is Fault.HEALTHY


def test_what_an_ohmmeter_cannot_judge_is_left_out():
    data = json.loads(json.dumps(DATA))
    data["devices"].append({"name": "Dot", "kind": "diode", "between": ["8", "case"]})
    variant = read_variant(json.dumps(data).encode(), source="test")
    found = explain(*usual({("8", "case"): 600.0}), variant=variant)
    assert [one.entry for one in found.left_out] == [13]
    assert found.explanations[0].fault is Fault.HEALTHY
    assert not [ask for ask in found.next if {ask.from_node, ask.to_node} == {"8", "case"}]


def test_an_open_contact_explains_no_open_sensor_and_a_conducting_diode_no_short():
    data = json.loads(json.dumps(DATA))
    data["devices"][3]["in_series_with"] = "Stork"
    data["devices"] += [
        {"name": "Stork", "kind": "switch", "between": ["8", "case"], "at_rest": "open"},
        {"name": "Dot", "kind": "diode", "between": ["3", "4"], "across": "Plover", "anode": "3"},
    ]
    data["selector_codes"] = [
        {"position": "P", "switches": {"Stork": "closed"}},
        {"position": "D", "switches": {"Stork": "open"}},
    ]
    variant = read_variant(json.dumps(data).encode(), source="test")
    found = explain(*usual({("5", "6"): inf, ("3", "4"): 0.6}), variant=variant)
    assert [one.entry for one in found.left_out] == [4, 5]
    assert "swap the clips" in found.left_out[0].why
    assert "not known to be closed" in found.left_out[1].why
    assert found.explanations[0].fault is Fault.HEALTHY
    in_p = [replace(one, selector="P") for one in usual({("5", "6"): inf}) if one.pair == {"5", "6"}]
    others = [one for one in usual() if one.pair not in ({"5", "6"}, {"3", "4"})]
    assert has(explain(*others, *in_p, variant=variant), Fault.DEVICE_OPEN, "Fluid")


def test_a_meter_check_takes_leads_and_gain_off():
    check = MeterCheck(check_ohm=5.0, read_ohm=5.4, leads=LeadState.NULLED, zero_read_ohm=0.4, meter="0.8%+2x0.01")
    high = {("1", "4"): 5.62, ("2", "4"): 5.65, ("3", "4"): 13.45}
    found = explain(check, *usual(high))
    assert found.explanations[0].fault is not Fault.LEADS


def test_megohms_on_a_sound_part_are_damp_and_no_leak():
    found = explain(*usual({("1", "case"): 6.0e6, ("5", "case"): 3.0e6}))
    assert found.explanations[0].fault is Fault.HEALTHY


def test_a_device_without_limits_can_be_open_but_not_wrong():
    data = json.loads(json.dumps(DATA))
    del data["devices"][2]["low_ohm"], data["devices"][2]["high_ohm"]
    variant = read_variant(json.dumps(data).encode(), source="test")
    assert explain(*usual({("3", "4"): 44.0}), variant=variant).explanations[0].fault is Fault.HEALTHY
    assert has(explain(*usual({("3", "4"): inf}), variant=variant), Fault.DEVICE_OPEN, "Plover")


def test_many_readings_of_a_pair_are_thinned_and_say_the_same():
    many = [one for _ in range(15) for one in usual({("2", "4"): 3.1})]
    found = explain(*many)
    assert first(found) == {Place(Fault.VALUE_LOW, ("Heron",))}
    assert found.readings <= 120


def test_electronics_are_never_asked_for():
    data = json.loads(json.dumps(DATA))
    data["devices"].append({"name": "Board", "kind": "electronics", "between": ["8", "case"]})
    found = explain(read("1", "4", 5.2), variant=read_variant(json.dumps(data).encode(), source="test"))
    assert found.next
    assert not [ask for ask in found.next if "8" in (ask.from_node, ask.to_node)]


def test_a_warm_part_is_not_sent_to_be_warmed():
    found = explain(*usual({("2", "4"): 9.3, ("1", "4"): 6.5, ("3", "4"): 16.2, ("5", "6"): 190.0}, celsius=85.0))
    assert not [ask for ask in found.next if ask.what == "warm"]


def test_an_answer_that_leans_on_a_bad_reading_asks_for_it_again_and_is_not_settled():
    found = explain(*usual({("7", "case"): 0.3, ("1", "4"): 52.2}), read("7", "case", 0.3))
    assert found.called_bad == (("1", "4"),)
    assert (found.next[0].from_node, found.next[0].to_node, found.next[0].what) == ("1", "4", "repeat")
    assert not found.is_settled
    again = explain(*usual({("7", "case"): 0.3, ("1", "4"): 52.2}), read("7", "case", 0.3), read("1", "4", 5.22))
    assert again.called_bad == ()


def test_a_variant_without_devices():
    data = {**DATA, "devices": []}
    found = explain(read("1", "2", inf), variant=read_variant(json.dumps(data).encode(), source="test"))
    assert found.explanations[0].fault is Fault.HEALTHY


def test_the_same_readings_in_another_order_say_the_same():
    values = usual({("2", "4"): 7.5})
    one, other = explain(*values), explain(*reversed(values))
    assert first(one) == first(other)
    assert one.explanations[0].p == pytest.approx(other.explanations[0].p, rel=1e-6)
