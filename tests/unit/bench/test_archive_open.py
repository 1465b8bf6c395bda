"""Which session a comeback belongs to, and where an archived one lies.  Every name and number is made up."""

from __future__ import annotations

import shutil

import pytest
from msgspec.structs import replace

from tests.data.archived import DayClock, add_to, session_in
from valvebench.archive.archives import Archives
from valvebench.bench.archive_open import earlier_of, folder_of, same_code
from valvebench.compose import open_desk, view_session
from valvebench.model.entry import Outcome


@pytest.fixture
def archive(tmp_path):
    opened = Archives(tmp_path / "archive", clock=DayClock(), open_desk=open_desk).open()
    yield opened
    opened.close()


@pytest.mark.parametrize(
    ("one", "other", "is_same"),
    [("QV-0418", "qv 0418", True), ("2117", "2118", False), ("", "", False), (None, None, False), ("-", "-", False)],
)
def test_numbers_are_the_same_but_for_their_signs(one, other, is_same):
    assert same_code(one, other) is is_same


def test_the_latest_session_of_the_job_that_is_named_else_of_the_serial(archive, tmp_path):
    for job, serial, day in (
        ("21-17", "A 1", "2031-01-05"),
        ("2130", "A1", "2031-02-05"),
        ("2140", "B2", "2031-03-05"),
    ):
        archive.add(session_in(tmp_path, job, serial=serial, part="2117x", day=day))
    new = view_session(session_in(tmp_path, "2200", serial="a-1", comeback_of="2117")).session.job
    assert earlier_of(archive, new).job == "21-17"
    assert earlier_of(archive, replace(new, comeback_of="999")).job == "2130"
    assert earlier_of(archive, replace(new, comeback_of="999", serial=None)) is None
    assert earlier_of(archive, replace(new, comeback_of=None, serial="C3")) is None


def test_a_comeback_is_never_its_own_earlier_session(archive, tmp_path):
    folder = session_in(tmp_path, "2117", serial="A1", comeback_of="2117")
    archive.add(folder)
    assert earlier_of(archive, view_session(folder).session.job) is None


def test_a_folder_that_lacks_what_was_added_later_is_not_taken(archive, tmp_path):
    folder = session_in(tmp_path / "jobs", "2117")
    old = session_in(tmp_path / "other", "2118")
    short = tmp_path / "short"
    folder.rename(short)
    full = tmp_path / "full"
    shutil.copytree(short, full)
    add_to(full, Outcome(fitted=True))
    ident = archive.add(full).id
    places = (tmp_path / "none", old, short, full)
    assert folder_of(archive, ident, places=places, root=tmp_path, look=view_session) == full
    written = folder_of(archive, ident, places=places[:-1], root=tmp_path, look=view_session)
    assert written.name == f"archived-2117-{ident[:8]}"
    assert len(view_session(written).session.entries) == len(view_session(full).session.entries)
    second = folder_of(archive, ident, places=(), root=tmp_path, look=view_session)
    assert second.name == f"archived-2117-{ident[:8]}-2"
