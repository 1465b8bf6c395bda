"""A reading that Findings asks for: how it is taken, and how one comes back, without Qt."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import VARIANT, last
from tests.fakes.rounds_bench import RoundsBench
from tests.unit.ui.test_pins_presenter import WITH_A_DIODE
from valvebench.diagnose.explained import Ask
from valvebench.model.entry import Close
from valvebench.model.words import AccessPoint, TemperatureSource
from valvebench.ui.keeper import CLOSED
from valvebench.ui.pins.asked import BACK, DONE, NOT_HERE, AskedPresenter, AskedView
from valvebench.ui.pins.rounds_words import TYPE_IT

AT = AccessPoint.CASE_CONNECTOR
CROSS = Ask("1", "2", AT, "pair", 0.4, 10.0)


class Bench(RoundsBench):
    """Everything that stands before the pairs, as on the page."""

    def __init__(self, variant: bytes = VARIANT) -> None:
        super().__init__(variant=variant)
        self.page = create_autospec(AskedView, instance=True)
        self.backs = 0
        self.asked = AskedPresenter(
            self.page,
            self.keeper,
            self.pins,
            self.proof,
            self.rounds,
            set_up_changed=self.set_ups.append,
            back=self._back,
        )
        self.start()

    def _back(self) -> None:
        self.backs += 1

    def _pair_shown(self, *words: object) -> None:
        super()._pair_shown(*words)
        if hasattr(self, "asked"):
            self.asked.pair_shown()

    def enter(self, text: str = "") -> None:
        for end in range(1, len(text) + 1):
            self.asked.typed(text[:end])
        self.asked.keep(text)

    @property
    def question(self):
        return last(self.page.show_question)[0]

    @property
    def said_by_asked(self):
        return last(self.page.say)[0]


@pytest.fixture
def bench():
    return Bench()


def test_the_pair_stands_there_and_says_who_asks_and_how_to_come_back(bench):
    bench.asked.start(CROSS, 80.0)
    assert (bench.pair.red, bench.pair.black) == ("1", "2")
    assert bench.said_by_asked == f"Findings asks for this pair. {BACK}"
    assert bench.asked.is_on
    assert not bench.asked.is_asking


def test_taken_it_offers_the_way_back_and_enter_goes_it(bench):
    bench.asked.start(CROSS, 80.0)
    bench.enter("10.8")
    assert bench.kept[-1] == ("1", "2", 10.8)
    assert bench.question == DONE
    bench.enter()
    assert bench.backs == 1
    assert not bench.asked.is_on


def test_a_value_typed_where_no_pair_is_asked_for_is_not_kept(bench):
    bench.asked.start(CROSS, 80.0)
    bench.enter("10.8")
    bench.enter("5.4")
    assert len(bench.kept) == 1
    assert last(bench.page.show_problem)[0] == NOT_HERE
    bench.asked.keep_open()
    assert len(bench.kept) == 1


def test_escape_goes_back_without_a_reading(bench):
    usual = bench.pair
    bench.asked.start(CROSS, 80.0)
    bench.asked.leave()
    assert bench.backs == 1
    assert bench.kept == []
    assert bench.pair.probe == usual.probe


@pytest.mark.parametrize("way", ["skip", "previous"])
@pytest.mark.parametrize("is_taken", [False, True])
def test_up_and_down_go_on_with_the_usual_pairs(bench, way, is_taken):
    usual = bench.pair
    bench.asked.start(CROSS, 80.0)
    if is_taken:
        bench.enter("10.8")
    getattr(bench.asked, way)()
    assert bench.pair.probe == usual.probe
    assert not bench.asked.is_on
    assert bench.backs == 0


def test_a_usual_pair_that_was_asked_for_is_not_asked_again(bench):
    usual = bench.pair
    bench.asked.start(Ask(usual.red, usual.black, AT, "pair", 0.4, 10.0), 80.0)
    bench.enter("5.4")
    bench.asked.skip()
    assert bench.pair.probe != usual.probe


def test_black_stays_where_it_is_else_goes_to_the_case(bench):
    black = bench.pair.black
    bench.asked.start(Ask(black, "4", AT, "pair", 0.4, 10.0), 80.0)
    assert (bench.pair.red, bench.pair.black) == ("4", black)
    bench.asked.start(Ask("case", "1", AT, "pair", 0.4, 10.0), 80.0)
    assert (bench.pair.red, bench.pair.black) == ("1", "case")


@pytest.mark.parametrize("at", list(AccessPoint), ids=str)
def test_the_reading_says_where_it_was_taken(bench, at):
    bench.asked.start(CROSS._replace(at=at), 80.0)
    bench.enter("10.8")
    assert bench.desk.session.items[-1].body.at is at


def test_at_the_vehicles_plug_what_is_dangerous_is_said(bench):
    bench.asked.start(CROSS._replace(at=AccessPoint.VEHICLE_PLUG), 80.0)
    assert last(bench.page.show_expect)[0] == "At the vehicle's plug."
    assert any("battery" in words for words in last(bench.page.show_care)[0])


def test_what_is_read_by_the_usual_pairs_says_nothing_of_another_place(bench):
    bench.asked.start(CROSS._replace(at=AccessPoint.VEHICLE_PLUG), 80.0)
    bench.asked.skip()
    bench.enter("5.4")
    assert bench.desk.session.items[-1].body.at is AT


def test_a_warm_reading_asks_for_the_temperature_first(bench):
    bench.asked.start(CROSS._replace(what="warm"), 80.0)
    assert (bench.question.big, bench.asked.is_asking) == ("80 \u00b0C", True)
    assert bench.question.safety
    bench.enter()
    assert last(bench.page.show_problem)[0] == TYPE_IT
    bench.enter("not warm")
    assert bench.kept == []
    bench.asked.turn()
    bench.enter("81.5")
    assert (bench.pair.red, bench.pair.black) == ("1", "2")
    assert (bench.set_ups[-1].celsius, bench.set_ups[-1].temperature) == (81.5, TemperatureSource.IR_TAPE)
    bench.enter("13.2")
    assert bench.desk.session.items[-1].body.celsius == 81.5


def test_the_key_of_open_leaves_the_question_of_a_temperature(bench):
    bench.asked.start(CROSS._replace(what="warm"), 80.0)
    bench.asked.keep_open()
    assert (bench.backs, bench.asked.is_on) == (1, False)


def test_a_meter_check_is_asked_for_by_its_own_questions(bench):
    bench.asked.start(Ask(None, None, None, "meter_check", 0.4, 30.0), 80.0)
    assert bench.proof.is_asking
    assert bench.said_by_asked == BACK


def test_a_write_that_fails_brings_the_pair_back(bench):
    bench.asked.start(CROSS, 80.0)
    bench.store.is_full = True
    bench.enter("10.8")
    assert bench.asked.is_on
    assert not bench.asked.is_asking
    assert (bench.pair.red, bench.pair.black) == ("1", "2")
    bench.store.is_full = False
    bench.enter("10.8")
    assert bench.question == DONE


def test_the_way_back_waits_for_the_disk(bench):
    bench.asked.start(CROSS, 80.0)
    bench.runner.is_held = True
    bench.enter("10.8")
    bench.enter()
    assert bench.backs == 0
    bench.runner.release()
    assert bench.backs == 1


def test_a_reading_taken_back_is_asked_for_again(bench):
    bench.asked.start(CROSS, 80.0)
    bench.enter("10.8")
    bench.pins.undo()
    assert bench.kept == []
    assert bench.asked.is_on
    assert not bench.asked.is_asking
    assert (bench.pair.red, bench.pair.black) == ("1", "2")


def test_rounds_give_way_and_are_no_temperature_for_the_reading(bench):
    bench.rounds.start()
    assert bench.rounds.is_asking
    bench.asked.start(CROSS, 80.0)
    assert not bench.rounds.is_on
    bench.enter("10.8")
    assert bench.desk.session.items[-1].body.round is None


def test_rounds_begun_meanwhile_have_the_keys(bench):
    bench.asked.start(CROSS, 80.0)
    bench.rounds.start()
    assert not bench.asked.is_on
    bench.enter("23.4")
    assert not bench.rounds.is_asking


def test_a_pair_chosen_by_hand_is_none_that_was_asked_for(bench):
    bench.asked.start(CROSS._replace(at=AccessPoint.VEHICLE_PLUG), 80.0)
    bench.asked.pin_chosen("4")
    bench.asked.pin_chosen("3")
    assert (bench.pair.red, bench.pair.black) == ("4", "3")
    bench.enter("5.4")
    assert bench.desk.session.items[-1].body.at is AT


def test_a_closed_session_takes_none(bench):
    bench.keeper.keep(Close(verdict="fail", scope="x"), kept=lambda *_: None, failed=pytest.fail)
    bench.asked.start(CROSS, 80.0)
    assert bench.said_by_asked == CLOSED
    assert not bench.asked.is_on


def test_beside_a_diode_it_is_asked_for_where_that_blocks():
    """The anode is at pin 1: red goes to pin 2, whichever way Findings names the pair."""
    bench = Bench(WITH_A_DIODE)
    for a, b in (("1", "2"), ("2", "1")):
        bench.asked.start(Ask(a, b, AT, "repeat", 0.4, 10.0), 80.0)
        assert (bench.pair.red, bench.pair.black) == ("2", "1")
