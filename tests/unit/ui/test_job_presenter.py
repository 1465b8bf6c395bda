"""The Job page: what came in, the set-up with its problems, and how a session is finished."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import AT_20, Bench, last, told
from valvebench.bench.evidence import ChainProblem, Verified
from valvebench.model.errors import WorldFailed
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.ui.job.presenter import JobPresenter, JobView, SetUpTyped, read_set_up
from valvebench.ui.set_up import SetUp

GOOD = SetUpTyped(meter="0.9%+2x0.01", celsius="23,4", temperature="taped", leads="nulled")
NOW = "2031-05-06T10:00:00.000Z"


def verified(*problems):
    return Verified(
        ok=not problems,
        entries=3,
        head="3-ab",
        tail=0,
        is_closed=True,
        anchors=(),
        problems=problems,
        notes=("Head as given.",),
    )


class World:
    """Verifies and writes workbooks as the test says."""

    def __init__(self) -> None:
        self.answer = verified()
        self.written: list[Path] = []
        self.is_full = False

    def verify(self, path, *, head=None):
        return self.answer

    def write_workbook(self, folder, target, *, rule=None):
        if self.is_full:
            raise WorldFailed("no space left")
        self.written.append(target)


class Page:
    """The Job page of one session."""

    def __init__(self, *, set_up: SetUp = AT_20) -> None:
        self.bench = Bench().start()
        self.view = create_autospec(JobView, instance=True)
        self.world = World()
        self.set_ups: list[SetUp] = []
        self.was_closed = 0
        self.job = JobPresenter(
            self.view,
            self.bench.desk,
            Path("job-1"),
            self.bench.runner,
            self.world,
            set_up=set_up,
            set_up_changed=self.set_ups.append,
            closed=self._closed,
        )

    def _closed(self) -> None:
        self.was_closed += 1

    @property
    def said(self):
        return self.view.say.call_args


@pytest.fixture
def page():
    return Page()


def test_it_shows_what_came_in_and_leaves_blanks_out(page):
    page.job.start()
    (lines,) = last(page.view.show_job)
    assert lines == [
        ("Job", "T-1"),
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
    assert last(page.view.show_capability) == ("This meter can decide 2 of 2 windings with limits.",)


def test_a_coarse_meter_is_named_with_what_would_help(page):
    """Two counts of 0.5 ohm are 1 ohm of doubt in a band 1 ohm wide: nothing can pass."""
    page.job.set_up_typed(replace(GOOD, meter="0.9%+2x0.5"))
    (words,) = last(page.view.show_capability)
    assert words.startswith("This meter can decide 0 of 2 windings with limits. Not: Gull, Heron. ")
    assert words.endswith(("would help.", "old and new body."))


def test_without_limits_nothing_is_said_of_the_meter(page):
    page.bench.desk.variant = None
    page.job.start()
    assert last(page.view.show_capability) == ("No solenoid has both limits, so nothing can be said of the meter.",)


def test_the_state_names_what_is_missing(page):
    page.job.show_judged(page.bench.pins.judgement())
    assert last(page.view.show_state)[1] == "Still missing: Gull, Heron, isolation of 1, 2, 3."
    assert page.view.show_state.call_args.kwargs == {"is_closed": False}


def test_with_everything_read_nothing_is_missing(page):
    for typed in ("5.5", "5.5", "60 M"):
        page.bench.key_in(typed)
    page.job.show_judged(page.bench.pins.judgement())
    assert last(page.view.show_state)[1] == "Nothing is missing."


def test_closing_gives_the_head_and_tells_the_window(page):
    page.job.close()
    assert page.bench.desk.session.is_closed
    assert page.said.args == (f"Closed. Head for tag and report: {page.bench.desk.session.head}",)
    assert page.was_closed == 1


def test_a_close_that_is_not_saved_is_told(page):
    page.bench.store.is_full = True
    page.job.close()
    assert (page.said.args, page.said.kwargs) == (("no space left",), {"is_problem": True})
    assert (page.bench.desk.session.is_closed, page.was_closed) == (False, 0)


def test_closing_twice_is_refused_in_words(page):
    page.job.close()
    page.job.close()
    assert page.said.kwargs == {"is_problem": True}
    assert page.was_closed == 1


def test_the_workbook_is_written_and_named(page):
    page.job.export(Path("out.xlsx"))
    assert told(page.view.say) == ["Writing the workbook \u2026", "Workbook written to out.xlsx"]
    assert page.world.written == [Path("out.xlsx")]


def test_a_workbook_that_cannot_be_written_is_told(page):
    page.world.is_full = True
    page.job.export(Path("out.xlsx"))
    assert (page.said.args, page.said.kwargs) == (("no space left",), {"is_problem": True})


def test_verify_says_that_all_is_as_it_was_written(page):
    page.job.verify()
    assert page.said.args == ("As it was written: 3 entries, head 3-ab. Head as given.",)
    assert page.said.kwargs == {}


def test_verify_names_the_first_line_that_differs(page):
    page.world.answer = verified(ChainProblem(line=2, what="the hash differs"))
    page.job.verify()
    assert page.said.args == ("Not as it was written: line 2, the hash differs",)
    assert page.said.kwargs == {"is_problem": True}


def test_a_fault_of_ours_is_not_hidden(page):
    page.world.verify = lambda *_, **__: 1 / 0
    with pytest.raises(ZeroDivisionError):
        page.job.verify()


def test_lead_states_of_the_form_are_those_of_the_model():
    for state in LeadState:
        typed = replace(GOOD, leads=state.value, lead_ohm="0.2")
        assert read_set_up(typed, now=NOW)[0].leads is state
