"""The whole archive checked: every change of content is named by session, and nothing crashes."""

from __future__ import annotations

import pytest

from tests.data.archived import DayClock, add_to, reading, session_in
from tests.data.made_photo import made_photo
from valvebench.archive import store_rebuild
from valvebench.archive.store import Store
from valvebench.bench.archived import Again, Asked
from valvebench.compose import open_desk
from valvebench.model.entry import Outcome, sha256_of
from valvebench.model.errors import EvidenceBroken
from valvebench.model.words import Rule

PHOTO = made_photo(size=(60, 40))
SESSIONS = 8


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    root = tmp_path_factory.mktemp("template")
    store = Store(root / "archive", clock=DayClock())
    for number in range(SESSIONS):
        bodies = [reading("Heron", 5.0 + number / 20), reading("Plover", 12.5)]
        folder = session_in(root, f"V-{number}", bodies, is_closed=False, serial=f"QV-{number}")
        desk = open_desk(folder)
        if number == 0:
            desk.add_photo(PHOTO, file_name="body.jpg", of="the body")
        desk.close()
        desk.release()
        add_to(folder, Outcome(fitted=True, months=number + 1))
        store.add(folder)
    store.rejudge(Again(rule=Rule.PLAIN))
    store.close()
    return root / "archive"


@pytest.fixture
def filled(template, copy_of):
    return copy_of(template)


def test_a_sound_archive_is_as_it_was_written(filled):
    heard = []
    checked = filled.verify(step=lambda done, of: heard.append((done, of)) or True)
    assert (checked.ok, checked.sessions, checked.files, checked.problems, checked.notes) == (True, SESSIONS, 9, (), ())
    assert heard == [(n, SESSIONS) for n in range(1, SESSIONS + 1)]


def test_stopped_it_says_that_it_did_not_look_at_the_rest(filled):
    checked = filled.verify(step=lambda done, of: done < 2)
    assert (checked.sessions, len(checked.notes)) == (2, 1)


OF_INDEX = {
    "a job number": "UPDATE session SET job = 'V-9' WHERE id = 3",
    "a verdict": "UPDATE session SET verdict = 2 WHERE id = 3",
    "a code less": "DELETE FROM code WHERE session_id = 3 AND norm = 'v2'",
    "a value": "UPDATE reading SET ohm_ref = ohm_ref + 1e-9 WHERE session_id = 3 AND seq = 0",
    "a temperature": "UPDATE reading SET celsius = celsius + 1e-9 WHERE session_id = 3 AND seq = 0",
    "a reading less": "DELETE FROM reading WHERE session_id = 3 AND seq = 1",
    "a packed byte": "UPDATE pack SET b = zeroblob(length(b)) WHERE session_id = 3",
    "a pack less": "DELETE FROM pack WHERE session_id = 3",
    "an outcome": "UPDATE outcome SET months = 7 WHERE session_id = 3",
    "a link too many": "INSERT INTO comeback VALUES ('x', 3)",
    "words": "INSERT INTO fts (fts, rowid, w) VALUES ('delete', 3, 'v2')",
}


@pytest.mark.parametrize("what", OF_INDEX)
def test_a_changed_index_is_named_by_session_and_mended(filled, what):
    filled.database.execute(OF_INDEX[what])
    checked = filled.verify()
    assert not checked.ok
    assert {one.job for one in checked.problems if one.job is not None} <= {"V-2"}
    assert any(one.job == "V-2" and one.what.startswith("index: ") for one in checked.problems)
    filled.rebuild()
    assert filled.verify().ok


@pytest.mark.parametrize(
    "statement",
    [
        "INSERT INTO code VALUES ('x', 99)",
        "INSERT INTO reading VALUES (1, 0, 99, 0, 1.0, 1.0, 1.0, 1.0, 1)",
        "UPDATE device SET name = name || 'x'",
        "UPDATE device SET ref_celsius = 25",
    ],
)
def test_rows_that_belong_nowhere_are_told(filled, statement):
    filled.database.execute(statement)
    assert not filled.verify().ok


def test_a_file_that_nobody_names_is_a_note(filled):
    (filled.folder / "blobs" / sha256_of(b"x")).write_bytes(b"x")
    checked = filled.verify()
    assert (checked.ok, len(checked.notes)) == (True, 1)


def test_a_changed_photo_is_named(filled):
    path = filled.folder / "blobs" / sha256_of(PHOTO)
    path.write_bytes(path.read_bytes()[:-1])
    assert {one.job for one in filled.verify().problems} == {"V-0"}


ODD = {
    "a verdict of no kind": "UPDATE session SET verdict = 99",
    "a time of no year": "UPDATE session SET closed_at = 9000000000000000000",
    "an outcome of no kind": "UPDATE outcome SET fate = 77",
}


@pytest.mark.parametrize("what", ODD)
def test_a_damaged_index_is_told_in_words_whoever_meets_it(filled, what):
    filled.database.execute(ODD[what])
    for ask in (lambda: filled.find(Asked()), lambda: filled.export(filled.folder.parent / "csv")):
        with pytest.raises(EvidenceBroken, match="archive rebuild"):
            ask()
    assert not filled.verify().ok
    filled.rebuild()
    assert len(filled.find(Asked()).sessions) == SESSIONS


@pytest.mark.parametrize("statement", ["UPDATE pack SET b = substr(b, 2)", "UPDATE pack SET about = 16777216"])
def test_damaged_records_are_not_judged(filled, statement):
    filled.database.execute(statement)
    with pytest.raises(EvidenceBroken, match="archive rebuild"):
        filled.rejudge(Again(rule=Rule.PLAIN))
    assert [judged.run for judged in filled.show(filled.find(Asked()).sessions[0].id).judgements] == [1]


def test_a_copy_of_a_name_that_no_longer_agrees_is_told(template, copy_of, tmp_path):
    """The name of a file stands in its row and in the database's own index: changed in the row alone."""
    raw = bytearray((template / "archive.sqlite").read_bytes())
    name = bytes.fromhex(sha256_of(PHOTO))
    places = [place for place in range(len(raw)) if raw.startswith(name, place)]
    noticed = []
    for place in places:
        spoilt = bytearray(raw)
        spoilt[place + 20] ^= 8
        folder = tmp_path / f"spoilt-{place}"
        (folder / "blobs").mkdir(parents=True)
        (folder / "blobs" / sha256_of(PHOTO)).write_bytes(PHOTO)
        (folder / "archive.sqlite").write_bytes(spoilt)
        store = Store(folder, clock=DayClock())
        noticed.append(not store.verify().ok)
        store.close()
    assert len(places) >= 3
    assert all(noticed)


def test_a_changed_length_of_a_file_is_told(filled):
    filled.database.execute("UPDATE blob SET n = n + 1")
    assert len([one for one in filled.verify().problems if "the length that was written down" in one.what]) == 2


def test_a_changed_name_of_a_column_is_told(filled):
    filled.database.execute("ALTER TABLE run RENAME COLUMN is_whole TO is_whale")
    assert any("table 'run', which is changed" in one.what for one in filled.verify().problems)


def test_what_a_killed_rebuild_left_is_no_fault(filled, monkeypatch):
    monkeypatch.setattr(store_rebuild._Rebuild, "drop", lambda _: None)
    filled.rebuild(step=lambda done, of: False)
    assert filled.verify().ok


def test_a_journal_that_is_gone_is_named(filled):
    filled.database.execute("PRAGMA foreign_keys = OFF")
    filled.database.execute("DELETE FROM journal WHERE session_id = 3")
    assert any(one.what.startswith("session number 3: ") for one in filled.verify().problems)
