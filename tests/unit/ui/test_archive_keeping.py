"""What is closed in the window is kept and says so, also where the window is left at once.  Everything is made up."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.data.archived import DayClock, add_to, session_in
from tests.fakes.runners import HeldRunner
from valvebench.archive.archives import Archives
from valvebench.bench.archived import Asked
from valvebench.compose import open_desk, view_session
from valvebench.model.entry import Outcome
from valvebench.model.words import AnchorKind
from valvebench.ui.archive.keeping import Keeping
from valvebench.ui.archive.reach import Reach
from valvebench.ui.keeper import Keeper


class Window:
    """What a window does with a session, its disk and its archive each held back where a test says so."""

    def __init__(self, root: Path) -> None:
        self.root, self.told = root, []
        self.disk, self.worker = HeldRunner(), HeldRunner()
        archives = Archives(root / "archive", clock=DayClock("2031-12-02"), open_desk=open_desk)
        self.reach = Reach(lambda: archives, lambda: "")
        self.keeping = Keeping(self.reach, self.worker, tell=self._tell, changed=lambda: None)
        self.desk = None

    def _tell(self, words, *, is_problem):
        self.told.append((words, is_problem))

    def open(self, folder):
        self.desk = open_desk(folder, clock=DayClock("2031-06-01"))
        self.keeper = Keeper(self.desk, self.disk)
        self.keeping.opened(self.keeper, folder)
        return self

    def close_session(self):
        self.keeper.keep(self.desk.close_body(self.desk.judged(None)), kept=lambda *_: None, failed=_raised)

    def leave(self):
        """As the window does: what is on its way reaches the disk, and nobody hears of it."""
        self.disk.forget()
        self.keeping.left()
        self.desk.release()

    def end(self):
        self.leave()
        self.worker.forget()
        self.keeping.finish()
        self.reach.close()


def _raised(error):
    raise error


@pytest.fixture
def window(tmp_path):
    made = Window(tmp_path)
    yield made
    made.reach.close()


@pytest.fixture
def folder(tmp_path):
    return session_in(tmp_path / "jobs", "2301", is_closed=False)


def anchors(folder):
    return [(one.kind, one.to) for one in view_session(folder).session.anchors]


def in_archive(window):
    """Of every kept session its job, the entries after its head, and what is wrong with it."""
    archive = window.reach.archive()
    shown = [archive.show(one.id) for one in archive.find(Asked()).sessions]
    return [(one.session.job, one.tail, one.problems) for one in shown]


def own(window):
    return [(AnchorKind.OWN_ARCHIVE, f"archive {window.reach.archive().id}")]


def is_whole(window, folder):
    return anchors(folder) == own(window) and in_archive(window) == [("2301", 1, ())]


def test_closed_at_leisure_it_says_so_at_once_and_nothing_is_owed(window, folder):
    window.open(folder).close_session()
    assert is_whole(window, folder)
    before = (folder / "journal.jsonl").read_bytes()
    window.end()
    assert (folder / "journal.jsonl").read_bytes() == before


def test_left_before_the_archive_answered(window, folder):
    window.open(folder)
    window.worker.is_held = True
    window.close_session()
    assert anchors(folder) == []
    window.end()
    assert is_whole(window, folder)


def test_left_while_the_anchor_is_on_its_way(window, folder):
    window.open(folder)
    window.worker.is_held = True
    window.close_session()
    window.disk.is_held = True
    window.worker.step()
    assert window.keeper.is_busy
    window.end()
    assert is_whole(window, folder)


def test_left_while_the_closing_entry_is_on_its_way(window, folder):
    window.open(folder)
    window.disk.is_held = True
    window.close_session()
    assert window.keeper.is_closing
    window.end()
    assert view_session(folder).session.is_closed
    assert is_whole(window, folder)


def test_left_for_another_session_it_is_done_at_the_end(window, folder, tmp_path):
    other = session_in(tmp_path / "jobs", "2302", is_closed=False)
    window.open(folder)
    window.worker.is_held = True
    window.close_session()
    window.leave()
    window.worker.release()
    assert anchors(folder) == []
    window.open(other).end()
    assert is_whole(window, folder)
    assert not view_session(other).session.is_closed


def without_anchor(window, folder):
    """Closed and in the archive, and then the power went."""
    open_and_closed = open_desk(folder, clock=DayClock("2031-06-01"))
    open_and_closed.close()
    open_and_closed.release()
    window.reach.archive(may_make=True).add(folder)
    assert (anchors(folder), in_archive(window)) == ([], [("2301", 0, ())])


def test_what_was_left_without_it_says_so_when_it_is_opened_next(window, folder):
    without_anchor(window, folder)
    window.open(folder)
    window.keeping.note()
    assert is_whole(window, folder)
    window.keeping.note()
    assert is_whole(window, folder)
    assert window.told == []


def test_a_closed_session_that_is_not_in_the_archive_is_only_looked_at(window, folder, tmp_path):
    without_anchor(window, folder)
    other = session_in(tmp_path / "jobs", "2303")
    window.open(other)
    window.keeping.note()
    window.end()
    assert anchors(other) == []
    assert in_archive(window) == [("2301", 0, ())]


def test_nothing_is_added_to_an_old_copy(window, folder, tmp_path):
    without_anchor(window, folder)
    copy = shutil.copytree(folder, tmp_path / "copy")
    add_to(folder, Outcome(fitted=True))
    window.reach.archive().add(folder)
    before = (copy / "journal.jsonl").read_bytes()
    window.open(copy)
    window.keeping.note()
    window.end()
    assert (copy / "journal.jsonl").read_bytes() == before


def test_no_archive_and_a_folder_that_went_are_no_trouble(window, folder, tmp_path):
    window.open(folder)
    window.keeping.note()
    window.worker.is_held = True
    window.close_session()
    window.leave()
    window.worker.forget()
    shutil.rmtree(folder)
    window.keeping.finish()
    assert not [is_problem for _, is_problem in window.told if is_problem]
