"""Eight kinds of tampering at each position: what the chain sees alone, with the head, and in a bundle.

With a head that was given out everything is seen; without one a cut tail and
a chain made anew are not, and the answer says so.
"""

from __future__ import annotations

import io
import json
import random
from collections.abc import Callable, Iterator

import pytest

from tests.fakes.bundles import closed_job, files_of, packed_anew, rebuilt, with_journal
from tests.fakes.writers import LOG, PICTURE, RUN, new_job
from valvebench.archive.bundle import bundle_of
from valvebench.archive.bundle_form import JOURNAL_MEMBER
from valvebench.archive.bundle_open import checked
from valvebench.archive.chain import head_problems, read_journal
from valvebench.model.entry import Note, Reading, sha256_of
from valvebench.model.errors import BenchError

LINES = 40
NOT_ALONE = "Without --head a change to or after the last line cannot be seen."

Lines = list[bytes]
Tampered = Iterator[bytes]


@pytest.fixture(scope="module")
def raw(tmp_path_factory):
    """A journal of forty lines: the job, readings, notes, a photo, a heat run."""
    folder = tmp_path_factory.mktemp("table") / "job"
    desk = new_job(folder)
    desk.add_photo(PICTURE, file_name="p.png", of="plug")
    desk.record_with(LOG, RUN)
    for number in range(6, LINES + 1):
        reading = Reading(from_node="1", to_node="2", ohm=5.0 + number / 100, celsius=23.0)
        desk.record(Note(text=f"note {number}") if number % 5 == 0 else reading)
    desk.release()
    return (folder / "journal.jsonl").read_bytes(), bundle_of(folder)[0]


def lines_of(raw: bytes) -> Lines:
    return raw.split(b"\n")[:-1]


def joined(lines: Lines) -> bytes:
    return b"".join(line + b"\n" for line in lines)


def edited(line: bytes, change: Callable[[dict], None]) -> bytes:
    """One line with another content and its old place in the chain."""
    entry = json.loads(line)
    change(entry)
    return json.dumps(entry, ensure_ascii=False, separators=(",", ":")).encode()


def other_value(entry: dict) -> None:
    """A reading a ten-thousandth higher; of any other entry a minute later."""
    if entry["kind"] == "reading":
        entry["body"]["ohm"] = round(entry["body"]["ohm"] + 0.0001, 4)
    else:
        entry["at"] = entry["at"].replace("Z", "1Z")


def more_field(entry: dict) -> None:
    if entry["kind"] == "reading":
        entry["body"]["note"] = "added"
    else:
        entry["by"] += " and another"


def edit(lines: Lines) -> Tampered:
    for place, line in enumerate(lines):
        yield joined([*lines[:place], edited(line, other_value), *lines[place + 1 :]])


def add_field(lines: Lines) -> Tampered:
    for place, line in enumerate(lines):
        yield joined([*lines[:place], edited(line, more_field), *lines[place + 1 :]])


def swap(lines: Lines) -> Tampered:
    for place in range(len(lines) - 1):
        yield joined([*lines[:place], lines[place + 1], lines[place], *lines[place + 2 :]])


def double(lines: Lines) -> Tampered:
    for place in range(len(lines)):
        yield joined([*lines[: place + 1], *lines[place:]])


def delete(lines: Lines) -> Tampered:
    for place in range(len(lines) - 1):
        yield joined([*lines[:place], *lines[place + 1 :]])


def cut(lines: Lines) -> Tampered:
    for count in range(1, len(lines)):
        yield joined(lines[:count])


def edit_rebuilt(lines: Lines) -> Tampered:
    for place in range(1, len(lines)):
        yield rebuilt([*lines[:place], edited(lines[place], other_value), *lines[place + 1 :]])


def delete_rebuilt(lines: Lines) -> Tampered:
    for place in range(1, len(lines)):
        yield rebuilt([*lines[:place], *lines[place + 1 :]])


# What each is, and whether the chain alone sees all of it; None: all but the one at the very end.
KINDS = {
    "edit a value": (edit, None),
    "add to an entry": (add_field, None),
    "swap neighbours": (swap, True),
    "double a line": (double, True),
    "delete in the middle": (delete, True),
    "cut the tail": (cut, False),
    "edit, chain made anew": (edit_rebuilt, False),
    "delete, chain made anew": (delete_rebuilt, False),
}


def is_seen(raw: bytes, head: str | None = None) -> bool:
    journal = read_journal(raw, source="journal")
    return bool(journal.problems or (head and head_problems(journal, head)))


def is_seen_packed(files, raw: bytes, head: str | None = None) -> bool:
    """The same as a bundle whose manifest was made to fit, by someone who knows how."""
    try:
        bundle = packed_anew(with_journal(files, raw))
    except (BenchError, TypeError, ValueError, IndexError):  # not even a manifest can be made
        return True
    try:
        found = checked(io.BytesIO(bundle), source="sent.zip", head=head)
    except BenchError:
        return True
    assert head is not None or NOT_ALONE in found.notes
    return not found.ok


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_tampering_at_every_position(raw, kind, figure):
    journal, bundle = raw
    lines, files = lines_of(journal), files_of(bundle)
    head = f"{len(lines)}:{sha256_of(lines[-1])}"
    tamper, sees_alone = KINDS[kind]
    trials = list(tamper(lines))
    alone = sum(is_seen(one) for one in trials)
    with_head = sum(is_seen(one, head) for one in trials)
    packed = sum(is_seen_packed(files, one, head) for one in trials)
    told = f"{kind}: {len(trials)} trials, seen by the chain alone {alone}, with the head {with_head}"
    figure(15 if sees_alone is False else 14, f"{told}, as a bundle made to fit {packed}")
    assert len(trials) >= LINES - 1
    assert with_head == packed == len(trials)
    expected = {True: len(trials), False: 0, None: len(trials) - 1}[sees_alone]
    # A shorter or rebuilt journal may lack a file that an entry names: in a bundle that is seen even without a head.
    assert alone == expected


def test_a_bundle_without_a_head_says_what_it_cannot_see(raw):
    journal, bundle = raw
    files = files_of(bundle)
    whole = rebuilt(lines_of(journal), lambda entry: entry | {})
    assert not is_seen_packed(files, whole)
    forged = next(edit_rebuilt(lines_of(journal)))
    assert not is_seen_packed(files, forged), "a chain made anew agrees with itself; the answer says so"


@pytest.mark.parametrize("share", [3_000, pytest.param(None, marks=pytest.mark.study)], ids=["some bits", "every bit"])
def test_every_single_bit_of_a_bundle(tmp_path, share, figure):
    bundle = bundle_of(closed_job(tmp_path / "job"))[0]
    bits = range(8 * len(bundle))
    chosen = bits if share is None else random.Random(share).sample(bits, share)
    missed = [bit for bit in chosen if not is_refused(flipped(bundle, bit))]
    figure(14, f"{len(chosen)} of {len(bits)} bits of a bundle flipped, {len(missed)} missed")
    assert missed == []
    assert not is_refused(bundle)


def flipped(raw: bytes, bit: int) -> bytes:
    changed = bytearray(raw)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


def is_refused(raw: bytes) -> bool:
    try:
        return not checked(io.BytesIO(raw), source="sent.zip").ok
    except BenchError:
        return True


def test_a_journal_and_its_blobs_belong_together(raw):
    files = files_of(raw[1])
    assert not is_refused(packed_anew(files))
    assert is_refused(packed_anew(files[:-1]))
    assert is_refused(packed_anew([files[0], *[(name, blob + b"x") for name, blob in files[1:]]]))
    assert dict(files)[JOURNAL_MEMBER] == raw[0]
