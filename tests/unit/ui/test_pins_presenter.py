"""The Pins page as a person meets it: what is shown, kept and said, key by key.

Limits are those of the invented body in conftest: 5 to 6 ohm at 20 degrees Celsius, copper.
"""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.fakes.pins_bench import AT_20, last, told
from valvebench.model.entry import SolenoidTest
from valvebench.model.errors import WorldFailed
from valvebench.model.words import Verdict
from valvebench.ui.keeper import CLOSED
from valvebench.ui.pins.asking import ASK_RANGE, NO_TEMPERATURE, NO_VARIANT, STILL_KEEPING
from valvebench.ui.set_up import SetUp


def shown_rows(bench):
    """The rows on the page now: what was shown, then put and dropped, by number."""
    rows = {}
    for name, args, _ in bench.view.method_calls:
        if name == "show_rows":
            rows = {row.number: row for row in args[0]}
        elif name == "put_row":
            rows[args[0].number] = args[0]
        elif name == "drop_row":
            rows.pop(args[0], None)
    return list(rows.values())


# -- the pair at hand --------------------------------------------------------------------------


def test_it_starts_at_the_first_pair_without_a_reading(bench):
    assert (bench.pair.probe, bench.pair.what) == ("1 and 3", "Solenoid Gull, linear")


def test_it_expects_the_limits_of_a_cold_coil_at_20_degrees(bench):
    assert bench.pair.expect == "expect 5.00 to 6.00 \u03a9 at 20 \u00b0C"


def test_it_expects_more_of_a_warm_coil(make_bench):
    """(234.5 + 40) / (234.5 + 20) = 1.07859 by hand: 5.393 and 6.472, rounded inward."""
    bench = make_bench(set_up=replace(AT_20, celsius=40.0)).start()
    assert bench.pair.expect == "expect 5.40 to 6.47 \u03a9 at 40 \u00b0C"


def test_the_field_waits_until_the_session_is_judged(make_bench):
    bench = make_bench()
    bench.runner.is_held = True
    bench.start()
    assert told(bench.view.set_enabled) == [False]
    bench.runner.release()
    assert told(bench.view.set_enabled) == [False, True]


def test_without_a_variant_nothing_is_asked_for(make_bench):
    bench = make_bench(variant=None).start()
    assert last(bench.view.show_pair) == (None, NO_VARIANT)
    assert told(bench.view.set_enabled)[-1] is False
    bench.pins.keep("5.5")
    bench.pins.keep_open()
    assert bench.kept == []


def test_skip_and_previous_walk_without_keeping_anything(bench):
    bench.pins.skip()
    assert bench.pair.probe == "2 and 3"
    bench.pins.previous()
    bench.pins.previous()
    assert (bench.pair.probe, bench.pair.what) == ("1 and case", "Isolation to the case")
    assert bench.kept == []


def test_two_pins_chosen_make_the_pair_red_first(bench):
    bench.pins.pin_chosen("4")
    assert bench.said == "Pin 4 for the red tip. Choose the other one."
    bench.pins.pin_chosen("3")
    assert (bench.pair.red, bench.pair.black, bench.pair.what) == ("4", "3", "Not wired")


def test_a_pair_asked_for_is_found_from_either_end(bench):
    bench.pins.pin_chosen("3")
    bench.pins.pin_chosen("2")
    assert bench.pair.what == "Solenoid Heron, linear"


def test_the_same_pin_twice_is_still_the_first_of_two(bench):
    bench.pins.pin_chosen("2")
    bench.pins.pin_chosen("2")
    bench.pins.pin_chosen("3")
    assert bench.pair.what == "Solenoid Heron, linear"


# -- typing and keeping ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "verdict"),
    [
        pytest.param("5.5", Verdict.PASS, id="half an ohm inside, its doubt below 0.2 by hand"),
        pytest.param("6.5", Verdict.FAIL, id="half an ohm outside"),
        pytest.param("5.01", Verdict.CANT_TELL, id="0.01 inside, the meter alone doubts 0.03 by hand"),
    ],
)
def test_the_verdict_stands_while_typing(bench, typed, verdict):
    bench.pins.typed(typed)
    assert bench.reading.verdict is verdict
    assert bench.kept == []


@pytest.mark.parametrize("typed", ["", "-", "5.", "5..5", "five", "OL", "1,234"])
def test_what_is_no_number_yet_shows_the_limits_alone(bench, typed):
    bench.pins.typed("5.5")
    bench.pins.typed(typed)
    assert bench.reading.value is None or typed == "5."
    assert (bench.reading.low, bench.reading.high) == (5.0, 6.0)
    assert bench.problem == ""


def test_enter_keeps_and_goes_on_to_the_next_pair(bench):
    bench.key_in("5.5")
    assert bench.kept == [("1", "3", 5.5)]
    assert bench.pair.probe == "2 and 3"
    assert last(bench.view.set_field) == ("",)


def test_the_kept_reading_carries_the_set_up(bench):
    bench.key_in("5.5")
    body = bench.desk.session.items[0].body
    assert (body.celsius, body.temperature, body.meter, body.leads) == (
        AT_20.celsius,
        AT_20.temperature,
        AT_20.meter,
        AT_20.leads,
    )


def test_the_verdict_is_painted_before_anything_is_written(bench):
    bench.view.later.side_effect = None
    bench.pins.keep("5.5")
    assert bench.reading.verdict is Verdict.PASS
    assert bench.view.paint_now.called
    assert len(bench.store.lines) == 1
    bench.view.put_row.assert_not_called()


def painted_and_emptied(bench):
    names = ("show_reading", "paint_now", "set_field")
    return [call[0] for call in bench.view.mock_calls if call[0] in names]


def test_a_value_put_in_at_once_has_its_verdict_painted_before_its_field_is_emptied(bench):
    bench.view.later.side_effect = None
    bench.view.reset_mock()
    bench.pins.keep("5.5")
    assert painted_and_emptied(bench) == ["show_reading", "paint_now", "set_field"]
    assert last(bench.view.set_field) == ("",)


def test_a_verdict_that_stands_since_the_last_key_is_not_drawn_again(bench):
    bench.view.later.side_effect = None
    bench.pins.typed("5.5")
    bench.view.reset_mock()
    bench.pins.keep("5.5")
    assert painted_and_emptied(bench) == ["set_field", "paint_now"]


def test_a_row_says_keeping_until_it_is_on_disk_then_gets_its_mark(bench):
    bench.runner.is_held = True
    bench.key_in("5.5")
    (row,) = shown_rows(bench)
    assert (row.at_ref, row.verdict, row.entries) == ("keeping", None, ())
    assert last(bench.view.show_progress) == (0, 3)
    bench.runner.release()
    (row,) = shown_rows(bench)
    assert (row.between, row.ohm, row.verdict, row.entries) == ("1\u20133", "5.50", Verdict.PASS, (2,))
    assert last(bench.view.show_progress) == (1, 3)
    assert bench.said == "Kept 1\u20133, Gull: 5.50 \u03a9. Pass."


def test_a_quick_disk_shows_no_keeping_row_at_all(bench):
    bench.view.if_it_takes_long.side_effect = None
    bench.key_in("5.5")
    rows = [call.args[0] for call in bench.view.put_row.call_args_list]
    assert [row.verdict for row in rows] == [Verdict.PASS]
    wondering = bench.view.if_it_takes_long.call_args.args[0]
    wondering()
    assert bench.view.put_row.call_count == 1


def test_what_was_heard_is_no_reading(bench):
    bench.key_in("5.5")
    bench.keeper.keep(SolenoidTest(device="Gull", click=True), kept=lambda *_: None, failed=pytest.fail)
    bench.pins.reload()
    assert [row.between for row in shown_rows(bench)] == ["1\u20133"]


def test_a_repeat_joins_the_row_of_its_pair(bench):
    bench.key_in("5.5")
    bench.pins.previous()
    bench.key_in("5.52")
    (row,) = shown_rows(bench)
    assert (row.what, row.entries) == ("Gull, 2 times", (2, 3))


def test_a_failed_write_puts_the_value_back(bench):
    bench.store.is_full = True
    bench.key_in("5.5")
    assert bench.pair.probe == "1 and 3"
    assert last(bench.view.set_field) == ("5.5",)
    assert bench.problem == "Not saved. no space left"
    assert (shown_rows(bench), bench.kept) == ([], [])


def test_after_a_failed_write_the_same_reading_can_be_kept(bench):
    bench.store.is_full = True
    bench.key_in("5.5")
    bench.store.is_full = False
    bench.pins.keep("5.5")
    assert bench.kept == [("1", "3", 5.5)]


def test_a_fault_of_ours_is_not_hidden(bench):
    bench.store.append = lambda line: 1 / 0
    with pytest.raises(ZeroDivisionError):
        bench.key_in("5.5")
    assert last(bench.view.set_field) == ("5.5",)


def test_one_reading_at_a_time_is_unsaved_the_next_enter_waits(bench):
    bench.runner.is_held = True
    bench.key_in("5.5")
    bench.key_in("5.6")
    assert bench.problem == STILL_KEEPING
    assert len(shown_rows(bench)) == 1
    bench.runner.release()
    assert bench.kept == [("1", "3", 5.5), ("2", "3", 5.6)]


def test_open_waits_for_its_turn_too(make_bench):
    bench = make_bench(set_up=replace(AT_20, range_ohm=6e7)).start()
    bench.runner.is_held = True
    bench.key_in("5.5")
    bench.pins.keep_open()
    bench.runner.release()
    assert bench.kept == [("1", "3", 5.5), ("2", "3", None)]


def test_a_bounced_enter_keeps_nothing_twice(bench):
    bench.view.later.side_effect = None
    bench.pins.keep("5.5")
    assert last(bench.view.set_field) == ("",)
    bench.pins.keep("")
    send = bench.view.later.call_args.args[0]
    send()
    assert bench.kept == [("1", "3", 5.5)]
    assert bench.problem == ""


def test_the_line_of_a_reading_is_made_after_its_verdict_was_painted(bench, monkeypatch):
    order, prepare = [], bench.desk.prepare
    monkeypatch.setattr(bench.desk, "prepare", lambda body: order.append("made") or prepare(body))
    bench.view.paint_now.side_effect = lambda: order.append(bench.reading.verdict)
    bench.view.later.side_effect = None
    bench.pins.keep("5.5")
    assert order == [Verdict.PASS]
    assert bench.keeper.is_busy, "its place is held: nothing written elsewhere comes before it"
    bench.view.later.call_args.args[0]()
    assert order == [Verdict.PASS, "made"]
    assert bench.kept == [("1", "3", 5.5)]


def test_a_reading_whose_line_cannot_be_made_comes_back_into_the_field(bench):
    bench.view.later.side_effect = None
    bench.pins.keep("5.5")
    bench.keeper.let_go()
    bench.view.later.call_args.args[0]()
    assert bench.kept == []
    assert bench.pair.probe == "1 and 3"
    assert last(bench.view.set_field) == ("5.5",)
    assert bench.problem == "Not saved. The entry was given up after a fault. Type it again."
    bench.view.later.side_effect = lambda act: act()
    bench.pins.keep("5.5")
    assert bench.kept == [("1", "3", 5.5)]


@pytest.mark.parametrize("typed", ["", "five", "5..5", "5 m", "1e400"])
def test_what_cannot_be_read_is_said_and_stays_in_the_field(bench, typed):
    bench.view.set_field.reset_mock()
    bench.pins.keep(typed)
    assert bench.problem
    bench.view.set_field.assert_not_called()
    assert bench.kept == []


def test_a_decimal_comma_is_a_decimal_point(bench):
    bench.key_in("5,5")
    assert bench.kept == [("1", "3", 5.5)]


def test_without_a_coil_temperature_nothing_is_kept(make_bench):
    bench = make_bench(set_up=SetUp()).start()
    bench.key_in("5.5")
    assert (bench.problem, bench.kept) == (NO_TEMPERATURE, [])


def test_with_another_set_up_the_pair_is_shown_anew(make_bench):
    bench = make_bench(set_up=SetUp()).start()
    bench.pins.set_set_up(AT_20)
    bench.key_in("5.5")
    assert bench.kept == [("1", "3", 5.5)]


# -- questions ---------------------------------------------------------------------------------


def test_open_asks_for_the_range_once(bench):
    bench.pins.keep_open()
    assert (last(bench.view.show_problem), bench.kept) == ((ASK_RANGE,), [])
    bench.key_in("60 M")
    assert [(i.body.open, i.body.range_ohm) for i in bench.desk.session.items] == [(True, 6e7)]
    assert bench.set_ups[-1].range_ohm == 6e7
    bench.pins.keep_open()
    assert len(bench.kept) == 2


@pytest.mark.parametrize("range_typed", ["", "x", "0", "-5", "OL"])
def test_no_range_no_open_reading(bench, range_typed):
    bench.pins.keep_open()
    bench.key_in(range_typed)
    assert (bench.problem, bench.kept) == (ASK_RANGE, [])


def test_open_is_also_what_a_meter_shows(make_bench):
    bench = make_bench(set_up=replace(AT_20, range_ohm=400.0)).start()
    bench.key_in("OL")
    (row,) = shown_rows(bench)
    assert (row.ohm, row.verdict) == ("> 400", Verdict.FAIL)


def test_open_on_400_ohm_does_not_prove_isolation(make_bench):
    bench = make_bench(set_up=replace(AT_20, range_ohm=400.0)).start()
    bench.pins.previous()
    bench.pins.keep_open()
    (row,) = shown_rows(bench)
    assert row.verdict is Verdict.CANT_TELL


@pytest.mark.parametrize(("answer", "ohm"), [("1", 1.234), ("2", 1234.0)])
def test_1_comma_234_asks_which_and_keeps_the_answer(bench, answer, ohm):
    bench.key_in("1,234")
    assert last(bench.view.show_problem)[0].startswith("Is it 1.234 or 1234 \u03a9? Type 1 for 1.234, 2 for 1234")
    assert bench.kept == []
    bench.key_in(answer)
    assert bench.kept == [("1", "3", ohm)]


def test_another_reading_instead_of_an_answer_drops_the_question(bench):
    bench.key_in("1,234")
    bench.key_in("12")
    assert bench.kept == [("1", "3", 12.0)]


def test_a_deleted_answer_leaves_the_question(bench):
    bench.key_in("1,234")
    bench.pins.typed("1")
    bench.pins.typed("")
    bench.key_in("2")
    assert bench.kept == [("1", "3", 1234.0)]


def test_walking_on_drops_the_question(bench):
    bench.key_in("1,234")
    bench.pins.skip()
    bench.key_in("2")
    assert bench.kept == [("2", "3", 2.0)]


def test_a_chosen_value_that_is_not_saved_comes_back_whole(bench):
    bench.key_in("1,234")
    bench.store.is_full = True
    bench.key_in("2")
    assert last(bench.view.set_field) == ("1234",)


# -- taking back -------------------------------------------------------------------------------


def test_undo_withdraws_and_redo_restores(bench):
    bench.key_in("5.5")
    bench.pins.undo()
    assert (bench.kept, shown_rows(bench)) == ([], [])
    assert bench.said == "Withdrawn: entry 2. Nothing is lost, both stay in the trail."
    bench.pins.redo()
    assert bench.kept == [("1", "3", 5.5)]
    assert bench.said.startswith("Restored: entry 2.")
    assert [entry.kind for entry in bench.desk.session.entries] == ["open-job", "reading", "withdraw", "restore"]


def test_nothing_to_undo_or_redo_is_said(bench):
    bench.pins.undo()
    assert bench.said == "Nothing to undo."
    bench.pins.redo()
    assert bench.said == "Nothing to redo."


def test_undo_waits_for_the_reading_on_its_way(bench):
    bench.key_in("5.5")
    bench.runner.is_held = True
    bench.key_in("5.6")
    bench.pins.undo()
    assert bench.said == STILL_KEEPING
    bench.runner.release()
    assert len(bench.kept) == 2


def test_a_row_is_taken_back_from_its_newest_reading(bench):
    bench.key_in("5.5")
    bench.pins.previous()
    bench.key_in("5.52")
    bench.pins.withdraw((2, 3))
    assert bench.kept == [("1", "3", 5.5)]


def test_what_was_withdrawn_cannot_be_withdrawn_again(bench):
    bench.key_in("5.5")
    bench.pins.withdraw((2,))
    bench.pins.withdraw((2,))
    assert last(bench.view.say) != ()
    assert bench.view.say.call_args.kwargs == {"is_problem": True}


def test_an_undo_that_is_not_saved_changes_nothing(bench):
    bench.key_in("5.5")
    bench.store.is_full = True
    bench.pins.undo()
    assert bench.kept == [("1", "3", 5.5)]
    assert (bench.said, bench.view.say.call_args.kwargs) == ("no space left", {"is_problem": True})


def test_a_closed_session_is_only_looked_at(make_bench):
    bench = make_bench()
    bench.desk.close()
    bench.start()
    assert told(bench.view.set_enabled)[-1] is False
    assert bench.said == CLOSED
    assert last(bench.view.show_pair)[0].clip == "What was read between", "nobody is asked to clip a lead any more"
    bench.key_in("5.5")
    assert bench.kept == []
    assert bench.problem


def test_a_session_closed_elsewhere_takes_no_more(bench):
    bench.desk.close()
    bench.pins.reload()
    assert told(bench.view.set_enabled)[-1] is False


# -- marks, progress, plot ---------------------------------------------------------------------


def marks(bench):
    return last(bench.view.show_marks)[0]


def test_a_pin_shows_its_device_a_common_only_faults_of_its_own(bench):
    bench.key_in("6.5")
    bench.key_in("5.5")
    shown = marks(bench)
    assert shown["1"] == (Verdict.FAIL, "Gull, fail")
    assert shown["2"] == (Verdict.PASS, "Heron, pass")
    assert shown["3"] == (None, "common of Gull, Heron")
    assert shown["4"] == (None, "")


def test_a_common_that_leaks_to_the_case_shows_it(bench):
    bench.pins.previous()
    bench.key_in("100")
    assert marks(bench)["3"][0] is Verdict.FAIL


def test_an_untouched_pin_has_no_mark(bench):
    assert marks(bench)["1"] == (None, "Gull, not taken")


def test_the_plot_holds_the_readings_of_the_device_at_hand(bench):
    bench.key_in("5.5")
    bench.pins.previous()
    plot = last(bench.view.show_plot)[0]
    assert plot.title == "Gull against its temperature"
    ((celsius, ohm, expanded, verdict),) = plot.marks
    assert (celsius, ohm, verdict) == (20.0, 5.5, Verdict.PASS)
    assert 0.05 < expanded < 0.2
    assert plot.here_celsius == 20.0


def test_the_band_of_copper_moves_with_temperature(bench):
    """At 120 degrees Celsius: 5 ohm * (234.5 + 120) / (234.5 + 20) = 6.9646 ohm, by hand."""
    celsius, low, _ = last(bench.view.show_plot)[0].band[-1]
    assert (celsius, low) == (120.0, pytest.approx(6.9646, abs=5e-5))


def test_the_window_hears_of_every_change(bench):
    before = bench.changes
    bench.key_in("5.5")
    assert bench.changes == before + 1
    assert bench.pins.judgement().missing


def test_when_all_is_read_it_stays_at_the_last_pair(make_bench):
    bench = make_bench(set_up=replace(AT_20, range_ohm=6e7)).start()
    for typed in ("5.5", "5.5", "OL"):
        bench.key_in(typed)
    assert bench.pair.probe == "1 and case"
    assert last(bench.view.show_progress) == (3, 3)
    assert bench.pins.judgement().missing == ()


def test_a_session_that_cannot_be_judged_says_why(make_bench, monkeypatch):
    bench = make_bench()

    def refuse(*_, **__):
        raise WorldFailed("The disk went away.")

    monkeypatch.setattr("valvebench.ui.keeper.book_of", refuse)
    bench.start()
    assert (bench.said, bench.view.say.call_args.kwargs) == ("The disk went away.", {"is_problem": True})


BEHIND_A_CONTACT = json.dumps(
    {
        "format": 1,
        "key": "tern-contact",
        "title": "Quillon Tern, a sensor behind a contact (invented)",
        "pins": [{"name": name} for name in "123"],
        "devices": [
            {
                "name": "Fluid",
                "kind": "temperature_sensor",
                "between": ["1", "2"],
                "points": [[20, 2540, 2800], [80, 300, 350]],
                "in_series_with": "Stork",
            },
            {"name": "Gull", "kind": "solenoid", "between": ["3", "2"], "low_ohm": 5.0, "high_ohm": 6.0},
            {"name": "Stork", "kind": "switch", "between": ["3", "case"]},
        ],
        "selector_codes": [
            {"position": "P", "switches": {"Stork": "closed"}},
            {"position": "D", "switches": {"Stork": "open"}},
        ],
    }
).encode()


def test_where_the_lever_stands_is_asked_for_and_kept_where_it_matters(make_bench):
    bench = make_bench(variant=BEHIND_A_CONTACT).start()
    pair = last(bench.view.show_pair)[0]
    assert pair.expect.endswith("say where the lever stands: F7")
    bench.pins.set_lever("D")
    assert last(bench.view.show_pair)[0].expect.endswith("lever in D")
    bench.pins.keep_open()
    bench.pins.keep("60 M")
    kept = bench.desk.session.items_of("reading")[-1].body
    assert (kept.selector, kept.open) == ("D", True)
    assert bench.keeper.book.verdict_of("device Fluid") is Verdict.NOT_USABLE
    bench.pins.choose("device Gull")
    bench.pins.keep("5.5")
    assert bench.desk.session.items_of("reading")[-1].body.selector is None


def test_the_verdict_while_typing_counts_the_contact(make_bench):
    bench = make_bench(variant=BEHIND_A_CONTACT).start()
    bench.pins.keep_open()
    bench.pins.keep("60 M")
    shown = next(c.args[0] for c in reversed(bench.view.show_reading.call_args_list) if c.args[0].open_above)
    assert shown.verdict is Verdict.NOT_USABLE
    assert shown.sentence.startswith("Not usable: this sensor is read through Stork")


WITH_A_DIODE = json.dumps(
    {
        "format": 1,
        "key": "tern-diode",
        "title": "Quillon Tern, a diode across a solenoid (invented)",
        "pins": [{"name": name} for name in "12"],
        "devices": [
            {"name": "Gull", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 5.0, "high_ohm": 6.0},
            {"name": "Dot", "kind": "diode", "between": ["1", "2"], "across": "Gull", "anode": "1"},
        ],
    }
).encode()


def test_a_pair_with_a_diode_is_asked_for_the_right_way_round_and_says_so(make_bench):
    bench = make_bench(variant=WITH_A_DIODE).start()
    pair = last(bench.view.show_pair)[0]
    assert (pair.red, pair.black) == ("2", "1")
    assert pair.expect.endswith("red on 2: the diode blocks")
    bench.pins.pin_chosen("1")
    bench.pins.pin_chosen("2")
    pair = last(bench.view.show_pair)[0]
    assert (pair.red, pair.expect.endswith("red on 1: the diode may conduct")) == ("1", True)


def test_the_verdict_while_typing_counts_the_diode_and_the_other_way_round(make_bench):
    bench = make_bench(variant=WITH_A_DIODE).start()
    bench.pins.pin_chosen("1")
    bench.pins.pin_chosen("2")
    bench.pins.typed("5.5")
    assert last(bench.view.show_reading)[0].verdict is Verdict.CANT_TELL
    bench.pins.choose("device Gull")
    bench.pins.keep("5.5")
    bench.pins.pin_chosen("1")
    bench.pins.pin_chosen("2")
    bench.pins.typed("5.5")
    assert last(bench.view.show_reading)[0].verdict is Verdict.PASS
    bench.pins.typed("0.6")
    assert last(bench.view.show_reading)[0].verdict is Verdict.NOT_USABLE


def test_a_diode_across_a_solenoid_makes_no_common_of_its_pin(make_bench):
    bench = make_bench(variant=WITH_A_DIODE).start()
    bench.pins.keep("5.5")
    marks = last(bench.view.show_marks)[0]
    assert marks["1"] == marks["2"] == (Verdict.PASS, "Gull, pass")
