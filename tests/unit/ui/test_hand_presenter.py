"""The walk over an unknown connector: what is asked, what is kept, what is drawn, and what is never claimed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.fakes.hand_bench import AT_20, HandBench, told
from tests.fakes.hand_bodies import TWELVE, body_of
from valvebench.model.entry import Connector, Reading
from valvebench.model.words import TemperatureSource
from valvebench.ui.hand.shown import AGREES, AGREES_SO_FAR

STAR = body_of(4, [("1", "4", 5.2), ("2", "4", 5.3), ("3", "4", 12.0)])


@pytest.fixture
def bench():
    return HandBench()


def links(bench, *, is_sure):
    return {frozenset((one.a, one.b)) for one in bench.face.links if one.is_sure is is_sure}


def test_it_begins_with_black_on_pin_1(bench):
    assert bench.asked == "Clip black on 1, probe 2"
    assert bench.face.unsettled == {"1", "2", "3", "4", "case"}
    assert not bench.face.links


def test_the_clip_stays_where_it_is_while_it_can(bench):
    bench.walk.keep_open()
    assert bench.asked == "Leave black on 1, probe 3"


def test_a_reading_is_kept_before_anything_follows_from_it(bench):
    bench.runner.is_held = True
    bench.key_in("5.2")
    assert not bench.taken
    assert bench.asked == "Clip black on 1, probe 2"
    assert bench.view.set_field.call_args.args == ("",), "a bounced Enter must find nothing to keep"
    bench.runner.release()
    assert [(one.from_node, one.to_node, one.ohm) for one in bench.taken] == [("1", "2", 5.2)]


def test_what_is_typed_meanwhile_is_for_a_pair_nobody_has_seen_yet(bench):
    bench.runner.is_held = True
    bench.key_in("5.2")
    bench.walk.keep("5.3")
    bench.walk.keep_open()
    bench.runner.release()
    assert len(bench.taken) == 1
    assert "Still keeping" in "".join(told(bench.view.show_problem))


def test_until_the_next_question_stands_nothing_is_kept(bench):
    """On disk, but what it means is not found yet: the question in sight is an old one."""
    bench.runner.is_held = True
    bench.key_in("5.2")
    bench.runner.step()
    assert len(bench.taken) == 1
    bench.walk.keep("5.3")
    bench.walk.keep_open()
    bench.walk.undo()
    bench.runner.release()
    assert [one.ohm for one in bench.taken] == [5.2]


def test_what_is_typed_before_the_next_question_stays_whole(bench):
    """A field emptied a moment later would make 0.24 of 5.24."""
    bench.runner.is_held = True
    bench.key_in("5.2")
    bench.view.set_field.reset_mock()
    bench.runner.release()
    bench.view.set_field.assert_not_called()


def test_a_comma_a_prefix_and_a_question(bench):
    bench.key_in("4,7")
    bench.key_in("12k")
    assert [one.ohm for one in bench.taken] == [4.7, 12_000.0]
    bench.key_in("1,234")
    assert bench.problem.startswith("Is it 1.234 or 1234")
    bench.key_in("2")
    assert bench.taken[-1].ohm == 1234.0


def test_what_is_typed_is_echoed_with_its_doubt(bench):
    bench.walk.typed("5.2")
    assert bench.view.show_echo.call_args.args[0].startswith("understood as 5.2")
    assert "\u00b1" in bench.view.show_echo.call_args.args[0]


def test_open_asks_for_the_range_once():
    bench = HandBench(set_up=replace(AT_20, range_ohm=None))
    bench.walk.keep_open()
    assert "Open on which range" in bench.problem
    bench.key_in("60 M")
    bench.walk.keep_open()
    assert [(one.open, one.range_ohm) for one in bench.taken] == [(True, 6e7), (True, 6e7)]
    assert bench.set_ups[-1].range_ohm == 6e7


def test_what_cannot_be_read_stays_in_the_field(bench):
    bench.key_in("five")
    assert bench.problem
    assert not bench.taken


def test_a_full_disk_gives_the_value_back(bench):
    bench.store.is_full = True
    bench.key_in("5.2")
    assert bench.view.set_field.call_args.args == ("5.2",)
    assert bench.problem.startswith("Not saved")
    assert bench.asked == "Clip black on 1, probe 2"
    bench.store.is_full = False
    bench.walk.keep("5.2")
    assert len(bench.taken) == 1


def test_a_value_between_two_pins_is_dotted_until_nothing_else_can_hang_there(bench):
    bench.key_in("10.4")
    assert frozenset("12") in links(bench, is_sure=False)
    assert not links(bench, is_sure=True)


def test_at_the_end_the_drawing_is_the_truth(bench):
    bench.read(STAR)
    assert links(bench, is_sure=True) == STAR.wires
    assert not links(bench, is_sure=False)
    assert (bench.face.commons, bench.face.unused) == ({"4"}, {"case"})
    assert bench.named == [bench.walk.found]


def test_no_solid_line_is_ever_wrong():
    """Three in a row: until 2 and 3 were read against 4 it looks like a star."""
    chain = body_of(4, [("1", "2", 5.2), ("2", "3", 4.8), ("3", "4", 9.7)])
    bench = HandBench()
    while bench.walk.pair is not None:
        bench.read(chain, most=1)
        assert links(bench, is_sure=True) <= chain.wires
    assert links(bench, is_sure=True) == chain.wires


def test_a_part_that_was_not_read_straight_says_so():
    bench = HandBench(pins=3)
    bench.read(body_of(3, [("1", "joint", 5.0), ("2", "joint", 5.0), ("3", "joint", 8.0)]))
    rows = bench.view.show_found.call_args.args[0]
    assert [row.like for row in rows if "8" in row.ohm] == ["not read straight"]
    assert all(row.at_ref.startswith("about") and row.tip for row in rows)


def test_before_the_first_reading_nothing_is_said_to_agree(bench):
    assert bench.notes == "Nothing is read yet."
    bench.read(STAR, most=1)
    assert bench.notes == AGREES_SO_FAR, "one reading does not say what else hangs there"
    bench.read(STAR)
    assert bench.notes == AGREES


def test_only_coils_are_carried_to_20_degrees():
    """A sensor moves by a law of its own, which nobody has stated here."""
    bench = HandBench(pins=12)
    bench.read(TWELVE)
    rows = {row.between: row for row in bench.view.show_found.call_args.args[0]}
    sensor, coil = rows["6\u201312"], rows["2\u201311"]
    assert sensor.at_ref.startswith("\u00b1 ")
    assert not sensor.is_at_20
    assert coil.is_at_20


def test_a_ring_and_a_star_are_never_drawn_as_known():
    """Three like readings between three pins: a triangle reads the same as a star."""
    bench = HandBench(pins=3)
    bench.read(body_of(3, [("1", "joint", 5.0), ("2", "joint", 5.0), ("3", "joint", 5.0)]))
    assert not links(bench, is_sure=True)
    assert "Can\u2019t tell" in bench.notes
    assert "Either" in bench.notes


def test_the_sentence_says_what_the_last_reading_settled():
    """Step 0.1 ohm, 3 counts as a rectangle: the doubt of 5.2 is several tenths."""
    bench = HandBench()
    bench.key_in("5.2")
    assert bench.said.startswith("2 and 1 are one coil-like part, 5.20 \u00b1 0.")
    bench.between("3", "1")
    bench.key_in("10.5")
    assert bench.said.startswith("3 and 1 hang together.")
    assert "for this net of 3" in bench.said


def test_open_everywhere_is_said_of_a_pin():
    bench = HandBench(pins=2)
    bench.read(body_of(2, []))
    assert any("Nothing hangs on" in words for words in told(bench.view.say))


def test_a_contradiction_names_the_reading_and_is_asked_again(bench):
    bench.read(STAR)
    bench.between("1", "4")
    bench.key_in("52")
    assert bench.pair == frozenset("14")
    assert "4\u20131" in bench.notes or "1\u20134" in bench.notes
    assert bench.view.show_repeat.call_args.args[0]
    bench.between("2", "3")
    bench.walk.repeat()
    assert bench.pair == frozenset("14")
    bench.key_in("5.2")
    bench.key_in("5.2")
    assert links(bench, is_sure=True) == STAR.wires


def test_a_pair_left_for_later_comes_round(bench):
    first = bench.pair
    bench.walk.skip()
    assert bench.pair != first
    bench.read(STAR)
    assert first in {one.pair for one in bench.taken}
    assert links(bench, is_sure=True) == STAR.wires


def test_back_goes_to_what_was_read_before(bench):
    bench.walk.keep_open()
    bench.walk.keep_open()
    taken = [one.pair for one in bench.taken]
    bench.walk.previous()
    assert bench.pair == taken[-1]
    bench.walk.previous()
    assert bench.pair == taken[-2]
    bench.walk.previous()
    assert bench.pair == taken[-2]


def test_undo_and_redo_are_entries(bench):
    bench.key_in("5.2")
    bench.walk.undo()
    assert not bench.taken
    assert bench.asked.endswith("black on 1, probe 2")
    bench.walk.redo()
    assert len(bench.taken) == 1
    assert len(bench.desk.session.entries) == 5


def test_without_a_connector_the_number_of_pins_is_asked_first():
    bench = HandBench(pins=None)
    assert bench.asked == "To begin with, how many pins?"
    bench.walk.keep_open()
    for wrong in ("", "0", "201", "2.5", "many"):
        bench.walk.keep(wrong)
        assert "1 to 200" in bench.problem
    bench.walk.keep("12")
    assert bench.desk.session.items[-1].body == Connector(pins=12)
    assert bench.asked == "Clip black on 1, probe 2"


def test_readings_from_before_are_shown_while_the_number_of_pins_is_asked():
    bench = HandBench(pins=None)
    bench.desk.record(AT_20.reading("3", "11", ohm=5.2))
    bench.walk.reload()
    assert bench.asked == "To begin with, how many pins?"
    assert [row.between for row in bench.view.show_found.call_args.args[0]] == ["3\u201311"]
    bench.walk.name_now()
    bench.walk.keep("12")
    assert len(bench.face.pins) == 12


def test_no_temperature_is_said_and_assumed():
    bench = HandBench(set_up=replace(AT_20, celsius=None, temperature=None))
    assert "20 \u00b0C, 10 either way, is assumed" in bench.view.show_temperature.call_args.args[0]
    bench.key_in("5.2")
    assert (bench.taken[0].celsius, bench.taken[0].temperature) == (20.0, None)
    bench.walk.set_set_up(replace(AT_20, celsius=24.0, temperature=TemperatureSource.TAPED))
    assert not bench.view.show_temperature.call_args.args[0]
    bench.key_in("5.3")
    assert bench.taken[-1].celsius == 24.0


def test_the_count_is_honest():
    bench = HandBench(pins=12)
    assert bench.view.show_count.call_args.args[0] == "0 of 78 pairs read; at most 78 more, a few of them twice."
    bench.read(TWELVE)
    assert bench.view.show_count.call_args.args[0].endswith("no more are needed.")


def test_names_are_offered_once_and_may_be_asked_for_before(bench):
    bench.walk.name_now()
    assert "Nothing is found yet" in bench.said
    bench.key_in("5.2")
    bench.walk.name_now()
    assert len(bench.named) == 1
    bench.read(STAR)
    assert len(bench.named) == 2


def test_names_are_not_pressed_on_whoever_reads_on(bench):
    bench.read(STAR)
    bench.between("1", "4")
    bench.key_in("5.2")
    assert len(bench.named) == 1


def test_the_odd_one_is_said_with_its_number():
    """6.4 among 5.1, 5.2, 5.3: the middle of the four is 5.25; tips of 0.1 ohm stand in every reading."""
    bench = HandBench(pins=12)
    bench.read(TWELVE)
    assert "Odd one out of 4 like coils: 9\u201311 with 6.50 \u00b1 " in bench.notes
    assert "the middle is 5.35 \u00b1 0." in bench.notes


def test_a_body_with_no_odd_one_says_what_would_not_have_shown(bench):
    bench.read(body_of(4, [("1", "4", 5.2), ("2", "4", 5.3), ("3", "4", 5.2)]))
    assert "is odd; a difference below" in bench.notes


def test_a_closed_session_only_shows(bench):
    bench.read(STAR)
    bench.desk.close()
    bench.walk.reload()
    assert bench.view.set_enabled.call_args.args == (False,)
    assert "closed" in bench.said
    assert bench.asked == "This session is closed: nothing is asked"
    assert links(bench, is_sure=True) == STAR.wires


def test_readings_of_the_walk_are_ordinary_readings(bench):
    bench.key_in("5.2")
    (reading,) = bench.taken
    assert isinstance(reading, Reading)
    assert (reading.meter, reading.leads, reading.celsius) == (AT_20.meter, AT_20.leads, AT_20.celsius)
