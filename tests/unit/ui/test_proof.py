"""A check resistor and a volts ratio, question by question; the limits are 5 to 6 ohm."""

from __future__ import annotations

import json
from dataclasses import replace
from unittest.mock import create_autospec

import msgspec
import pytest

from tests.fakes.pins_bench import AT_20, VARIANT, Bench, last
from valvebench.model.entry import MeterCheck, Reading
from valvebench.model.meter import Check
from valvebench.model.words import LeadState, Verdict
from valvebench.ui.keeper import CLOSED
from valvebench.ui.pins.asking import NO_TEMPERATURE
from valvebench.ui.pins.proof import NO_PAIR, NOT_FED, NOT_HERE, ProofPresenter, ProofView
from valvebench.ui.pins.steps import OF_AN_EARLIER_JOB

COARSE = replace(AT_20, meter="0.9%+10x0.1", leads=LeadState.NEITHER)


class Page:
    """The pairs and what stands beside them; showing a pair ends a question, as on the page."""

    def __init__(self, *, set_up=COARSE, variant=VARIANT, remembered=None):
        self.bench = Bench(set_up=set_up, variant=variant)
        self.view = create_autospec(ProofView, instance=True)
        self.changes = 0
        self.proof = ProofPresenter(
            self.view, self.bench.keeper, self.bench.pins, changed=self._changed, remembered=lambda: remembered
        )
        self.bench.view.show_pair.side_effect = lambda *_: self.proof.forget()
        self.bench.start()

    def _changed(self):
        self.changes += 1

    def answer(self, *texts):
        for text in texts:
            self.proof.typed(text)
            self.proof.keep(text)

    @property
    def step(self):
        return last(self.view.show_step)[0]

    @property
    def effect(self):
        return last(self.view.show_effect)[0]

    @property
    def problem(self):
        return last(self.view.show_problem)[0]

    @property
    def kept(self):
        return [item.body for item in self.bench.desk.session.items]


@pytest.fixture
def page():
    return Page()


# -- the list ----------------------------------------------------------------------------------


def test_the_list_comes_with_the_whisker_of_its_first_way(page):
    page.proof.settle()
    (ways,) = last(page.view.show_ways)
    assert last(page.view.show_ghost) == (ways.rows[ways.first].ghost,)
    page.proof.choose(0)
    assert last(page.view.show_ghost) == (ways.rows[0].ghost,)


def test_without_a_question_there_is_neither_list_nor_whisker(page):
    page.bench.pins.set_set_up(AT_20)
    page.proof.settle()
    assert (last(page.view.show_ways), last(page.view.show_ghost)) == ((None,), (None,))


# -- a check resistor --------------------------------------------------------------------------


def test_the_first_time_value_tolerance_tips_and_reading_are_asked(page):
    page.proof.ask_check("")
    asked = [(page.step.big, page.step.unit, page.step.text)]
    for text in ("5", "0.1", "0.2"):
        page.answer(text)
        asked.append((page.step.big, page.step.unit, page.step.text))
    assert asked == [
        ("Its value", "\u03a9", ""),
        ("Tolerance", "%", "0.1"),
        ("Tips", "\u03a9", ""),
        ("5 \u03a9", "\u03a9", ""),
    ]


def test_it_is_kept_as_a_meter_check_of_this_set_up(page):
    page.proof.ask_check("")
    page.answer("5", "0.1", "0.2", "5.2")
    assert page.kept == [MeterCheck(check_ohm=5.0, read_ohm=5.2, check_pct=0.1, zero_read_ohm=0.2, meter="0.9%+10x0.1")]
    assert last(page.view.say)[0].endswith("It serves until meter or leads change.")
    assert page.changes == 1


def test_what_was_typed_comes_back_and_is_judged_with_it(page):
    """5.7 with 0.2 of leads against 5 ohm that reads 5.2: 5.5 ohm, and 0.1 of doubt in place of 1."""
    page.proof.typed("5.7")
    assert page.bench.reading.verdict is Verdict.CANT_TELL
    page.proof.ask_check("5.7")
    page.answer("5", "0.1", "0.2", "5.2")
    assert last(page.bench.view.set_field) == ("5.7",)
    assert (page.bench.reading.verdict, page.bench.reading.value) == (Verdict.PASS, pytest.approx(5.5))


def test_the_next_time_only_the_reading_is_asked_for_and_up_leads_to_the_rest(page):
    page.bench.pins.set_set_up(replace(COARSE, leads=LeadState.NULLED))
    page.proof.ask_check("")
    page.answer("4.7", "1", "4.8")
    page.proof.ask_check("")
    assert (page.step.big, page.step.known) == (
        "4.7 \u03a9",
        (("Check resistor", "4.7 \u03a9"), ("Its tolerance", "1 %")),
    )
    page.proof.previous()
    page.proof.previous()
    page.proof.previous()
    assert (page.step.big, page.step.text) == ("Its value", "4.7")
    page.answer("10", "1", "10.1")
    assert [(body.check_ohm, body.check_pct) for body in page.kept] == [(4.7, 1.0), (10.0, 1.0)]


def test_before_it_is_kept_it_says_how_many_windings_it_would_decide(page):
    page.proof.ask_check("")
    page.answer("5", "0.1", "0.2")
    page.proof.typed("5.2")
    assert page.effect == "With this check it could decide 2 of 2 windings with limits, now 0."
    assert page.kept == []


def test_the_promise_of_the_list_stays_in_sight(page):
    page.proof.settle()
    page.proof.ask_check("")
    assert page.effect.startswith("Now \u00b1 ")
    assert "; with it \u00b1 0.096 \u03a9: can decide" in page.effect


@pytest.mark.parametrize("text", ["", "-5", "0", "1,234", "five", "nan"])
def test_a_wrong_answer_is_said_and_the_question_stays(page, text):
    page.proof.ask_check("")
    page.proof.keep(text)
    assert page.problem
    assert (page.step.big, page.kept) == ("Its value", [])


def test_a_check_that_reads_less_than_the_tips_is_refused(page):
    page.proof.ask_check("")
    page.answer("5", "0.1", "0.2", "0.1")
    assert "more than the tips alone" in page.problem
    assert page.kept == []


# -- a volts ratio -----------------------------------------------------------------------------


def test_safety_stands_beside_every_question_of_a_volts_ratio(page):
    page.proof.ask_volts("")
    for text in ("5", "0.1", "0.75"):
        assert page.step.safety == (
            "Current-limited supply only, 0.1 to 0.2 A, a few seconds, the stated polarity.",
            "Unit de-energised and unplugged, static care; the part dry of solvent.",
        )
        page.answer(text)


def test_never_more_current_than_the_variant_states():
    variant = json.loads(VARIANT)
    variant["devices"][0]["max_ampere"] = 0.12
    page = Page(variant=json.dumps(variant).encode())
    page.proof.ask_volts("")
    assert "never above 0.12 A" in page.step.safety[0]


def test_it_is_kept_as_one_reading_with_both_voltages(page):
    """5 ohm x 0.825 V / 0.75 V = 5.5 ohm."""
    page.proof.ask_volts("")
    page.answer("5", "0.1", "0.75", "0.825")
    (body,) = page.kept
    assert isinstance(body, Reading)
    assert (body.pair, body.ohm, body.volts_check, body.volts_x) == (frozenset("13"), None, 0.75, 0.825)
    assert (body.check_ohm, body.check_pct, body.volts_meter) == (5.0, 0.1, "0.5%+2x0.001")
    assert page.bench.reading.value == pytest.approx(5.5)
    assert page.bench.reading.verdict is Verdict.PASS
    assert page.bench.pair.probe == "1 and 3"


def test_the_verdict_stands_while_the_last_voltage_is_typed(page):
    page.proof.ask_volts("")
    page.answer("5", "0.1", "0.75")
    page.proof.typed("0.825")
    assert last(page.view.show_reading)[0].verdict is Verdict.PASS
    page.proof.typed("")
    assert last(page.view.show_reading)[0].value is None


def test_the_assumed_volt_range_is_said_and_can_be_changed(page):
    page.proof.ask_volts("")
    assert ("Volt range", "0.5%+2x0.001, assumed") in page.step.known
    page.proof.previous()
    page.answer("0.1%+3x0.0001", "5", "0.1", "0.75", "0.825")
    assert page.kept[0].volts_meter == "0.1%+3x0.0001"


def test_only_solenoids_are_fed_and_never_electronics_on_board(page):
    page.bench.pins.pin_chosen("1")
    page.bench.pins.pin_chosen("case")
    page.proof.ask_volts("")
    assert last(page.view.say) == (NOT_FED,)
    page.bench.pins.choose("device Gull")
    page.bench.desk.variant = msgspec.structs.replace(page.bench.desk.variant, electronics_on_board=True)
    page.proof.ask_volts("")
    assert last(page.view.say) == (NOT_FED,)
    page.view.show_step.assert_not_called()


def test_without_a_coil_temperature_it_cannot_be_kept(page):
    page.bench.pins.set_set_up(replace(COARSE, celsius=None))
    page.proof.ask_volts("")
    assert page.problem == NO_TEMPERATURE


# -- ways out ----------------------------------------------------------------------------------


@pytest.mark.parametrize("begin", ["ask_check", "ask_volts"])
def test_escape_leaves_without_a_trace(page, begin):
    page.proof.typed("5.7")
    before = list(page.bench.store.lines)
    getattr(page.proof, begin)("5.7")
    page.answer("5", "0.1")
    page.proof.leave()
    assert page.bench.store.lines == before
    assert last(page.bench.view.set_field) == ("5.7",)
    assert page.bench.reading.verdict is Verdict.CANT_TELL
    page.proof.keep("5.7")
    assert [body.ohm for body in page.kept] == [5.7]


def test_escape_without_a_question_does_nothing(page):
    shown = page.bench.view.show_pair.call_count
    page.proof.leave()
    assert page.bench.view.show_pair.call_count == shown


def test_undo_takes_a_check_back(page):
    page.proof.ask_check("")
    page.answer("5", "0.1", "0.2", "5.2")
    page.bench.pins.undo()
    assert page.kept == []
    assert page.bench.pins.check_now() is None
    page.bench.pins.redo()
    assert page.bench.pins.check_now().ohm == 5.0


@pytest.mark.parametrize(
    ("begin", "answers"),
    [("ask_check", ("5", "0.1", "0.2", "5.2")), ("ask_volts", ("5", "0.1", "0.75", "0.825"))],
)
def test_a_failed_write_keeps_the_answers_and_can_be_tried_again(page, begin, answers):
    getattr(page.proof, begin)("")
    page.bench.store.is_full = True
    page.answer(*answers)
    assert page.problem.startswith("Not saved.")
    assert page.kept == []
    page.bench.store.is_full = False
    page.proof.keep(answers[-1])
    assert len(page.kept) == 1


def test_while_a_question_stands_open_and_skip_are_no_answers(page):
    page.proof.ask_check("")
    for act in (page.proof.keep_open, page.proof.skip):
        act()
        assert page.problem == NOT_HERE
    assert page.kept == []


def test_without_a_question_the_keys_belong_to_the_pair(page):
    page.proof.skip()
    assert page.bench.pair.probe == "2 and 3"
    page.proof.previous()
    assert page.bench.pair.probe == "1 and 3"
    page.bench.pins.set_set_up(replace(COARSE, range_ohm=6e7))
    page.proof.keep_open()
    assert page.kept[0].open


def test_choosing_another_pair_ends_the_question(page):
    page.proof.ask_check("")
    page.bench.pins.choose("device Heron")
    page.proof.keep("5.7")
    assert [(body.from_node, body.ohm) for body in page.kept] == [("2", 5.7)]


def test_escape_waits_for_a_write_on_its_way(page):
    page.proof.ask_check("")
    page.answer("5", "0.1", "0.2")
    page.bench.runner.is_held = True
    page.proof.keep("5.2")
    page.proof.leave()
    assert "Still keeping" in page.problem
    page.bench.runner.release()
    assert len(page.kept) == 1


def test_a_write_that_ends_after_one_went_elsewhere_is_shown_there(page):
    page.proof.ask_volts("")
    page.answer("5", "0.1", "0.75")
    page.bench.runner.is_held = True
    page.proof.keep("0.825")
    page.bench.pins.choose("device Heron")
    page.bench.runner.release()
    assert page.bench.pair.probe == "2 and 3"
    assert [row.between for row in last(page.bench.view.show_rows)[0]] == ["1\u20133"]


def test_nothing_is_asked_in_a_closed_session_or_without_a_pair(page):
    page.bench.desk.close()
    page.proof.ask_check("")
    assert last(page.view.say) == (CLOSED,)
    alone = Page(variant=None)
    alone.proof.ask_check("")
    assert last(alone.view.say) == (NO_PAIR,)
    page.proof.settle()
    assert last(page.view.show_ways) == (None,)


# -- a resistor of an earlier job --------------------------------------------------------------

ON_THE_BENCH = Check(ohm=4.7, read_ohm=4.7, pct=1.0)


@pytest.mark.parametrize("way", ["ask_check", "ask_volts"])
def test_a_resistor_of_an_earlier_job_is_asked_about_as_a_default(way):
    page = Page(remembered=ON_THE_BENCH)
    getattr(page.proof, way)("")
    assert (page.step.lead, page.step.text, page.step.expect) == ("Which check resistor?", "4.7", OF_AN_EARLIER_JOB)
    page.answer("4.7")
    assert (page.step.big, page.step.text) == ("Tolerance", "1")


def test_another_one_may_be_typed_over_it():
    page = Page(remembered=ON_THE_BENCH)
    page.proof.ask_check("")
    page.answer("5", "0.1", "0.2", "5.2")
    (body,) = page.kept
    assert (body.check_ohm, body.check_pct) == (5.0, 0.1)
    page.proof.ask_check("")
    assert page.step.big == "Tips", "within a job it is known and not asked again"


def test_the_list_names_the_one_on_the_bench():
    page = Page(remembered=ON_THE_BENCH)
    page.proof.settle()
    (ways,) = last(page.view.show_ways)
    assert "Check resistor 4.70 \u03a9, same leads" in [row.words for row in ways.rows]
