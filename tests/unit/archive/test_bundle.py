"""A session as one file: the same session the same bytes, and back as it was."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import zipfile

import pytest

from tests.external_tools import need
from tests.fakes.bundles import closed_job, files_of, packed_anew
from tests.fakes.writers import LOG, PICTURE, TORN, new_job
from valvebench import compose
from valvebench.archive import bundle, bundle_form, bundle_look
from valvebench.archive.bundle import bundle_of, write_bundle
from valvebench.archive.bundle_form import MANIFEST_NAME, manifest_bytes, packed, packed_size, read_manifest
from valvebench.archive.bundle_open import open_bundle, verify_bundle
from valvebench.archive.lock import SessionLock
from valvebench.archive.session_folder import JOURNAL_NAME
from valvebench.archive.staged import Staged
from valvebench.archive.verify import verify
from valvebench.model.entry import Note, sha256_of
from valvebench.model.errors import BadInput, EvidenceBroken, WorldFailed


@pytest.fixture
def job(tmp_path):
    return closed_job(tmp_path / "job")


@pytest.fixture
def sent(job, tmp_path):
    made = write_bundle(job, tmp_path / "sent.zip")
    assert made is not None
    return made


def tree(folder):
    """Every file below by its name, but for the lock."""
    inside = [path for path in folder.rglob("*") if path.is_file() and path.name != "lock"]
    return {str(path.relative_to(folder)): path.read_bytes() for path in inside}


def test_a_session_comes_back_as_it_was(job, sent, tmp_path):
    found = open_bundle(sent.path, tmp_path / "back")
    assert tree(tmp_path / "back") == tree(job)
    assert found == verify(job)
    desk = compose.open_desk(tmp_path / "back")
    assert desk.is_closed
    desk.release()


def test_the_same_session_makes_the_same_bytes(job, sent, tmp_path):
    copy = tmp_path / "elsewhere" / "other-name"
    shutil.copytree(job, copy)
    for path in (*copy.rglob("*"), copy):
        os.utime(path, (1, 1))
    assert bundle_of(copy)[0] == sent.path.read_bytes()
    open_bundle(sent.path, tmp_path / "back")
    assert bundle_of(tmp_path / "back")[0] == sent.path.read_bytes()


def test_what_is_said_of_a_bundle_is_so(job, sent):
    raw = sent.path.read_bytes()
    assert (sent.size_bytes, sent.sha256) == (len(raw), sha256_of(raw))
    assert (sent.head, sent.entries) == (verify(job).head, verify(job).entries)
    assert sent.files == len(files_of(raw)) == 4


def test_another_reader_finds_the_manifest_first_and_every_file_whole(sent):
    with zipfile.ZipFile(sent.path) as found:
        names = found.namelist()
        assert found.testzip() is None
        assert names[:2] == ["manifest.json", "journal.jsonl"]
        assert names[2:] == sorted(names[2:])
        manifest = read_manifest(found.read("manifest.json"), source="bundle")
        told = {one.name: (one.size_bytes, one.sha256) for one in manifest.members}
        assert told == {name: (len(raw), sha256_of(raw)) for name, raw in files_of(sent.path.read_bytes())}
        assert {one.compress_type for one in found.infolist()} == {zipfile.ZIP_STORED}
        assert {(one.extra, one.comment, one.date_time) for one in found.infolist()} == {
            (b"", b"", (1980, 1, 1, 0, 0, 0))
        }


def test_the_common_tool_takes_it_apart_and_the_folder_verifies(job, sent, tmp_path):
    subprocess.run([need("unzip"), "-q", sent.path, "-d", tmp_path / "out"], check=True)
    assert verify(tmp_path / "out").ok
    found = tree(tmp_path / "out")
    assert found.pop("manifest.json")
    assert found == tree(job)


def test_a_bundle_verifies_without_being_opened(sent, job):
    assert verify(sent.path) == verify(job)
    assert verify(sent.path, head=sent.head).ok
    assert not verify(sent.path, head=f"{sent.head[:-1]}{'0' if sent.head[-1] != '0' else '1'}").ok


def test_a_torn_line_was_never_accepted_and_is_not_packed(job, sent):
    with (job / JOURNAL_NAME).open("ab") as journal:
        journal.write(TORN)
    assert bundle_of(job)[0] == sent.path.read_bytes()


def test_an_open_session_can_be_packed_while_it_is_worked_on(tmp_path):
    desk = new_job(tmp_path / "job")
    made = write_bundle(tmp_path / "job", tmp_path / "a.zip")
    desk.record(Note(text="later"))
    desk.release()
    assert made is not None
    assert verify_bundle(tmp_path / "a.zip").entries == 3


def test_what_no_entry_names_is_not_packed(job, sent):
    (job / "blobs" / sha256_of(b"left over")).write_bytes(b"left over")
    (job / "notes.txt").write_text("beside it")
    assert bundle_of(job)[0] == sent.path.read_bytes()


def test_pictures_of_the_variant_go_with_it(tmp_path):
    variant = (
        b'{"format": 1, "key": "tern-test", "title": "Quillon Tern, invented", "pins": [{"name": "1"}],'
        b' "pictures": {"body": {"sha256": "%s", "file": "p.png"}}}' % sha256_of(PICTURE).encode()
    )
    job = tmp_path / "job"
    (tmp_path / "p.png").write_bytes(PICTURE)
    beside = tmp_path / "tern-test.json"
    compose.create_job(job, {"job": "J1"}, variant_raw=variant, photos_beside=beside, by="Wren").release()
    write_bundle(job, tmp_path / "a.zip")
    open_bundle(tmp_path / "a.zip", tmp_path / "back")
    assert tree(tmp_path / "back") == tree(job)
    (job / "blobs" / sha256_of(PICTURE)).unlink()
    write_bundle(job, tmp_path / "b.zip")
    assert verify_bundle(tmp_path / "b.zip").ok, "a job may be opened without them"


def test_a_session_that_does_not_verify_is_not_packed(job, tmp_path):
    blob = next((job / "blobs").iterdir())
    blob.write_bytes(b"other")
    with pytest.raises(EvidenceBroken, match="missing or changed"):
        write_bundle(job, tmp_path / "a.zip")
    (job / JOURNAL_NAME).write_bytes((job / JOURNAL_NAME).read_bytes().replace(b"5.4", b"5.5"))
    with pytest.raises(EvidenceBroken, match="does not verify"):
        write_bundle(job, tmp_path / "a.zip")
    assert not (tmp_path / "a.zip").exists()


def test_whoever_no_longer_wants_it_gets_nothing(job, tmp_path):
    for wanted in (0, 1):
        said = iter([True] * wanted + [False])
        assert write_bundle(job, tmp_path / "a.zip", step=lambda _, said=said: next(said)) is None
    assert not (tmp_path / "a.zip").exists()


def test_names_that_cannot_be_used(job, sent, tmp_path):
    with pytest.raises(BadInput, match=r"ends in \.zip"):
        write_bundle(job, tmp_path / "a.xlsx")
    with pytest.raises(BadInput, match="a folder that is there"):
        write_bundle(job, tmp_path / "nowhere" / "a.zip")
    with pytest.raises(WorldFailed, match="cannot be read"):
        open_bundle(tmp_path / "none.zip", tmp_path / "back")
    with pytest.raises(BadInput, match="a new folder"):
        open_bundle(sent.path, job)
    with pytest.raises(BadInput, match="in one that is there"):
        open_bundle(sent.path, tmp_path / "nowhere" / "back")
    with pytest.raises(BadInput, match="N:HEX"):
        open_bundle(sent.path, tmp_path / "back", head="33")


def test_what_is_too_large_for_one_file_is_said_before_it_is_read(job, monkeypatch, tmp_path):
    size = len(bundle_of(job)[0])
    monkeypatch.setattr(bundle, "LARGEST_BYTES", size - 1)
    with pytest.raises(BadInput, match="Send a copy of the session folder"):
        write_bundle(job, tmp_path / "a.zip")
    monkeypatch.setattr(bundle, "LARGEST_BYTES", size + 2_000)
    monkeypatch.setattr(bundle, "MOST_MEMBERS", 4)
    with pytest.raises(BadInput, match="at most 2 in a bundle"):
        write_bundle(job, tmp_path / "a.zip")


def test_a_file_larger_than_may_be_is_not_read(sent, monkeypatch):
    monkeypatch.setattr(bundle_look, "LARGEST_BYTES", sent.size_bytes)
    assert verify_bundle(sent.path).ok
    monkeypatch.setattr(bundle_look, "LARGEST_BYTES", sent.size_bytes - 1)
    with pytest.raises(BadInput, match="at most"):
        verify_bundle(sent.path)


def test_the_size_is_known_before_packing():
    files = [("manifest.json", b"{}\n"), ("journal.jsonl", b"x" * 100)]
    assert packed_size([(name, len(raw)) for name, raw in files]) == len(packed(files))


def test_a_newer_format_is_refused_in_words(sent):
    files = files_of(sent.path.read_bytes())
    with zipfile.ZipFile(sent.path) as found:
        newer = found.read(MANIFEST_NAME).replace(b'"bundle":1', b'"bundle":2')
    with pytest.raises(BadInput, match="bring this one up to date"):
        bundle_form.read_manifest(newer, source="sent.zip")
    raw = packed([(MANIFEST_NAME, newer), *files])
    sent.path.write_bytes(raw)
    with pytest.raises(BadInput, match="format 2"):
        verify_bundle(sent.path)


def test_a_manifest_has_one_way_of_being_written(sent):
    with zipfile.ZipFile(sent.path) as found:
        raw = found.read(MANIFEST_NAME)
    assert manifest_bytes(read_manifest(raw, source="x")) == raw
    for other in (
        raw.rstrip(b"\n"),
        raw.replace(b":", b": ", 1),
        raw + b"\n",
        raw.replace(b'"bundle":1', b'"bundle":0'),
    ):
        with pytest.raises(EvidenceBroken, match="not written as"):
            read_manifest(other, source="x")


def test_what_a_run_that_died_left_is_taken_up(sent, tmp_path):
    staged = Staged(tmp_path / "back")
    (staged.folder / "blobs").mkdir(parents=True)
    (staged.folder / "blobs" / "half").write_bytes(b"half")
    (staged.folder / "journal.jsonl").write_bytes(b"half")
    assert open_bundle(sent.path, tmp_path / "back").ok
    assert not staged.folder.exists()
    assert tree(tmp_path / "back") == dict(files_of(sent.path.read_bytes()))


def test_two_do_not_open_into_the_same_folder_at_once(sent, tmp_path):
    staged = Staged(tmp_path / "back")
    staged.folder.mkdir()
    lock = SessionLock(staged.folder)
    with pytest.raises(WorldFailed, match="another program is just opening it"):
        open_bundle(sent.path, tmp_path / "back")
    assert staged.folder.exists(), "it belongs to the other"
    lock.release()
    assert open_bundle(sent.path, tmp_path / "back").ok


def test_a_folder_that_somebody_makes_meanwhile_stays_theirs(sent, tmp_path, monkeypatch):
    write = Staged.write

    def slow(staged, name, raw):
        write(staged, name, raw)
        staged.target.mkdir(exist_ok=True)

    monkeypatch.setattr(Staged, "write", slow)
    with pytest.raises(BadInput, match="Choose another name"):
        open_bundle(sent.path, tmp_path / "back")
    assert list((tmp_path / "back").iterdir()) == []
    assert not Staged(tmp_path / "back").folder.exists()


def test_another_head_opens_nothing(sent, tmp_path):
    before = set(tmp_path.iterdir())
    with pytest.raises(EvidenceBroken, match="differs from the head"):
        open_bundle(sent.path, tmp_path / "back", head=f"{sent.head.partition(':')[0]}:{'0' * 16}")
    assert set(tmp_path.iterdir()) == before


def test_a_bundle_packed_anew_by_the_same_rules_is_the_same(sent):
    raw = sent.path.read_bytes()
    assert packed_anew(files_of(raw)) == raw
    assert LOG in dict(files_of(raw)).values()
    assert io.BytesIO(raw).read(4) == b"PK\x03\x04"
