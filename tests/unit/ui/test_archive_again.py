"""Sessions judged anew, and what fails most, from the page.  Every name and number is made up."""

from __future__ import annotations

from types import SimpleNamespace
from unittest.mock import create_autospec

import pytest
from scipy.stats import binomtest

from tests.data.archived import DayClock, small_archive
from tests.unit.ui.test_archive_find import Later, Now
from valvebench.archive.archives import Archives
from valvebench.bench.archived import Asked, Names
from valvebench.compose import open_desk
from valvebench.diagnose.failures import Cell, Cells, Count
from valvebench.model.words import Verdict
from valvebench.ui.archive.again import NOTHING_ASKED, WHOLE_BAND, AgainPresenter, AgainTyped
from valvebench.ui.archive.again_part import AgainPart
from valvebench.ui.archive.fails import NONE_KEPT, FailsPresenter, row_of
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


@pytest.mark.parametrize(
    ("failed", "sessions", "all_pct", "told"),
    [
        (3, 4, 10.0, "3 of 4 failed, 19 to 99 % (95 %); more often than all together, 10 %"),
        (3, 4, 20.0, "3 of 4 failed, 19 to 99 % (95 %); cannot be told from all together, 20 %"),
        (0, 30, 20.0, "0 of 30 failed, 0 to 12 % (95 %); less often than all together, 20 %"),
        (1, 1, 50.0, "1 of 1 failed, 3 to 100 % (95 %); cannot be told from all together, 50 %"),
        (1, 1000, 0.25, "1 of 1000 failed, <0.1 to 0.6 % (95 %); cannot be told from all together, 0.2 %"),
    ],
)
def test_a_line_says_its_count_and_whether_it_differs_from_all(failed, sessions, all_pct, told):
    exact = binomtest(failed, sessions).proportion_ci(confidence_level=0.95, method="exact")
    row = row_of(Count("", "Heron", sessions, failed, exact.low, exact.high), all_pct)
    assert row.told == told
    assert row.stands_out is ("cannot" not in told)


def test_all_together_counts_also_what_does_not_stand_there():
    view = create_autospec(FailsPart, instance=True)
    cells = tuple(Cell("tern", f"D{n}", "", "", 10, int(n < 30)) for n in range(60))
    archive = SimpleNamespace(failure_cells=lambda **_: Cells(cells, ()), names=lambda: Names((), ()))
    FailsPresenter(view, SimpleNamespace(archive=lambda: archive), Now()).refresh()
    rows, words = view.show_counts.call_args.args
    assert len(rows) == 50
    assert {row.all_pct for row in rows} == {5.0}
    assert words[0].startswith("The post stands at all lines together: 30 of 600 failed, 5 %.")


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
    # 2 of 7 together, 29 %: both intervals hold it
    assert rows[0].told == "2 of 4 failed, 7 to 93 % (95 %); cannot be told from all together, 29 %"
    assert [row.stands_out for row in rows] == [False, False]
    words = view.show_counts.call_args.args[1]
    assert words[0].startswith("The post stands at all lines together: 2 of 7 failed, 29 %.")
    presenter.changed("supplier", "", "")
    names = {(row.name, row.sessions, row.failed) for row in view.show_counts.call_args.args[0]}
    assert names == {("Skua & Son", 1, 0), ("Tern Ltd", 1, 1), ("not told", 2, 1)}
    presenter.changed("variant", "", "2031-03")
    assert [(row.sessions, row.failed) for row in view.show_counts.call_args.args[0]] == [(2, 1)]
    presenter.changed("variant", "", "2040")
    assert view.say.call_args.args[0] == NONE_KEPT
