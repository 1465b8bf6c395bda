"""Make a bundle: a whole session as one file for sending."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final

from valvebench.archive.bundle_form import (
    BLOBS_MEMBER,
    FORMAT,
    JOURNAL_MEMBER,
    LARGEST_BYTES,
    MANIFEST_NAME,
    MOST_MEMBERS,
    SUFFIX,
    Manifest,
    Member,
    manifest_bytes,
    packed,
    packed_size,
)
from valvebench.archive.chain import Journal
from valvebench.archive.saver import reason, save
from valvebench.archive.session_folder import BLOBS_NAME, JOURNAL_NAME, checked_entries, read_blob, read_session
from valvebench.archive.verify import file_of, verified
from valvebench.bench.evidence import Bundled
from valvebench.model.entry import Entry, OpenJob, sha256_of
from valvebench.model.errors import BadInput, EvidenceBroken, WorldFailed, bad
from valvebench.model.variant_rules import read_variant

SEND_FOLDER: Final = "Send a copy of the session folder instead; it holds the same."


def write_bundle(folder: Path, target: Path, *, step: Callable[[str], bool] | None = None) -> Bundled | None:
    """Write a session as one file (raises BadInput, WorldFailed, EvidenceBroken; an older file then stands).

    `step` hears what comes next and says whether to go on; None where it did not.
    """
    if target.suffix.lower() != SUFFIX:
        raise bad("--to", str(target), f"a file name that ends in {SUFFIX}")
    if not target.parent.is_dir():
        raise bad("--to", str(target.parent), "a folder that is there")
    go_on = step or _always
    if not go_on("checking the session"):
        return None
    raw, manifest = bundle_of(folder)
    if not go_on("putting it on disk"):
        return None
    save(target, raw)
    return Bundled(
        path=target,
        size_bytes=len(raw),
        sha256=sha256_of(raw),
        files=len(manifest.members),
        entries=manifest.entries,
        head=manifest.head,
    )


def _always(_: str) -> bool:
    return True


def bundle_of(folder: Path) -> tuple[bytes, Manifest]:
    """The bytes of a bundle and its manifest; the same session makes the same bytes (raises as `write_bundle`)."""
    journal_raw, journal = _journal_of(folder)
    _check_proved(folder, journal)
    hashes = wanted_blobs(journal.entries, lambda sha256: read_blob(folder, sha256))
    files = [(JOURNAL_MEMBER, journal_raw), *_blobs_of(folder, hashes, len(journal_raw))]
    manifest = manifest_of(journal, files)
    return packed([(MANIFEST_NAME, manifest_bytes(manifest)), *files]), manifest


def _journal_of(folder: Path) -> tuple[bytes, Journal]:
    """The journal up to its last whole line: what follows was never accepted."""
    journal = read_session(folder)
    try:
        raw = (folder / JOURNAL_NAME).read_bytes()[: journal.length_bytes]
    except OSError as error:
        raise WorldFailed(f"{folder / JOURNAL_NAME}: cannot be read ({reason(error)}).") from error
    return raw, journal


def _check_proved(folder: Path, journal: Journal) -> None:
    """Only what verifies is packed: a bundle says of itself that it is whole."""
    checked_entries(journal, source=str(folder))
    found = verified(journal, lambda sha256: read_blob(folder, sha256) is not None)
    if not found.ok:
        first = found.problems[0]
        raise EvidenceBroken(
            f"{folder}: the evidence does not verify. line {first.line}: {first.what}. See 'valvebench verify'."
        )


def wanted_blobs(entries: Iterable[Entry], blob: Callable[[str], bytes | None]) -> list[str]:
    """Hashes of the files that belong to a session, in order: those its entries name, and its variant's pictures."""
    bodies = [entry.body for entry in entries]
    wanted = {file_of(body) for body in bodies}
    for body in bodies:
        if isinstance(body, OpenJob) and body.variant is not None:
            wanted |= _pictures_of(blob(body.variant), blob)
    return sorted(sha256 for sha256 in wanted if sha256 is not None)


def _pictures_of(variant_raw: bytes | None, blob: Callable[[str], bytes | None]) -> set[str | None]:
    """Pictures the frozen variant names that are there; a job may have been opened without them."""
    if variant_raw is None:
        return set()
    try:
        pictures = read_variant(variant_raw, source="the variant frozen in this session").named_pictures
    except BadInput:  # frozen by a program that read variants otherwise: the session verifies all the same
        return set()
    return {picture.sha256 for picture in pictures if blob(picture.sha256) is not None}


def _blobs_of(folder: Path, hashes: Sequence[str], journal_bytes: int) -> list[tuple[str, bytes]]:
    """The files by their names in the bundle; their sizes are looked at before any is read."""
    sizes = [(f"{BLOBS_MEMBER}{sha256}", (folder / BLOBS_NAME / sha256).stat().st_size) for sha256 in hashes]
    manifest_guess = 300 + 200 * (1 + len(sizes))  # more than a manifest has
    total = packed_size([(MANIFEST_NAME, manifest_guess), (JOURNAL_MEMBER, journal_bytes), *sizes])
    if total > LARGEST_BYTES:
        raise bad(str(folder), f"{total} bytes", f"at most {LARGEST_BYTES} bytes in one file for sending", SEND_FOLDER)
    if len(sizes) + 2 > MOST_MEMBERS:
        raise bad(str(folder), f"{len(sizes)} files", f"at most {MOST_MEMBERS - 2} in a bundle", SEND_FOLDER)
    found = [(name, read_blob(folder, sha256)) for (name, _), sha256 in zip(sizes, hashes, strict=True)]
    if any(raw is None for _, raw in found):
        raise EvidenceBroken(f"{folder}: a file of it changed while it was read. See 'valvebench verify'.")
    return [(name, raw) for name, raw in found if raw is not None]


def manifest_of(journal: Journal, files: Sequence[tuple[str, bytes]]) -> Manifest:
    """The manifest of these files; the head is that of report and tag."""
    head = verified(journal, lambda _: True).head
    first = journal.entries[0].body
    if head is None or not isinstance(first, OpenJob):
        raise TypeError("a journal that verifies begins with its job and has a head")
    return Manifest(
        bundle=FORMAT,
        session=first.session,
        entries=len(journal.entries),
        head=head,
        members=tuple(Member(name=name, size_bytes=len(raw), sha256=sha256_of(raw)) for name, raw in files),
    )
