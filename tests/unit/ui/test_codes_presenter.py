"""The table of selector positions, without Qt.  The body is invented."""

from __future__ import annotations

import json
from unittest.mock import create_autospec

import pytest

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import OpenJob, SwitchTest, sha256_of
from valvebench.model.errors import WorldFailed
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import SwitchState, Verdict
from valvebench.ui.codes import presenter as p
from valvebench.ui.codes.presenter import Cell, CodesPresenter, CodesView, HoldsLever, LeverPresenter, LeverView
from valvebench.ui.keeper import Keeper

OPEN, CLOSED = SwitchState.OPEN, SwitchState.CLOSED
VARIANT = json.dumps(
    {
        "format": 1,
        "key": "tern-codes",
        "title": "Quillon Tern, with a selector switch (invented)",
        "pins": [{"name": "1"}, {"name": "2"}],
        "devices": [
            {"name": "Stork", "kind": "switch", "between": ["1", "case"]},
            {"name": "Snipe", "kind": "switch", "between": ["2", "case"]},
        ],
        "selector_codes": [
            {"position": "P", "switches": {"Stork": "closed", "Snipe": "open"}},
            {"position": "N", "switches": {"Stork": "open", "Snipe": "either"}},
            {"position": "D", "switches": {"Stork": "open", "Snipe": "closed"}},
        ],
    }
).encode()


class Bench:
    def __init__(self, variant=VARIANT):
        job = OpenJob(session="s", job="T-1", variant=sha256_of(variant))
        self.store = SessionStore(first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann"), blobs=(variant,))
        self.desk = Desk(self.store, clock=Clock())
        self.runner = HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.keeper.judge(done=lambda: None, failed=pytest.fail)
        self.view = create_autospec(CodesView, instance=True)
        self.codes = CodesPresenter(self.view, self.keeper)

    def answer(self, *states):
        for state in states:
            self.codes.answer(state)

    @property
    def at(self):
        return self.view.go_to.call_args.args[0]

    @property
    def lines(self):
        return self.view.show_lines.call_args.args[0]

    @property
    def cells(self):
        return {line.position: line.cells for line in self.lines}

    @property
    def cell(self):
        return self.view.show_cell.call_args.args[0]

    @property
    def said(self):
        return self.view.say.call_args.args[0]

    @property
    def states(self):
        bodies = [item.body for item in self.desk.session.items_of("switch")]
        return [(body.device, body.selector, body.state) for body in bodies]


@pytest.fixture
def bench():
    made = Bench()
    made.codes.open()
    return made


def test_it_begins_at_the_first_switch_and_says_where_to_probe_and_what_to_expect(bench):
    assert bench.view.show_table.call_args.args == (("Stork", "Snipe"),)
    assert bench.at == Cell(0, 0)
    assert (bench.cell.big, bench.cell.expect) == ("Lever in P, read Stork", "between 1 and case, expect closed")
    assert bench.cell.told == "Move the lever to P: Stork, Snipe."
    assert bench.cells == {"P": ("(closed)", "(open)"), "N": ("(open)", "any"), "D": ("(open)", "(closed)")}
    assert [line.verdict for line in bench.lines] == [None] * 3


def test_one_key_a_cell_walks_through_the_table(bench):
    bench.answer(CLOSED, OPEN, OPEN, OPEN, CLOSED)
    assert bench.states == [
        ("Stork", "P", CLOSED),
        ("Snipe", "P", OPEN),
        ("Stork", "N", OPEN),
        ("Stork", "D", OPEN),
        ("Snipe", "D", CLOSED),
    ]
    assert [line.verdict for line in bench.lines] == [Verdict.PASS] * 3
    assert bench.view.show_lines.call_args.args[1] == "3 of 3"
    assert bench.said == "Kept as entry 6: Snipe closed in D. Every position was read."


def test_a_wrong_switch_stands_there_with_what_it_ought_to_be(bench):
    bench.answer(OPEN, OPEN)
    assert bench.cells["P"] == ("open, not closed", "open")
    assert bench.lines[0].verdict is Verdict.FAIL
    bench.codes.moved(0, 0)
    assert bench.cell.told.startswith("Fail: in P Stork is open, it should be closed.")


def test_the_other_key_corrects_the_entry_and_both_stay_in_the_trail(bench):
    bench.answer(OPEN)
    bench.codes.moved(0, 0)
    bench.answer(CLOSED)
    assert bench.states == [("Stork", "P", CLOSED)]
    assert [entry.kind for entry in bench.desk.session.entries] == ["open-job", "switch", "correct"]
    assert bench.at == Cell(0, 1)


def test_the_same_key_again_writes_nothing(bench):
    bench.answer(CLOSED)
    bench.codes.moved(0, 0)
    bench.answer(CLOSED)
    assert len(bench.desk.session.entries) == 2


def test_an_entry_of_the_command_line_that_says_otherwise_is_seen_and_settled():
    bench = Bench()
    for state in (OPEN, CLOSED):
        bench.desk.record(SwitchTest(device="Stork", state=state, selector="p"))
    bench.keeper.judge(done=lambda: None, failed=pytest.fail)
    bench.codes.open("selector P")
    assert bench.cells["P"][0] == "both, not only closed"
    assert bench.lines[0].verdict is Verdict.CANT_TELL
    bench.codes.moved(0, 0)
    bench.answer(CLOSED)
    assert bench.cells["P"][0] == "closed"


def test_what_does_not_matter_takes_no_answer(bench):
    bench.codes.moved(1, 1)
    bench.answer(OPEN)
    assert (bench.said, bench.states) == (p.NOT_ASKED, [])


def test_keys_may_come_faster_than_the_disk(bench):
    bench.runner.is_held = True
    bench.answer(CLOSED, OPEN, OPEN)
    assert bench.cells["P"] == ("closed", "open")
    assert bench.at == Cell(2, 0)
    bench.runner.release()
    assert [position for _, position, _ in bench.states] == ["P", "P", "N"]


def test_a_full_disk_leads_back_to_the_first_answer_that_is_lost(bench):
    bench.runner.is_held = True
    bench.answer(CLOSED, OPEN)
    bench.store.append = _fails
    bench.runner.release()
    assert bench.at == Cell(0, 0)
    assert bench.said == "Not saved. The disk is full. Nor were the answers after it. Answer again."
    assert bench.cells["P"] == ("(closed)", "(open)")


def _fails(line):
    raise WorldFailed("The disk is full.")


def test_a_fault_of_ours_is_never_swallowed(bench):
    def broken(line):
        raise RuntimeError("ours")

    bench.store.append = broken
    with pytest.raises(RuntimeError, match="ours"):
        bench.answer(CLOSED)
    assert bench.cells["P"] == ("(closed)", "(open)")


def test_taking_back_leaves_the_cell_empty(bench):
    bench.answer(OPEN)
    bench.codes.moved(0, 0)
    bench.codes.take_back()
    assert (bench.cells["P"], bench.states) == (("(closed)", "(open)"), [])
    assert bench.said.startswith("Withdrawn: entry 2.")
    bench.codes.take_back()
    assert bench.said == p.NOTHING_HERE


def test_while_what_was_taken_back_is_judged_no_answer_slips_in(bench):
    bench.answer(CLOSED)
    bench.codes.moved(0, 0)
    bench.runner.is_held = True
    bench.codes.take_back()
    bench.runner.step()  # on disk, not judged yet
    bench.answer(OPEN)
    assert (bench.said, len(bench.desk.session.entries)) == (p.STILL_KEEPING, 3)
    bench.runner.release()
    bench.answer(OPEN)
    assert bench.states == [("Stork", "P", OPEN)]


def test_undo_takes_back_only_what_belongs_to_the_table(bench):
    bench.answer(CLOSED, OPEN)
    bench.codes.undo()
    assert bench.states == [("Stork", "P", CLOSED)]
    bench.codes.undo()
    assert bench.states == []
    bench.desk.record(SwitchTest(device="Stork", state=OPEN))
    bench.codes.undo()
    assert bench.said == p.NOTHING_TO_UNDO
    assert len(bench.states) == 1


def test_a_correction_is_undone_to_what_was_read_first(bench):
    bench.answer(OPEN)
    bench.codes.moved(0, 0)
    bench.answer(CLOSED)
    bench.codes.undo()
    assert bench.states == [("Stork", "P", OPEN)]


def test_a_closed_session_takes_nothing(bench):
    bench.answer(CLOSED)
    bench.desk.close()
    bench.answer(OPEN)
    assert bench.said == p.CLOSED
    bench.codes.take_back()
    assert bench.said == p.CLOSED
    assert len(bench.states) == 1


def test_findings_leads_to_the_position_it_means(bench):
    bench.codes.open("selector D")
    assert bench.at == Cell(2, 0)


def test_leaving_gives_the_place_back_and_what_comes_later_is_not_shown(bench):
    bench.codes.leave()
    bench.view.leave.assert_called_once_with()
    bench.view.show_lines.reset_mock()
    bench.desk.record(SwitchTest(device="Stork", state=CLOSED, selector="P"))
    bench.keeper.judge(done=lambda: None, failed=pytest.fail)
    bench.view.show_lines.assert_not_called()


def test_a_body_without_a_table_has_no_way_in():
    bench = Bench(json.dumps({**json.loads(VARIANT), "selector_codes": []}).encode())
    assert not bench.codes.has_table
    bench.codes.open()
    bench.view.show_table.assert_not_called()


def test_one_key_says_where_the_lever_stands_position_by_position():
    readings, view = create_autospec(HoldsLever, instance=True), create_autospec(LeverView, instance=True)
    readings.lever = None

    def stands(position, text):
        readings.lever = position

    readings.set_lever.side_effect = stands
    lever = LeverPresenter(view, readings, read_variant(VARIANT, source="x"))
    said = []
    for _ in range(4):
        lever.turn("26")
        said.append(view.show_lever.call_args.args[0])
    assert said == ["lever in P", "lever in N", "lever in D", "lever not said"]
    assert set(said) == set(lever.words())
    assert readings.set_lever.call_args.args == (None, "26")
