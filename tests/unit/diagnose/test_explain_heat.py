"""What was found of a device as it warmed counts among what explains the readings.

Copper by IEC 60028 (k = 234.5); values and faults are made up around the limits of the body (invented).
"""

from __future__ import annotations

import json
from math import inf

import msgspec
import pytest

from tests.unit.diagnose.test_explain import DATA, PRIORS, TERMINALS, VARIANT, explain, read, usual
from tests.unit.report.samples import session_of
from valvebench.diagnose.explain import Explainer
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_readings import said_of
from valvebench.diagnose.explained import HOT, SOMETIMES, HeatWord, Place
from valvebench.diagnose.matched import matched_sets, sets_of_variant
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, HeatTest, Sized
from valvebench.model.variant_rules import read_variant

ROUNDS = (20.0, 45.0, 70.0, 92.0, 71.0, 46.0, 21.0)
COILS = {("1", "4"): 5.2, ("2", "4"): 5.24, ("3", "4"): 13.0}
GROWING_FROM = 50.0


def copper(ohm, celsius):
    return ohm * (234.5 + celsius) / 254.5


def rounds(more=(), *, celsius=ROUNDS, numbered=True):
    """All coils gone round; `more` ohm for a kelvin above fifty degrees, by pair."""
    found = []
    for number, t in enumerate(celsius, start=1):
        for pair, ohm in COILS.items():
            extra = dict(more).get(pair, 0.0) * max(0.0, t - GROWING_FROM)
            one = read(*pair, round(copper(ohm, t) + extra, 2), celsius=t)
            found.append(msgspec.structs.replace(one, round=number) if numbered else one)
    return found


def open_pins():
    return [read(str(pin), "case", inf) for pin in range(1, 9)]


GROWS = {("2", "4"): 0.02}


def run_of(device, kind=HeatKind.COPPER, *, u_slope=0.006, **found):
    """A logger's run as an entry keeps it."""
    return HeatTest(
        device=device,
        sha256="0" * 64,
        file_name="made-up.csv",
        size_bytes=1,
        found=HeatFound(
            n=300,
            kind=kind,
            slope_over_copper=Sized(value=1.0, u=u_slope),
            r20_ohm=Sized(value=5.2, u=0.03),
            at_20_ohm=Sized(value=5.2, u=0.03),
            coldest_celsius=21.0,
            hottest_celsius=95.0,
            residual_ohm=0.006,
            separable=kind is not HeatKind.NOT_SEPARABLE,
            meter="0.2%+2x0.01",
            **found,
        ),
    )


def grows(size, u):
    return {
        "excess_ohm_at_hottest": Sized(value=size, u=u),
        "grows_from_celsius": Sized(value=60.0, u=3.0),
    }


def opening(celsius):
    return (HeatEvent(kind="open", t_s=900.0, probe_celsius=celsius, coil_celsius=celsius, heating=True),)


def shown(found):
    top = found.explanations[0]
    return {Place(top.fault, top.where, top.when), *top.same_as}


def p_of(found, fault):
    return sum(one.p for one in found.explanations if one.fault is fault)


HOT_AT_HERON = {Place(Fault.TERMINAL_RESISTIVE, ("2",), HOT), Place(Fault.VALUE_HIGH, ("Heron",), HOT)}


def test_a_contact_that_grows_is_named_at_its_pin_or_in_its_winding():
    """Not at pin 4: the other coils hang on it too, and moved as copper does."""
    found = explain(*rounds(GROWS), *open_pins())
    assert shown(found) == HOT_AT_HERON
    assert found.explanations[0].p > 0.8
    assert not found.is_strained
    assert found.explanations[0].value.value == pytest.approx(0.02 * 42.0, abs=0.1)


def test_growing_at_the_common_pin_grows_in_every_circuit():
    found = explain(*rounds(dict.fromkeys(COILS, 0.02)), *open_pins())
    assert shown(found) == {Place(Fault.TERMINAL_RESISTIVE, ("4",), HOT)}


def test_warm_readings_of_a_run_are_not_counted_twice():
    session = session_of(*rounds(GROWS), *open_pins())
    explainer = Explainer(VARIANT, PRIORS)
    found = explainer.explain(session)
    warm = {n for one in found.heat for n in one.entries}
    assert len(warm) == len(COILS) * 5
    assert found.readings == len(session.items) - len(warm)
    assert explainer.explain_said(*said_of(session, PRIORS)).is_strained


def test_runs_that_move_as_copper_does_leave_a_sound_part_sound():
    found = explain(*rounds(), *open_pins(), read("5", "6", 2560.0))
    assert {one.found for one in found.heat} == {HeatWord.COPPER}
    assert found.explanations[0].fault is Fault.HEALTHY
    assert not found.is_strained


@pytest.mark.parametrize(
    "run",
    [
        pytest.param(run_of("Heron", HeatKind.NOT_SEPARABLE), id="not separable"),
        pytest.param(run_of("Heron", u_slope=0.4), id="a slope that could be anything"),
        pytest.param(run_of("Nobody", HeatKind.GROWS_WITH_HEAT, **grows(1.0, 0.02)), id="no device of this variant"),
    ],
)
def test_what_says_nothing_adds_nothing(run):
    with_run, without = explain(*usual(), run), explain(*usual())
    assert with_run.heat == ()
    assert with_run.explanations == without.explanations


def test_faint_growth_of_a_sound_part_is_chance_before_it_is_a_fault():
    """Two or three sound runs of a hundred are called something else: that alone convicts nobody."""
    found = explain(*usual(), run_of("Heron", HeatKind.GROWS_WITH_HEAT, **grows(0.05, 0.015)))
    assert found.explanations[0].fault is Fault.HEALTHY
    assert not found.is_settled
    assert any(one.when is HOT for one in found.explanations)
    clear = explain(*usual(), run_of("Heron", HeatKind.GROWS_WITH_HEAT, **grows(0.5, 0.015)))
    # Nothing else was run that hangs on pin 4: it may grow there as well.
    assert shown(clear) == HOT_AT_HERON | {Place(Fault.TERMINAL_RESISTIVE, ("4",), HOT)}


@pytest.mark.parametrize(("celsius", "when"), [(80.0, HOT), (22.0, SOMETIMES)])
def test_an_opening_in_a_run(celsius, when):
    found = explain(*usual(), run_of("Heron", events=opening(celsius)), run_of("Gull"), run_of("Plover"))
    assert shown(found) == {Place(Fault.DEVICE_OPEN, ("Heron",), when), Place(Fault.TERMINAL_OPEN, ("2",), when)}
    assert not found.is_strained


def test_a_step_is_a_contact_that_jumps():
    """A quarter of an ohm at 70 degrees, forty times what the run scatters by."""
    jump = (HeatEvent(kind="step", t_s=900.0, probe_celsius=71.0, coil_celsius=70.0, heating=True, size_ohm=0.25),)
    found = explain(*usual(), run_of("Heron", events=jump), run_of("Gull"), run_of("Plover"))
    assert shown(found) == HOT_AT_HERON
    assert found.explanations[0].value.value == 0.25


def test_a_step_within_the_scatter_convicts_nobody():
    jump = (HeatEvent(kind="step", t_s=900.0, probe_celsius=71.0, coil_celsius=70.0, heating=True, size_ohm=0.02),)
    found = explain(*usual(), run_of("Heron", events=jump), run_of("Gull"), run_of("Plover"))
    assert found.explanations[0].fault is Fault.HEALTHY
    assert not found.is_settled


def test_a_run_at_the_devices_own_terminals_blames_the_winding():
    """The contacts of pins 2 and 4 are not in it."""
    some = [msgspec.structs.replace(one, at=TERMINALS) for one in rounds(GROWS) if one.from_node == "2"]
    found = explain(*usual(), *some)
    assert shown(found) == {Place(Fault.VALUE_HIGH, ("Heron",), HOT)}


def test_a_second_fault_beside_it_is_said_to_be_more_than_one_can_explain():
    clear = run_of("Heron", HeatKind.GROWS_WITH_HEAT, **grows(0.5, 0.015))
    found = explain(*usual({("3", "4"): inf}), read("3", "4", inf), clear)
    assert found.is_strained
    assert not found.is_settled


def test_a_series_part_tells_a_contact_from_a_winding_below_or_beside_it():
    """A coil 14 % high: another winding, or a contact of 0.7 ohm; the run knows."""
    high = usual({("2", "4"): 5.93})
    contact = Place(Fault.TERMINAL_RESISTIVE, ("2",))
    series = run_of("Heron", HeatKind.FIXED_SERIES, series_ohm=Sized(value=0.7, u=0.03))
    with_series, copper_only = explain(*high, series), explain(*high, run_of("Heron"))
    assert contact in shown(with_series)
    assert contact not in shown(copper_only)
    assert shown(copper_only) == {Place(Fault.VALUE_HIGH, ("Heron",))}


def test_leads_that_were_not_taken_off_look_like_a_series_part_in_every_run_read_with_them():
    typed = [msgspec.structs.replace(one, ohm=round(one.ohm + 0.45, 2)) for one in rounds()]
    assert explain(*typed, *open_pins()).explanations[0].fault is Fault.LEADS


def four_alike():
    data = json.loads(json.dumps(DATA))
    data["devices"] = [
        {"name": name, "kind": "solenoid", "between": [pin, "8"], "low_ohm": 4.9, "high_ohm": 5.5, "matched_set": "l"}
        for name, pin in (("Gull", "1"), ("Heron", "2"), ("Curlew", "3"), ("Whimbrel", "4"))
    ]
    return read_variant(json.dumps(data).encode(), source="four alike")


def plateaus(more_hot, celsius=(23.0, 41.0, 58.0, 74.0, 88.0)):
    """Four like coils read at a few temperatures, no round numbered; Heron with something more at the last two."""
    extra = dict(zip(celsius[-2:], more_hot, strict=True))
    return [
        read(pin, "8", round(copper(ohm, t) + (extra.get(t, 0.0) if pin == "2" else 0.0), 2), celsius=t)
        for t in celsius
        for pin, ohm in (("1", 5.2), ("2", 5.18), ("3", 5.21), ("4", 5.24))
    ]


def test_the_one_that_parts_from_its_set_is_blamed_where_its_own_run_cannot_tell():
    """Two warm readings of five are too few for a run of its own, and plenty for a ratio."""
    found = explain(*plateaus((0.25, 0.8)), variant=four_alike())
    assert HeatWord.PARTS in {one.found for one in found.heat}
    assert shown(found) == HOT_AT_HERON
    assert not found.is_strained


def test_a_set_that_stays_together_blames_nobody():
    found = explain(*plateaus((0.0, 0.0)), variant=four_alike())
    assert found.explanations[0].fault is Fault.HEALTHY
    assert HeatWord.PARTS not in {one.found for one in found.heat}


def test_a_set_whose_member_has_a_run_of_its_own_does_not_count_again():
    found = explain(*rounds(GROWS), *open_pins())
    assert [one.found for one in found.heat if one.device == "Heron"] == [HeatWord.GROWS]


def test_a_set_read_cold_is_in_the_readings_already():
    """The same Heron, its mates high with it or not: what a set tells stands in the chances without another word.

    The odds move by far more than the tenfold that an odd one out could add: added, it would count twice.
    """
    variant = four_alike()

    def odds(mates_ohm):
        readings = [read("2", "8", 5.72), *(read(pin, "8", mates_ohm) for pin in ("1", "3", "4"))]
        found = explain(*readings, variant=variant)
        (matched,) = matched_sets(session_of(*readings), variant, sets_of_variant(variant))
        heron = next(one for one in matched.members if one.name == "Heron")
        assert found.heat == ()
        faulty = sum(
            one.p
            for one in found.explanations
            if (one.fault, one.where) in {(Fault.VALUE_HIGH, ("Heron",)), (Fault.TERMINAL_RESISTIVE, ("2",))}
        )
        return heron.is_odd, faulty / p_of(found, Fault.HEALTHY)

    (is_odd, alone), (is_even, together) = odds(5.2), odds(5.7)
    assert (is_odd, is_even) == (True, False)
    assert alone > 10 * max(together, 1e-6)
