"""What is found, told and opened on the Archive page.  Every name and number is made up."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.data.archived import DayClock, small_archive
from valvebench.archive.archives import Archives
from valvebench.compose import open_desk, view_session
from valvebench.model.words import Verdict
from valvebench.ui.archive.presenter import NO_DAY, Filters, FindPresenter, Leads, since_of
from valvebench.ui.archive.reach import Places, Reach
from valvebench.ui.archive.view import ArchivePage


class Now:
    """Runs work at once."""

    def run(self, work, *, done, failed):
        try:
            found = work()
        except Exception as error:
            failed(error)
        else:
            done(found)


class Later(Now):
    """Keeps work until it is let go, in any order."""

    def __init__(self):
        self.waiting = []

    def run(self, work, *, done, failed):
        self.waiting.append((work, done, failed))

    def let_go(self, place):
        work, done, failed = self.waiting.pop(place)
        super().run(work, done=done, failed=failed)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    root = tmp_path_factory.mktemp("archive")
    return small_archive(root / "archive", root / "jobs"), root / "jobs"


class Bench:
    """The presenter on an archive, and what it showed."""

    def __init__(self, folder: Path, jobs: Path, runner) -> None:
        self.view = create_autospec(ArchivePage, instance=True)
        self.leads = create_autospec(Leads, instance=True)
        archives = Archives(folder, clock=DayClock("2031-12-02"), open_desk=open_desk)
        self.reach = Reach(lambda: archives, lambda: "")
        places = Places(recent=tuple, jobs=lambda: jobs, look=view_session)
        self.presenter = FindPresenter(self.view, self.reach, places, runner, self.leads)

    def jobs(self):
        return [row.job for row in self.view.show_rows.call_args.args[0]]

    def told(self):
        return self.view.show_told.call_args.args[0]

    def said(self):
        return self.view.say.call_args.args[0]


@pytest.fixture
def make(shelf, tmp_path):
    made = []

    def bench(runner=None, folder=None, jobs=None):
        made.append(Bench(folder or shelf[0], jobs or shelf[1], runner or Now()))
        return made[-1]

    yield bench
    for one in made:
        one.reach.close()


def test_all_sessions_newest_first_with_the_open_ones_before_them(make):
    bench = make()
    bench.presenter.refresh()
    assert bench.jobs() == ["2209", "2203", "2131", "2118", "2117"]
    bench.presenter.chosen(bench.view.show_rows.call_args.args[0][1].id)
    assert (bench.told().title, bench.told().verdict) == ("Job 2203", Verdict.FAIL)
    assert [link.words for link in bench.told().links] == ["Comeback of job 2117, closed 2031-02-03"]


@pytest.mark.parametrize(
    ("text", "jobs"),
    [
        ("2117", ["2117", "2203"]),
        ("0418 77", ["2203", "2117"]),
        ("SKUA", ["2117"]),
        ("220", ["2209", "2203"]),
        ("\u00df'\" OR *", []),
        ("\ud800", ["2203", "2131", "2118", "2117"]),
    ],
)
def test_anything_may_be_typed(make, text, jobs):
    bench = make()
    bench.presenter.typed(text)
    assert bench.jobs() == jobs


def test_filters_leave_open_sessions_out(make):
    bench = make()
    bench.presenter.filters_changed(Filters(verdict="fail"))
    assert bench.jobs() == ["2203", "2118"]
    bench.presenter.filters_changed(Filters(outcome="comeback_hot"))
    assert bench.jobs() == ["2203"]
    bench.presenter.filters_changed(Filters(since="2031-03"))
    assert bench.jobs() == ["2203", "2131"]
    bench.presenter.filters_changed(Filters(variant="no such"))
    assert bench.jobs() == []


@pytest.mark.parametrize(
    ("text", "day"),
    [("", None), ("2031", "2031-01-01"), ("2031-05", "2031-05-01"), (" 2031-05-06 ", "2031-05-06")],
)
def test_a_year_a_month_or_a_day(text, day):
    assert since_of(text) == (day, "")


@pytest.mark.parametrize("text", ["2", "31-05", "2031-13", "2031-02-30", "May", "2031-5-6-7", "-", "2031-"])
def test_half_a_day_is_told_and_not_used(text):
    assert since_of(text) == (None, NO_DAY)


def test_only_the_newest_request_is_answered(make):
    runner = Later()
    bench = make(runner)
    bench.presenter.typed("2131")
    bench.presenter.typed("2118")
    runner.let_go(1)
    assert bench.jobs() == ["2118"]
    bench.view.show_rows.reset_mock()
    runner.let_go(0)
    bench.view.show_rows.assert_not_called()


def test_without_an_archive_the_page_says_how_one_comes_to_be(make, tmp_path):
    bench = make(folder=tmp_path / "none")
    bench.presenter.refresh()
    assert "made when the first session is closed" in bench.said()
    assert not (tmp_path / "none").exists()


def test_a_session_opens_where_it_lies_else_as_it_was_kept(make, shelf, tmp_path):
    bench = make()
    bench.presenter.typed("2117")
    bench.presenter.open()
    bench.leads.open_session.assert_called_once_with(shelf[1] / "2117", is_archived=True)
    elsewhere = make(jobs=tmp_path)
    elsewhere.presenter.typed("2117")
    elsewhere.presenter.open()
    (folder,) = elsewhere.leads.open_session.call_args.args
    assert folder.name.startswith("archived-2117-")
    assert view_session(folder).session.head == view_session(shelf[1] / "2117").session.head
    elsewhere.presenter.open()
    assert elsewhere.leads.open_session.call_args.args == (folder,)


def test_an_open_session_opens_to_be_gone_on_with_and_cannot_have_come_back(make, shelf):
    bench = make()
    bench.presenter.typed("2209")
    bench.presenter.open()
    bench.leads.open_session.assert_called_once_with(shelf[1] / "2209", is_archived=False)
    bench.presenter.comeback()
    assert "close it first" in bench.said()


def test_it_came_back_hands_over_the_earlier_session(make, shelf):
    bench = make()
    bench.presenter.typed("2117")
    bench.presenter.comeback()
    folder, view = bench.leads.begin_comeback.call_args.args
    assert (folder, view.session.job.job) == (shelf[1] / "2117", "2117")


def test_pages_go_on_and_back(make, monkeypatch):
    monkeypatch.setattr("valvebench.ui.archive.presenter.A_PAGE", 2)
    bench = make()
    bench.presenter.filters_changed(Filters(since="2031"))
    assert bench.jobs() == ["2203", "2131"]
    bench.presenter.next_page()
    assert bench.jobs() == ["2118", "2117"]
    bench.presenter.next_page()
    assert bench.jobs() == ["2118", "2117"]
    bench.presenter.previous_page()
    assert bench.jobs() == ["2203", "2131"]
