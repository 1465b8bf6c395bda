"""A restriction calibrated, a volume expanded, the vessel a limit needs: hand arithmetic stands beside each."""

from __future__ import annotations

import math

import pytest

from valvebench.diagnose.leak_known import Ambient, Hole, calibrated, expanded, needed_ml, rounded
from valvebench.model.errors import BadInput
from valvebench.model.meter import parse_meter
from valvebench.physics.air import REFERENCES

GAUGE = parse_meter("0%+1x1")
CALM = Ambient(100.0, 0.0)


def test_a_restriction_that_feeds_a_known_hole_both_choked():
    """ISO 6358: choked flows go with the absolute pressure before each, so C = 0.004 x 3 bar / 15 bar."""
    made = calibrated(1400.0, 200.0, known=Hole(0.004, 3.0), gauge=GAUGE, ambient=CALM)
    assert made.value == pytest.approx(0.0008, rel=1e-12)
    # 3 % of the hole, and a rectangle of 1 kPa (u = 1/sqrt 3) in 300 kPa and in 1500 kPa
    by_hand = math.hypot(3.0, 100 / math.sqrt(3) / 300, 100 / math.sqrt(3) / 1500)
    assert made.pct == pytest.approx(by_hand, rel=1e-4)


def test_the_air_around_shifts_both_gauges_alike():
    """2 kPa: 1/300 less 1/1500 of each."""
    made = calibrated(1400.0, 200.0, known=Hole(0.004, 0.0), gauge=parse_meter("0%+0x1"), ambient=Ambient(100.0, 2.0))
    assert made.pct == pytest.approx(100 * (2 / 300 - 2 / 1500), rel=1e-3)


def test_where_nothing_is_choked_the_critical_ratios_count():
    made = calibrated(100.0, 50.0, known=Hole(0.004, 0.0), gauge=parse_meter("0%+0x1"), ambient=CALM)
    assert made.pct > 1.0


@pytest.mark.parametrize(
    ("supply", "port", "words"),
    [
        pytest.param(100.0, 0.0, "above the air around", id="nothing-behind-it"),
        pytest.param(100.0, 100.0, "Exchanged?", id="no-drop"),
        pytest.param(100.0, 99.9, "larger hole", id="a-drop-below-the-gauge"),
        pytest.param(math.nan, 50.0, "Exchanged?", id="nan"),
    ],
)
def test_a_calibration_that_says_nothing_is_refused(supply, port, words):
    with pytest.raises(BadInput, match=r"supply|port") as caught:
        calibrated(supply, port, known=Hole(0.004), gauge=GAUGE, ambient=CALM)
    assert words in caught.value.problems[0].text()


def test_boyle_gives_the_volume():
    """300 kPa in V fall to 200 in V + 20 ml: V = 40 ml; u of a reading 1/sqrt 3 kPa."""
    made = expanded(20.0, 1.0, from_kpa_gauge=300.0, to_kpa_gauge=200.0, gauge=GAUGE)
    assert made.value == pytest.approx(40.0, rel=1e-12)
    # dV/dp2 = 20 x 300 / 100^2 = 0.6 ml/kPa, dV/dp1 = 20 x 200 / 100^2 = 0.4 ml/kPa
    by_hand = math.hypot(1.0, 100 * 0.6 / math.sqrt(3) / 40, 100 * 0.4 / math.sqrt(3) / 40)
    assert made.pct == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize(
    ("ml", "before", "after", "words"),
    [
        pytest.param(0.0, 300.0, 200.0, "more than 0", id="no-chamber"),
        pytest.param(20.0, 200.0, 300.0, "fell", id="rising"),
        pytest.param(20.0, 300.0, 0.0, "fell", id="to-nothing"),
        pytest.param(20.0, math.nan, 200.0, "fell", id="nan"),
        pytest.param(20.0, 300.0, 299.5, "larger chamber", id="hardly-a-fall"),
    ],
)
def test_an_expansion_that_says_nothing_is_refused(ml, before, after, words):
    with pytest.raises(BadInput) as caught:
        expanded(ml, 1.0, from_kpa_gauge=before, to_kpa_gauge=after, gauge=GAUGE)
    assert words in caught.value.problems[0].text()


def test_the_vessel_a_limit_needs():
    """At 300 kPa absolute a millilitre holds 3 ml at 100 kPa; 20 ml/min at a rate of 0.1 in 1.5 s, 4 a minute."""
    ml = needed_ml(20.0, kpa_abs=300.0, celsius=20.0, reference=REFERENCES["iso8778"])
    assert ml == pytest.approx(20.0 / (3.0 * 4.0), rel=1e-12)
    assert [rounded(x) for x in (0.2, 7.4, 28.5, 403.0, 1680.0)] == ["1", "7", "30", "400", "1700"]
