"""What the card of explanations decides, without Qt: when it works, whose answer counts, where its step leads."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.fakes.explained import HEALTHY, HIGH, PAIR, found
from tests.fakes.pins_bench import AT_20, VARIANT, last
from tests.fakes.pins_bench import Bench as PinsBench
from tests.fakes.runners import HeldRunner
from valvebench.bench.explaining import Answer
from valvebench.diagnose.explained import Ask
from valvebench.model.entry import Close
from valvebench.model.errors import WorldFailed
from valvebench.model.meter import Check
from valvebench.model.words import LeadState
from valvebench.ui.findings.explaining import (
    FAULT_OF_OURS,
    FIND_WIRING,
    NO_VARIANT,
    TRY_AGAIN,
    WORKING,
    ExplainPresenter,
    ExplainView,
)
from valvebench.ui.set_up import SetUp

SHORT = Ask(None, None, None, "lead_short", 0.4, 8.0)
CHECK = Ask(None, None, None, "meter_check", 0.4, 30.0)


class Explains:
    """Stands for the engine: answers what it is told to, and remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[tuple[int, bool]] = []
        self.asks: tuple[Ask, ...] = (PAIR,)
        self.error: Exception | None = None
        self.meanwhile = lambda: None

    def explain(self, session, *, is_asking, is_wanted):
        if not is_wanted():
            return None
        self.asked.append((len(session.items), is_asking))
        self.meanwhile()
        if self.error is not None:
            raise self.error
        return Answer(found(HIGH, HEALTHY, next=self.asks if is_asking else (), readings=len(session.items)), 80.0)


class Bench(PinsBench):
    def __init__(self, *, variant=VARIANT) -> None:
        super().__init__(variant=variant)
        self.card, self.explains, self.beside = create_autospec(ExplainView, instance=True), Explains(), HeldRunner()
        self.led: list[tuple[Ask, float]] = []
        self.wired = 0
        self.check: Check | None = None
        self.at_hand = AT_20
        self.explain = ExplainPresenter(
            self.card,
            self.desk,
            self.keeper,
            runner=self.beside,
            explaining=self.explains if variant is not None else None,
            pins=self,
            lead=lambda ask, celsius: self.led.append((ask, celsius)),
            find_wiring=self._wire,
        )
        self.start()

    @property
    def set_up(self) -> SetUp:
        return self.at_hand

    def check_now(self) -> Check | None:
        return self.check

    def _wire(self) -> None:
        self.wired += 1

    def read(self, *ohms):
        for ohm in ohms:
            self.keeper.keep(AT_20.reading("1", "3", ohm=ohm), kept=lambda *_: None, failed=pytest.fail)

    @property
    def shown(self):
        return last(self.card.show_answer)[0]


@pytest.fixture
def bench():
    return Bench()


def test_nothing_is_explained_before_anything_was_read(bench):
    bench.explain.came_to_front()
    bench.card.show_nothing.assert_called()
    bench.explain.act()
    assert bench.explains.asked == []


def test_it_works_only_while_somebody_looks(bench):
    bench.read(5.4)
    assert bench.explains.asked == []
    bench.explain.came_to_front()
    bench.read(5.5)
    assert bench.explains.asked == [(1, True), (2, True)]
    bench.explain.left()
    bench.read(5.6)
    assert bench.explains.asked == [(1, True), (2, True)]


def test_while_it_works_it_says_so_and_its_action_waits(bench):
    bench.read(5.4)
    bench.beside.is_held = True
    bench.explain.came_to_front()
    bench.card.show_busy.assert_called_once_with(WORKING, has_step=True)
    bench.explain.act()
    assert bench.led == []
    bench.beside.release()
    assert bench.shown.sentence == "Heron (2\u20133) is too high"


def test_the_newest_question_wins_and_older_ones_are_not_begun(bench):
    bench.read(5.4)
    bench.beside.is_held = True
    bench.explain.came_to_front()
    bench.read(5.5, 5.6)
    bench.beside.release()
    assert bench.explains.asked == [(3, True)]
    assert bench.card.show_answer.call_count == 1
    assert bench.shown.aside == "from 3 readings"


def test_an_answer_of_a_session_that_changed_meanwhile_is_shown_nowhere(bench):
    bench.read(5.4)
    bench.beside.is_held = True
    bench.explain.came_to_front()
    bench.explain.left()
    bench.beside.release()
    bench.card.show_answer.assert_not_called()


def test_an_answer_that_comes_after_everybody_left_waits_for_whoever_comes_back(bench):
    bench.read(5.4)
    bench.explains.meanwhile = bench.explain.left
    bench.explain.came_to_front()
    bench.card.show_answer.assert_not_called()
    bench.explain.came_to_front()
    assert bench.explains.asked == [(1, True)]
    assert bench.shown.sentence == "Heron (2\u20133) is too high"


def test_the_same_session_is_not_explained_twice(bench):
    bench.read(5.4)
    bench.explain.came_to_front()
    bench.explain.left()
    bench.explain.came_to_front()
    assert bench.explains.asked == [(1, True)]
    assert bench.card.show_answer.call_count == 2


def test_its_action_leads_to_what_is_asked(bench):
    bench.read(5.4)
    bench.explain.came_to_front()
    bench.explain.act()
    assert bench.led == [(PAIR, 80.0)]


def test_of_a_closed_session_nothing_is_asked(bench):
    bench.read(5.4)
    bench.keeper.keep(Close(verdict="fail", scope="x"), kept=lambda *_: None, failed=pytest.fail)
    bench.explain.came_to_front()
    assert bench.explains.asked == [(1, False)]
    bench.explain.act()
    assert bench.led == []


@pytest.mark.parametrize("leads", [LeadState.SUBTRACT, LeadState.FOUR_WIRE], ids=str)
def test_tips_whose_value_is_known_are_not_asked_for(bench, leads):
    bench.explains.asks = (SHORT, PAIR)
    bench.at_hand = SetUp(leads=leads, lead_ohm=0.2)
    bench.read(5.4)
    bench.explain.came_to_front()
    assert bench.shown.ask.ask is PAIR


def test_a_check_that_serves_is_not_asked_for(bench):
    bench.explains.asks = (CHECK, PAIR)
    bench.read(5.4)
    bench.explain.came_to_front()
    assert bench.shown.ask.ask is CHECK
    bench.check = Check(ohm=5.0, read_ohm=5.1, pct=0.1)
    bench.explain.came_to_front()
    assert bench.shown.ask.ask is PAIR


def test_without_a_variant_it_leads_to_the_wiring():
    bench = Bench(variant=None)
    bench.read(5.4)
    bench.explain.came_to_front()
    bench.card.show_words.assert_called_with(NO_VARIANT, action=FIND_WIRING)
    bench.explain.act()
    assert bench.wired == 1


def test_what_the_world_refuses_is_said_and_tried_again(bench):
    bench.explains.error = WorldFailed("priors.json: cannot be read. Install it again.")
    bench.read(5.4)
    bench.explain.came_to_front()
    words, named = bench.card.show_words.call_args
    assert words[0].endswith("Readings and verdicts are kept. priors.json: cannot be read. Install it again.")
    assert named == {"action": TRY_AGAIN, "is_problem": True}
    bench.explains.error = None
    bench.explain.act()
    assert bench.shown.sentence == "Heron (2\u20133) is too high"


def test_a_fault_of_ours_is_said_and_told(bench):
    bench.explains.error = RuntimeError("invented")
    bench.read(5.4)
    with pytest.raises(RuntimeError, match="invented"):
        bench.explain.came_to_front()
    assert last(bench.card.show_words)[0].endswith(FAULT_OF_OURS)
    assert bench.explain.text() == ""


def test_it_can_be_copied(bench):
    assert bench.explain.text() == ""
    bench.read(5.4)
    bench.explain.came_to_front()
    assert bench.explain.text().startswith("What explains these readings: Heron")
