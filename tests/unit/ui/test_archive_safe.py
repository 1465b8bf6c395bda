"""Backup, bringing back, check and tables from the page.  Every name and number is made up."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.data.archived import DayClock, small_archive
from tests.unit.ui.test_archive_find import Later, Now
from valvebench.archive.archives import Archives
from valvebench.compose import open_desk
from valvebench.ui.archive.long_work import NO_ARCHIVE, STOPPED, STOPPING
from valvebench.ui.archive.reach import Reach
from valvebench.ui.archive.safe import NAME_FILE, SOUND, SafePresenter
from valvebench.ui.archive.safe_part import SafePart


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    root = tmp_path_factory.mktemp("archive")
    return small_archive(root / "archive", root / "jobs")


class Bench:
    def __init__(self, folder, worker) -> None:
        self.view = create_autospec(SafePart, instance=True)
        archives = Archives(folder, clock=DayClock("2031-12-02"), open_desk=open_desk)
        self.reach = Reach(lambda: archives, lambda: "")
        self.presenter = SafePresenter(self.view, self.reach, runner=Now(), worker=worker)

    def said(self):
        return self.view.say.call_args.args[0]

    def is_problem(self):
        return self.view.say.call_args.kwargs.get("is_problem", False)


@pytest.fixture
def make():
    made = []

    def bench(folder, worker=None):
        made.append(Bench(folder, worker or Now()))
        return made[-1]

    yield bench
    for one in made:
        one.reach.close()


def test_a_backup_brings_everything_back_on_an_empty_computer(make, shelf, tmp_path):
    here = make(shelf)
    here.presenter.backup(str(tmp_path / "backup.sqlite"))
    assert here.said().startswith("4 sessions written to ")
    there = make(tmp_path / "empty" / "archive")
    there.presenter.refresh()
    assert there.view.show_place.call_args.kwargs == {"is_there": False}
    there.presenter.restore(str(tmp_path / "backup.sqlite"))
    assert there.said().startswith("4 sessions brought back to ")
    assert there.said().endswith(SOUND)
    assert there.view.show_place.call_args.kwargs == {"is_there": True}
    there.presenter.restore(str(tmp_path / "backup.sqlite"))
    assert there.is_problem()
    assert "new or empty folder" in there.said()
    there.presenter.check()
    assert there.said() == f"4 sessions. {SOUND}"


def test_a_file_that_is_no_backup_is_refused_and_leaves_nothing(make, tmp_path):
    (tmp_path / "letter.sqlite").write_text("no backup at all")
    bench = make(tmp_path / "archive")
    bench.presenter.restore(str(tmp_path / "letter.sqlite"))
    assert bench.is_problem()
    assert not (tmp_path / "archive").exists()


def test_what_is_not_as_it_was_written_is_named(make, tmp_path):
    folder = small_archive(tmp_path / "archive", tmp_path / "jobs")
    archive = Archives(folder, clock=DayClock(), open_desk=open_desk).open()
    changed = "CAST(replace(bytes, '5.2', '5.1') AS BLOB)"
    archive.database.execute(f"UPDATE journal SET bytes = {changed} WHERE session_id = 1")
    archive.close()
    bench = make(folder)
    bench.presenter.check()
    assert bench.is_problem()
    assert "Not as it was written: job 2117" in bench.said()


def test_a_name_is_asked_for_and_nothing_done_without_one(make, shelf):
    bench = make(shelf)
    bench.presenter.backup("  ")
    bench.view.show_problem.assert_called_with("backup", NAME_FILE)
    bench.view.show_busy.assert_not_called()


def test_without_an_archive_there_is_nothing_to_save(make, tmp_path):
    bench = make(tmp_path / "none")
    bench.presenter.backup(str(tmp_path / "backup.sqlite"))
    assert bench.said() == NO_ARCHIVE
    assert not (tmp_path / "backup.sqlite").exists()


@pytest.mark.parametrize("what", ["backup", "restore"])
def test_stopped_in_the_middle_nothing_is_left(make, shelf, tmp_path, what):
    worker = Later()
    if what == "restore":
        make(shelf).presenter.backup(str(tmp_path / "full.sqlite"))
    bench = make(shelf if what != "restore" else tmp_path / "empty", worker)
    typed = {"backup": "b.sqlite", "restore": "full.sqlite"}[what]
    getattr(bench.presenter, what)(str(tmp_path / typed))
    getattr(bench.presenter, what)(str(tmp_path / typed))
    assert len(worker.waiting) == 1, "one thing at a time"
    bench.presenter.work.break_off()
    assert bench.said() == STOPPING
    worker.let_go(0)
    assert bench.said() == STOPPED
    assert not bench.presenter.work.is_busy
    assert not (tmp_path / ("empty/archive.sqlite" if what == "restore" else typed)).exists()


def test_tables_for_a_spreadsheet(make, shelf, tmp_path):
    bench = make(shelf)
    bench.presenter.tables(str(tmp_path / "tables"))
    assert bench.said() == f"Tables of 4 sessions written to {tmp_path / 'tables'}."
    assert len(list((tmp_path / "tables").iterdir())) == 2
