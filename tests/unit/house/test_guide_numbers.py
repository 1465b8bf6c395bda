"""Every number of the guide's worked examples, by hand arithmetic here, on the page and in the program.

Sources of the arithmetic: JCGM 100:2008 4.3.7 (a rectangle: a/sqrt(3)), 5.1.2 (sum of squares), G.4.1 (degrees of
freedom); JCGM 106:2012 8.3 and ILAC-G8:09/2019 4.2 (zones); IEC 60034-1 8.6.2 (copper).  Nothing of `valvebench`
computes an expected value.
"""

from __future__ import annotations

import json
import re
import shlex
from math import erf, exp, log, sqrt
from pathlib import Path

import pytest

from valvebench.__main__ import main
from valvebench.physics.sensor import table_band

PAGE = (Path(__file__).parents[3] / "resources" / "guide" / "numbers.md").read_text("utf-8")
K = 234.5  # IEC 60028: 1/0.00393 - 20 = 234.45
STEP_PER_SQRT12 = 0.01 / sqrt(12)
# Two-sided 95.45 % factor of Student's t for 9 degrees of freedom: NIST TN 1297 table B.1 (as GUM table G.2).
T_FOR_9 = 2.32


def root_of_squares(*values):
    return sqrt(sum(value * value for value in values))


def bell(z):
    """Normal distribution function."""
    return 0.5 * (1 + erf(z / sqrt(2)))


def zones(u, *, k=2.0, low=4.9, high=5.5):
    return {"u": u, "k": k, "U": k * u, "pass from": low + k * u, "pass to": high - k * u}


def tips_taken_off():
    factor = (K + 20) / (K + 60)
    coil = 6.20 - 0.20
    value = coil * factor
    gain = 0.005 * coil / sqrt(3) * factor
    counts = 5 * 0.01 / sqrt(3) * factor
    temperature = value / (K + 60) * 2 / sqrt(3)
    u = root_of_squares(gain, counts, counts, temperature)
    return {
        "value at the coil": coil,
        "factor to 20 °C": factor,
        "value at 20 °C": value,
        "gain": gain,
        "counts": counts,
        "leads": counts,
        "temperature": temperature,
        "share of the temperature": (temperature / u) ** 2,
        **zones(u),
        "low limit at 60 °C": 4.9 / factor,
        "high limit at 60 °C": 5.5 / factor,
    }


def lines_of_tenths(shown, factor):
    value = (shown - 0.1) * factor
    meter = (0.01 * shown + 3 * 0.1) / sqrt(3) * factor
    return value, meter, 0.1 / sqrt(3) * factor, value / (K + 23.5) * 10 / sqrt(3)


def meter_cannot_decide():
    factor = (K + 20) / (K + 23.5)
    value, meter, leads, temperature = lines_of_tenths(5.30, factor)
    u = root_of_squares(meter, leads, temperature)
    middle = 5.2 / factor + 0.1
    return {
        "value at 20 °C": value,
        "meter": meter,
        "leads": leads,
        "temperature": temperature,
        "u": u,
        "U": 2 * u,
        "chance inside": bell((5.5 - value) / u) - bell((4.9 - value) / u),
        "shown in mid-band": middle,
        "2 w in mid-band": 4 * root_of_squares(*lines_of_tenths(middle, factor)[1:]),
    }


def one_rectangle_dominates():
    meter = (0.009 * 5.2 + 2 * 0.1) / sqrt(3)
    temperature = 5.2 / (K + 20) * 2 / sqrt(3)
    u = root_of_squares(meter, temperature)
    return {
        "meter": meter,
        "temperature": temperature,
        "meter to the rest": meter / temperature,
        "chance inside": (5.2 + sqrt(3) * u - 5.0) / (2 * sqrt(3) * u),  # the rectangle ends inside the upper limit
        **zones(u, k=0.9545 * sqrt(3), low=5.0, high=5.6),
    }


def check_resistor():
    ratio = (5.40 - 0.20) / (5.21 - 0.20)
    value = 5.0 * ratio
    slope = 5.0 / (5.21 - 0.20)
    lines = {
        "reading step": slope * STEP_PER_SQRT12,
        "check reading step": slope * ratio * STEP_PER_SQRT12,
        "tips reading step": slope * (ratio - 1) * STEP_PER_SQRT12,
        "check resistor": 0.001 * value / sqrt(3),
        "temperature": value / (K + 20) * 2 / sqrt(3),
    }
    u, k = root_of_squares(*lines.values()), 0.9545 * sqrt(3)  # the temperature is 4.6 times all others together
    return {"value at 20 °C": value, **lines, "u": u, "k": k, "U": k * u}


def volts_ratio():
    value = 5.0 * 0.780 / 0.752
    lines = {
        "counts across the device": 2 * 0.001 / sqrt(3) * 5.0 / 0.752,
        "counts across the check resistor": 2 * 0.001 / sqrt(3) * value / 0.752,
        "check resistor": 0.001 * value / sqrt(3),
        "temperature": value / (K + 20) * 2 / sqrt(3),
    }
    u = root_of_squares(*lines.values())
    return {"value at 20 °C": value, **lines, "u": u, "k": 2.0, "U": 2 * u}


def five_repeats():
    shown = (5.1, 5.3, 5.2, 5.4, 5.0)
    mean = sum(shown) / 5
    spread = sqrt(sum((one - mean) ** 2 for one in shown) / 4)
    lines = {
        "meter": (0.005 * mean + 5 * 0.01) / sqrt(3),
        "leads": 0.01 / sqrt(3),
        "temperature": mean / (K + 20) * 2 / sqrt(3),
        "repeats": spread / sqrt(5),
    }
    u = root_of_squares(*lines.values())
    return {
        "value at 20 °C": mean,
        "spread": spread,
        **lines,
        "u": u,
        "degrees of freedom": u**4 / (lines["repeats"] ** 4 / 4),
        "k": T_FOR_9,
        "U": T_FOR_9 * u,
    }


def reference_not_stated():
    factor = (K + 20) / (K + 25)
    value = 13.5 * factor
    lines = {
        "meter": (0.005 * 13.5 + 5 * 0.01) / sqrt(3) * factor,
        "leads": 0.01 / sqrt(3) * factor,
        "temperature": value / (K + 25) * 3 / sqrt(3),
        "reference not stated": value / (K + 20) * 5 / sqrt(3),
    }
    return {"value at 20 °C": value, **lines, **zones(root_of_squares(*lines.values()), low=12, high=15)}


def sensor_between_rows():
    """ln R is a straight line in 1/T between two rows of the table."""
    share = (1 / 308.15 - 1 / 293.15) / (1 / 323.15 - 1 / 293.15)
    low = exp(log(2540) + share * (log(790) - log(2540)))
    high = exp(log(2800) + share * (log(900) - log(2800)))
    slope = log(845 / 2670) / (1 / 323.15 - 1 / 293.15) * -1 / 308.15**2
    return {"share of the way": share, "low limit": low, "high limit": high, "change per kelvin": slope}


HAND = {
    "Tips taken off": tips_taken_off(),
    "The meter cannot decide": meter_cannot_decide(),
    "One rectangle dominates": one_rectangle_dominates(),
    "A check resistor": check_resistor(),
    "A volts ratio": volts_ratio(),
    "Five repeats": five_repeats(),
    "No reference temperature": reference_not_stated(),
    "A sensor between two rows": sensor_between_rows(),
}
# What the program calls the numbers of the page; everything else is a term of its budget.
KEYS = {
    "value at the coil": "ohm",
    "value at 20 °C": "ohm_at_ref",
    "u": "u_ohm_at_ref",
    "k": "k_coverage",
    "U": "U_ohm_at_ref",
    "chance inside": "p_inside",
    "low limit at 60 °C": "low_ohm_at_celsius",
    "high limit at 60 °C": "high_ohm_at_celsius",
    "degrees of freedom": "nu_eff",
}
# Steps of the arithmetic that the answer does not hold.
STEPS = {"factor to 20 °C", "share of the temperature", "pass from", "pass to", "shown in mid-band", "2 w in mid-band"}
STEPS |= {"meter to the rest", "spread"}
WORDS = {
    "Tips taken off": ("pass", None, True),
    "The meter cannot decide": ("cant_tell", "straddles", False),
    "One rectangle dominates": ("cant_tell", "inside", True),
    "A check resistor": ("pass", None, True),
    "A volts ratio": ("pass", None, True),
    "Five repeats": ("pass", None, True),
    "No reference temperature": ("pass", None, True),
}


def section(name):
    found = re.search(rf"^### {re.escape(name)}\n(.*?)(?=^##|\Z)", PAGE, re.MULTILINE | re.DOTALL)
    assert found is not None, f"no section {name}"
    return found[1]


def rows_in(text):
    """The rows of tables with three columns: number, how, value."""
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line[:1] == "|"]
    return {row[0]: row[2] for row in cells if len(row) == 3 and row[0] not in {"number", "---"}}


def command_in(text):
    return next(line.removeprefix("$ ") for line in text.splitlines() if line.startswith("$ valvebench reading"))


def agrees(text, value):
    """The page's figure is the value, rounded to the digits that are printed."""
    decimals = len(text.partition(".")[2])
    return abs(float(text) - value) <= 0.5 * 10.0**-decimals * (1 + 1e-9)


def test_every_worked_example_of_the_page_is_recomputed():
    worked = PAGE.partition("## Worked examples")[2].partition("\n## ")[0]
    assert re.findall(r"^### (.+)$", worked, re.MULTILINE) == list(HAND)


@pytest.mark.parametrize("name", HAND)
def test_the_page_prints_what_the_arithmetic_gives(name):
    shown = rows_in(section(name))
    assert set(shown) == set(HAND[name])
    assert [(key, text, HAND[name][key]) for key, text in shown.items() if not agrees(text, HAND[name][key])] == []


@pytest.fixture
def answer(capsys):
    def ask(name):
        main([*shlex.split(command_in(section(name)))[1:], "--json"])
        return json.loads(capsys.readouterr().out)

    return ask


@pytest.mark.parametrize("name", WORDS)
def test_the_program_gives_what_the_arithmetic_gives(name, answer):
    found = answer(name)
    terms = {line["term"]: line["u_ohm"] for line in found["budget"]}
    told = {key: found[KEYS[key]] if key in KEYS else terms[key] for key in set(HAND[name]) - STEPS}
    # the factor of Student's t is printed with two decimals in its source
    loose = {"k": 0.005 / 2.32, "U": 0.005 / 2.32} if name == "Five repeats" else {}
    assert told == {key: pytest.approx(HAND[name][key], rel=loose.get(key, 1e-9)) for key in told}
    assert set(terms) <= set(HAND[name])


@pytest.mark.parametrize("name", WORDS)
def test_the_program_gives_the_words_of_the_page(name, answer):
    found = answer(name)
    assert (found["verdict"], found["lean"], found["can_decide"]) == WORDS[name]
    told = f"`{found['verdict']}`" if found["lean"] is None else f"`{found['verdict']}`, lean `{found['lean']}`"
    assert told in section(name)


def test_the_sensor_example_is_what_the_program_gives():
    band = table_band(35, [(20, 2540, 2800), (50, 790, 900), (80, 300, 350)])
    hand = HAND["A sensor between two rows"]
    told = (hand["low limit"], hand["high limit"], hand["change per kelvin"])
    assert (band.low_ohm, band.high_ohm, band.slope_per_celsius) == pytest.approx(told, rel=1e-9)


def covered(ratio):
    """Coverage of k = 0.9545 sqrt(3) for a rectangle `ratio` times a normal rest, by summing over the rectangle."""
    half_width, rest, reach = sqrt(3) * ratio, 1.0, 0.9545 * sqrt(3) * sqrt(ratio**2 + 1)
    count = 20_000
    places = [half_width * ((2 * i + 1) / count - 1) for i in range(count)]
    return sum(bell((reach - x) / rest) - bell((-reach - x) / rest) for x in places) / count


@pytest.mark.parametrize(("ratio", "percent"), [(3.33, "92.9"), (10, "95.1")])
def test_the_page_names_the_coverage_where_one_rectangle_dominates(ratio, percent):
    assert agrees(percent, 100 * covered(ratio))
    assert percent in PAGE


def test_the_page_names_the_tail_where_one_rectangle_dominates():
    assert 3.5 < 50 * (1 - covered(3.33)) <= 3.6
    assert "up to 3.6 %" in PAGE
