"""Adding sessions: checked first, once, never changed, open ones listed."""

from __future__ import annotations

import shutil

import pytest

from tests.data.archived import add_to, everything, reading
from tests.data.made_photo import made_photo
from valvebench.bench.archived import Asked, Change, Fate
from valvebench.bench.archiving import keep_session
from valvebench.compose import open_desk
from valvebench.model.entry import Anchor, Close, Correct, Note, Outcome, Photo, sha256_of
from valvebench.model.errors import BadInput, EvidenceBroken, WorldFailed
from valvebench.model.words import AnchorKind, Comeback, Verdict


def jobs_found(store, text=""):
    return [one.job for one in store.find(Asked(text=text)).sessions]


def test_a_closed_session_is_kept_with_what_a_list_shows(store, jobs):
    folder = jobs("2301", serial="QV-0418", part="QT-2", customer="Harbour", outcome=Outcome(fitted=True))
    added = store.add(folder)
    assert (added.change, added.job) == (Change.ADDED, "2301")
    (found,) = store.find(Asked()).sessions
    assert (found.id, found.serial, found.part, found.customer) == (added.id, "QV-0418", "QT-2", "Harbour")
    assert (found.variant, found.verdict, found.outcome) == ("tern-body-2", Verdict.NOT_FINISHED, Fate.FITTED)
    assert found.closed_at == "2031-05-06T09:00:04.000Z"


def test_the_bytes_are_kept_as_they_stand(store, jobs):
    folder = jobs("2301", outcome=Outcome(fitted=False))
    store.add(folder)
    (closed,) = store.database.rows("SELECT bytes FROM journal")
    (tail,) = store.database.rows("SELECT bytes FROM journal_tail")
    assert closed[0] + tail[0] + b"\n" == (folder / "journal.jsonl").read_bytes()


def test_added_twice_nothing_changes(store, jobs):
    folder = jobs("2301")
    store.add(folder)
    before = everything(store)
    assert store.add(folder).change is Change.NOTHING
    assert everything(store) == before


def test_a_copy_in_another_folder_is_the_same_session(store, jobs, tmp_path):
    folder = jobs("2301")
    store.add(folder)
    assert store.add(folder.rename(tmp_path / "moved")).change is Change.NOTHING


def test_what_came_after_closing_is_added_later(store, jobs):
    folder = jobs("2301")
    ident = store.add(folder).id
    add_to(folder, Outcome(fitted=True), Anchor(kind=AnchorKind.SENT_TO_CUSTOMER, to="Harbour"))
    assert store.add(folder).change is Change.TAIL
    add_to(folder, Outcome(comeback=Comeback.HOT, months=4, odometer_km=61_000))
    assert store.add(folder).change is Change.TAIL
    shown = store.show(ident)
    assert (shown.tail, shown.outcome.fate, shown.outcome.fitted) == (3, Fate.COMEBACK_HOT, True)
    assert (shown.outcome.months, shown.outcome.odometer_km) == (4, 61_000)
    assert shown.problems == ()
    assert [one.outcome for one in store.find(Asked()).sessions] == [Fate.COMEBACK_HOT]


def test_an_older_copy_takes_nothing_away(store, jobs, tmp_path):
    folder = jobs("2301")
    older = (folder / "journal.jsonl").read_bytes()
    add_to(folder, Outcome(fitted=True))
    ident = store.add(folder).id
    (folder / "journal.jsonl").write_bytes(older)
    assert store.add(folder).change is Change.NOTHING
    assert store.show(ident).outcome.fitted is True


def rewritten(folder, bodies):
    """The same job closed with other readings: a forger who made all hashes anew."""
    desk = open_desk(folder)
    entries = desk.session.entries
    desk.release()
    from valvebench.model.entry import GENESIS, encode_line

    lines, prev = [], GENESIS
    for entry in entries:
        body = bodies.get(entry.n, entry.body)
        lines.append(encode_line(n=entry.n, at=entry.at, by=entry.by, body=body, prev=prev))
        prev = sha256_of(lines[-1])
    (folder / "journal.jsonl").write_bytes(b"\n".join(lines) + b"\n")


def test_another_content_under_the_same_identity_is_an_alarm(store, jobs):
    folder = jobs("2301")
    store.add(folder)
    rewritten(folder, {2: reading("Heron", 5.4)})
    with pytest.raises(EvidenceBroken, match="another session of the same identity"):
        store.add(folder)
    assert store.verify().ok


def test_what_the_archive_holds_changed_is_an_alarm(store, jobs):
    folder = jobs("2301")
    store.add(folder)
    store.database.execute("UPDATE journal SET bytes = CAST(replace(CAST(bytes AS TEXT), '5.2', '5.3') AS BLOB)")
    with pytest.raises(EvidenceBroken, match="one of the two was altered"):
        store.add(folder)


def test_another_tail_is_an_alarm(store, jobs):
    folder = jobs("2301")
    closed = (folder / "journal.jsonl").read_bytes()
    add_to(folder, Outcome(fitted=True))
    store.add(folder)
    (folder / "journal.jsonl").write_bytes(closed)
    add_to(folder, Outcome(fitted=False))
    with pytest.raises(EvidenceBroken, match="entries after closing differ"):
        store.add(folder)


@pytest.mark.parametrize("damage", ["a changed reading", "a lost variant"])
def test_what_does_not_verify_is_refused(store, jobs, damage):
    folder = jobs("2301")
    if damage == "a lost variant":
        next((folder / "blobs").iterdir()).unlink()
    else:
        path = folder / "journal.jsonl"
        path.write_bytes(path.read_bytes().replace(b'"ohm":5.2', b'"ohm":5.4'))
    with pytest.raises(EvidenceBroken, match="not added"):
        store.add(folder)
    assert jobs_found(store) == []


def test_no_session_is_refused(store, tmp_path):
    with pytest.raises(BadInput, match="a session folder"):
        store.add(tmp_path)


def test_an_open_session_is_listed_until_it_is_closed_and_added(store, jobs):
    folder = jobs("2302", is_closed=False)
    assert store.add(folder).change is Change.OPEN
    assert jobs_found(store) == []
    (listed,) = store.open_sessions()
    assert (listed.job, listed.path, listed.entries, listed.state) == ("2302", folder, 3, "open")
    desk = open_desk(folder)
    desk.close()
    desk.release()
    assert [one.state for one in store.open_sessions()] == ["closed"]
    assert store.add(folder).change is Change.ADDED
    assert (store.open_sessions(), jobs_found(store)) == ((), ["2302"])


def test_a_listed_session_that_is_gone_says_so(store, jobs, tmp_path):
    folder = jobs("2302", is_closed=False)
    store.add(folder)
    folder.rename(tmp_path / "elsewhere")
    assert [one.state for one in store.open_sessions()] == ["gone"]


def test_photos_lie_beside_the_database_and_small_files_in_it(store, jobs):
    raw = made_photo(size=(60, 40))
    folder = jobs("2301", is_closed=False)
    desk = open_desk(folder)
    desk.add_photo(raw, file_name="body.jpg", of="the body")
    desk.close()
    desk.release()
    ident = store.add(folder).id
    assert (store.folder / "blobs" / sha256_of(raw)).read_bytes() == raw
    sizes = store.database.rows("SELECT n, data IS NULL FROM blob ORDER BY n")
    assert sorted(tuple(row) for row in sizes) == sorted([(len(raw), 1), (sizes_of_variant(folder), 0)])
    assert len(store.show(ident).files) == 2


def sizes_of_variant(folder):
    from tests.data.archived import VARIANT_RAW

    return len(VARIANT_RAW)


def test_a_comeback_is_linked_both_ways(store, jobs):
    first = store.add(jobs("2301", customer="Harbour")).id
    second = store.add(jobs("2350", comeback_of=" 23-01", day="2031-07-01")).id
    assert [(one.job, one.how) for one in store.show(second).links] == [("2301", "comeback_of")]
    assert [(one.job, one.how) for one in store.show(first).links] == [("2350", "came_back_as")]


def test_a_part_number_that_reads_like_a_job_is_no_link(store, jobs):
    store.add(jobs("1", part="2301"))
    later = store.add(jobs("2350", comeback_of="2301")).id
    assert store.show(later).links == ()


def test_a_revision_names_what_it_revises_and_why(store, jobs):
    first = store.add(jobs("2301")).id
    second = store.add(jobs("2301-r", Note(text="the sensor was read hot"), revises=first, revises_why="read again")).id
    assert [(one.how, one.id, one.why) for one in store.show(first).links] == [("revised_by", second, "read again")]
    assert [(one.how, one.id, one.why) for one in store.show(second).links] == [("revises", first, "read again")]
    assert {one.job: one.is_revised for one in store.find(Asked()).sessions} == {"2301": True, "2301-r": False}


def test_a_revision_without_a_reason_is_refused(jobs):
    with pytest.raises(BadInput, match="the reason"):
        jobs("2301-r", revises="0123")


def test_keeping_writes_the_anchor_into_session_and_archive_once(store, jobs):
    folder = jobs("2301")
    added = keep_session(store, folder, open_desk=open_desk)
    assert keep_session(store, folder, open_desk=open_desk).change is Change.NOTHING
    (anchor,) = store.show(added.id).anchors
    assert anchor == {"kind": "own_archive", "to": f"archive {store.id}"}
    desk = open_desk(folder)
    assert [one.kind for one in desk.session.anchors] == [AnchorKind.OWN_ARCHIVE]
    desk.release()


def test_nothing_is_written_into_an_old_copy_of_a_session(store, jobs, tmp_path):
    folder = jobs("2301")
    old = shutil.copytree(folder, tmp_path / "old copy")
    keep_session(store, folder, open_desk=open_desk)
    before = (old / "journal.jsonl").read_bytes()
    assert keep_session(store, old, open_desk=open_desk).change is Change.NOTHING
    assert (old / "journal.jsonl").read_bytes() == before


def test_a_session_that_cannot_be_written_to_is_kept_and_says_so(store, jobs):
    folder = jobs("2301")

    def refuse(_folder):
        raise WorldFailed("read-only")

    added = keep_session(store, folder, open_desk=refuse)
    assert (added.change, len(added.notes)) == (Change.ADDED, 1)
    assert "read-only" in added.notes[0]


def test_nothing_of_a_failed_write_stays(store, jobs, monkeypatch):
    store.add(jobs("2301"))
    before = everything(store)
    folder = jobs("2302", reading("Plover", 13.0))
    execute = store._writer._execute

    def fail(sql, *values):
        if "INTO pack" in sql:
            raise WorldFailed("no space left")
        return execute(sql, *values)

    monkeypatch.setattr(store._writer, "_execute", fail)
    with pytest.raises(WorldFailed):
        store.add(folder)
    assert everything(store) == before
    monkeypatch.undo()
    assert store.add(folder).change is Change.ADDED  # a device numbered in the failed write gets a number again
    assert store.verify().ok


def test_a_verdict_of_no_kind_is_refused(store, jobs):
    folder = jobs("2301")
    rewritten(folder, {4: Close(verdict="splendid", scope="")})
    with pytest.raises(BadInput, match="splendid"):
        store.add(folder)


def test_what_was_corrected_counts(store, jobs):
    folder = jobs("2301", is_closed=False)
    desk = open_desk(folder)
    desk.correct(2, {"ohm": 5.25}, "misread")
    assert isinstance(desk.last_entry.body, Correct)
    desk.close()
    desk.release()
    store.add(folder)
    assert [round(point.ohm_at_ref, 3) for point in store.trend("tern-body-2", "Heron").points] == [
        round(5.25 * 254.5 / 257.5, 3)  # IEC copper: (234.5 + 20) / (234.5 + 23)
    ]


def test_a_photo_named_in_the_journal_is_found_by_its_words(store, jobs):
    folder = jobs("2301", is_closed=False)
    desk = open_desk(folder)
    desk.add_photo(made_photo(size=(60, 40)), file_name="x.jpg", of="cracked housing")
    assert isinstance(desk.last_entry.body, Photo)
    desk.close()
    desk.release()
    store.add(folder)
    assert jobs_found(store, "crack") == ["2301"]
