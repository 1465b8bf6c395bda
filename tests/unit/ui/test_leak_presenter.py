"""The decisions of the leak page: readings, what they say, the entry; nothing typed is lost.

Hand arithmetic of the two gauges: a choked restriction of C passes C times its absolute supply.  With 900 kPa above
an air of 100 kPa that is 10 bar: 0.004 dm3/(s bar) pass 0.04 dm3/s, 2400 ml/min at 20 degrees and 100 kPa
(ISO 6358; 350 kPa behind it is 0.35 of the supply, below the critical ratio of 0.5).
"""

from __future__ import annotations

import pytest

from tests.fakes.leak_bench import LeakBench
from valvebench.diagnose.leak_setup import UNCHECKED
from valvebench.model.leak import LeakMethod
from valvebench.model.words import Verdict
from valvebench.ui.keeper import CLOSED
from valvebench.ui.leak import page
from valvebench.ui.leak.shown import NONE_PROPOSED, plain_words

TWO_GAUGES = {
    "restriction": "conductance",
    "restriction_c": "0.0004",
    "restriction_b": "0.5",
    "zero_kpa": "0",
    "gauge": "0.5%+1x0.1",
    "celsius": "20",
    "ambient_kpa_abs": "100",
}
FALL = b"t_s,kpa_gauge\n" + b"".join(b"%d,%.2f\n" % (t, 250 - 0.2 * t) for t in range(61))


@pytest.fixture
def bench():
    made = LeakBench(fall_csv=FALL, bad_csv=b"t_s,kpa\n0,250\n10,240\n")
    made.set_up(**TWO_GAUGES)
    return made


def decay(bench, **more):
    bench.leak.begin("P4")
    bench.set_up(volume_ml="50", zero_kpa="0", gauge="0.5%+1x0.1", held_s="20", **more)
    return bench


# -- two gauges --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("c", "ml_min", "verdict"),
    [
        pytest.param("0.0004", 240.0, Verdict.PASS, id="240-of-400"),
        pytest.param("0.004", 2400.0, Verdict.FAIL, id="2400"),
    ],
)
def test_one_pair_is_a_proved_verdict_and_enter_keeps_it(bench, c, ml_min, verdict):
    bench.set_up(restriction_c=c)
    bench.enter("900", "250")
    assert bench.result.verdict is verdict
    assert bench.result.ruler.value == pytest.approx(ml_min, rel=1e-3)
    assert bench.result.ruler.limit == 400
    bench.enter("")
    (body,) = bench.bodies
    assert (body.port, body.method, body.supply_kpa_gauge, body.port_kpa_gauge) == (
        "P1",
        LeakMethod.STEADY,
        (900.0,),
        (250.0,),
    )
    assert body.found.leak_ml_min.value == pytest.approx(ml_min, rel=1e-3)
    assert bench.lines == []
    assert bench.said.startswith("Kept: entry 2, ")
    assert bench.port.kept.startswith("Kept here: entry 2")


def test_what_has_to_be_said_first_is_named(bench):
    bench.set_up(restriction_c="")
    bench.enter("900", "250")
    assert bench.result.headline == "Still to be said: conductance, dm\u00b3/(s bar)."
    assert bench.last("show_field_problems").args[1] == "restriction_c"
    bench.enter("")
    assert bench.bodies == []
    bench.set_up(restriction_c="0.0004")
    assert bench.result.verdict is Verdict.PASS


def test_a_line_is_corrected_and_removed(bench):
    bench.enter("900", "250", "900", "240")
    bench.leak.previous_line()
    assert (bench.asked.text, bench.asked.lead) == ("900", "Correct line 2")
    bench.enter("900", "251")
    assert bench.lines == [("1", "900", "250"), ("2", "900", "251")]
    bench.leak.line_chosen(0)
    bench.leak.remove()
    assert bench.lines == [("1", "900", "251")]
    bench.leak.remove()
    assert bench.lines == []
    bench.leak.remove()
    assert bench.problem == page.NO_LINE
    bench.enter("")
    assert bench.problem == page.NO_READING


def test_enter_with_half_a_line_keeps_nothing(bench):
    bench.enter("900", "250", "900", "")
    assert (bench.problem, bench.bodies) == (page.NO_READING, [])


def test_a_number_that_means_two_is_asked_about(bench):
    bench.enter("1,234")
    assert bench.last("show_problem").kwargs == {"is_question": True}
    bench.enter("2", "250")
    assert bench.lines == [("1", "1234", "250")]


def test_other_units_are_taken_and_shown_in_kilopascal(bench):
    bench.enter("9 bar", "36.25943 psi")  # 36.25943 lbf/in2 are 250 kPa (NIST SP 811: 6.894757 kPa each)
    assert bench.lines == [("1", "900", "250")]
    bench.enter("abc")
    assert "36 psi" in bench.problem


def test_a_pressure_above_the_stated_one_is_said(bench):
    bench.enter("900", "256")
    assert bench.said == "Above the 250 kPa that the variant states: lower it."
    bench.enter("900", "254")
    assert bench.said == ""


def test_nothing_is_proposed_where_no_pressure_is_stated(bench):
    assert bench.port.pressure == (
        "Raise the supply until the port stands at 250 kPa, as the variant states, and no further."
    )
    bench.leak.begin("P2")
    assert (bench.port.pressure, bench.port.limit) == (NONE_PROPOSED, "No limit is stated.")
    bench.leak.begin("P3")
    bench.leak.method_chosen(0)
    assert bench.port.pressure == NONE_PROPOSED


def test_exchanged_gauges_are_refused_and_nothing_is_kept(bench):
    bench.enter("250", "900")
    assert bench.result.is_problem
    assert "exchanged" in bench.result.headline
    bench.enter("")
    assert bench.bodies == []


# -- from port to port -------------------------------------------------------------------------


def test_the_set_up_goes_on_to_the_next_port_and_to_the_next_day(bench):
    bench.enter("900", "250", "")
    bench.leak.next_port()
    assert bench.port.name == "P2"
    assert bench.texts == {**TWO_GAUGES}
    bench.enter("900", "100")
    assert bench.result.verdict is Verdict.NO_LIMIT
    again = bench.open()
    assert {name: again.texts[name] for name in TWO_GAUGES if name != "restriction"} == {
        name: text for name, text in TWO_GAUGES.items() if name != "restriction"
    }
    assert again.texts["restriction"] == "conductance"


def test_on_another_day_what_belongs_to_a_day_is_read_anew(bench, monkeypatch):
    bench.enter("900", "250", "")
    monkeypatch.setattr(bench.desk, "now", lambda: "2031-05-07T08:00:00.000Z")
    again = bench.open()
    assert again.texts["restriction_c"] == "0.0004"
    assert {"zero_kpa", "celsius", "ambient_kpa_abs"}.isdisjoint(again.texts)


def test_what_is_not_kept_waits_at_its_port(bench):
    bench.enter("900", "250")
    bench.leak.next_port()
    assert bench.lines == []
    bench.leak.begin("P1")
    assert bench.lines == [("1", "900", "250")]


def test_a_limit_is_typed_where_the_variant_states_none(bench):
    bench.leak.begin("P2")
    bench.set_up(max_ml_min="100")
    bench.enter("900", "250")
    assert bench.result.verdict is Verdict.FAIL
    assert bench.port.limit == "At most 100 ml/min."


# -- known things ------------------------------------------------------------------------------


def test_a_restriction_is_calibrated_against_a_known_bore(bench):
    """A bore of 0.5 mm is 0.0391 dm3/(s bar) (0.1992 a square millimetre); choked at 3 bar it passes 0.1173 dm3/s."""
    bench.set_up(restriction="calibrated", cal_mm="0.5", cal_pct="1", cal_supply="1400", cal_port="200")
    computed = bench.last("show_computed").args[0]
    assert computed.startswith("Calibrated: 0.00782")  # 0.1173 dm3/s at 15 bar
    bench.enter("1400", "200", "")
    (body,) = bench.bodies
    assert body.restriction_c == pytest.approx(0.1173 / 15, rel=1e-3)
    assert body.restriction_mm is None
    assert "bore of 0.5 mm (1 %): supply 1400 kPa, port 200 kPa" in body.note


def test_a_calibration_that_says_nothing_is_told_at_its_field(bench):
    bench.set_up(restriction="calibrated", cal_mm="0.5", cal_supply="100", cal_port="200")
    assert "Exchanged" in bench.last("show_field_problems").args[0]["cal_port"]


def test_a_volume_is_measured_by_expansion(bench):
    """Boyle: 300 kPa above the air around fall to 200 where 20 ml are added to 40."""
    decay(bench, volume="expansion", exp_ml="20", exp_from="300", exp_to="200")
    assert bench.last("show_computed").args[0].startswith("Measured: 40 ml")
    bench.enter("0", "250", "20", "245", "")
    (body,) = bench.bodies
    assert body.volume_ml == pytest.approx(40)
    assert body.note == "Volume by expansion into 20 ml (1 %): 300 to 200 kPa."


def test_a_wrong_field_is_told_where_it_stands(bench):
    bench.set_up(gauge="good")
    bench.enter("900", "250")
    assert "0.9%+2x0.1" in bench.last("show_field_problems").args[0]["gauge"]
    assert bench.result.headline == page.PUT_RIGHT
    bench.set_up(gauge="", celsius="500")
    assert "celsius" in bench.last("show_field_problems").args[0]
    assert "--" not in bench.result.headline


# -- vacuum ------------------------------------------------------------------------------------


def test_the_pump_is_read_first_and_serves_the_next_port_too(bench):
    bench.leak.begin("P3")
    bench.set_up(known_hole_mm="0.5")
    assert bench.asked.words == "Pump on a blank"
    bench.enter("85")
    assert bench.asked.words == "Pump on the known hole"
    bench.enter("52")
    assert bench.result.verdict is None
    bench.enter("84", "")
    (body,) = bench.bodies
    assert (body.blank_kpa, body.known_kpa, body.vacuum_kpa, body.port) == (85.0, 52.0, (84.0,), "P3")
    bench.leak.next_port()
    bench.leak.method_chosen(1)
    assert [line[:2] for line in bench.lines] == [("the blank", "85"), ("the known hole", "52")]
    assert bench.asked.words == "On the bore, reading 1"


def test_a_pump_read_anew_is_that_of_every_port(bench):
    bench.leak.begin("P3")
    bench.enter("85", "52")
    bench.leak.begin("P1")
    bench.leak.method_chosen(1)
    bench.leak.line_chosen(0)
    bench.leak.remove()
    bench.enter("80", "50")
    bench.leak.begin("P3")
    assert [line[1] for line in bench.lines] == ["80", "50"]


def test_another_blank_asks_for_the_pump_anew(bench):
    bench.leak.begin("P3")
    bench.enter("85", "52", "84")
    bench.leak.line_chosen(0)
    bench.leak.remove()
    assert bench.lines == []
    assert bench.asked.words == "Pump on a blank"


# -- a falling pressure ------------------------------------------------------------------------


def test_verdicts_come_at_doubling_times_only(bench):
    decay(bench)
    bench.enter("0", "250")
    assert bench.result.headline == page.ONE_READING
    bench.enter("3", "250")
    assert bench.result.verdict is None
    assert bench.result.headline.endswith("The verdict comes at 5 s.")
    bench.enter("6", "250")
    assert bench.result.verdict is not None
    bench.enter("8", "250")
    assert bench.result.verdict is None
    bench.enter("11", "250", "")
    (body,) = bench.bodies
    assert any("watched" in reason for reason in body.found.reasons)


def test_the_blank_of_another_hose_is_not_taken_off(bench):
    decay(bench, hose_id="short", blank_ml_min="1")
    bench.set_up(hose_id="long")
    assert bench.said == page.OTHER_HOSE
    assert "blank_ml_min" not in bench.texts


def test_times_that_do_not_grow_are_refused_in_words(bench):
    decay(bench)
    bench.enter("0", "250", "20", "249", "10", "248")
    assert bench.result.headline.startswith("time: found 10 s after 20 s")


def test_two_readings_are_one_look(bench):
    decay(bench)
    bench.enter("0", "250", "60", "249.9")
    assert bench.result.verdict is Verdict.PASS
    assert not any("watched" in line for line in bench.result.lines)


def test_steps_are_ticked_and_the_clock_takes_the_times(bench):
    decay(bench)
    steps = bench.last("show_protocol").args[0]
    assert [step.is_done for step in steps] == [True, False, False, False, False]
    bench.leak.step_done()  # the blank test is left out
    bench.leak.step_done()
    bench.watch.s += 16.4
    bench.leak.tick()
    assert bench.last("show_protocol").args[1] == "Open for 16 s of 15. With a wide bore wait for 30."
    bench.leak.step_done()
    assert bench.texts["held_s"] == "16"
    bench.watch.s += 5
    bench.leak.tick()
    assert bench.last("show_protocol").args[1] == "Start now."
    bench.leak.step_done()
    assert bench.asked.words == "Gauge"
    bench.leak.typed("2")
    bench.watch.s += 3  # the time is that of the first sign, not of Enter
    bench.leak.keep("250")
    bench.watch.s += 20
    bench.enter("249.5")
    assert bench.lines == [("1", "0", "250"), ("2", "23", "249.5")]
    bench.enter("")
    assert (bench.bodies[0].t_s, bench.bodies[0].held_s) == ((0.0, 23.0), 16)
    assert "held_s" not in bench.texts, "the next run has its own"
    assert bench.asked.words == "Time since the start"


def test_the_blank_test_of_a_hose_is_taken_off(bench):
    decay(bench)
    bench.leak.blank_taken()
    assert bench.said == page.NO_BLANK
    bench.enter("0", "250", "60", "249.5")
    with_hose = bench.result.ruler.value
    bench.leak.blank_taken()
    assert float(bench.texts["blank_ml_min"]) == pytest.approx(with_hose, rel=0.01)
    assert (bench.lines, bench.bodies) == ([], [])
    bench.enter("0", "250", "60", "249.5")
    assert bench.result.ruler.value == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize(
    ("volume", "words"),
    [
        pytest.param("50", "This limit needs about 30 ml.", id="large-enough"),
        pytest.param("20", "This limit needs about 30 ml; the vessel has 20 ml: add a known chamber", id="too-small"),
    ],
)
def test_the_vessel_that_a_limit_needs(bench, volume, words):
    """400 ml/min in a minute are 400 / 3.51 bar = 114 ml of vessel; for a rate of 1 in 15 s a quarter of that."""
    bench.leak.method_chosen(2)
    bench.set_up(volume_ml=volume)
    assert bench.last("show_computed").args[0].startswith(words)


def test_a_fall_too_fast_asks_for_a_chamber(bench):
    decay(bench)
    bench.enter("0", "250", "1", "200", "2", "160", "3", "127", "6", "60")
    assert any("Add a known chamber" in line for line in bench.result.lines)
    assert bench.result.verdict is Verdict.CANT_TELL


# -- files -------------------------------------------------------------------------------------


def test_a_file_is_looked_at_then_kept(bench):
    decay(bench)
    bench.leak.file_named("fall.csv")
    assert "at hand" in bench.said
    assert bench.result.ruler is not None
    bench.enter("250")
    assert bench.problem == page.FILE_AT_HAND
    bench.enter("")
    (body,) = bench.bodies
    assert (body.file_name, body.size_bytes, body.is_logged) == ("fall.csv", len(FALL), True)
    assert bench.desk.photo(body.sha256) == FALL


def test_a_file_that_cannot_be_used_is_refused_with_its_message(bench):
    decay(bench)
    bench.leak.file_named("bad.csv")
    assert bench.said.startswith("Not taken. ")
    assert "_gauge" in bench.said
    bench.leak.method_chosen(0)
    bench.leak.file_named("fall.csv")
    assert "supply" in bench.said


def test_a_file_is_put_away_again(bench):
    decay(bench)
    bench.leak.file_named("fall.csv")
    bench.leak.remove()
    bench.enter("")
    assert (bench.bodies, bench.problem) == ([], page.NO_READING)


# -- keeping, and taking back ------------------------------------------------------------------


def test_enter_waits_for_the_answer_that_is_on_its_way(bench):
    bench.reader.is_held = True
    bench.enter("900", "250", "")
    assert bench.bodies == []
    bench.reader.release()
    assert len(bench.bodies) == 1


def test_what_is_typed_after_enter_is_not_kept_with_it(bench):
    bench.reader.is_held = True
    bench.enter("900", "250", "", "900", "100")
    assert bench.said == page.NOT_KEPT_YET
    bench.reader.release()
    assert bench.bodies == []
    bench.enter("")
    assert bench.bodies[0].port_kpa_gauge == (250.0, 100.0)


@pytest.mark.parametrize("is_full", [False, True], ids=["kept", "refused"])
def test_what_is_typed_while_the_disk_is_slow_stays(bench, is_full):
    bench.enter("900", "250")
    bench.runner.is_held, bench.store.is_full = True, is_full
    bench.enter("", "900", "251")
    fields = bench.view.set_field.call_count
    bench.runner.release()
    assert bench.view.set_field.call_count == fields, "what is in the field now is left alone"
    first = [("1", "900", "250")] if is_full else []
    assert [line[1:] for line in bench.lines] == [line[1:] for line in [*first, ("2", "900", "251")]]
    assert len(bench.bodies) == (not is_full)


def test_only_the_newest_answer_counts(bench):
    bench.reader.is_held = True
    bench.enter("900", "250", "900", "100")
    bench.reader.release()
    results = [call.args[0] for call in bench.view.show_result.call_args_list if call.args[0].ruler]
    assert len(results) == 1


def test_what_could_not_be_saved_still_stands_there(bench):
    bench.enter("900", "250")
    bench.store.is_full = True
    bench.enter("")
    assert bench.said == "Not saved. no space left. The readings still stand here: Enter tries again."
    assert bench.lines == [("1", "900", "250")]
    bench.store.is_full = False
    bench.enter("")
    assert len(bench.bodies) == 1


def test_what_was_kept_stands_there_again(bench):
    bench.enter("900", "250", "")
    assert bench.result.about == "kept, entry 2"
    again = bench.open()
    assert (again.result.about, again.result.verdict) == ("kept, entry 2", Verdict.PASS)
    again.enter("900", "100")
    assert again.result.about == ""


def test_undo_gives_the_readings_back_and_redo_the_entry(bench):
    bench.enter("900", "250", "")
    bench.leak.taking_back.undo()
    assert (bench.bodies, bench.lines) == ([], [("1", "900", "250")])
    assert bench.said == "Entry 2 taken back. Both stay in the trail."
    bench.leak.taking_back.redo()
    assert len(bench.bodies) == 1
    bench.leak.taking_back.undo()
    bench.leak.taking_back.undo()
    assert bench.said == page.NOTHING_HERE


def test_a_closed_session_is_shown_and_not_typed(bench):
    bench.enter("900", "250", "")
    bench.desk.close()
    again = bench.open()
    assert again.last("set_enabled").kwargs == {"is_enabled": False}
    assert again.said == CLOSED
    again.enter("900")
    again.leak.step_done()
    again.leak.file_named("fall.csv")
    assert len(again.bodies) == 1


def test_back_to_ports_says_what_was_kept(bench):
    bench.enter("900", "250", "")
    bench.leak.left()
    port, words = bench.last("leave").args
    assert port == "port P1"
    assert words.startswith("Kept: entry 2, 240")


def test_no_option_of_the_command_is_read_on_the_page():
    words = "Gauge or absolute, and the unit, were not checked: give --zero-kpa or --test-kpa-gauge."
    assert plain_words(words) == UNCHECKED, "as entries of earlier programs keep it"
    assert plain_words("--known-hole-mm: found 0") == "known hole: found 0"
    assert plain_words("85 kPa beside --known-kpa 90") == "85 kPa beside vacuum on the known hole 90"
