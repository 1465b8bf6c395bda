"""What a flexed series says: openings, jumps and steps with their moments, and what it cannot say.

Sizes are those that were put in.  All series are made up.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from valvebench.diagnose.flex import FlexSeries, look_at
from valvebench.diagnose.flex_words import ENOUGH, FEWEST, chance_missed
from valvebench.judge.flex import judge_flex
from valvebench.model.meter import parse_meter
from valvebench.model.words import Verdict

HUNDREDTHS = parse_meter("0.5%+3x0.01")
FLICKER = [5.20, 5.21, 5.20, 5.22, 5.21, 5.19] * 10
OL = math.inf


def found_in(*ohm, meter=HUNDREDTHS, t_s=None):
    return look_at(FlexSeries(np.array(ohm, float), None if t_s is None else np.array(t_s, float)), meter)


def events(*ohm, **more):
    return [(event.kind, event.sample, event.count) for event in found_in(*ohm, **more).events]


@pytest.mark.parametrize("place", [0, 1, 14, 28, 29])
def test_one_opening_in_thirty_readings_is_found_wherever_it_is(place):
    ohm = FLICKER[:30]
    ohm[place] = OL
    assert events(*ohm) == [("open", place + 1, 1)]


def test_openings_are_told_one_by_one_with_how_many_readings_each_lasted():
    ohm = [*FLICKER[:10], OL, OL, *FLICKER[:10], OL, *FLICKER[:10]]
    assert events(*ohm) == [("open", 11, 2), ("open", 23, 1)]


def test_an_opening_counts_however_few_the_readings():
    assert events(5.2, 5.2, OL, 5.2) == [("open", 3, 1)]


@pytest.mark.parametrize("ohm", [0.5, -0.5, 3.0])
def test_a_step_has_its_moment_and_its_size_within_its_doubt(ohm):
    found = found_in(*FLICKER[:30], *(each + ohm for each in FLICKER[:30]))
    (event,) = found.events
    assert (event.kind, event.sample) == ("step", 31)
    assert abs(event.size_ohm.value - ohm) < 2 * event.size_ohm.u < 0.1


@pytest.mark.parametrize("lasts", [1, 2, 3])
def test_a_jump_that_goes_back_is_one_event(lasts):
    ohm = FLICKER[:30]
    ohm[12 : 12 + lasts] = [8.2] * lasts
    found = found_in(*ohm)
    (event,) = found.events
    assert (event.kind, event.sample, event.count) == ("jump", 13, lasts)
    assert abs(event.size_ohm.value - 3.0) < 2 * event.size_ohm.u < 0.2


def test_a_jump_in_the_last_reading_is_found():
    assert events(*FLICKER[:30], 9.0) == [("jump", 31, 1)]


def test_times_name_the_moment():
    found = found_in(*FLICKER[:20], OL, *FLICKER[:20], t_s=np.arange(41) / 2)
    assert [event.t_s for event in found.events] == [10.0]
    assert "Open at reading 21 (10 s after the start)." in found.reasons


@pytest.mark.parametrize(
    "ohm",
    [
        pytest.param([5.2] * 20 + [5.3] * 20, id="one step of a tenths display, as where a drift rounds up"),
        pytest.param([5.2, 5.3, 5.1, 5.2] * 10, id="the last digit flickers both ways"),
        pytest.param(list(np.round(5.2 + 0.1 * np.arange(60) / 59, 2)), id="warming evenly by 0.1 ohm"),
        pytest.param(list(np.round(5.2 + 0.1 * (1 - np.exp(-np.arange(60) / 20)), 2)), id="warming as a hand does"),
        pytest.param(FLICKER, id="a display of hundredths that flickers"),
    ],
)
def test_what_a_display_and_a_warm_hand_do_is_no_event(ohm):
    meter = parse_meter("1%+3x0.1") if np.allclose(np.round(ohm, 1), ohm) else HUNDREDTHS
    assert events(*ohm, meter=meter) == []
    assert events(*ohm, meter=None) == []


def test_a_drift_is_named_and_called_no_fault():
    found = found_in(*np.round(5.2 + 0.1 * np.arange(60) / 59, 2))
    assert abs(found.drift_ohm - 0.1 * 2 / 3) < 0.02
    assert any("drifted" in reason and "no fault" in reason for reason in found.reasons)


def test_over_range_is_an_opening_and_says_why():
    found = found_in(*FLICKER[:20], 900.0, *FLICKER[:20])
    assert [event.kind for event in found.events] == ["open"]
    assert any("twenty times" in reason for reason in found.reasons)


def test_every_reading_open_has_its_own_words():
    found = found_in(OL, OL, OL)
    assert (found.open_n, found.middle_ohm) == (3, None)
    assert found.problem.startswith("Every reading is open")


def test_too_few_readings_have_their_own_words():
    found = found_in(*FLICKER[: FEWEST - 1])
    assert found.problem == "7 readings are too few to tell a step from noise: it takes 8 that are not open."
    assert not found.is_enough


def test_a_fine_display_that_stands_still_is_suspected_of_being_held():
    found = found_in(*[5.234] * 40, meter=parse_meter("0.2%+2x0.001"))
    assert found.problem.startswith("All 40 readings are 5.23")
    assert "hold" in found.problem
    assert any("off hold" in advice for advice in found.advice)


def test_a_coarse_display_that_stands_still_is_what_a_sound_pair_shows():
    found = found_in(*[5.2] * 40, meter=parse_meter("1%+3x0.1"))
    assert (found.problem, found.events, found.is_enough) == ("", (), True)


def test_no_number_has_its_own_words_and_counts_as_no_value():
    found = found_in(*FLICKER[:10], math.nan, *FLICKER[:10])
    assert found.problem == "Reading 11 is no number: type what the meter showed, or OL."


def test_enough_is_where_a_contact_in_one_reading_of_ten_is_rarely_missed():
    assert abs(chance_missed(2) - 0.81) < 1e-12  # 0.9 x 0.9 by hand
    assert chance_missed(ENOUGH) < 0.05 < chance_missed(ENOUGH - 2)
    assert found_in(*FLICKER[:30]).is_enough
    assert not found_in(*FLICKER[:29]).is_enough


def test_a_step_of_round_numbers_on_a_fine_meter_is_not_called_steady():
    """Were 5.2 and 5.3 what the meter showed, or 5.24 and 5.26 rounded? Nobody knows: can't tell."""
    found = found_in(*[5.2] * 20, *[5.3] * 20)
    assert [event.kind for event in found.events] == ["step"]
    assert judge_flex(found, "the harness").verdict is Verdict.CANT_TELL
    assert judge_flex(found_in(*[5.2] * 20, *[5.5] * 20), "the harness").verdict is Verdict.FAIL


def test_without_a_meter_the_step_of_the_display_is_what_the_readings_show():
    found = found_in(*FLICKER, meter=None)
    assert (found.meter, found.meter_is_assumed) == ("0.5%+5x0.01", True)


@pytest.mark.parametrize("gap", [5, 8, 40])
@pytest.mark.parametrize("ohm", [0.3, 1.0])
def test_there_and_back_is_two_events(gap, ohm):
    shown = [*FLICKER[:30], *(each + ohm for each in FLICKER[:gap]), *FLICKER[:30]]
    assert events(*shown) == [("step", 31, 1), ("step", 31 + gap, 1)]


def test_many_steps_do_not_hide_each_other():
    ohm = [each + 0.5 * (place // 12 % 2) for place, each in enumerate(FLICKER * 2)]
    assert events(*ohm) == [("step", sample, 1) for sample in range(13, 120, 12)]


@pytest.mark.parametrize("ohm", [0.4, 3.0])
def test_a_contact_that_is_restless_all_the_time_is_not_called_steady(ohm):
    dice = np.random.default_rng(7)
    found = found_in(*np.round(5.2 + ohm * np.abs(dice.standard_normal(60)), 2))
    assert found.events or found.is_restless
    slow = 5.2 + ohm * np.sin(np.arange(60) / 6)
    found = found_in(*np.round(slow, 2))
    assert found.events or found.is_restless


def test_a_contact_that_chatters_is_never_called_steady():
    dice = np.random.default_rng(11)
    for _ in range(100):
        up = dice.random(30) < 0.4
        shown = np.round(5.2 + 0.5 * up + 0.01 * dice.standard_normal(30), 2)
        assert judge_flex(found_in(*shown), "the harness").verdict is not Verdict.PASS


def test_a_contact_that_opens_all_the_time_is_told_in_few_words():
    found = found_in(*[5.2, OL] * 700)
    assert len(found.events) == 500
    assert "695 more follow." in found.reasons


def test_many_readings_take_no_long_time():
    dice = np.random.default_rng(0)
    assert found_in(*np.round(5.2 + 0.01 * dice.standard_normal(20_000), 2)).events == ()
