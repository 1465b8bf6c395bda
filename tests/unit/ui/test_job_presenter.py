"""The Job page: what came in, and the set-up with its problems."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import create_autospec

import msgspec
import pytest

from tests.fakes.pins_bench import AT_20, Bench, last
from valvebench.model.entry import OpenJob
from valvebench.model.meter import Check
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.ui.job.presenter import JobPresenter, JobView, SetUpTyped, job_lines, read_set_up
from valvebench.ui.set_up import SetUp

GOOD = SetUpTyped(meter="0.9%+2x0.01", celsius="23,4", temperature="taped", leads="nulled")
NOW = "2031-05-06T10:00:00.000Z"


class Page:
    """The job and set-up of one session."""

    def __init__(self, *, set_up: SetUp = AT_20) -> None:
        self.bench = Bench().start()
        self.view = create_autospec(JobView, instance=True)
        self.set_ups: list[SetUp] = []
        self.check: Check | None = None
        self.job = JobPresenter(
            self.view,
            self.bench.keeper,
            set_up=set_up,
            set_up_changed=self.set_ups.append,
            check_now=lambda: self.check,
        )


@pytest.fixture
def page():
    return Page()


def test_it_shows_what_came_in_and_leaves_blanks_out(page):
    page.job.start()
    title, lines = last(page.view.show_job)
    assert title == "Job T-1"
    assert lines == [
        ("Kind", "Complaint"),
        ("Body serial", "0418"),
        ("Variant", "Quillon Tern, for the bench (invented)"),
    ]


def test_it_shows_the_set_up_as_typed_text(page):
    page.job.start()
    (typed,) = last(page.view.show_set_up)
    assert (typed.meter, typed.celsius, typed.temperature, typed.leads) == ("0.9%+2x0.01", "20", "taped", "nulled")


def test_a_good_set_up_is_taken(page):
    assert page.job.set_up_typed(GOOD)
    assert last(page.view.show_set_up_problems) == ({},)
    assert (page.set_ups[-1].celsius, page.set_ups[-1].temperature) == (23.4, TemperatureSource.TAPED)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        pytest.param({"celsius": "warm"}, "celsius", id="a word for a temperature"),
        pytest.param({"celsius": "-400"}, "celsius", id="below absolute zero"),
        pytest.param({"meter": "good"}, "meter", id="no accuracy"),
        pytest.param({"range_ohm": "big"}, "range_ohm", id="no range"),
        pytest.param({"leads": "subtract"}, "lead_ohm", id="tips to subtract, nothing read"),
        pytest.param({"leads": "subtract", "lead_ohm": "x"}, "lead_ohm", id="tips to subtract, no number"),
    ],
)
def test_a_wrong_field_is_told_beside_it_and_nothing_is_taken(page, changes, field):
    assert not page.job.set_up_typed(replace(GOOD, **changes))
    (problems,) = last(page.view.show_set_up_problems)
    assert list(problems) == [field]
    assert problems[field]
    assert page.set_ups == []


def test_all_wrong_fields_are_told_together(page):
    page.job.set_up_typed(replace(GOOD, celsius="x", meter="y", range_ohm="z"))
    assert set(last(page.view.show_set_up_problems)[0]) == {"celsius", "meter", "range_ohm"}


def test_an_empty_form_is_a_set_up_without_temperature():
    set_up, problems = read_set_up(SetUpTyped(), now=NOW)
    assert (set_up.celsius, set_up.meter, problems) == (None, None, {})


def test_tips_are_kept_only_where_they_are_taken_off():
    typed = replace(GOOD, lead_ohm="0.2")
    assert read_set_up(typed, now=NOW)[0].lead_ohm is None
    assert read_set_up(replace(typed, leads="subtract"), now=NOW)[0].lead_ohm == 0.2


def test_a_range_takes_the_suffix_of_the_meter():
    set_up, _ = read_set_up(replace(GOOD, range_ohm="60 M"), now=NOW)
    assert (set_up.range_ohm, set_up.set_at) == (6e7, NOW)


def test_one_line_says_what_this_meter_can_decide(page):
    page.job.set_up_typed(GOOD)
    assert last(page.view.show_capability) == ("This meter can decide 2 of 2 windings with limits.", ())


def test_a_coarse_meter_is_named_with_what_would_help(page):
    """Two counts of 0.5 ohm are 1 ohm of doubt in a band 1 ohm wide: nothing can pass."""
    page.job.set_up_typed(replace(GOOD, meter="0.9%+2x0.5"))
    (words, _) = last(page.view.show_capability)
    assert words.startswith("This meter can decide 0 of 2 windings with limits. Not: Gull, Heron. ")
    assert words.endswith(("would help.", "old and new body."))


@pytest.mark.parametrize(
    ("meter", "check"),
    [
        pytest.param("0.9%+2x0.5", "2 of 2", id="two steps 0.5/sqrt12 are 0.41 ohm, half the band is 0.5"),
        pytest.param("0.9%+2x1", "0 of 2, as now", id="two steps 1/sqrt12 are 0.82 ohm"),
    ],
)
def test_each_way_says_how_many_windings_it_would_decide(page, meter, check):
    """Volts ratio and a tenth of the step leave 0.3 ohm at most (by hand); the leads are nulled already."""
    page.job.set_up_typed(replace(GOOD, meter=meter))
    (_, ways) = last(page.view.show_capability)
    step = "0.05" if meter.endswith("0.5") else "0.1"
    assert ways == (
        ("Check resistor, same leads", check),
        ("Volts ratio against a resistor", "2 of 2"),
        (f"Range or meter with {step} \u03a9 steps", "2 of 2"),
    )


def test_a_way_that_is_taken_is_not_offered_again(page):
    page.check = Check(ohm=5.0, read_ohm=5.2, zero_ohm=0.2)
    page.job.set_up_typed(replace(GOOD, meter="0.9%+2x1"))
    (_, ways) = last(page.view.show_capability)
    assert "Check resistor, same leads" not in [way.words for way in ways]


def test_with_electronics_on_board_nothing_is_fed(page):
    page.bench.desk.variant = msgspec.structs.replace(page.bench.desk.variant, electronics_on_board=True)
    page.job.set_up_typed(replace(GOOD, meter="0.9%+2x1"))
    (_, ways) = last(page.view.show_capability)
    assert [way.words for way in ways] == ["Check resistor, same leads", "Range or meter with 0.1 \u03a9 steps"]


def test_without_limits_nothing_is_said_of_the_meter(page):
    page.bench.desk.variant = None
    page.job.start()
    assert last(page.view.show_capability) == ("No solenoid has both limits, so nothing can be said of the meter.", ())


def test_shift_when_and_feel_stand_in_one_line():
    job = OpenJob(session="s", job="9", shift="5-6", when="hot", feel="bump", odometer_km=184210.0, require_air=True)
    assert job_lines(job) == [
        ("Kind", "Complaint"),
        ("Complaint", "5-6, hot, bump"),
        ("Odometer, km", "184210"),
        ("Air tests", "asked for"),
    ]


def test_an_ambiguous_number_is_asked_about_and_not_guessed(page):
    assert not page.job.set_up_typed(replace(GOOD, leads="subtract", lead_ohm="1,234"))
    (problems,) = last(page.view.show_set_up_problems)
    assert "1.234 or 1234" in problems["lead_ohm"]


def test_a_check_in_force_is_counted_in(page):
    page.check = Check(ohm=5.0, read_ohm=5.2, zero_ohm=0.2)
    page.job.set_up_typed(GOOD)
    (words, _) = last(page.view.show_capability)
    assert words.startswith("This meter, with its meter check, can decide 2 of 2")


def test_looking_at_the_form_again_does_not_make_a_temperature_fresh(page):
    page.job.set_up_typed(GOOD)
    first = page.set_ups[-1].set_at
    page.job.set_up_typed(GOOD)
    assert page.set_ups[-1].set_at == first
    page.job.set_up_typed(replace(GOOD, is_celsius_anew=True))
    again = page.set_ups[-1].set_at
    assert again > first
    page.job.set_up_typed(replace(GOOD, celsius="24"))
    assert page.set_ups[-1].set_at > again


def test_lead_states_of_the_form_are_those_of_the_model():
    for state in LeadState:
        typed = replace(GOOD, leads=state.value, lead_ohm="0.2")
        assert read_set_up(typed, now=NOW)[0].leads is state
