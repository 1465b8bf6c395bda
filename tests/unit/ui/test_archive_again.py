"""Sessions judged anew, and what fails most, from the page.  Every name and number is made up."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.data.archived import DayClock, small_archive
from tests.unit.ui.test_archive_find import Later, Now
from valvebench.archive.archives import Archives
from valvebench.bench.archived import Asked
from valvebench.compose import open_desk
from valvebench.model.words import Verdict
from valvebench.ui.archive.again import NOTHING_ASKED, WHOLE_BAND, AgainPresenter, AgainTyped
from valvebench.ui.archive.again_part import AgainPart
from valvebench.ui.archive.fails import NONE_KEPT, FailsPresenter
from valvebench.ui.archive.fails_part import FailsPart
from valvebench.ui.archive.long_work import NO_ARCHIVE, STOPPED
from valvebench.ui.archive.reach import Reach


class Bench:
    def __init__(self, folder, worker=None) -> None:
        self.view = create_autospec(AgainPart, instance=True)
        archives = Archives(folder, clock=DayClock("2031-12-02"), open_desk=open_desk)
        self.reach = Reach(lambda: archives, lambda: "")
        self.presenter = AgainPresenter(self.view, self.reach, runner=Now(), worker=worker or Now())
        self.presenter.refresh()

    def said(self):
        return self.view.say.call_args.args[0]


@pytest.fixture
def make(tmp_path):
    made = []
    folder = small_archive(tmp_path / "archive", tmp_path / "jobs")

    def bench(worker=None, folder=folder):
        made.append(Bench(folder, worker))
        return made[-1]

    yield bench
    for one in made:
        one.reach.close()


def test_a_corrected_band_stands_beside_what_was_closed(make):
    bench = make()
    devices = [name.device for name in bench.view.show_names.call_args.args[0].devices]
    bench.presenter.asked(AgainTyped(device=str(devices.index("Heron")), low="5,0", high="7", why="misprint"))
    # Heron of 2118 (6.4 ohm) and 2203 (5.9 ohm) failed against 4.90 to 5.50, and lie inside 5 to 7
    (row,) = bench.view.show_changed.call_args.args[0]
    assert (row.old, row.new, row.sessions) == (Verdict.FAIL, Verdict.NOT_FINISHED, 2)
    assert bench.said().startswith("4 sessions and 7 readings judged anew: 2 come out otherwise. Kept as judgement 1")
    archive = bench.reach.archive()
    (one,) = archive.find(Asked(text="2118")).sessions
    assert one.verdict is Verdict.FAIL
    assert [again.verdict for again in archive.show(one.id).judgements] == [Verdict.NOT_FINISHED]


def test_half_a_question_is_told_beside_its_field(make):
    bench = make()
    bench.presenter.asked(AgainTyped())
    assert bench.said() == NOTHING_ASKED
    bench.presenter.asked(AgainTyped(low="5"))
    bench.view.show_problems.assert_called_with({"device": WHOLE_BAND})
    bench.presenter.asked(AgainTyped(device="0", low="five", since="May"))
    assert set(bench.view.show_problems.call_args.args[0]) == {"low", "since"}
    bench.view.show_busy.assert_not_called()


def test_stopped_in_the_middle_nothing_counts(make):
    worker = Later()
    bench = make(worker)
    bench.presenter.asked(AgainTyped(rule="plain"))
    bench.presenter.work.break_off()
    worker.let_go(0)
    assert bench.said() == STOPPED
    archive = bench.reach.archive()
    assert all(archive.show(one.id).judgements == () for one in archive.find(Asked()).sessions)


def test_without_an_archive_it_is_said(make, tmp_path):
    bench = make(folder=tmp_path / "none")
    bench.presenter.asked(AgainTyped(rule="plain"))
    assert bench.said() == NO_ARCHIVE


def test_what_fails_most_by_device_supplier_and_variant(make):
    bench = make()
    view = create_autospec(FailsPart, instance=True)
    presenter = FailsPresenter(view, bench.reach, Now())
    presenter.refresh()
    rows = view.show_counts.call_args.args[0]
    # by hand: Heron was read four times and failed twice, Gull three times and never
    assert [(row.name, row.of, row.sessions, row.failed) for row in rows] == [
        ("Heron", "tern-body-2", 4, 2),
        ("Gull", "tern-body-2", 3, 0),
    ]
    # Clopper and Pearson for 2 of 4: 6.76 to 93.24 %, as any table of the exact interval has it
    assert rows[0].cells == ("Heron", "tern-body-2", "4", "2", "50 % (7\u201393)")
    presenter.changed("supplier", "", "")
    names = {(row.name, row.sessions, row.failed) for row in view.show_counts.call_args.args[0]}
    assert names == {("Skua & Son", 1, 0), ("Tern Ltd", 1, 1), ("not told", 2, 1)}
    presenter.changed("variant", "", "2031-03")
    assert [(row.sessions, row.failed) for row in view.show_counts.call_args.args[0]] == [(2, 1)]
    presenter.changed("variant", "", "2040")
    assert view.say.call_args.args[0] == NONE_KEPT
