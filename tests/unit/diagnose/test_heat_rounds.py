"""Readings typed round by round become the heat run of each device.  Every device is made up.

What a meter shows follows from the conductor law by hand, R20 (234.5 + T)/254.5 (IEC 60034-1,
8.6.2), plus what stands in series, and is rounded to the step of the display.
"""

from __future__ import annotations

import math
import subprocess
import sys
from pathlib import Path

import pytest

from tests.data.made_up import reading, session_of, variant_of
from valvebench.diagnose.heat_rounds import finds_in, heat_of, rounds_in
from valvebench.model.entry import MeterCheck
from valvebench.model.heat import HeatKind
from valvebench.model.words import LeadState

ROOT = Path(__file__).parents[3]
VARIANT = variant_of()
UP_AND_DOWN = (21.0, 48.0, 75.0, 104.0, 128.0, 90.0, 60.0, 35.0)
R20 = 5.2


def copper(celsius, ohm=R20):
    return ohm * (234.5 + celsius) / 254.5


def rounds(truth=copper, celsius=UP_AND_DOWN, pair=("3", "11"), **given):
    """One reading a round of what the truth is, as a display of hundredths shows it."""
    return [reading(*pair, round(truth(t), 2), celsius=t, round=n, **given) for n, t in enumerate(celsius, start=1)]


def found_in(*bodies, variant=VARIANT, device="Heron"):
    (one,) = rounds_in(session_of(*bodies), variant)[device]
    return one


def find_of(*bodies, **given):
    find = found_in(*bodies, **given).find
    assert find is not None
    return find.found


def near(sized, truth):
    """Within twice its standard uncertainty, and not so wide that anything would do."""
    return abs(sized.value - truth) <= 2 * sized.u and sized.u < 0.25


def test_copper_is_called_copper_with_its_value():
    found = find_of(*rounds())
    assert (found.kind, found.n, found.events, found.lag_s) == (HeatKind.COPPER, 8, (), None)
    assert near(found.at_20_ohm, R20)


def test_a_contact_that_stays_put_is_sized():
    found = find_of(*rounds(lambda t: copper(t) + 0.8))
    assert found.kind is HeatKind.FIXED_SERIES
    assert near(found.series_ohm, 0.8)


def test_a_contact_that_grows_with_heat_is_sized_at_the_hottest():
    found = find_of(*rounds(lambda t: copper(t) + max(0.0, 0.03 * (t - 70.0))))
    assert found.kind is HeatKind.GROWS_WITH_HEAT
    assert near(found.excess_ohm_at_hottest, 0.03 * (128.0 - 70.0))


def test_an_opening_in_a_round_is_an_event_at_its_temperature():
    bodies = rounds()
    bodies[4] = reading("3", "11", open=True, range_ohm=400.0, celsius=128.0, round=5)
    (event,) = find_of(*bodies).events
    assert (event.kind, event.probe_celsius, event.t_s) == ("open", 128.0, None)


def test_open_on_a_range_below_the_winding_proves_nothing():
    bodies = rounds()
    bodies[4] = reading("3", "11", open=True, range_ohm=4.0, celsius=128.0, round=5)
    found = find_of(*bodies)
    assert (found.n, found.events) == (7, ())
    assert any("range that does not reach" in reason for reason in found.reasons)


def test_rounds_count_in_their_order_however_they_were_typed():
    """Up and down are told by the order of the rounds, not of the entries."""
    bodies = rounds()
    bodies[2] = reading("3", "11", open=True, range_ohm=400.0, celsius=75.0, round=3)
    (event,) = find_of(*reversed(bodies)).events
    assert event.heating is True
    one = found_in(*reversed(bodies)).rounds
    assert (one.rounds, one.celsius) == (tuple(range(1, 9)), UP_AND_DOWN)
    assert one.entries == tuple(range(9, 1, -1))


@pytest.mark.parametrize(
    ("shown", "given"),
    [
        pytest.param(lambda t: copper(t) + 0.3, {"leads": "subtract", "lead_ohm": 0.3}, id="tips taken off"),
        pytest.param(lambda t: copper(t) + 0.1, {"leads": "neither"}, id="half of what the leads may have"),
        pytest.param(copper, {"leads": "four_wire"}, id="four wires"),
        pytest.param(
            lambda t: 1.04 * (copper(t) + 0.3),
            {"check_ohm": 5.0, "check_read_ohm": 1.04 * 5.3, "zero_read_ohm": 1.04 * 0.3},
            id="check resistor: gain 4 % and 0.3 ohm of leads by hand",
        ),
    ],
)
def test_leads_and_check_resistor_count_as_in_any_reading(shown, given):
    found = find_of(*rounds(shown, **given))
    assert found.kind is HeatKind.COPPER
    assert near(found.at_20_ohm, R20)


def test_a_meter_check_serves_a_run_that_was_read_after_it():
    check = MeterCheck(check_ohm=5.0, read_ohm=5.2, meter="0.5%+2x0.01", leads=LeadState.NULLED)
    assert near(find_of(check, *rounds(lambda t: 1.04 * copper(t))).at_20_ohm, R20)


def test_a_meter_check_in_the_middle_of_a_run_makes_no_slope():
    """With it for the hot half only, a gain of 4 % would look like 0.2 ohm that comes and goes with heat.

    What is left beside copper is then the rounding to 0.01 ohm, 0.003 as a standard deviation.
    """
    bodies = rounds(lambda t: 1.04 * copper(t))
    check = MeterCheck(check_ohm=5.0, read_ohm=5.2, meter="0.5%+2x0.01", leads=LeadState.NULLED)
    found = find_of(*bodies[:3], check, *bodies[3:])
    assert (found.kind, found.n) == (HeatKind.COPPER, 8)
    assert found.residual_ohm < 0.01


def test_the_shared_doubt_has_the_parts_of_the_budget():
    """Nulled: 0.5 % and 2 counts of the meter, one count of the leads beside it: counts sqrt(2^2 + 1^2)."""
    instrument = found_in(*rounds()).rounds.instrument
    assert instrument.percent == pytest.approx(0.5)
    assert instrument.counts * instrument.step == pytest.approx(0.01 * math.hypot(2.0, 1.0))


def test_leads_that_were_left_alone_widen_what_may_stand_in_series():
    """Neither: half of 0.2 ohm as a rectangle beside 2 counts of 0.01; 0.5 % of it is in the display as well."""
    instrument = found_in(*rounds(leads="neither")).rounds.instrument
    assert instrument.counts * instrument.step == pytest.approx(math.hypot(0.02 + 0.005 * 0.1, 0.1))


@pytest.mark.parametrize(
    ("given", "half_width"),
    [
        ({"temperature": "taped"}, 2.0),
        ({"temperature": None, "celsius_accuracy": 0.5}, 0.5),
        ({"temperature": None, "u_celsius": 1.0}, 3.0**0.5),
        ({"temperature": "room_short"}, 8.0),
    ],
    ids=["taped", "stated", "standard uncertainty", "short in the room"],
)
def test_the_temperature_is_as_good_as_the_readings_say(given, half_width):
    assert found_in(*rounds(**given)).rounds.half_width == pytest.approx(half_width)


@pytest.mark.parametrize(
    ("bodies", "words"),
    [
        (rounds(celsius=UP_AND_DOWN[:4]), "found 4 readings that are not open, expected at least 5"),
        (rounds(celsius=(20.0, 22.0, 24.0, 26.0, 28.0)), "found 8.0 degrees from coldest to hottest"),
        ([reading("3", "11", open=True, range_ohm=400.0, celsius=t, round=n + 1) for n, t in enumerate(UP_AND_DOWN)],
         "open in every sample"),
        (rounds(lambda _: R20), "found 5.2 in every sample"),
        (rounds(temperature="not_soaked"), "no reading with a known coil temperature"),
    ],
    ids=["few", "span", "all open", "constant", "temperature not known"],
)  # fmt: skip
def test_nothing_is_said_without_enough_and_the_reason_is_plain(bodies, words):
    one = found_in(*bodies)
    assert one.find is None
    assert words in one.problems[0].text()
    assert heat_of(session_of(*bodies), VARIANT) == {"Heron": ()}


def test_places_meters_and_lead_states_are_runs_of_their_own():
    bodies = [
        *rounds(),
        *rounds(lambda t: copper(t) + 0.8, at="vehicle_plug"),
        *rounds(meter_id="blue"),
        *rounds(leads="four_wire"),
    ]
    finds = finds_in(rounds_in(session_of(*bodies), VARIANT)["Heron"])
    assert [find.at for find in finds] == ["case_connector", "vehicle_plug", "case_connector", "case_connector"]
    assert [find.found.n for find in finds] == [8, 8, 8, 8]
    assert finds[0].entries == tuple(range(2, 10))
    assert finds[1].found.kind is HeatKind.FIXED_SERIES


@pytest.mark.parametrize(
    "bodies",
    [
        rounds(pair=("3", "4")),
        rounds(pair=("12", "6")),
        rounds(pair=("3", "case")),
        [reading("3", "11", copper(t), celsius=t) for t in UP_AND_DOWN],
    ],
    ids=["two coils", "a sensor", "isolation", "no round named"],
)
def test_only_a_winding_at_its_own_pair_with_a_round_makes_a_run(bodies):
    assert heat_of(session_of(*bodies), VARIANT) == {}


def test_a_winding_to_the_case_makes_a_run_and_one_with_a_path_beside_none():
    shown = rounds(lambda t: copper(t, 13.0), pair=("8", "case"))
    assert find_of(*shown, device="Plover").kind is HeatKind.COPPER
    link = {"name": "Strap", "kind": "link", "between": ["8", "case"], "max_ohm": 1.0}
    beside = variant_of(devices=[*variant_data_devices(), link])
    assert heat_of(session_of(*shown), beside) == {}


def variant_data_devices():
    from tests.data.made_up import VARIANT as DATA

    return DATA["devices"]


def test_without_a_variant_no_device_is_known():
    assert heat_of(session_of(*rounds()), None) == {}


def test_the_conductor_constant_of_the_variant_counts():
    """A winding of k = 300: 5.2 (300 + T)/320 by hand; held against copper it would rise too little."""
    devices = [{"name": "Heron", "kind": "solenoid", "between": ["3", "11"], "k": 300.0}]
    variant = variant_of(devices=devices, ports=[], solenoid_chart={}, isolation=None)
    found = find_of(*rounds(lambda t: R20 * (300.0 + t) / 320.0), variant=variant)
    assert (found.kind, found.k_celsius) == (HeatKind.COPPER, 300.0)


def test_an_assumed_meter_is_said_and_the_real_one_is_named():
    assumed = find_of(*rounds(meter=None))
    assert (assumed.meter, assumed.meter_is_assumed) == ("1%+3x0.1", True)
    assert any("Name the meter" in advice for advice in assumed.advice)
    assert find_of(*rounds()).meter == "0.5%+2x0.01"


def test_two_voltages_are_a_run_of_their_own_meter():
    """5 ohm at 2 V: counts 2 x 0.001 V across the device are 0.005 ohm; across the resistor 0.1 % beside its 0.1 %."""
    volts = {"volts_check": 2.0, "check_ohm": 5.0, "meter": None, "leads": "four_wire"}
    bodies = [
        reading("3", "11", volts_x=round(2.0 * copper(t) / 5.0, 3), celsius=t, round=n, **volts)
        for n, t in enumerate(UP_AND_DOWN, start=1)
    ]
    one = found_in(*bodies)
    instrument = one.rounds.instrument
    assert instrument.counts * instrument.step == pytest.approx(0.005)
    assert instrument.percent == pytest.approx(math.hypot(0.1, 0.1))
    found = one.find.found
    assert (found.kind, found.meter, found.meter_is_assumed) == (HeatKind.COPPER, "0.5%+2x0.001", True)
    assert near(found.at_20_ohm, R20)


def test_once_loaded_the_first_find_loads_nothing_more():
    """Else a person would wait for it in the middle of entry."""
    code = (
        "import sys\n"
        "from tests.unit.diagnose.test_heat_rounds import find_of, rounds\n"
        "from valvebench.diagnose.heat_rounds import load\n"
        "assert 'numpy' not in sys.modules\n"
        "assert load() and not load()\n"
        "before = set(sys.modules)\n"
        "find_of(*rounds(lambda t: 5.2 * (234.5 + t) / 254.5 + 0.0001 * t * t))\n"
        "find_of(*rounds())\n"
        "print(sorted(set(sys.modules) - before))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("[]\n", "")


def test_readings_on_one_line_to_the_last_bit_leave_no_noise_to_divide_by():
    """0.02 ohm a degree: what a display of hundredths may show of 5.07 ohm of copper."""
    celsius = (20.0, 45.0, 70.0, 98.0, 80.0, 55.0, 31.0)
    shown = (5.07, 5.57, 6.07, 6.63, 6.27, 5.77, 5.29)
    bodies = [
        reading("3", "11", ohm, celsius=t, round=n) for n, (t, ohm) in enumerate(zip(celsius, shown, strict=True), 1)
    ]
    assert find_of(*bodies).kind is HeatKind.COPPER
