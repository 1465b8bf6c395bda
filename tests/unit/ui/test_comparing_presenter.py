"""What the card of two bodies says, without Qt."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from tests.unit.diagnose.test_compare import read, session
from valvebench.bench.desk import Desk, first_line
from valvebench.bench.view import SessionView
from valvebench.diagnose.compared import Side
from valvebench.diagnose.comparison import comparison
from valvebench.model.entry import OpenJob
from valvebench.model.errors import WorldFailed
from valvebench.ui.findings import comparing as c
from valvebench.ui.findings.compared_shown import WIDEST_PERCENT, compared_shown
from valvebench.ui.findings.comparing import ComparingPresenter, ComparingView, World
from valvebench.ui.keeper import Keeper
from valvebench.ui.settings import Recent

HERE, THERE = Path("/jobs/old"), Path("/jobs/new")
OTHER = [("1", 5.0), ("2", 5.0), ("3", 5.0)]


def pair(pin, ohm, **more):
    return read(ohm, from_node=pin, **more)


class Bench:
    """A desk in memory with an old body on it, and another session that can be looked at."""

    def __init__(self) -> None:
        first = first_line(OpenJob(session="s", job="T-1"), at="2031-05-06T09:00:00.000Z", by="Ann")
        self.desk = Desk(SessionStore(first), clock=Clock())
        self.runner = HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.view = create_autospec(ComparingView, instance=True)
        self.looked: list[Path] = []
        self.problem: Exception | None = None
        recent = [Recent(path=str(path), title=path.name, about="") for path in (THERE, HERE)]
        world = World(HERE, self.look, lambda: recent)
        self.presenter = ComparingPresenter(self.view, self.desk, self.keeper, runner=self.runner, world=world)
        for pin, ohm in (("1", 5.0), ("2", 5.41), ("3", 5.0)):
            self.desk.record(pair(pin, ohm))

    def look(self, folder):
        self.looked.append(folder)
        if self.problem is not None:
            raise self.problem
        return SessionView(session=session(*(pair(*one) for one in OTHER), hour=9), variant=None)

    def shown(self):
        return self.view.show_comparison.call_args.args[0]


@pytest.fixture
def bench():
    return Bench()


def test_offers_the_sessions_opened_last_without_the_one_at_hand(bench):
    bench.presenter.start()
    (listed,) = bench.view.show_recent.call_args.args
    assert [one.path for one in listed] == [THERE]


def test_says_what_differs_and_lists_the_clearest_first(bench):
    bench.presenter.chosen(THERE)
    shown = bench.shown()
    # 5 counts of 0.01 on each side: 1.927 sqrt(2) 0.05/sqrt(3) = 0.079.
    assert shown.sentence == (
        "2\u20137 differs: 0.410 \u00b1 0.079 \u03a9 higher than in the other body; two others show no difference"
    )
    assert [row.what for row in shown.rows] == ["2\u20137", "1\u20137", "3\u20137"]
    assert [row.answer for row in shown.rows] == ["different", "no difference shown", "no difference shown"]
    first = shown.rows[0]
    assert (first.here, first.there, first.difference) == ("5.410 \u03a9", "5.000 \u03a9", "+0.410 \u00b1 0.079 \u03a9")


def test_the_chart_is_in_percent_of_the_other_body(bench):
    bench.presenter.chosen(THERE)
    heron = bench.shown().whiskers[0]
    # 0.41 of 5.0 is 8.2 %; 0.0787 of 5.0 is 1.573 %.
    assert (heron.value, heron.reach) == pytest.approx((8.2, 1.573), abs=2e-3)
    assert heron.stands_out
    assert [whisker.stands_out for whisker in bench.shown().whiskers[1:]] == [False, False]


def test_says_it_is_busy_while_the_other_session_is_read(bench):
    bench.runner.is_held = True
    bench.presenter.chosen(THERE)
    assert bench.view.show_busy.call_args.args == (c.COMPARING,)
    assert not bench.view.show_comparison.called
    bench.runner.release()
    assert bench.view.show_comparison.called


def test_an_answer_that_comes_after_another_was_asked_for_is_dropped(bench):
    bench.runner.is_held = True
    bench.presenter.chosen(THERE)
    bench.presenter.again()
    bench.runner.release()
    assert not bench.view.show_comparison.called
    assert bench.presenter.folder is None


@pytest.mark.parametrize(("folder", "words"), [(Path(), c.NAME_ONE), (HERE, c.ITSELF)])
def test_nothing_and_the_session_at_hand_are_refused_in_words(bench, folder, words):
    bench.presenter.chosen(folder)
    assert bench.view.show_problem.call_args.args == (words,)
    assert bench.looked == []


def test_a_folder_that_cannot_be_read_is_told_beside_the_field(bench):
    bench.problem = WorldFailed("new: cannot be read (no such folder).")
    bench.presenter.chosen(THERE)
    assert bench.view.show_problem.call_args.args == ("new: cannot be read (no such folder).",)
    assert bench.presenter.folder is None


def test_a_fault_of_ours_is_not_hidden(bench):
    bench.problem = RuntimeError("a fault")
    with pytest.raises(RuntimeError):
        bench.presenter.chosen(THERE)


def kept(bench, body):
    bench.keeper.keep(body, kept=lambda *_: None, failed=pytest.fail)


def test_a_new_reading_is_compared_when_somebody_looks(bench):
    bench.presenter.came_to_front()
    bench.presenter.chosen(THERE)
    bench.presenter.left()
    kept(bench, pair("4", 9.0))
    assert "Read on this body only" not in "".join(bench.shown().notes)
    bench.presenter.came_to_front()
    assert "Read on this body only: 4\u20137." in bench.shown().notes
    assert bench.looked == [THERE]


def test_copies_everything_as_text(bench):
    bench.presenter.copy()
    assert not bench.view.put_on_clipboard.called
    bench.presenter.chosen(THERE)
    bench.presenter.copy()
    (text,) = bench.view.put_on_clipboard.call_args.args
    assert text.splitlines()[0] == "Job T-1 compared with job T-1"
    assert "2\u20137\t5.410 \u03a9\t5.000 \u03a9\t+0.410 \u00b1 0.079 \u03a9\tdifferent" in text
    assert bench.view.say.call_args.args == (c.COPIED,)


def test_says_which_session_it_is_compared_with_until_another_is_chosen(bench):
    bench.presenter.chosen(THERE)
    assert bench.presenter.folder == THERE
    bench.presenter.again()
    assert bench.presenter.folder is None
    assert bench.view.show_choice.called


def shown_of(here, there):
    sides = [
        Side(session(*(pair(*one) for one in bodies), hour=hour), None) for bodies, hour in ((here, 8), (there, 9))
    ]
    return compared_shown(comparison(*sides), sides[1].session)


def test_one_line_far_off_does_not_squeeze_the_others():
    shown = shown_of([("1", 5.0), ("2", 15.0)], [("1", 5.0), ("2", 5.0)])
    # 200 % off; the other line ends at 1.57 %.
    assert shown.widest_percent == pytest.approx(1.573, abs=2e-3)
    assert shown_of([("2", 15.0)], [("2", 5.0)]).widest_percent == WIDEST_PERCENT
    assert shown_of([("1", 5.0)], [("1", 5.0)]).widest_percent is None


def test_a_long_list_is_charted_in_part_and_says_so():
    pins = [(str(n), 5.0) for n in range(10, 30)]
    shown = shown_of(pins, pins)
    assert (len(shown.whiskers), len(shown.rows)) == (16, 20)
    assert shown.left_out == "The chart holds the 16 clearest; 4 more are in the table."


def test_a_value_of_nought_has_no_percent_and_stays_in_the_table():
    shown = shown_of([("1", 0.0)], [("1", 0.0)])
    assert shown.whiskers == ()
    assert [row.answer for row in shown.rows] == ["no difference shown"]
