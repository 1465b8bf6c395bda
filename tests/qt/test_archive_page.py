"""The Archive page in a window: what is closed comes in, what is found opens.  Every name is made up."""

from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import Qt

from tests.data.archived import small_archive
from valvebench.bench.archived import Asked, Fate
from valvebench.compose import open_desk, view_session
from valvebench.model.words import AnchorKind
from valvebench.ui.archive.view import FAILS, TREND
from valvebench.ui.frame import ARCHIVE, JOB
from valvebench.ui.job.after import OutcomeTyped

CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


@pytest.fixture
def shelf(program, tmp_path):
    return small_archive(tmp_path / "archive", tmp_path)


def jobs(person):
    model = person.window.archive.page.list.model
    return [model.row(place).job for place in range(model.rowCount())]


def archived(program):
    archive = program.archives().open(may_make=False)
    try:
        found = archive.find(Asked()).sessions
        return [(one, archive.show(one.id)) for one in found]
    finally:
        archive.close()


def test_closing_keeps_the_session_with_its_anchor_and_later_its_outcome(open_window, program, sample):
    folder = sample("2217-in-work")
    person = open_window(folder)
    window = person.window
    window.show_page(JOB)
    window.job.finish.close()
    window.job.finish.close()

    def is_anchored():
        return any(one.kind is AnchorKind.OWN_ARCHIVE for one in window.desk.session.anchors)

    person.wait(is_anchored)
    assert "kept in the archive of this computer" in window.trouble_line.words()
    window.archive.worker.wait()
    ((one, shown),) = archived(program)
    assert (one.job, shown.tail, shown.problems) == ("2217", 1, ())
    window.job.after.outcome_typed(OutcomeTyped(fitted="yes", comeback="hot", months="5"))
    person.wait(lambda: len(window.desk.session.outcomes) == 1)
    window.runner.wait()
    window.archive.worker.wait()
    ((one, shown),) = archived(program)
    assert (one.outcome, shown.tail) == (Fate.COMEBACK_HOT, 2)
    assert len([a for a in shown.anchors if a["kind"] == "own_archive"]) == 1


def test_a_full_archive_is_told_and_the_page_tries_once_more(open_window, program, sample, tmp_path):
    (tmp_path / "archive").write_text("a file stands where the archive would lie")
    person = open_window(sample("2217-in-work"))
    window = person.window
    window.show_page(JOB)
    window.job.finish.close()
    window.job.finish.close()
    person.wait(lambda: "not in the archive yet" in window.trouble_line.words())
    assert window.desk.is_closed


def test_from_the_start_page_by_a_key_and_back(open_window, shelf):
    person = open_window()
    person.key(Qt.Key.Key_A, CTRL | SHIFT)
    person.wait(lambda: jobs(person) == ["2209", "2203", "2131", "2118", "2117"])
    assert person.window.pages.currentWidget().accessibleName() == ARCHIVE
    person.type("2131")
    person.wait(lambda: jobs(person) == ["2131"])
    person.key(Qt.Key.Key_Escape)
    assert person.window.start_page.isVisible()


def test_where_nothing_is_found_nothing_is_offered(open_window, shelf):
    person = open_window()
    person.key(Qt.Key.Key_A, CTRL | SHIFT)
    person.type("2131")
    person.wait(lambda: jobs(person) == ["2131"])
    told = person.window.archive.page.told
    person.wait(told.open.isVisible)
    person.type("nothing like it")
    person.wait(lambda: jobs(person) == [])
    assert not told.open.isVisible()


def test_enter_opens_a_closed_session_to_look_at(open_window, shelf, tmp_path):
    person = open_window()
    person.key(Qt.Key.Key_A, CTRL | SHIFT)
    person.type("2131")
    person.wait(lambda: jobs(person) == ["2131"])
    person.key(Qt.Key.Key_Enter)
    person.wait(lambda: person.window.desk is not None and person.window.desk.job.job == "2131")
    assert person.window.folder == tmp_path / "2131"
    assert person.window.desk.is_closed
    assert "open to look at" in person.window.trouble_line.words()
    person.key(Qt.Key.Key_A, CTRL | SHIFT)
    person.wait(person.window.archive.page.isVisible)
    person.key(Qt.Key.Key_U, CTRL)
    person.wait(lambda: person.window.job_page is not None and person.window.job_page.after.fitted.box.hasFocus())


def test_a_session_that_is_worked_on_is_listed_and_one_closed_elsewhere_is_added(open_window, program, shelf, sample):
    folder = sample("2217-in-work")
    person = open_window(folder)
    person.wait(lambda: "2217" in [one.job for one in _open_now(program)])
    desk = person.window.desk
    desk.close()
    desk.release()
    person.window.archive.show()
    person.wait(lambda: jobs(person)[:1] == ["2209"] and "2217" in jobs(person))
    kept = view_session(folder).session
    assert [one.kind for one in kept.anchors] == [AnchorKind.OWN_ARCHIVE]


def _open_now(program):
    archive = program.archives().open(may_make=False)
    try:
        return archive.open_sessions()
    finally:
        archive.close()


def own_anchors(folder):
    return [one.kind for one in view_session(folder).session.anchors]


def test_left_right_after_closing_the_session_is_kept_and_says_so(open_window, program, sample):
    folder = sample("2217-in-work")
    person = open_window(folder)
    window, gate = person.window, threading.Event()
    window.archive.worker.run(gate.wait, done=lambda _: None, failed=lambda _: None)  # a slow disk
    window.show_page(JOB)
    window.job.finish.close()
    window.job.finish.close()
    person.wait(lambda: window.desk.is_closed and not window.keeper.is_busy)
    opener = threading.Timer(0.2, gate.set)
    opener.start()
    assert window.close()
    opener.join()
    assert own_anchors(folder) == [AnchorKind.OWN_ARCHIVE]
    ((one, shown),) = archived(program)
    assert (one.job, shown.tail, shown.problems) == ("2217", 1, ())


def test_a_kept_session_that_does_not_say_so_says_it_when_it_is_opened(open_window, program, sample):
    folder = sample("2217-in-work")
    desk = open_desk(folder)
    desk.close()
    desk.release()
    archive = program.archives().open()
    archive.add(folder)
    archive.close()
    person = open_window(folder)
    person.wait(lambda: person.window.desk.session.anchors != ())
    person.wait(lambda: not person.window.keeper.is_busy)
    assert own_anchors(folder) == [AnchorKind.OWN_ARCHIVE]
    person.window.archive.worker.wait()
    ((_, shown),) = archived(program)
    assert (shown.tail, shown.problems) == (1, ())


def test_over_time_one_kind_of_job_is_chosen_by_keys(open_window, shelf):
    person = open_window()
    person.window.archive.show()
    person.window.archive.show_part(TREND)
    part = person.window.archive.page.parts[TREND]
    person.wait(lambda: part.model.rowCount() > 0)
    part.job.box.setFocus()
    assert part.job.box.accessibleName() == "Kind of job"
    person.key(Qt.Key.Key_Down)
    person.wait(lambda: "of complaints" in " ".join(text.text() for text in part.words))
    person.key(Qt.Key.Key_Down)
    person.wait(lambda: "No kept session of this kind of job" in part.said.words())
    assert part.chart.isHidden()
    part.kind.box.setFocus()
    person.key(Qt.Key.Key_Down)
    assert part.job.isHidden()


def test_what_fails_most_is_read_out_line_by_line(open_window, shelf):
    person = open_window()
    person.window.archive.show()
    person.window.archive.show_part(FAILS)
    part = person.window.archive.page.parts[FAILS]
    person.wait(lambda: part.model.rowCount() == 2)
    told = [part.model.index(row, 4).data(Qt.ItemDataRole.AccessibleTextRole) for row in range(2)]
    # 2 of 4 and 0 of 3 by hand; Clopper and Pearson 6.8 to 93.2 and 0 to 70.8 %
    assert told == [
        "2 of 4 failed, 7 to 93 % (95 %); cannot be told from all together, 29 %",
        "0 of 3 failed, 0 to 71 % (95 %); cannot be told from all together, 29 %",
    ]
