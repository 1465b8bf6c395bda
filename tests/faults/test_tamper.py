"""Whatever is changed in a session is noticed when the head is given; without it, all but the end."""

from __future__ import annotations

import shutil

import pytest

from tests.fakes.bundles import rebuilt
from tests.fakes.writers import PICTURE, new_job
from valvebench import compose
from valvebench.archive.chain import head_problems, read_journal
from valvebench.archive.session_folder import JOURNAL_NAME
from valvebench.archive.verify import verify
from valvebench.model.entry import Anchor, Outcome, Reading, sha256_of
from valvebench.model.words import AnchorKind

NOT_SEEN_WITHOUT_HEAD = "Without --head a change to or after the last line cannot be seen."


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """A small closed session with a photo, a correction and a tail."""
    folder = tmp_path_factory.mktemp("tamper") / "job"
    desk = new_job(folder)
    desk.add_photo(PICTURE, file_name="p.png", of="plug")
    desk.correct(2, {"ohm": 5.3}, "misread")
    desk.close()
    desk.record(Anchor(kind=AnchorKind.TAG_HANDED_OVER, to="counter"))
    desk.release()
    return folder


@pytest.fixture(scope="module")
def raw(job):
    return (job / JOURNAL_NAME).read_bytes()


def head_of(raw: bytes) -> str:
    lines = raw.rstrip(b"\n").split(b"\n")
    return f"{len(lines)}:{sha256_of(lines[-1])}"


def is_noticed(raw: bytes, head: str | None = None) -> bool:
    journal = read_journal(raw, source="journal")
    return bool(journal.problems or (head and head_problems(journal, head)))


def lines_of(raw: bytes) -> list[bytes]:
    return raw.rstrip(b"\n").split(b"\n")


def joined(lines: list[bytes]) -> bytes:
    return b"".join(line + b"\n" for line in lines)


def test_every_single_bit_of_a_journal(raw, figure):
    head = head_of(raw)
    last_line_from = raw.rstrip(b"\n").rindex(b"\n") + 1
    unseen_with, unseen_without = [], []
    for place in range(len(raw)):
        for bit in range(8):
            changed = raw[:place] + bytes([raw[place] ^ 1 << bit]) + raw[place + 1 :]
            journal = read_journal(changed, source="journal")
            if not (journal.problems or head_problems(journal, head)):
                unseen_with.append((place, bit))
            if not journal.problems:
                unseen_without.append(place)
    early = [place for place in unseen_without if place < last_line_from]
    told = f"{8 * len(raw)} bits of a journal flipped: {len(unseen_with)} missed with the head"
    figure(14, f"{told}, {len(unseen_without)} without it (all in the last line)")
    assert unseen_with == []
    assert early == []


def test_every_swap_deletion_and_doubling(raw):
    head, lines = head_of(raw), lines_of(raw)
    last = len(lines) - 1
    swaps = [(i, j) for i in range(len(lines)) for j in range(i)]
    for i, j in swaps:
        swapped = lines.copy()
        swapped[i], swapped[j] = swapped[j], swapped[i]
        assert is_noticed(joined(swapped))
    for i in range(len(lines)):
        assert is_noticed(joined(lines[:i] + lines[i + 1 :]), head)
        assert is_noticed(joined(lines[:i] + lines[i + 1 :])) == (i != last)
        for j in range(len(lines) + 1):
            assert is_noticed(joined([*lines[:j], lines[i], *lines[j:]]))


def test_every_cut_tail(raw, job, tmp_path):
    head = head_of(raw)
    for length in range(len(raw)):
        assert is_noticed(raw[:length], head), length
    lines = lines_of(raw)
    for count in range(1, len(lines)):
        assert not is_noticed(joined(lines[:count]))
        found = verified(job, tmp_path / str(count), joined(lines[:count]))
        assert NOT_SEEN_WITHOUT_HEAD in found.notes


def verified(job, copy, raw, head=None):
    shutil.copytree(job, copy)
    (copy / JOURNAL_NAME).write_bytes(raw)
    return verify(copy, head=head)


def test_a_rebuilt_chain_needs_the_head(raw, job, tmp_path):
    def better(entry):
        if entry["kind"] == "reading":
            entry["body"]["ohm"] = 5.5

    forged = rebuilt(lines_of(raw), better)
    alone = verified(job, tmp_path / "alone", forged)
    assert alone.ok
    assert NOT_SEEN_WITHOUT_HEAD in alone.notes
    assert not verified(job, tmp_path / "with", forged, head_of(raw)).ok
    assert not verified(job, tmp_path / "short", forged, head_of(raw)[:18]).ok


def test_a_rebuilt_chain_with_a_line_less_needs_the_head(raw, job, tmp_path):
    lines = lines_of(raw)
    forged = rebuilt(lines[:2] + lines[3:4] + lines[5:], lambda entry: None)
    assert not verified(job, tmp_path / "with", forged, head_of(raw)).ok


def test_the_head_of_an_earlier_line_says_how_far_it_reaches(raw, job, tmp_path):
    lines = lines_of(raw)
    head = f"{len(lines) - 2}:{sha256_of(lines[-3])}"
    found = verified(job, tmp_path / "copy", raw, head)
    assert found.ok
    assert any(f"lines 1 to {len(lines) - 2}" in note for note in found.notes)
    assert not any(NOT_SEEN_WITHOUT_HEAD in note for note in found.notes)


def test_a_line_after_the_last_is_not_seen_and_the_answer_says_so(raw, job, tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(job, copy)
    desk = compose.open_desk(copy)
    desk.record(Outcome(fitted=True))
    desk.release()
    found = verify(copy)
    assert found.ok
    assert NOT_SEEN_WITHOUT_HEAD in found.notes
    assert verify(copy, head=head_of(raw)).ok, "later lines are allowed"


def test_every_single_bit_of_every_blob(job, ram_path, figure):
    copy = ram_path / "job"
    shutil.copytree(job, copy)
    blobs = sorted((copy / "blobs").iterdir())
    assert len(blobs) == 2
    flips = 0
    for blob in blobs:
        whole = blob.read_bytes()
        for place in range(len(whole)):
            for bit in range(8):
                blob.write_bytes(whole[:place] + bytes([whole[place] ^ 1 << bit]) + whole[place + 1 :])
                flips += 1
                assert compose.read_blob(copy, blob.name) is None
        blob.write_bytes(whole[:-1])
        assert not verify(copy).ok
        blob.unlink()
        assert not verify(copy).ok
        blob.write_bytes(whole)
        assert verify(copy).ok
    figure(14, f"{flips} bits of blobs flipped, 0 missed")


def test_a_swapped_blob_is_noticed(job, tmp_path):
    copy = tmp_path / "job"
    shutil.copytree(job, copy)
    one, other = sorted((copy / "blobs").iterdir())
    raw = one.read_bytes()
    one.write_bytes(other.read_bytes())
    other.write_bytes(raw)
    assert {problem.line for problem in verify(copy).problems} == {1, 4}


@pytest.mark.parametrize(
    "extra",
    [b"\n", b"{}\n", b"\x00" * 512 + b"\n", b"\xff\n", b"\r\n", b"\xef\xbb\xbf\n"],
    ids=["blank line", "empty object", "noughts", "no text", "carriage return", "byte order mark"],
)
def test_what_is_put_in_anywhere_is_noticed(raw, extra):
    lines = lines_of(raw)
    for place in range(len(lines) + 1):
        assert is_noticed(joined(lines[:place]) + extra + joined(lines[place:]))


def test_other_line_ends_are_noticed(raw):
    assert is_noticed(raw.replace(b"\n", b"\r\n"), head_of(raw))
    assert is_noticed(raw.replace(b"\n", b"\r\n"))


def test_a_reading_is_what_the_journal_says(job):
    """The session of these tests is what it is meant to be: a corrected reading, closed."""
    session = compose.view_session(job).session
    assert session.is_closed
    assert [item.body.ohm for item in session.items if isinstance(item.body, Reading)] == [5.3]
