"""The worked example of the guide's page on a heat run: by hand here, on the page, and in the sample job.

Sources: IEC 60034-1, 8.6.2 (copper, 234.5); JCGM 100:2008, 4.3.7, 5.2 and H.3; the straight line by the
standard library.  Nothing of `valvebench` computes an expected value of the first part.
"""

from __future__ import annotations

import re
from math import hypot, sqrt
from pathlib import Path
from statistics import fmean, linear_regression

import pytest

from valvebench.compose import view_session
from valvebench.model.entry import Reading
from valvebench.model.words import Verdict
from valvebench.report.heat_cases import heat_cases
from valvebench.report.heat_ratios import ratios_of

ROOT = Path(__file__).parents[3]
PAGE = (ROOT / "resources" / "guide" / "heat-by-hand.md").read_text("utf-8")
JOB = ROOT / "sample_sessions" / "2221-plateau-rounds"
TABLE = [
    tuple(map(float, row))
    for row in re.findall(r"^\| (\d) \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$", PAGE, re.MULTILINE)
]
CELSIUS = [row[1] for row in TABLE]
X = [(234.5 + celsius) / 254.5 for celsius in CELSIUS]
WIDENED = 5 / 3
"""Variance of Student's t with five degrees of freedom: JCGM 101:2008, 6.4.9."""
START = 49.283250985
"""As the program found it; the page rounds it."""


def line_of(column):
    """Copper, offset, scatter, and the variances of both with their covariance."""
    ohm = [row[column] for row in TABLE]
    copper, offset = linear_regression(X, ohm)
    left = [y - copper * x - offset for x, y in zip(X, ohm, strict=True)]
    scatter = sqrt(sum(one**2 for one in left) / (len(left) - 2))
    square = sum((x - fmean(X)) ** 2 for x in X)
    of_copper = WIDENED * scatter**2 / square
    of_offset = WIDENED * scatter**2 * (1 / len(X) + fmean(X) ** 2 / square)
    return copper, offset, scatter, of_copper, of_offset, -fmean(X) * of_copper


COUNTS = hypot(2, 1) * 0.01 / sqrt(3)


def of_line(column):
    copper, offset, scatter, of_copper, of_offset, both = line_of(column)
    total, probe = copper + offset, copper / 254.5 * 2 / sqrt(3)
    common, gain = hypot(COUNTS, probe), 0.009 / sqrt(3) * total
    u_total = sqrt(of_copper + of_offset + 2 * both + common**2 + gain**2)
    square = offset**2 * of_copper - 2 * offset * copper * both + copper**2 * of_offset + (copper * common) ** 2
    return {
        "copper": copper,
        "offset": offset,
        "total": total,
        "slope": copper / total,
        "scatter": scatter,
        "probe": probe,
        "common": common,
        "gain": gain,
        "U_total": 2 * u_total,
        "U_slope": 2 * sqrt(square) / total**2,
    }


GULL, HERON = of_line(2), of_line(3)


def growth():
    """Copper and growth by their normal equations."""
    grown = [max(0.0, celsius - START) / (max(CELSIUS) - START) for celsius in CELSIUS]
    ohm = [row[3] for row in TABLE]
    xx, xh, hh = (sum(a * b for a, b in zip(p, q, strict=True)) for p, q in ((X, X), (X, grown), (grown, grown)))
    xy, hy = (sum(a * b for a, b in zip(p, ohm, strict=True)) for p in (X, grown))
    by = xx * hh - xh**2
    return grown[2], (hh * xy - xh * hy) / by, (xx * hy - xh * xy) / by


PART, COPPER, EXCESS = growth()
WORST = 6.87 * 254.5 / 325.8
U_WORST = 2 * hypot(
    hypot((0.009 * 6.87 + 2 * 0.01) / sqrt(3), 0.01 / sqrt(3)) * 254.5 / 325.8, WORST / 325.8 * 2 / sqrt(3)
)


@pytest.mark.parametrize(
    "words",
    [
        f"6.87 \u00d7 254.5 / 325.8 = {WORST:.3f} \u00b1 {U_WORST:.3f} ohm",
        f"| copper at 20 \u00b0C | slope of the line | {GULL['copper']:.4f} |",
        f"its height at x = 0 | {GULL['offset']:.4f} |",
        f"| {GULL['total']:.4f} |\n| slope over copper",
        f"| {GULL['slope']:.4f} |",
        f"five degrees of freedom | {GULL['scatter']:.4f} |",
        f"| widened for few readings | 5 / (5 - 2) times its square | {WIDENED:.3f} |",
        f"| counts, shared by all | sqrt(2\u00b2 + 1\u00b2) \u00d7 0.01 / sqrt(3) | {COUNTS:.4f} |",
        f"254.5 \u00d7 2 / sqrt(3) | {GULL['probe']:.4f} |",
        f"| both | sqrt of the sum of squares | {GULL['common']:.4f} |",
        f"sqrt(3) of {GULL['total']:.4f} | {GULL['gain']:.4f} |",
        f"gain squared | {GULL['U_total']:.4f} |",
        f"the gain cancels | {GULL['U_slope']:.4f} |",
        f"The slope is {GULL['slope']:.3f} \u00b1 {GULL['U_slope']:.3f}",
        f"{GULL['total']:.3f} \u00b1 {GULL['U_total']:.3f} ohm lies inside",
        f"a slope of {HERON['slope']:.3f} times",
        f"a scatter of {HERON['scatter']:.3f} ohm",
        f"(91.3 - 49.28) | {PART:.3f} |",
        f"two unknowns by least squares | {COPPER:.3f} |",
        f"the other unknown | {EXCESS:.3f} |",
        f"{0.006 * (91 - 50):.3f} ohm, growing by 0.006 ohm",
    ],
)
def test_the_page_holds_the_number(words):
    assert words in PAGE


# The sample job says the same


@pytest.fixture(scope="module")
def judged():
    return view_session(JOB)


@pytest.fixture(scope="module")
def runs(judged):
    return {row.what.partition(",")[0]: row for row in judged.judged().rows if row.heat is not None}


def test_the_readings_are_those_of_the_job(judged):
    pairs = {"12": 2, "113": 3}
    read = [item.body for item in judged.session.items if isinstance(item.body, Reading) and item.body.round]
    for name, column in pairs.items():
        own = [one for one in read if "".join(sorted(one.pair)) == name]
        assert [(one.round, one.celsius, one.ohm) for one in own] == [(row[0], row[1], row[column]) for row in TABLE]


def test_the_program_finds_the_line_of_gull(runs):
    found = runs["Gull"].heat.found
    assert found.slope_over_copper.value == pytest.approx(GULL["slope"], rel=1e-8)
    assert 2 * found.slope_over_copper.u == pytest.approx(GULL["U_slope"], rel=1e-6)
    assert found.at_20_ohm.value == pytest.approx(GULL["total"], rel=1e-8)
    assert 2 * found.at_20_ohm.u == pytest.approx(GULL["U_total"], rel=1e-6)
    assert runs["Gull"].verdict is Verdict.PASS


def test_the_program_finds_what_grows_in_heron(runs):
    found = runs["Heron"].heat.found
    excess, start = found.excess_ohm_at_hottest, found.grows_from_celsius
    assert f"and says {excess.value:.3f} \u00b1 {2 * excess.u:.3f} ohm" in PAGE
    assert f"finds {start.value:.1f} \u00b1 {2 * start.u:.1f} \u00b0C" in PAGE
    assert start.value == pytest.approx(START, abs=0.01)
    assert abs(EXCESS - excess.value) <= 2 * excess.u
    assert runs["Heron"].verdict is Verdict.FAIL


def test_like_solenoids_tell_it_without_any_law(judged):
    cases, _ = heat_cases(judged.session, judged.variant, judged.judged())
    stays = {(one.ratio.a, one.ratio.b): one.ratio.constant for one in ratios_of(cases, {})}
    assert [stays[pair] for pair in (("Gull", "Heron"), ("Heron", "Curlew"), ("Heron", "Whimbrel"))] == [False] * 3
    assert stays["Gull", "Curlew"] is True
