"""What a page takes back and brings back of its own, and what it says where it cannot; readings are invented."""

from __future__ import annotations

import pytest

from valvebench.model.entry import Note, Reading
from valvebench.ui.keeper import BUSY, CLOSED
from valvebench.ui.taking_back import TakingBack, Told

NOTHING, NOTHING_BACK = "no reading is left", "no reading was taken back"


class Page:
    """A page of readings that keeps what it is told."""

    def __init__(self, bench):
        self.desk, self.runner, self.keeper, self.store = bench.desk, bench.runner, bench.keeper, bench.store
        self.said, self.heard = [], []
        self.back = TakingBack(
            bench.keeper,
            lambda words, *, is_problem=False: self.said.append((words, is_problem)),
            is_own=lambda body: isinstance(body, Reading),
            done=lambda number, body: self.heard.append((number, body.ohm)),
            told=Told(NOTHING, NOTHING_BACK),
        )

    @property
    def ohm(self):
        return [item.body.ohm for item in self.desk.session.items_of("reading")]


@pytest.fixture
def page(bench):
    bench.key_in("5.5")
    return Page(bench)


def test_the_newest_entry_is_taken_back_and_brought_back(page):
    page.back.undo()
    assert (page.ohm, page.said) == ([], [("Entry 2 taken back. Both stay in the trail.", False)])
    page.back.redo()
    assert (page.ohm, page.said[-1]) == ([5.5], ("Entry 2 brought back. Both stay in the trail.", False))
    assert page.heard == [(2, 5.5), (2, 5.5)]


def test_one_entry_is_taken_back_by_its_number(page):
    page.back.withdraw(2, "a wrong pin")
    assert page.ohm == []
    assert page.desk.session.entries[-1].body.why == "a wrong pin"


def test_a_correction_is_its_page_s_own_as_what_it_corrects_is(page):
    page.desk.correct(2, {"ohm": 5.6}, "misread")
    page.back.undo()
    assert (page.ohm, page.heard) == ([5.5], [(3, 5.5)])


def test_what_another_page_kept_stays(page):
    page.back.undo()
    page.back.redo()
    page.desk.record(Note(text="fluid dark"))
    page.back.undo()
    assert page.said[-1] == (NOTHING, False)
    page.back.redo()
    assert page.said[-1] == (NOTHING_BACK, False)
    assert (page.ohm, page.desk.session.entries[-1].kind) == ([5.5], "note")


@pytest.mark.parametrize("act", ["undo", "redo", "withdraw"])
def test_nothing_is_written_while_an_entry_is_on_its_way_or_the_session_is_closed(page, act):
    ask = getattr(page.back, act) if act != "withdraw" else lambda: page.back.withdraw(2, "a wrong pin")
    page.runner.is_held = True
    page.keeper.keep(Note(text="on its way"), kept=lambda *_: None, failed=lambda _: None)
    ask()
    assert page.said == [(BUSY, False)]
    page.runner.release()
    page.desk.close()
    ask()
    assert page.said[-1] == (CLOSED, False)
    assert (page.ohm, page.heard) == ([5.5], [])


def test_what_could_not_be_saved_is_said_and_nothing_changes(page):
    page.store.is_full = True
    page.back.undo()
    assert (page.ohm, page.said) == ([5.5], [("Not saved. no space left.", True)])
