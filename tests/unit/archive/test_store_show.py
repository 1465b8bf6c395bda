"""One session of the archive: as it was, or said not to be."""

from __future__ import annotations

import pytest

from tests.data.archived import reading
from tests.data.made_photo import made_photo
from valvebench.archive.session_folder import read_session
from valvebench.archive.verify import verify
from valvebench.compose import open_desk, view_session
from valvebench.model.entry import Outcome, sha256_of
from valvebench.model.errors import BadInput, EvidenceBroken

PHOTO = made_photo(size=(60, 40))


@pytest.fixture
def kept(store, jobs):
    """A session with a photo, its folder and its identity."""
    folder = jobs("2301", reading("Heron", 5.2), is_closed=False)
    desk = open_desk(folder)
    desk.add_photo(PHOTO, file_name="body.jpg", of="the body")
    desk.close()
    desk.record(Outcome(fitted=True))
    desk.release()
    return folder, store.add(folder).id


def test_looked_at_it_is_what_the_folder_is(store, kept):
    folder, ident = kept
    seen, before = store.view(ident), view_session(folder)
    assert (seen.session, seen.variant) == (before.session, before.variant)
    assert seen.judged() == before.judged()


def test_written_as_a_folder_it_is_the_one_that_was_added(store, kept, tmp_path):
    folder, ident = kept
    made = store.write_folder(ident, tmp_path / "out" / "again")
    assert (made / "journal.jsonl").read_bytes() == (folder / "journal.jsonl").read_bytes()
    names = {path.name for path in (made / "blobs").iterdir()}
    assert names == {path.name for path in (folder / "blobs").iterdir()}
    assert verify(made).ok
    assert read_session(made).line_hashes == read_session(folder).line_hashes


def test_a_folder_is_never_written_over(store, kept):
    folder, ident = kept
    with pytest.raises(BadInput, match="a new folder"):
        store.write_folder(ident, folder)


def test_a_folder_to_look_at_refuses_to_be_written(store, kept, tmp_path):
    made = store.write_folder(kept[1], tmp_path / "look", read_only=True)
    assert {path.stat().st_mode & 0o222 for path in (made, *made.rglob("*"))} == {0}
    assert view_session(made).session.is_closed
    for folder in (made, made / "blobs"):  # or the test's own folder could not be cleared away
        folder.chmod(0o755)


CHANGES = {
    "a digit of a reading": "UPDATE journal SET bytes = CAST(replace(CAST(bytes AS TEXT), '5.2', '5.3') AS BLOB)",
    "the verdict": "UPDATE journal SET bytes = CAST(replace(CAST(bytes AS TEXT), 'not_finished', 'pass') AS BLOB)",
    "the head that was kept": "UPDATE journal SET head = zeroblob(32)",
    "its identity": "UPDATE journal SET key = x'00112233445566778899aabbccddeeff'",
    "the tail": "UPDATE journal_tail SET bytes = CAST(replace(CAST(bytes AS TEXT), 'true', 'false') AS BLOB)",
    "the tail, cut off": "DELETE FROM journal_tail",
    "a line moved into the tail": "UPDATE journal_tail SET bytes = (SELECT bytes FROM journal)",
    "a file": "UPDATE blob SET data = CAST(data || ' ' AS BLOB) WHERE data IS NOT NULL",
    "a file no longer named": "DELETE FROM session_blob",
}


@pytest.mark.parametrize("what", CHANGES)
def test_changed_content_is_named_and_not_shown_as_evidence(store, kept, what):
    store.database.execute(CHANGES[what])
    ident = store.database.rows("SELECT key FROM journal")[0][0].hex()
    assert store.show(ident).problems
    with pytest.raises(EvidenceBroken, match="does not verify"):
        store.view(ident)
    checked = store.verify()
    assert not checked.ok
    # a file may belong to several sessions: its changed length is told of none by itself as well
    assert {one.id for one in checked.problems} - {None} == {ident}


def test_a_photo_that_is_gone_is_named(store, kept, tmp_path):
    _, ident = kept
    (store.folder / "blobs" / sha256_of(PHOTO)).unlink()
    assert [problem.what for problem in store.show(ident).problems] == [
        f"its file {sha256_of(PHOTO)[:12]}... is missing or changed"
    ]
    with pytest.raises(EvidenceBroken, match="missing or changed"):
        store.write_folder(ident, tmp_path / "out")


def test_one_damaged_session_leaves_the_others_readable(store, kept, jobs):
    other = store.add(jobs("2302")).id
    store.database.execute("UPDATE journal SET bytes = zeroblob(20) WHERE session_id = 1")
    assert store.view(other).session.job.job == "2302"
    assert {one.id for one in store.verify().problems} == {kept[1]}
