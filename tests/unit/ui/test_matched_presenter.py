"""What the card of matched sets says, without Qt."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from tests.unit.diagnose.test_matched import read
from valvebench.bench.desk import Desk, first_line
from valvebench.bench.matched import AS_READ
from valvebench.diagnose.matched import TOO_FEW
from valvebench.model.entry import OpenJob
from valvebench.ui.findings.matched import MatchedPresenter, MatchedView
from valvebench.ui.keeper import Keeper


class Bench:
    def __init__(self) -> None:
        first = first_line(OpenJob(session="s", job="T-1"), at="2031-05-06T09:00:00.000Z", by="Ann")
        self.desk = Desk(SessionStore(first), clock=Clock())
        self.runner = HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.view = create_autospec(MatchedView, instance=True)
        self.presenter = MatchedPresenter(self.view, self.desk, self.keeper, runner=self.runner)

    def read(self, *ohms):
        for pin, ohm in enumerate(ohms, start=1):
            self.desk.record(read(pin, ohm))
        self.presenter.came_to_front()
        return self.view.show_sets.call_args.args[0] if self.view.show_sets.called else None


@pytest.fixture
def bench():
    return Bench()


def test_names_the_odd_one_with_its_z_and_the_floor(bench):
    shown = bench.read(5.1, 5.1, 5.1, 5.25)
    (one,) = shown.sets
    # u = 0.05/sqrt(3) = 0.02887; floor 0.6745 u = 0.0195; z = 0.6745 x 0.15 / 0.0195 = 5.2.
    assert one.sentence == "4\u20139 is the odd one: 0.150 \u03a9 above the median."
    assert "modified z of 4\u20139 5.2" in one.about
    assert "measured by the meter's own step, the floor (0.019 \u03a9)" in one.about
    assert "odd above z 3.5" in one.about
    assert [whisker.stands_out for whisker in one.whiskers] == [False, False, False, True]
    assert one.median_ohm == pytest.approx(5.1)
    assert shown.note == AS_READ


def test_without_an_odd_one_says_so(bench):
    (one,) = bench.read(5.1, 5.1, 5.15).sets
    assert one.sentence == "None of the 3 stands out."


def test_a_spread_above_the_floor_is_named_as_such(bench):
    (one,) = bench.read(5.0, 5.1, 5.2, 5.15, 5.05).sets
    assert "measured by the median distance from it (0.05 \u03a9)" in one.about


def test_without_sets_nothing_is_shown(bench):
    assert bench.read(5.1, 9.0) is None


def test_too_few_at_a_temperature_says_that_it_cannot_be_told(bench):
    for pin in (1, 2, 3):
        bench.desk.record(read(pin, 5.0))
    bench.desk.record(read(1, 6.18, celsius=80.0))
    shown = bench.read()
    assert [one.sentence for one in shown.sets] == ["None of the 3 stands out.", TOO_FEW]
    assert [whisker.stands_out for whisker in shown.sets[1].whiskers] == [False]


def test_the_set_with_an_odd_one_stands_first(bench):
    for pin, ohm in ((1, 6.18), (2, 6.18), (3, 6.5)):
        bench.desk.record(read(pin, ohm, celsius=80.0))
    shown = bench.read(5.0, 5.0, 5.0)
    assert "odd one" in shown.sets[0].sentence
    assert "80" in shown.sets[0].title


def test_works_only_while_somebody_looks(bench):
    bench.read(5.1, 5.1, 5.1)
    bench.presenter.left()
    bench.view.show_sets.reset_mock()
    bench.keeper.keep(read(4, 5.4), kept=lambda *_: None, failed=pytest.fail)
    assert not bench.view.show_sets.called
    bench.presenter.came_to_front()
    assert "odd one" in bench.view.show_sets.call_args.args[0].sets[0].sentence
