"""The worked examples of the guide's page on explanations: by hand here, on the page, and in the sample job.

Sources: JCGM 100:2008, 4.3.7 (a rectangle), 5.1.2 (sum of squares) and 5.2 (what is shared cancels); Bayes' rule in
odds; what is likely beforehand is read from `priors.json`, which says of each line that it has no source.  Nothing of
`valvebench` computes an expected value of the first part.
"""

from __future__ import annotations

import json
from math import asinh, hypot, log, sqrt
from pathlib import Path

import msgspec
import pytest

from valvebench.bench.explain_report import explain_job
from valvebench.compose import view_session
from valvebench.diagnose.explain_priors import Fault, read_priors
from valvebench.diagnose.explain_words import chance_text
from valvebench.model.entry import Reading
from valvebench.model.session import fold

ROOT = Path(__file__).parents[3]
PAGE = (ROOT / "resources" / "guide" / "explain-by-hand.md").read_text("utf-8")
RAW = (ROOT / "resources" / "priors.json").read_bytes()
LIKELY = json.loads(RAW)
PRIORS = read_priors(RAW, source="priors.json")
JOB = ROOT / "sample_sessions" / "2224-poor-contact"
CONNECTOR, TERMINALS = 8.97, 5.96

# The difference of two access points

DIFFERENCE = CONNECTOR - TERMINALS
COUNTS, TIPS = 2 * 0.01 / sqrt(3), sqrt(2) * LIKELY["reading"]["contact_ohm"]["value"]
OWN = hypot(COUNTS, TIPS)
GAIN = 0.009 / sqrt(3)
U = hypot(OWN, OWN, GAIN * DIFFERENCE)

# The odds of two faults

PINS = 8
# Poor contacts of the sensor's two pins and of the one of the solenoid without limits, leaks between two pins:
# nothing of that shows in these readings.
HIDDEN = round(
    LIKELY["faults"]["terminal_resistive"]["p"] * 3 / PINS
    + LIKELY["faults"]["leak"]["p"] * LIKELY["leak_between_share"]["value"],
    2,
)
SIZES = LIKELY["sizes"]["terminal_ohm"]
CONTACT = LIKELY["faults"]["terminal_resistive"]["p"] / PINS
OF_SIZE = 1 / (log(SIZES["high"] / SIZES["low"]) * DIFFERENCE)
SOUND = LIKELY["faults"]["healthy"]["p"] + HIDDEN
SHOWN = LIKELY["reading"]["wild"]["value"] * (1 - LIKELY["reading"]["wild_open"]["value"])
UNITS = asinh(GAIN * LIKELY["reading"]["open_above_ohm"]["value"] / OWN) / GAIN
UNITS_AN_OHM = 1 / hypot(OWN, GAIN * CONNECTOR)
BAD = UNITS_AN_OHM / UNITS
ODDS = CONTACT * OF_SIZE / (SOUND * SHOWN * BAD)


@pytest.mark.parametrize(
    "words",
    [
        f"| 8.97 - 5.96 | {DIFFERENCE:.3f} |",
        f"| 2 \u00d7 0.01 / sqrt(3) | {COUNTS:.4f} |",
        f"| sqrt(2) \u00d7 0.01 | {TIPS:.4f} |",
        f"| both, each reading | sqrt of the sum of squares | {OWN:.4f} |",
        f"| 0.9 % / sqrt(3) \u00d7 3.010 | {GAIN * DIFFERENCE:.4f} |",
        f"| u | sqrt(0.0183\u00b2 + 0.0183\u00b2 + 0.0156\u00b2) | {U:.4f} |",
        f"| U | 2 u | {2 * U:.3f} |",
        f"{DIFFERENCE:.3f} \u00b1 {2 * U:.3f} ohm: far more than nothing",
        f"\u00d7 8.97 = {GAIN * CONNECTOR:.3f} and \u00d7 5.96 = {GAIN * TERMINALS:.3f}",
        f"| 0.08 for all of 8 pins | {CONTACT:.4f} |",
        f"1 / (ln(20 000 / 0.25) \u00d7 3.01) | {OF_SIZE:.4f} |",
        f"| together | 0.0100 \u00d7 0.0294 | {CONTACT * OF_SIZE:.6f} |",
        f"| 0.40 + 0.05 | {SOUND:.2f} |",
        f"0.005 \u00d7 0.7 | {SHOWN:.4f} |",
        f"see below | {BAD:.5f} |",
        f"| together | 0.45 \u00d7 0.0035 \u00d7 0.00613 | {SOUND * SHOWN * BAD:.8f} |",
        f"| odds | 0.000294 / 0.00000965 | {ODDS:.0f} |",
        f"s = 0.9 % / sqrt(3) = {GAIN:.5f} and c = {OWN:.4f} ohm",
        f"asinh(s \u00d7 40 000 000 / c) / s = {UNITS:.0f} units",
        f"(s \u00d7 8.97)\u00b2) = {UNITS_AN_OHM:.2f} of them, and {UNITS_AN_OHM:.2f} / {UNITS:.0f} = {BAD:.5f}",
        f"0.97 / 0.03 = {0.97 / 0.03:.0f} to 1",
    ],
)
def test_the_page_holds_the_number(words):
    assert words in PAGE


def test_two_meters_would_more_than_double_the_doubt():
    assert hypot(OWN, OWN, GAIN * CONNECTOR, GAIN * TERMINALS) > 2 * U


# The sample job says the same


@pytest.fixture(scope="module")
def found():
    view = view_session(JOB)
    return explain_job(view.session, view.variant, PRIORS).explained


def test_the_readings_are_those_of_the_job():
    read = [item.body for item in view_session(JOB).session.items if isinstance(item.body, Reading)]
    rows = [f"| {r.from_node} | {r.to_node} | {r.at.value.replace('_', ' ')} | {r.celsius} | {r.ohm} |" for r in read]
    assert [row in PAGE for row in rows].count(True) == 4
    assert [r.ohm for r in read if r.pair == {"2", "8"}] == [CONNECTOR]


def test_the_program_finds_the_difference(found):
    (between,) = found.access
    assert between.ohm == pytest.approx(DIFFERENCE)
    assert between.u == pytest.approx(U, rel=1e-9)


def test_the_program_comes_to_the_same_odds_within_one_part_in_ten(found):
    first, second = found.explanations[:2]
    assert (first.fault, first.where) == (Fault.TERMINAL_RESISTIVE, ("2",))
    assert (second.fault, second.where) == (Fault.ONE_BAD_READING, ("2", "8"))
    assert first.odds == pytest.approx(ODDS, rel=0.1)
    assert first.odds == pytest.approx(first.p / second.p)


@pytest.mark.parametrize(
    ("ohm", "fault"),
    [pytest.param(8.97, Fault.TERMINAL_RESISTIVE, id="again"), pytest.param(5.96, Fault.ONE_BAD_READING, id="turned")],
)
def test_one_more_reading_settles_it(ohm, fault):
    view = view_session(JOB)
    (entry,) = [one for one in view.session.entries if isinstance(one.body, Reading) and one.body.ohm == CONNECTOR]
    again = entry._replace(n=len(view.session.entries) + 1, body=msgspec.structs.replace(entry.body, ohm=ohm))
    explained = explain_job(fold((*view.session.entries, again)), view.variant, PRIORS)
    first = explained.explained.explanations[0]
    assert first.fault is fault
    assert first.p > 0.9


def test_a_share_above_99_is_never_said_in_digits():
    assert "better than 99 in 100" in PAGE
    assert chance_text(0.999).endswith("better than 99 in 100")
