"""`valvebench reading`: keys, units, exit codes, and numbers worked by hand with `math` alone."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest

KEYS = {
    *("verdict", "lean", "plain_verdict", "can_decide", "ohm", "ohm_at_ref", "ref_celsius", "u_ohm_at_ref", "nu_eff"),
    *("k_coverage", "U_ohm_at_ref", "low_ohm", "high_ohm", "low_ohm_at_celsius", "high_ohm_at_celsius", "p_inside"),
    *("rule", "budget", "reasons", "advice"),
}
SQRT3, SQRT12 = math.sqrt(3.0), math.sqrt(12.0)
BAND = ("--low", "5", "--high", "6")
EXACT = ("--celsius", "20", "--u-celsius", "0")  # no doubt from temperature, factor 1
FOUR_WIRE = ("--leads", "four_wire")


def close(number):
    return pytest.approx(number, rel=1e-9)


def terms(answer):
    return {line["term"]: line["u_ohm"] for line in answer.data["budget"]}


def test_every_key_of_the_contract_is_there(reading):
    assert set(reading("--ohm", "5.5", "--celsius", "20", *BAND).data) >= KEYS
    assert set(reading("--open", "--range-ohm", "6e7", "--celsius", "20").data) >= KEYS


def test_defaults_meter_tenths_leads_neither_temperature_unknown(reading):
    # 1 % + 3 x 0.1 on 6.4; half of 0.2 off with a rectangle of the same; +-10 K; copper 234.5
    found = reading("--ohm", "6.4", "--celsius", "60", *BAND).data
    factor = (234.5 + 20) / (234.5 + 60)
    meter, leads = (0.01 * 6.4 + 0.3) / SQRT3 * factor, 0.1 / SQRT3 * factor
    temperature = 6.3 * factor / (234.5 + 60) * 10 / SQRT3
    u = math.sqrt(meter**2 + leads**2 + temperature**2)
    assert (found["verdict"], found["plain_verdict"], found["lean"]) == ("pass", "pass", None)
    assert (found["ohm"], found["ohm_at_ref"]) == (close(6.3), close(6.3 * factor))
    assert (found["u_ohm_at_ref"], found["U_ohm_at_ref"], found["k_coverage"]) == (close(u), close(2 * u), 2.0)
    assert [line["u_ohm"] for line in found["budget"]] == [close(meter), close(leads), close(temperature)]
    assert [line["share"] for line in found["budget"]] == [close((x / u) ** 2) for x in (meter, leads, temperature)]
    assert (found["low_ohm_at_celsius"], found["high_ohm_at_celsius"]) == (close(5 / factor), close(6 / factor))
    assert (found["low_ohm"], found["high_ohm"], found["ref_celsius"], found["rule"]) == (5.0, 6.0, 20.0, "proved")
    bell = NormalDist(6.3 * factor, u)
    assert found["p_inside"] == pytest.approx(bell.cdf(6) - bell.cdf(5), abs=1e-9)
    assert found["nu_eff"] is None
    assert any("1%+3x0.1" in reason and "ssumed" in reason for reason in found["reasons"])


def test_one_rectangle_dominates(reading):
    # u(meter) = (0.9 % of 5 + 0.2)/sqrt(3) = 0.1414; u(temperature) = 5/254.5 x 2/sqrt(3) = 0.0227; 6.2 times
    words = ("--ohm", "5", "--celsius", "20", "--temperature", "taped", "--meter", "0.9%+2x0.1", *FOUR_WIRE)
    found = reading(*words, "--low", "4.9", "--high", "5.5").data
    u = math.hypot(0.245 / SQRT3, 5 / 254.5 * 2 / SQRT3)
    assert found["k_coverage"] == close(0.9545 * SQRT3)
    assert found["U_ohm_at_ref"] == close(0.9545 * SQRT3 * u)
    assert found["p_inside"] == close((5 + u * SQRT3 - 4.9) / (2 * u * SQRT3))
    assert (found["verdict"], found["lean"], found["can_decide"]) == ("cant_tell", "inside", True)  # 0.6 > 2 x 0.237


def test_tips_taken_off(reading):
    # PHYSICS 2: a 0.1 ohm meter (0.9 % + 2 x 0.1) on 5 ohm, tips subtracted: u = 0.1654, expanded 0.331
    leads = ("--leads", "subtract", "--lead-ohm", "0.2")
    found = reading("--ohm", "5.2", *EXACT, "--meter", "0.9%+2x0.1", *leads).data
    u = math.sqrt((0.045**2 + 2 * 0.2**2) / 3)
    assert (found["ohm"], found["u_ohm_at_ref"]) == (close(5.0), close(u))
    assert (round(u, 4), round(found["U_ohm_at_ref"], 3)) == (0.1654, 0.331)


def test_nulled_leads_are_one_count(reading):
    answer = reading("--ohm", "5", *EXACT, "--meter", "1%+2x0.1", "--leads", "nulled")
    assert answer.data["ohm"] == 5.0
    assert terms(answer)["leads"] == close(0.1 / SQRT3)
    assert terms(answer)["meter"] == close(0.25 / SQRT3)


def test_neither_takes_half_the_allowance(reading):
    answer = reading("--ohm", "5", *EXACT, "--lead-allowance-ohm", "0.6")
    assert answer.data["ohm"] == close(4.7)
    assert terms(answer)["leads"] == close(0.3 / SQRT3)


def test_four_wires_have_no_lead_line(reading):
    answer = reading("--ohm", "5", *EXACT, *FOUR_WIRE)
    assert answer.data["ohm"] == 5.0
    assert "leads" not in terms(answer)


@pytest.mark.parametrize(
    "zero",
    [
        ("--zero-read", "0.2"),
        ("--zero-read", "0.2", "--leads", "nulled"),
        ("--leads", "subtract", "--lead-ohm", "0.2"),
    ],
)
def test_check_resistor(reading, zero):
    # R = 5 (6.2 - 0.2)/(5.2 - 0.2) = 6; slope 1, ratio 1.2, one step/sqrt(12) of i, i_c, i_0
    found = reading(
        "--ohm", "6.2", *EXACT, "--check-ohm", "5", "--check-read", "5.2", "--meter", "1%+3x0.1", *zero
    ).data
    step = 0.1 / SQRT12
    u = math.sqrt(step**2 * (1 + 1.2**2 + 0.2**2) + (0.001 * 6 / SQRT3) ** 2)
    assert (found["ohm"], found["u_ohm_at_ref"]) == (close(6.0), close(u))


@pytest.mark.parametrize("leads", ["nulled", "four_wire"])
def test_check_resistor_without_tips_when_there_is_nothing_to_read(reading, leads):
    found = reading("--ohm", "6.2", *EXACT, "--check-ohm", "5", "--check-read", "5.2", "--leads", leads).data
    assert found["ohm"] == close(5 * 6.2 / 5.2)


def test_volts_ratio(reading):
    # R = 5 x 0.78/0.75 = 5.2; 2 counts of 1 mV on both, gain cancels; tolerance 0.2 % of C
    words = ("--volts-x", "0,78", "--volts-check", "0,75", "--check-ohm", "5", "--check-pct", "0.2")
    answer = reading(*words, "--volts-meter", "0.5%+2x0.001", *EXACT)
    x, check = 0.002 / SQRT3 * 5 / 0.75, 0.002 / SQRT3 * 5.2 / 0.75
    assert answer.data["ohm"] == close(5.2)
    assert answer.data["u_ohm_at_ref"] == close(math.sqrt(x**2 + check**2 + (0.002 * 5.2 / SQRT3) ** 2))
    assert not any("lead" in term for term in terms(answer))


def test_five_repeats_bring_their_own_degrees_of_freedom(reading):
    # s = 0.158114, s/sqrt(5) = 0.0707107; display step 0.01/sqrt(12); nu_eff = 4 (1 + 1/600)^2 = 4.0133 -> 4
    # GUM table G.2: t for 95.45 % with 4 degrees of freedom is 2.87
    found = reading("--repeats", "6.1 6.2 6.3 6.4 6.5", *EXACT, "--meter", "0%+0x0.01", *FOUR_WIRE).data
    assert found["ohm"] == close(6.3)
    assert found["u_ohm_at_ref"] == close(math.sqrt(0.025 / 5 + 0.01**2 / 12))
    assert found["nu_eff"] == close(4 * (1 + 1 / 600) ** 2)
    assert round(found["k_coverage"], 2) == 2.87


def test_two_repeats_take_one_display_step(reading):
    answer = reading("--repeats", "6,4;6,6", *EXACT, "--meter", "1%+3x0.1", *FOUR_WIRE)
    assert answer.data["ohm"] == close(6.5)
    assert terms(answer)["repeats"] == close(0.1 / math.sqrt(2))
    assert answer.data["k_coverage"] == 2.0


def test_standard_uncertainties_given_directly(reading):
    words = ("--ohm", "5", "--celsius", "60", "--leads", "nulled", "--u-ohm", "0.02", "--u-celsius", "2")
    found = reading(*words, *BAND).data
    factor = 254.5 / 294.5
    u = math.hypot(0.02 * factor, 5 * factor / 294.5 * 2)
    assert (found["u_ohm_at_ref"], found["k_coverage"]) == (close(u), 2.0)
    assert (found["verdict"], len(found["budget"])) == ("fail", 2)


def test_reference_not_stated_is_one_more_rectangle(reading):
    answer = reading("--ohm", "5", "--celsius", "60", *FOUR_WIRE, "--ref-not-stated", *BAND)
    at_ref = 5 * 254.5 / 294.5
    assert terms(answer)["reference not stated"] == close(at_ref / 254.5 * 5 / SQRT3)
    assert answer.data["ref_celsius"] == 20.0


def test_other_conductor_and_other_reference(reading):
    found = reading("--ohm", "5", "--celsius", "60", *FOUR_WIRE, "--k", "225", "--ref-celsius", "25", *BAND).data
    assert (found["ohm_at_ref"], found["ref_celsius"]) == (close(5 * 250 / 285), 25.0)


HALF_WIDTHS = {"taped": 2, "room_2h": 3, "room_short": 8, "ir_tape": 3, "ir_bare": 20, "unknown": 10}


@pytest.mark.parametrize(("word", "half_width"), HALF_WIDTHS.items())
def test_temperature_words(reading, word, half_width):
    answer = reading("--ohm", "5", "--celsius", "20", *FOUR_WIRE, "--temperature", word)
    assert terms(answer)["temperature"] == close(5 / 254.5 * half_width / SQRT3)


def test_celsius_accuracy_is_a_half_width(reading):
    answer = reading("--ohm", "5", "--celsius", "20", *FOUR_WIRE, "--celsius-accuracy", "4")
    assert terms(answer)["temperature"] == close(5 / 254.5 * 4 / SQRT3)


def test_presets(reading):
    tenths = reading("--ohm", "5", *EXACT, *FOUR_WIRE, "--meter-like", "tenths")
    hundredths = reading("--ohm", "5", *EXACT, *FOUR_WIRE, "--meter-like", "hundredths")
    assert terms(tenths)["meter"] == close(0.35 / SQRT3)
    assert terms(hundredths)["meter"] == close(0.075 / SQRT3)
    assert any("0.5%+5x0.01" in reason for reason in hundredths.data["reasons"])


def test_a_named_meter_is_not_called_assumed(reading):
    answer = reading("--ohm", "5", *EXACT, *FOUR_WIRE, "--meter", "1%+3x0.1")
    assert not any("ssumed" in reason for reason in answer.data["reasons"])


SURE = ("--u-ohm", "0.1", "--leads", "four_wire", *EXACT)  # k = 2: w = 0.2; two-sided 90 %: w = 0.1645


@pytest.mark.parametrize(
    ("ohm", "rule", "verdict", "lean", "code"),
    [
        ("5.5", "proved", "pass", None, 0),
        ("5.2", "proved", "pass", None, 0),  # exactly low + w
        ("5.19", "proved", "cant_tell", "inside", 3),
        ("5.19", "proved5", "pass", None, 0),
        ("5.16", "proved5", "cant_tell", "inside", 3),
        ("5.16", "plain", "pass", None, 0),
        ("5.0", "plain", "pass", None, 0),  # exactly on the limit: inside
        ("4.99", "plain", "fail", None, 1),
        ("4.99", "proved", "cant_tell", "outside", 3),
        ("4.8", "proved", "cant_tell", "outside", 3),  # exactly low - w
        ("4.79", "proved", "fail", None, 1),
        ("6.21", "proved", "fail", None, 1),
    ],
)
def test_rules(reading, ohm, rule, verdict, lean, code):
    answer = reading("--ohm", ohm, *SURE, *BAND, "--rule", rule)
    assert (answer.data["verdict"], answer.data["lean"], answer.code) == (verdict, lean, code)
    assert answer.data["rule"] == rule
    assert answer.data["plain_verdict"] == ("pass" if 5 <= float(ohm) <= 6 else "fail")


def test_wider_than_the_band_straddles(reading):
    answer = reading("--ohm", "5.5", "--u-ohm", "0.3", *FOUR_WIRE, *EXACT, *BAND)
    assert (answer.data["lean"], answer.data["can_decide"], answer.code) == ("straddles", False, 3)
    assert answer.data["advice"]


def test_capability(reading):
    # mid-band 5.5: U = 2 x 0.1; 1 > 0.4; with a band of 0.4 the two are equal and it cannot
    assert reading("--ohm", "9", *SURE, *BAND).data["can_decide"] is True
    assert reading("--ohm", "9", *SURE, "--low", "5", "--high", "5.375").data["can_decide"] is False
    assert reading("--ohm", "9", *SURE, "--low", "5").data["can_decide"] is True
    assert reading("--ohm", "9", *SURE).data["can_decide"] is None


def test_without_limits(reading):
    answer = reading("--ohm", "5", "--celsius", "20")
    assert (answer.code, answer.data["verdict"], answer.data["plain_verdict"]) == (0, "no_limit", "no_limit")
    assert (answer.data["p_inside"], answer.data["low_ohm"], answer.data["high_ohm"]) == (None, None, None)


def test_not_soaked_is_not_usable(reading):
    answer = reading("--ohm", "5.5", "--celsius", "20", "--temperature", "not_soaked", *BAND)
    assert (answer.code, answer.data["verdict"], answer.data["plain_verdict"]) == (3, "not_usable", None)
    assert (answer.data["can_decide"], answer.data["p_inside"]) == (None, None)


@pytest.mark.parametrize(
    ("range_ohm", "limits", "verdict", "plain", "code"),
    [
        ("400", BAND, "fail", "fail", 1),
        ("6", BAND, "cant_tell", None, 3),  # open on a range not above the limit proves nothing
        ("5", BAND, "cant_tell", None, 3),
        ("6e7", ("--low", "1e6"), "pass", "pass", 0),
        ("400", ("--low", "1e6"), "cant_tell", None, 3),
        ("400", (), "no_limit", "no_limit", 0),
    ],
)
def test_open(reading, range_ohm, limits, verdict, plain, code):
    answer = reading("--open", "--range-ohm", range_ohm, "--celsius", "20", *limits)
    assert (answer.data["verdict"], answer.data["plain_verdict"], answer.code) == (verdict, plain, code)
    assert (answer.data["ohm"], answer.data["can_decide"]) == (None, None)


def test_open_is_held_against_the_moved_band(reading):
    # at 80 degrees the upper limit stands at 6 x 314.5/254.5 = 7.41
    words = ("--open", "--celsius", "80", *BAND)
    assert reading(*words, "--range-ohm", "7.4").data["verdict"] == "cant_tell"
    assert reading(*words, "--range-ohm", "7.5").data["verdict"] == "fail"


def test_below_resolution_is_a_state(reading):
    answer = reading("--ohm", "0", "--celsius", "20", "--leads", "nulled", *BAND)
    assert (answer.data["state"], answer.data["verdict"]) == ("below_resolution", "fail")


@pytest.mark.parametrize(
    ("point", "comma"),
    [
        (("--ohm", "5.25", "--celsius", "-4.5"), ("--ohm", "5,25", "--celsius", "-4,5")),
        (("--ohm", "5.25", "--celsius", "-4.5"), ("--ohm=5,25", "--celsius=-4,5")),
        (("--repeats", "5.1 5.2 5.4", "--celsius", "20"), ("--repeats", "5,1;5,2 5,4", "--celsius", "20")),
        (
            ("--ohm", "5", "--celsius", "20", "--meter", "0.9%+2x0.1"),
            ("--ohm", "5", "--celsius", "20", "--meter", "0,9%+2x0,1"),
        ),
        (("--ohm", "1200", "--celsius", "20"), ("--ohm", "1,2e3", "--celsius", "20")),
    ],
)
def test_point_and_comma_say_the_same(reading, point, comma):
    assert reading(*point, *BAND).data == reading(*comma, *BAND).data


def test_comma_never_groups(reading):
    assert reading("--ohm", "1,234", *EXACT, *FOUR_WIRE).data["ohm"] == 1.234


def test_text_says_verdict_reasons_and_budget(run):
    answer = run("reading", "--ohm", "5.1", "--celsius", "20", *BAND)
    assert answer.out.startswith("Can't tell\n")
    assert "Budget" in answer.out
    assert "Next: " in answer.out
    assert answer.err == ""
