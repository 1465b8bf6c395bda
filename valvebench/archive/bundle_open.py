"""Open a bundle: every byte is checked before anything has a name, and what fails leaves nothing.

No name in the file is ever used as a path: it is one of the few a bundle may hold, or the bundle is refused.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO
from zlib import crc32

from valvebench.archive.bundle import wanted_blobs
from valvebench.archive.bundle_form import (
    BLOBS_MEMBER,
    JOURNAL_MEMBER,
    LOCAL,
    MANIFEST_NAME,
    Manifest,
    Placed,
    broken,
    directory,
    local_header,
    read_manifest,
)
from valvebench.archive.bundle_look import look
from valvebench.archive.chain import Journal, parse_head, read_journal
from valvebench.archive.saver import reason
from valvebench.archive.staged import Staged
from valvebench.archive.verify import verified, verify
from valvebench.bench.evidence import Verified
from valvebench.model.entry import OpenJob, sha256_of
from valvebench.model.errors import EvidenceBroken, WorldFailed

Keep = Callable[[str, bytes], None]
"""Is handed the name and the bytes of each file once they are what the manifest says."""


def open_bundle(path: Path, target: Path, *, head: str | None = None) -> Verified:
    """Open a bundle into a new folder (raises BadInput, EvidenceBroken, WorldFailed; nothing then stands there).

    `head` is one that was given out: where the session is another, nothing is opened.
    """
    if head is not None:
        parse_head(head)
    with _opened(path) as file, Staged(target) as staged:
        read_through(file, source=str(path), keep=staged.write)
        found = verify(staged.folder, head=head)
        if not found.ok:
            first = found.problems[0]
            raise EvidenceBroken(f"{path}: line {first.line}: {first.what}. Nothing was opened.")
        staged.put_in_place()
    return found


def take_in(file: Path, root: Path) -> Path:
    """Open a bundle in a new folder below `root`, named as the file (raises BadInput, WorldFailed, EvidenceBroken)."""
    kept = "".join(sign if sign.isalnum() or sign in "-_" else "-" for sign in file.stem).strip("-")[:80]
    name = kept or "job"
    taken = (root / (name if count == 1 else f"{name}-{count}") for count in range(1, 10_000))
    target = next(path for path in taken if not os.path.lexists(path))
    open_bundle(file, target)
    return target


def verify_bundle(path: Path, *, head: str | None = None) -> Verified:
    """Check a bundle without opening it anywhere (raises BadInput, EvidenceBroken, WorldFailed)."""
    with _opened(path) as file:
        return checked(file, source=str(path), head=head)


def checked(file: BinaryIO, *, source: str, head: str | None = None) -> Verified:
    """The same of a file that is open (raises BadInput, EvidenceBroken)."""
    kept: set[str] = set()
    journal = read_through(file, source=source, keep=lambda name, _: kept.add(name.removeprefix(BLOBS_MEMBER)))
    return verified(journal, kept.__contains__, head=head)


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    try:
        with path.open("rb") as file:
            yield file
    except WorldFailed:
        raise
    except OSError as error:
        raise WorldFailed(f"{path}: cannot be read ({reason(error)}). Check the name of the file.") from error


def read_through(file: BinaryIO, *, source: str, keep: Keep) -> Journal:
    """Read a bundle from its first byte to its last; the journal in it (raises BadInput, EvidenceBroken)."""
    walk = _Walk(file, look(file, source=source), source)
    manifest = read_manifest(walk.first(), source=source)
    journal, variant_raw = None, None
    for member in manifest.members:
        raw = walk.take(member.name, member.size_bytes)
        if sha256_of(raw) != member.sha256:
            raise broken(source, f"{member.name} is not the file that {MANIFEST_NAME} names")
        if journal is None:
            journal = _journal(raw, manifest, source)
        elif member.sha256 == _variant_of(journal):
            variant_raw = raw
        keep(member.name, raw)
    walk.end()
    if journal is None:
        raise broken(source, f"it holds no {JOURNAL_MEMBER}")
    _check_files(manifest, journal, variant_raw, source)
    return journal


def _journal(raw: bytes, manifest: Manifest, source: str) -> Journal:
    """The journal; its chain holds, and it is the one that the manifest tells of."""
    journal = read_journal(raw, source=JOURNAL_MEMBER)
    if journal.problems:
        problem = journal.problems[0]
        raise broken(source, f"{JOURNAL_MEMBER}, line {problem.line}: {problem.what}")
    first = journal.entries[0].body
    session = first.session if isinstance(first, OpenJob) else None
    told = (session, len(journal.entries), verified(journal, lambda _: True).head, b"")
    if told != (manifest.session, manifest.entries, manifest.head, journal.torn):
        raise broken(source, f"{MANIFEST_NAME} tells of another session, or of another number of entries")
    return journal


def _variant_of(journal: Journal) -> str | None:
    first = journal.entries[0].body
    return first.variant if isinstance(first, OpenJob) else None


def _check_files(manifest: Manifest, journal: Journal, variant_raw: bytes | None, source: str) -> None:
    """Every file that belongs to the session is there, and no other."""
    there = {member.name.removeprefix(BLOBS_MEMBER) for member in manifest.members} - {JOURNAL_MEMBER}
    wanted = wanted_blobs(journal.entries, lambda sha256: _blob(sha256, journal, variant_raw, there))
    if [f"{BLOBS_MEMBER}{sha256}" for sha256 in wanted] != [member.name for member in manifest.members][1:]:
        raise broken(source, "a file that an entry names is missing, or there is one that none names")


def _blob(sha256: str, journal: Journal, variant_raw: bytes | None, there: set[str]) -> bytes | None:
    """Of the variant its bytes; of another file only whether it is there."""
    if sha256 == _variant_of(journal):
        return variant_raw
    return b"" if sha256 in there else None


class _Walk:
    """From the first byte of a bundle to its last: each is what it must be, or the bundle is refused."""

    def __init__(self, file: BinaryIO, size_bytes: int, source: str) -> None:
        self._file, self._left, self._source = file, size_bytes, source
        self._placed: list[Placed] = []
        self._offset = 0
        file.seek(0)

    def first(self) -> bytes:
        """The bytes of the manifest: the only size that is taken from the zip file itself."""
        header = self._read(LOCAL.size)
        self._file.seek(0)
        self._left, self._offset = self._left + len(header), 0
        return self.take(MANIFEST_NAME, LOCAL.unpack(header)[8])

    def take(self, name: str, size_bytes: int) -> bytes:
        """The bytes of the next file, which has to be this one."""
        header = self._read(LOCAL.size + len(name))
        offset = self._offset - len(header)
        raw = self._read(size_bytes)
        crc = crc32(raw)
        if header != local_header(name, size_bytes=size_bytes, crc=crc):
            raise broken(self._source, f"what stands before {name} is not what a bundle has there")
        self._placed.append(Placed(name, size_bytes, crc, offset))
        return raw

    def end(self) -> None:
        """The list of all files, and nothing after it."""
        if self._read(self._left) != directory(self._placed):
            raise broken(self._source, "what stands after its files is not what a bundle has there")

    def _read(self, count: int) -> bytes:
        if count > self._left:
            raise broken(self._source, "it ends too early")
        raw = self._file.read(count)
        if len(raw) != count:
            raise broken(self._source, "it became shorter while it was read")
        self._left -= count
        self._offset += count
        return raw
