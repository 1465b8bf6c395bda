"""The worked example of the guide's page on two bodies, by hand arithmetic here, on the page and in the program.

Sources: JCGM 100:2008 4.3.7 and 5.1.2; IEC 60028 (copper, 234.5); a triangle of half-width a has
P(|x| < t a) = 1 - (1-t)^2 and u = a/sqrt(6) (EA-4/02 S10).  Nothing of `valvebench`
computes an expected value.
"""

from __future__ import annotations

import json
from math import sqrt
from pathlib import Path

import pytest

from valvebench.__main__ import main

ROOT = Path(__file__).parents[3]
PAGE = (ROOT / "resources" / "guide" / "compare.md").read_text("utf-8")
SAMPLES = ROOT / "sample_sessions"
FACTOR = (234.5 + 20) / (234.5 + 22.6)
SHOWN = 5.61 - 5.20
TRIANGLE = 2 * (2 * 0.01)
REACH = (1 - sqrt(1 - 0.9545)) * TRIANGLE
GAIN = 0.009 * SHOWN / sqrt(3)
U_STANDARD = sqrt(GAIN**2 + 2 * (2 * 0.01) ** 2 / 3)
K = (1 - sqrt(1 - 0.9545)) * sqrt(6)


@pytest.mark.parametrize(
    "words",
    [
        f"The difference is {SHOWN:.2f} ohm",
        f"a triangle of \u00b1 {TRIANGLE:.2f} ohm",
        f"95.45 % of it lie within {REACH:.4f} ohm",
        f"that is {SHOWN * FACTOR:.3f} \u00b1 {K * U_STANDARD * FACTOR:.3f} ohm: different",
    ],
)
def test_the_page_holds_the_number(words):
    assert words in PAGE


def test_the_program_says_the_same(capsys):
    main(["compare", str(SAMPLES / "2231-old-body"), str(SAMPLES / "2232-new-body"), "--json"])
    rows = json.loads(capsys.readouterr().out)["rows"]
    (heron,) = [row for row in rows if row["what"] == "3\u201311"]
    assert (heron["difference"], heron["u_difference"]) == pytest.approx(
        (SHOWN * FACTOR, U_STANDARD * FACTOR), rel=1e-9
    )
    assert heron["k"] == pytest.approx(K, rel=1e-9)
    assert heron["significant"] is True
