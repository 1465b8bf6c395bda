"""A heat run in rounds on the Pins page: a settled temperature, then every winding once, and again.

The two solenoids of the bench lie between 1 and 3 (Gull) and 2 and 3 (Heron), 5 to 6 ohm at 20 degrees; all invented.
"""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from tests.fakes.pins_bench import AT_20, VARIANT, last
from tests.fakes.rounds_bench import RoundsBench
from tests.unit.ui.test_pins_presenter import WITH_A_DIODE
from valvebench.model.entry import Close, Correct, Reading, Withdraw
from valvebench.model.words import AccessPoint, LeadState, TemperatureSource
from valvebench.ui.keeper import CLOSED
from valvebench.ui.pins.asking import STILL_KEEPING
from valvebench.ui.pins.rounds_words import HOT_SAFE, NO_WINDINGS, ON_BOARD

OHM_AT = {"20": ("5.5", "5.4"), "60": ("6.4", "6.2"), "90": ("7.0", "6.9")}
"""Gull and Heron at three plateaus, about what copper does; invented."""


@pytest.fixture
def bench():
    return RoundsBench().start()


@pytest.fixture
def one_round(bench):
    bench.rounds.start()
    bench.answer("20", *OHM_AT["20"])
    return bench


# -- a settled temperature, then every winding -------------------------------------------------


def test_it_begins_with_the_settled_temperature_of_the_first_round(bench):
    bench.rounds.start()
    assert (bench.question.big, bench.question.unit, bench.question.text) == ("Round 1", "\u00b0C", "20")
    assert bench.question.what == "Probe taped to the can, \u00b1 2 \u00b0C"


def test_a_temperature_of_an_hour_ago_is_not_offered():
    old = replace(AT_20, set_at="2031-05-06T08:00:00.000Z")
    bench = RoundsBench(set_up=old).start()
    bench.rounds.start()
    assert bench.question.text == ""


def test_safety_stands_beside_every_question(one_round):
    assert one_round.question.safety == HOT_SAFE
    words = " ".join(HOT_SAFE)
    for hazard in ("Dry of solvent", "slowly", "gloves", "lowest rating", "flash point", "touches the can"):
        assert hazard in words


def test_each_reading_says_its_round_and_temperature(one_round):
    one_round.answer("60", *OHM_AT["60"])
    assert one_round.in_rounds == [(1, 20, "1", 5.5), (1, 20, "2", 5.4), (2, 60, "1", 6.4), (2, 60, "2", 6.2)]
    assert {item.body.temperature for item in one_round.desk.session.items} == {TemperatureSource.TAPED}


def test_only_windings_are_gone_round_and_the_clip_stays(bench):
    bench.rounds.start()
    bench.answer("20")
    pairs = [(bench.pair.red, bench.pair.black, bench.pair.clip)]
    bench.answer("5.5")
    pairs.append((bench.pair.red, bench.pair.black, bench.pair.clip))
    assert [(red, black) for red, black, _ in pairs] == [("1", "3"), ("2", "3")]
    assert pairs[1][2] == "Leave black on 3, probe"


def test_after_the_last_pair_the_next_temperature_is_asked_in_the_same_field(one_round):
    assert (one_round.question.big, one_round.question.text) == ("Round 2", "")
    assert "wait until the probe stands still" in one_round.question.expect


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("60", "Round 2: heating from 20 \u00b0C."),
        ("5", "Round 2: cooling from 20 \u00b0C."),
        ("20.4", "Round 2: at the same temperature."),
    ],
)
def test_heating_or_cooling_follows_from_the_temperatures(one_round, typed, words):
    one_round.rounds.typed(typed)
    assert last(one_round.board.show_expect)[0] == words


def test_the_set_up_of_the_bench_goes_with_the_round(one_round):
    one_round.answer("60")
    assert one_round.pins.set_up.celsius == 60
    assert one_round.set_ups[-1] == one_round.pins.set_up
    assert one_round.pair.expect.endswith("at 60 \u00b0C")


@pytest.mark.parametrize("text", ["", "warm", "1000", "nan", "1e400", "-80"])
def test_what_is_no_coil_temperature_is_refused_and_the_question_stays(one_round, text):
    one_round.rounds.keep(text)
    assert last(one_round.board.show_problem)[0]
    assert one_round.question.big == "Round 2"


def test_open_is_kept_in_its_round(bench):
    bench.pins.set_set_up(replace(AT_20, range_ohm=6e7))
    bench.rounds.start()
    bench.answer("20")
    bench.rounds.keep_open()
    (body,) = [item.body for item in bench.desk.session.items]
    assert (body.open, body.round) == (True, 1)


def test_a_volts_ratio_belongs_to_its_round_too(bench):
    bench.rounds.start()
    bench.answer("20")
    bench.proof.ask_volts("")
    bench.answer("5", "0.1", "0.75", "0.825")
    (body,) = [item.body for item in bench.desk.session.items]
    assert (body.round, body.volts_x) == (1, 0.825)


# -- how it was measured -----------------------------------------------------------------------


def test_one_key_says_how_the_temperature_was_read(one_round):
    one_round.rounds.turn()
    assert last(one_round.board.show_what)[0] == "Infra-red on matt tape, \u00b1 3 \u00b0C"
    one_round.answer("60", "6.4")
    assert one_round.desk.session.items[-1].body.temperature is TemperatureSource.IR_TAPE


def test_beside_a_pair_the_same_key_turns_the_connector_over(one_round):
    one_round.answer("60")
    one_round.rounds.turn()
    one_round.board.turn_over.assert_called_once()


def test_a_part_that_never_settled_is_no_choice(bench):
    bench.pins.set_set_up(replace(AT_20, temperature=TemperatureSource.NOT_SOAKED))
    bench.rounds.start()
    seen = {bench.question.what}
    for _ in range(8):
        bench.rounds.turn()
        seen.add(last(bench.board.show_what)[0])
    assert len(seen) == 5
    assert not any("washer" in words or "not measured" in words for words in seen)


# -- ways through the rounds -------------------------------------------------------------------


def test_a_round_can_be_left_incomplete_and_gone_back_to(bench):
    bench.rounds.start()
    bench.answer("20", "5.5")
    bench.rounds.leave()
    assert "still lacks Heron" in bench.question.expect
    bench.answer("60", "6.4", "6.2")
    bench.rounds.previous()
    bench.rounds.previous()
    assert (bench.question.big, bench.question.text) == ("Round 1", "20")
    bench.rounds.keep("20")
    assert bench.pair.red == "2"
    bench.answer("5.4")
    assert bench.in_rounds[-1] == (1, 20, "2", 5.4)
    assert bench.question.big == "Round 3"


def test_the_same_temperature_goes_on_in_a_round_that_lacks_a_pair(bench):
    bench.rounds.start()
    bench.answer("20", "5.5")
    bench.rounds.leave()
    bench.answer("20", "5.4")
    assert [number for number, *_ in bench.in_rounds] == [1, 1]


def test_a_skipped_pair_comes_back_before_the_next_temperature(bench):
    bench.rounds.start()
    bench.answer("20")
    bench.rounds.skip()
    bench.answer("5.4")
    assert (bench.question, bench.pair.red) == (None, "1")
    bench.answer("5.5")
    assert bench.question.big == "Round 2"


def test_down_beyond_the_last_pair_asks_for_the_next_and_up_before_the_first_for_this_one(one_round):
    one_round.answer("60", "6.4")
    one_round.rounds.skip()
    assert one_round.question.big == "Round 3"
    one_round.rounds.previous()
    one_round.rounds.keep("60")
    assert one_round.pair.red == "2"
    one_round.rounds.previous()
    one_round.rounds.previous()
    assert (one_round.question.big, one_round.question.lead) == ("Round 2", "Kept as")


def test_before_the_first_reading_the_temperature_can_simply_be_typed_again(one_round):
    one_round.answer("66")
    one_round.rounds.previous()
    assert (one_round.question.big, one_round.question.text) == ("Round 2", "66")
    one_round.answer("60", "6.4")
    assert one_round.in_rounds[-1] == (2, 60, "1", 6.4)
    assert not any(isinstance(entry.body, Correct) for entry in one_round.desk.session.entries)


@pytest.mark.parametrize("way", ["leave", "keep_open"])
def test_it_ends_by_either_key_and_all_pairs_are_asked_for_again(one_round, way):
    getattr(one_round.rounds, way)()
    assert not one_round.rounds.is_on
    assert last(one_round.board.show_board) == (None,)
    assert last(one_round.board.say)[0].startswith("1 round kept, F5 goes on. The coil temperature stays 20")
    one_round.answer("5.5")
    assert one_round.in_rounds[-1][0] is None


def test_begun_again_the_run_goes_on(one_round):
    one_round.rounds.leave()
    one_round.rounds.start()
    assert one_round.question.big == "Round 2"


def test_a_new_coil_temperature_from_the_set_up_asks_before_it_counts(one_round):
    """Else a reading would claim the plateau of the round at another temperature."""
    one_round.answer("60")
    one_round.pins.set_set_up(replace(one_round.pins.set_up, celsius=25.0))
    assert (one_round.question.big, one_round.question.text) == ("Round 2", "25")


def test_another_meter_changes_nothing_about_the_round(one_round):
    one_round.answer("60")
    one_round.pins.set_set_up(replace(one_round.pins.set_up, leads=LeadState.NEITHER))
    assert one_round.question is None
    one_round.answer("6.4")
    assert one_round.in_rounds[-1] == (2, 60, "1", 6.4)


def test_a_pair_chosen_before_a_temperature_stands_is_not_asked_for(bench):
    bench.rounds.start()
    bench.pins.choose("device Heron")
    assert bench.question.big == "Round 1"


# -- undo --------------------------------------------------------------------------------------


def test_undo_after_the_last_pair_asks_for_it_again_in_its_round(one_round):
    one_round.pins.undo()
    assert (one_round.question, one_round.pair.red) == (None, "2")
    one_round.answer("5.3")
    assert one_round.in_rounds == [(1, 20, "1", 5.5), (1, 20, "2", 5.3)]


def test_undo_across_a_round_does_not_take_the_part_for_as_warm_as_it_was(one_round):
    one_round.answer("60")
    one_round.pins.undo()
    assert one_round.pair.red == "1"
    one_round.answer("6.4")
    assert one_round.in_rounds[-1] == (2, 60, "1", 6.4)


# -- a corrected temperature -------------------------------------------------------------------


def test_a_corrected_temperature_is_asked_once_and_corrects_every_reading(one_round):
    one_round.rounds.previous()
    one_round.answer("21.5")
    asked = last(one_round.board.show_problem)[0]
    assert asked == "Correct 2 readings of round 1 to 21.5 \u00b0C? Type 1, then Enter; Esc leaves them."
    assert one_round.in_rounds[0][1] == 20
    one_round.answer("1")
    assert [celsius for _, celsius, _, _ in one_round.in_rounds] == [21.5, 21.5]
    corrections = [e.body for e in one_round.desk.session.entries if isinstance(e.body, Correct)]
    assert [body.why for body in corrections] == ["temperature of round 1"] * 2
    assert one_round.question.big == "Round 2"
    assert one_round.pins.set_up.celsius == 21.5


def test_escape_leaves_a_round_as_it_is(one_round):
    one_round.rounds.previous()
    one_round.answer("21.5")
    one_round.rounds.leave()
    assert (one_round.question.text, one_round.in_rounds[0][1]) == ("20", 20)


def test_a_key_that_bounces_corrects_nothing(one_round):
    one_round.rounds.previous()
    one_round.answer("21.5")
    one_round.rounds.keep("")
    assert one_round.in_rounds[0][1] == 20
    one_round.answer("1")
    assert one_round.in_rounds[0][1] == 21.5


def test_another_value_is_another_question(one_round):
    one_round.rounds.previous()
    one_round.answer("21.5", "22")
    assert one_round.in_rounds[0][1] == 20
    one_round.answer("1")
    assert one_round.in_rounds[0][1] == 22


def test_how_it_was_read_can_be_corrected_alone(one_round):
    one_round.rounds.previous()
    one_round.rounds.turn()
    one_round.answer("20", "1")
    assert {item.body.temperature for item in one_round.desk.session.items} == {TemperatureSource.IR_TAPE}


def test_an_older_round_corrected_leaves_the_present_temperature(one_round):
    one_round.answer("60", *OHM_AT["60"])
    one_round.rounds.previous()
    one_round.rounds.previous()
    one_round.answer("21", "1")
    assert [celsius for _, celsius, _, _ in one_round.in_rounds] == [21, 21, 60, 60]
    assert one_round.pins.set_up.celsius == 60


def test_a_disk_that_refuses_in_the_middle_is_told_and_the_rest_can_be_corrected(one_round):
    one_round.rounds.previous()
    one_round.answer("21")
    append, left = one_round.store.append, [1]

    def refusing(line):
        one_round.store.is_full = not left
        if left:
            left.pop()
        append(line)

    one_round.store.append = refusing
    one_round.answer("1")
    assert "Not all are corrected" in last(one_round.board.show_problem)[0]
    assert [celsius for _, celsius, _, _ in one_round.in_rounds] == [21, 20]
    one_round.store.append, one_round.store.is_full = append, False
    one_round.answer("21", "1")
    assert [celsius for _, celsius, _, _ in one_round.in_rounds] == [21, 21]


# -- a slow disk, a full one, a session closed -------------------------------------------------


def test_a_temperature_typed_while_the_last_reading_is_written_waits_for_it(bench):
    bench.rounds.start()
    bench.answer("20", "5.5")
    bench.runner.is_held = True
    bench.answer("5.4", "60")
    assert bench.question.big == "Round 2"
    assert last(bench.board.show_problem)[0] == STILL_KEEPING
    bench.runner.release()
    assert (bench.question, bench.pair.red) == (None, "1")
    assert bench.pins.set_up.celsius == 60


def test_with_one_winding_alone_its_reading_on_the_way_counts_for_the_number_of_the_next_round():
    one = json.dumps(json.loads(VARIANT) | {"devices": json.loads(VARIANT)["devices"][:1]}).encode()
    bench = RoundsBench(variant=one).start()
    bench.rounds.start()
    bench.answer("20")
    bench.runner.is_held = True
    bench.answer("5.5")
    assert bench.question.big == "Round 2"
    bench.runner.release()
    assert "from 20" in last(bench.board.show_expect)[0]
    bench.answer("60", "6.4")
    assert bench.in_rounds == [(1, 20, "1", 5.5), (2, 60, "1", 6.4)]


def test_a_reading_that_is_refused_comes_back_into_its_own_round(bench):
    bench.rounds.start()
    bench.answer("20", "5.5")
    bench.store.is_full = True
    bench.answer("5.4")
    assert (bench.question, bench.pair.red, last(bench.view.set_field)) == (None, "2", ("5.4",))
    bench.store.is_full = False
    bench.rounds.keep("5.4")
    assert bench.in_rounds[-1] == (1, 20, "2", 5.4)


def test_it_is_not_begun_while_a_reading_outside_is_on_its_way(bench):
    bench.runner.is_held = True
    bench.answer("5.5")
    bench.rounds.start()
    assert not bench.rounds.is_on
    assert last(bench.board.say)[0] == STILL_KEEPING


def test_after_closing_there_are_no_rounds(one_round):
    one_round.keeper.keep(Close(verdict="pass", scope="x"), kept=lambda *_: None, failed=lambda _: None)
    assert not one_round.rounds.is_on
    one_round.rounds.start()
    assert last(one_round.board.say)[0] == CLOSED


def _with(**more: object) -> bytes:
    return json.dumps(json.loads(VARIANT) | more).encode()


@pytest.mark.parametrize(
    ("variant", "words"), [(_with(electronics_on_board=True), ON_BOARD), (_with(devices=[]), NO_WINDINGS)]
)
def test_without_windings_it_says_why_nothing_is_gone_round(variant, words):
    bench = RoundsBench(variant=variant).start()
    bench.rounds.start()
    assert last(bench.board.say)[0] == words
    assert not bench.rounds.is_on


def test_a_fault_of_ours_leaves_the_pairs_as_they_were(bench):
    bench.board.show_question.side_effect = RuntimeError("injected")
    with pytest.raises(RuntimeError):
        bench.rounds.start()
    assert not bench.rounds.is_on
    bench.answer("5.5")
    assert bench.in_rounds == [(None, 20, "1", 5.5)]


# -- opened again ------------------------------------------------------------------------------


def test_opened_again_the_run_goes_on_where_it_was_left(one_round):
    """Closed or killed: the state is in the entries."""
    one_round.answer("60", "6.4")
    again = RoundsBench(store=one_round.store, set_up=replace(AT_20, celsius=60.0)).start()
    assert again.question.big == "Round 3"
    assert "Round 2 at 60 \u00b0C still lacks Heron: Up goes back to it." in again.question.expect
    again.rounds.previous()
    again.rounds.keep("60")
    again.answer("6.2")
    assert again.in_rounds == [(1, 20, "1", 5.5), (1, 20, "2", 5.4), (2, 60, "1", 6.4), (2, 60, "2", 6.2)]


@pytest.mark.parametrize(("typed", "is_on"), [(("6.4", "6.2"), False), (("6.4",), True)])
def test_a_complete_run_of_long_ago_is_only_looked_at(one_round, typed, is_on):
    """Where a pair is missing it is asked for all the same; else F5 goes on."""
    one_round.answer("60", *typed)
    old = replace(AT_20, celsius=60.0, set_at="2031-05-06T06:00:00.000Z")
    again = RoundsBench(store=one_round.store, set_up=old).start()
    assert again.rounds.is_on == is_on
    again.rounds.start()
    assert again.question.big == "Round 3"


def test_opened_again_after_a_reading_outside_the_pairs_are_asked_for(one_round):
    one_round.rounds.leave()
    one_round.answer("5.5")
    assert not RoundsBench(store=one_round.store).start().rounds.is_on


# -- the table ---------------------------------------------------------------------------------


def test_the_table_shows_the_rounds_with_their_direction_and_the_pair_at_hand(one_round):
    one_round.answer("90", "7.05", "6.9", "60", "6.4")
    shown = one_round.shown
    assert (shown.title, shown.aside) == ("Round 3 at 60 \u00b0C, cooling", "1 of 2 pairs")
    assert shown.heads == ("20\u00b0", "\u2191 90\u00b0", "\u2193 60\u00b0")
    assert [(line.name, line.cells) for line in shown.lines] == [
        ("Gull", ("5.50", "7.05", "6.40")),
        ("Heron", ("5.40", "6.90", "\u2026")),
    ]


def test_a_pair_read_twice_in_a_round_says_so_and_both_count(one_round):
    one_round.rounds.previous()
    one_round.rounds.keep("20")
    one_round.answer("5.6")
    assert one_round.shown.lines[0].cells[0] == "5.60+"
    assert len(one_round.in_rounds) == 3


def test_only_the_newest_rounds_are_shown(bench):
    bench.rounds.start()
    for celsius in range(20, 110, 10):
        bench.answer(f"{celsius}", "5.5", "5.4")
    assert bench.shown.heads == tuple(f"\u2191 {celsius}\u00b0" for celsius in range(40, 110, 10))


def test_no_list_of_cheap_ways_takes_the_place_of_the_table(one_round):
    one_round.rounds.settle()
    one_round.proof._view.show_ways.assert_not_called()
    one_round.rounds.leave()
    one_round.rounds.settle()
    one_round.proof._view.show_ways.assert_called_once()


def test_withdrawn_readings_are_not_in_the_table(one_round):
    n = one_round.desk.session.items[0].n
    one_round.keeper.keep(Withdraw(entry=n), kept=lambda *_: None, failed=lambda _: None)
    assert one_round.shown.lines[0].cells[0] != "5.5"


def test_readings_at_another_place_are_no_part_of_the_round_at_the_connector(one_round):
    body = Reading(from_node="1", to_node="3", ohm=5.5, celsius=20, round=2, at=AccessPoint.DEVICE_TERMINALS)
    one_round.keeper.keep(body, kept=lambda *_: None, failed=lambda _: None)
    assert one_round.shown.heads == ("20\u00b0",)


def test_beside_a_diode_red_goes_where_that_blocks():
    bench = RoundsBench(variant=WITH_A_DIODE).start()
    bench.rounds.start()
    bench.answer("20")
    assert (bench.pair.red, bench.pair.black) == ("2", "1")
