"""What the Ports page asks, keeps and says, without Qt."""

from __future__ import annotations

import pytest

from tests.fakes.ports_bench import QUESTIONS, PortsBench, variant_with
from valvebench.model.entry import AirTest, Note, SolenoidTest, SwitchTest
from valvebench.model.words import AirResult, Place, SwitchState, Verdict
from valvebench.ui.keeper import BUSY, CLOSED
from valvebench.ui.ports import page as p
from valvebench.ui.ports.heard import KEEPING
from valvebench.ui.ports.presenter import PortsPresenter
from valvebench.ui.ports.shown import AIR_HAZARD, AIR_SAFETY, SUPPLY_HAZARD

SAFETY = [
    "regulated and dry",
    "never oxygen",
    "at or under the stated pressure",
    "eye protection",
    "never toward skin",
    "rated for the pressure",
    "never a bottle or glass",
    "vent before opening",
    "clear of open bores",
    "a rag over the exit",
    "never into electronics",
]


@pytest.fixture
def bench():
    return PortsBench()


def p2(result, **given):
    return AirTest(port="P2", place=Place.BODY, result=AirResult(result), **given)


def at(bench, key):
    """Walk down to a question."""
    for _ in QUESTIONS:
        if bench.asked.key == key:
            return bench
        bench.press("d")
    raise AssertionError(key)


def test_the_first_question_in_words(bench):
    asked = bench.asked
    assert (asked.name, asked.place) == ("P1, clutch Auk", "Clutch circuit in the case")
    assert asked.expect == "A dull thud as the clutch applies, then air holds."
    assert asked.pressure == "At most 250 kPa gauge, as the variant states."
    assert asked.hazards == (AIR_HAZARD,)
    assert bench.view.set_enabled.call_args.args == (True,)


@pytest.mark.parametrize("words", SAFETY)
def test_the_safety_line_is_whole(words):
    assert words in AIR_SAFETY.lower()


def test_body_and_case_are_told_apart_and_states_are_named(bench):
    bench.press("d")
    assert (bench.asked.place, bench.asked.states) == ("Port of the valve body", "Selector D, Gull off")
    bench.press("d")
    assert bench.asked.states == "Selector D, Gull on"


def test_no_stated_pressure_proposes_none(bench):
    at(bench, "port P3 0")
    assert bench.asked.pressure == "No pressure is stated: none is proposed."
    assert bench.view.show_gauge.call_args.args == ("", "")


def test_one_key_keeps_and_the_next_comes(bench):
    bench.press("+")
    assert bench.bodies == [AirTest(port="P1", place=Place.CASE, result=AirResult.PASS)]
    assert bench.asked.key == "port P2 0"
    assert bench.said == "Kept P1, as expected. Pass."
    assert bench.view.show_progress.call_args.args == (1, len(QUESTIONS))


def test_a_row_is_keeping_until_it_is_on_disk(bench):
    bench.runner.is_held = True
    bench.press("+")
    (row,) = bench.table().values()
    assert (row.what, row.heard, row.verdict) == ("P1", KEEPING, None)
    assert bench.asked.key == "port P2 0"
    assert len(bench.store.lines) == 1
    bench.runner.release()
    assert [(n, row.heard, row.verdict) for n, row in bench.table().items()] == [(2, "as expected", Verdict.PASS)]


def test_fast_keys_wait_for_the_disk_in_their_order(bench):
    bench.runner.is_held = True
    bench.press("+-,")
    assert len(bench.table()) == 3
    bench.runner.release()
    assert [body.result.value for body in bench.bodies] == ["pass", "fail", "bleeds"]
    assert list(bench.table()) == [2, 3, 4]


# COMMANDS: `bleeds` is Pass where it is expected, otherwise Fail, without an expectation No limit;
# `not_possible` is Not taken.
@pytest.mark.parametrize(
    ("key", "pressed", "verdict"),
    [
        ("port P2 0", ",", Verdict.FAIL),
        ("port P2 1", ",", Verdict.PASS),
        ("port P3 0", ",", Verdict.NO_LIMIT),
        ("port P1 0", "*", Verdict.NOT_TAKEN),
        ("port P1 0", "-", Verdict.FAIL),
    ],
)
def test_verdicts_by_ear(bench, key, pressed, verdict):
    at(bench, key).press(pressed)
    assert [row.verdict for row in bench.table().values()] == [verdict]


def test_a_failed_write_says_so_and_asks_again(bench):
    bench.view.take_note.return_value = "soft hiss"
    bench.store.is_full = True
    bench.press("+")
    assert bench.said == "Not saved. no space left. Answer again."
    assert (bench.asked.key, bench.table()) == ("port P1 0", {})
    assert bench.view.set_note.call_args.args == ("soft hiss",)
    bench.store.is_full = False
    bench.press("-")
    assert [body.result for body in bench.bodies] == [AirResult.FAIL]


def test_a_failed_write_takes_the_answers_behind_it_along(bench):
    bench.runner.is_held = True
    bench.press("++")
    bench.store.is_full = True
    bench.runner.release()
    assert "Nor were the answers after it" in bench.said
    assert (bench.asked.key, bench.table(), bench.bodies) == ("port P1 0", {}, [])


def test_a_fault_of_ours_is_not_hidden(bench, monkeypatch):
    def broken(_):
        raise ZeroDivisionError

    monkeypatch.setattr(bench.desk, "write", broken)
    with pytest.raises(ZeroDivisionError):
        bench.press("+")
    assert bench.said.startswith("Not saved.")


def test_up_and_down_walk_round(bench):
    bench.press("u")
    assert bench.asked.key == QUESTIONS[-1]
    bench.press("d")
    assert bench.asked.key == QUESTIONS[0]


def test_after_the_last_the_skipped_ones_come_back(bench):
    bench.press("d+++")
    assert bench.asked.key == "switch Reel rest"
    at(bench, "solenoid Knot air_on").press("d")
    at(bench, "solenoid Knot click").press("+++")
    assert bench.asked.key == "port P1 0"


def test_a_note_goes_with_its_answer(bench):
    bench.view.take_note.return_value = "  hose kinked "
    bench.press("-")
    assert bench.bodies[0].note == "hose kinked"
    assert "hose kinked" in bench.table()[2].tip


def test_another_answer_counts_beside_the_first(bench):
    bench.press("-u+u")
    assert [body.result for body in bench.bodies] == [AirResult.FAIL, AirResult.PASS]
    assert bench.asked.verdict is Verdict.FAIL


# -- the gauge -----------------------------------------------------------------------------------


def test_the_gauge_goes_with_every_answer_and_is_remembered(bench):
    assert bench.ports.gauge_typed("250,5", " shop ")
    bench.press("+")
    assert (bench.bodies[0].kpa_gauge, bench.bodies[0].gauge_id) == (250.5, "shop")
    assert bench.open().view.show_gauge.call_args.args == ("250.5", "shop")


def test_the_gauge_of_a_switch_is_remembered_too(bench):
    bench.desk.record(SwitchTest(device="Reel", state=SwitchState.OPEN, kpa_gauge=180.0))
    bench.desk.record(SwitchTest(device="Reel", state=SwitchState.OPEN))
    assert bench.open().view.show_gauge.call_args.args == ("180", "")


@pytest.mark.parametrize("text", ["much", "0", "-5", "1e9", "12 3"])
def test_a_pressure_that_cannot_be_is_refused(bench, text):
    assert not bench.ports.gauge_typed(text, "")
    assert bench.view.show_gauge_problem.call_args.args[0].startswith("gauge pressure")


def test_above_the_stated_pressure_is_said(bench):
    bench.ports.gauge_typed("300", "")
    assert bench.asked.warning == "300 kPa is above the 250 kPa stated for P1: turn it down first."
    bench.ports.gauge_typed("250", "")
    assert bench.asked.warning == ""


# -- switches and solenoids ----------------------------------------------------------------------


def test_a_switch_has_no_bleeds(bench):
    at(bench, "switch Reel").press(",")
    assert (bench.said, bench.bodies) == (p.NO_SUCH_ANSWER, [])


def test_a_linear_solenoid_asks_once_for_the_supply(bench):
    at(bench, "solenoid Gull click")
    assert bench.asked.is_confirmation
    assert bench.asked.hazards == (SUPPLY_HAZARD,)
    assert "current-limited supply" in SUPPLY_HAZARD[1]
    bench.press("+")
    assert not bench.asked.is_confirmation
    assert bench.bodies == []
    bench.press("+++")
    assert [type(body) for body in bench.bodies] == [SolenoidTest] * 3
    assert all(row.verdict is Verdict.PASS for row in bench.table().values())


def test_without_such_a_supply_its_solenoids_are_passed_over(bench):
    at(bench, "solenoid Gull click").press("-")
    assert (bench.said, bench.asked.key) == (p.NO_SUPPLY, "solenoid Gull air_off")
    at(bench, "solenoid Knot click")
    assert not bench.asked.is_confirmation


def test_other_keys_do_not_confirm(bench):
    at(bench, "solenoid Gull click").press("*,")
    assert bench.asked.is_confirmation


def test_no_click_leaves_its_air_out(bench):
    at(bench, "solenoid Gull click").press("+-")
    assert bench.asked.key == "solenoid Knot click"
    at(bench, "solenoid Gull air_off").press("+")
    assert bench.said == p.NO_CLICK
    assert [(body.device, body.click) for body in bench.bodies] == [("Gull", False)]


def test_air_before_the_click_is_refused(bench):
    at(bench, "solenoid Gull air_off").press("+")
    assert (bench.said, bench.bodies) == (p.CLICK_FIRST, [])


def test_a_click_on_its_way_to_the_disk_is_enough(bench):
    at(bench, "solenoid Gull click").press("+")
    bench.runner.is_held = True
    bench.press("++")
    bench.runner.release()
    assert len(bench.bodies) == 2


# -- undo, closing, other pages ------------------------------------------------------------------


def test_undo_goes_back_to_its_question_and_redo_restores(bench):
    bench.press("+-")
    bench.ports.taking_back.undo()
    assert (bench.asked.key, bench.asked.verdict) == ("port P2 0", None)
    assert bench.said == "Withdrawn: entry 3. Nothing is lost, both stay in the trail."
    assert list(bench.table()) == [2]
    bench.ports.taking_back.redo()
    assert (bench.asked.verdict, list(bench.table())) == (Verdict.FAIL, [2, 3])


def test_nothing_to_undo(bench):
    bench.ports.taking_back.undo()
    assert bench.said == "Nothing to undo."
    bench.ports.taking_back.redo()
    assert bench.said == "Nothing to redo."


def test_undo_waits_for_the_disk(bench):
    bench.press("+")
    bench.runner.is_held = True
    bench.press("+")
    bench.ports.taking_back.undo()
    assert bench.said == BUSY
    bench.runner.release()


def test_a_failed_undo_says_so(bench):
    bench.press("+")
    bench.store.is_full = True
    bench.ports.taking_back.undo()
    assert bench.said == "Not saved. no space left."


def test_a_line_is_taken_back(bench):
    bench.press("++")
    bench.ports.taking_back.withdraw(2)
    assert list(bench.table()) == [3]
    assert bench.asked.key == "port P1 0"


def test_a_closed_session_is_only_read(bench):
    bench.press("+")
    bench.desk.close()
    bench.open()
    assert bench.view.set_enabled.call_args.args == (False,)
    bench.press("+")
    bench.ports.taking_back.withdraw(2)
    assert bench.said == CLOSED
    assert len(bench.bodies) == 1
    assert at(bench, "solenoid Gull click").asked.is_confirmation is False


def test_opened_again_it_goes_on_where_it_was(bench):
    bench.press("+*")
    assert bench.open().asked.key == "port P2 1"
    assert [row.number for row in bench.view.show_rows.call_args.args[0]] == [2, 3]


def test_refresh_takes_up_what_changed_elsewhere(bench):
    bench.desk.record(AirTest(port="P1", place=Place.CASE, result=AirResult.FAIL))
    bench.ports.refresh()
    assert list(bench.table()) == [2]
    assert bench.view.show_marks.call_args.args[0]["P1"] is Verdict.FAIL
    shown = bench.view.show_rows.call_count
    bench.ports.refresh()
    assert bench.view.show_rows.call_count == shown


def test_refresh_before_the_start_does_nothing(bench):
    bench.view.reset_mock()
    PortsPresenter(bench.view, bench.desk, bench.keeper).refresh()
    assert bench.view.mock_calls == []


def test_marks_of_the_board_and_the_port_at_hand(bench):
    bench.press("+")
    marks, current = bench.view.show_marks.call_args.args
    assert (marks, current) == ({"P1": Verdict.PASS, "P2": None, "P3": None}, "P2")


@pytest.mark.parametrize(
    ("results", "verdict"),
    [
        pytest.param(["pass", None], None, id="one of two answers is not the port"),
        pytest.param(["bleeds", None], Verdict.FAIL, id="a fail is"),
        pytest.param(["pass", "bleeds"], Verdict.PASS, id="both right"),
        pytest.param(["pass", "fail"], Verdict.FAIL, id="one wrong"),
        pytest.param(["pass", "not_possible"], Verdict.NOT_TAKEN, id="one not possible"),
    ],
)
def test_a_port_is_marked_once_each_of_its_settings_has_an_answer(bench, results, verdict):
    for state, result in zip(("off", "on"), results, strict=True):
        if result is not None:
            bench.desk.record(p2(result, selector="D", solenoids={"Gull": state}))
    assert bench.open().view.show_marks.call_args.args[0]["P2"] is verdict


def test_an_answer_that_does_not_say_what_was_set_leaves_both_questions_open(bench):
    bench.desk.record(p2("pass"))
    bench.open().ports.port_chosen("P2")
    assert (bench.asked.key, bench.asked.verdict) == ("port P2 0", None)
    assert bench.view.show_marks.call_args.args[0]["P2"] is Verdict.NOT_USABLE
    (row,) = bench.table().values()
    assert (row.verdict, row.expected) == (Verdict.NOT_USABLE, "holds or bleeds")


def test_findings_lead_to_the_very_question_or_to_the_port(bench):
    bench.ports.choose("port P2 (selector D, Gull on)")
    assert bench.asked.key == "port P2 1"
    bench.ports.choose("port P3 (selector R)")
    assert bench.asked.key == "port P3 0"


def test_a_port_is_chosen_at_its_first_open_question(bench):
    bench.press("d+")
    bench.ports.port_chosen("P2")
    assert bench.asked.key == "port P2 1"
    bench.ports.choose("function Knot")
    assert bench.asked.key == "solenoid Knot click"


def test_all_answered_points_to_findings(bench):
    bench.ports.gauge_typed("200", "")
    bench.press("+" * (len(QUESTIONS) + 1))
    assert bench.said.endswith(p.ALL_ANSWERED)
    assert len(bench.bodies) == len(QUESTIONS)


@pytest.mark.parametrize(("variant", "words"), [(None, p.NO_VARIANT), (variant_with(ports=[], devices=[]), p.NO_PORTS)])
def test_the_empty_page_says_what_it_is_for(variant, words):
    bench = PortsBench(variant=variant)
    assert bench.view.show_empty.call_args.args == (words,)
    assert bench.view.set_enabled.call_args.args == (False,)
    bench.press("+-ud")
    bench.ports.gauge_typed("10", "")
    assert len(bench.store.lines) == 1


def test_other_entries_are_no_lines(bench):
    bench.desk.record(Note(text="x"))
    bench.ports.refresh()
    assert bench.table() == {}
