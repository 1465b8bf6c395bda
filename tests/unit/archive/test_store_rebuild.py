"""The index made anew: the same as before, without losing what came meanwhile."""

from __future__ import annotations

import shutil

import pytest

from tests.data.archived import DayClock, add_to, everything, reading, session_in
from valvebench.archive import store_rebuild
from valvebench.archive.store import Store
from valvebench.archive.store_restore import unlike_ours
from valvebench.bench.archived import Asked, Fate
from valvebench.model.entry import Outcome
from valvebench.model.errors import BadInput
from valvebench.model.words import Comeback, Verdict

INDEX = ("session", "variant", "device", "code", "reading", "pack", "outcome", "comeback", "revision")


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The archive, closed, and the folder of its first session."""
    root = tmp_path_factory.mktemp("template")
    store = Store(root / "archive", clock=DayClock())
    folder = session_in(root, "R-0", outcome=Outcome(fitted=True))
    first = store.add(folder).id
    store.add(session_in(root, "R-1", [reading("Plover", 12.5)], comeback_of="R-0", serial="QV-1"))
    store.add(session_in(root, "R-2", revises=first, revises_why="later", variant_raw=None))
    store.close()
    return root / "archive", folder


@pytest.fixture
def filled(made, copy_of):
    return copy_of(made[0])


def index_of(store):
    found = everything(store)
    return {name: found[name] for name in INDEX}


def test_made_anew_it_is_the_same(filled):
    before = index_of(filled)
    heard = []
    counted = filled.rebuild(step=lambda done, of: heard.append((done, of)) or True)
    assert (counted.sessions, counted.is_whole, counted.notes) == (3, True, ())
    assert heard[-1] == (3, 3)
    assert index_of(filled) == before
    assert filled.verify().ok
    assert unlike_ours(filled.database.driver) is None
    assert [one.job for one in filled.find(Asked(text="qv-1")).sessions] == ["R-1"]


def test_a_damaged_index_is_named_and_mended(filled):
    before = index_of(filled)
    for statement in (
        "UPDATE session SET job = 'x'",
        "DELETE FROM code",
        "UPDATE reading SET ohm_ref = 9",
        "DELETE FROM outcome",
    ):
        filled.database.execute(statement)
    assert len(filled.verify().problems) >= 5
    filled.rebuild()
    assert index_of(filled) == before
    assert filled.verify().ok


def test_stopped_everything_stays(filled, monkeypatch):
    monkeypatch.setattr(store_rebuild, "CHUNK", 1)
    before = everything(filled)
    assert not filled.rebuild(step=lambda done, of: False).is_whole
    assert everything(filled) == before


def test_failed_everything_stays_and_the_next_one_goes_through(filled, monkeypatch):
    before = everything(filled)

    monkeypatch.setattr(store_rebuild, "index_of", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        filled.rebuild()
    monkeypatch.undo()
    assert everything(filled) == before
    assert filled.rebuild().is_whole


def test_what_is_added_and_told_meanwhile_is_in_it(filled, made, tmp_path, monkeypatch):
    monkeypatch.setattr(store_rebuild, "CHUNK", 1)
    other, folder = session_in(tmp_path, "R-9"), shutil.copytree(made[1], tmp_path / "R-0")
    heard = []

    def step(done, of):
        heard.append(done)
        if len(heard) == 2:
            filled.add(other)
            add_to(folder, Outcome(comeback=Comeback.HOT))
            filled.add(folder)
        return True

    filled.rebuild(step=step)
    assert {one.job: one.outcome for one in filled.find(Asked()).sessions} == {
        "R-9": None,
        "R-2": None,
        "R-1": None,
        "R-0": Fate.COMEBACK_HOT,
    }
    assert filled.verify().ok


def test_sessions_can_be_added_after_it(filled, tmp_path):
    filled.rebuild()
    filled.add(session_in(tmp_path, "R-9", [reading("Gull", 5.3)]))
    assert filled.verify().ok


def test_what_does_not_verify_is_left_out_and_told(filled):
    filled.database.execute("UPDATE journal SET head = zeroblob(32) WHERE session_id = 2")
    counted = filled.rebuild()
    assert len(counted.notes) == 1
    (ident,) = {one.id for one in filled.verify().problems if one.id is not None}
    shown = filled.show(ident)
    assert (shown.session.job, shown.session.verdict) == ("R-1", Verdict.NOT_USABLE)
    assert "is not in the index" in [problem.what for problem in shown.problems]
    assert [one.job for one in filled.find(Asked()).sessions] == ["R-2", "R-0"]


def test_another_program_that_made_the_index_anew_is_noticed(filled, tmp_path):
    """The numbers of devices come out in another order; the first program must not go on with the old ones."""
    filled.add(session_in(tmp_path, "R-9", [reading("Gull", 5.3)]))
    other = Store(filled.folder, clock=DayClock())
    other.database.execute("PRAGMA foreign_keys = OFF")
    other.database.execute("UPDATE journal SET session_id = 50 WHERE session_id = 1")
    for table in ("journal_tail", "session_blob"):
        other.database.execute(f"UPDATE {table} SET session_id = 50 WHERE session_id = 1")
    other.rebuild()
    other.close()
    filled.add(session_in(tmp_path, "R-10", [reading("Plover", 12.5), reading("Heron", 5.3)]))
    assert filled.verify().ok
    assert len(filled.trend("tern-body-2", "Plover").points) == 2


def test_what_the_database_finds_sessions_by_is_made_anew_too(filled):
    """Evidence that is whole and cannot be looked up any more: the library's own index lacks its row."""
    ident = filled.find(Asked(text="R-0")).sessions[0].id
    path = filled.database.path
    sql = "SELECT rootpage FROM sqlite_master WHERE name = 'sqlite_autoindex_journal_1'"
    (root,) = filled.database.rows(sql)[0]
    filled.close()
    raw = bytearray(path.read_bytes())
    place = raw.index(bytes.fromhex(ident), (root - 1) * 4096)
    raw[place] ^= 0x80
    path.write_bytes(raw)
    again = Store(filled.folder, clock=DayClock())
    with pytest.raises(BadInput, match="no session of this identity"):
        again.show(ident)
    assert not again.verify().ok
    again.rebuild()
    assert again.show(ident).session.job == "R-0"
    assert again.verify().ok
    again.close()
