"""Bundles made by someone who knows how: packed anew after a change, or with something in them that means harm."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

from tests.fakes.writers import LOG, PICTURE, RUN, new_job
from valvebench.archive.bundle import manifest_of
from valvebench.archive.bundle_form import JOURNAL_MEMBER, MANIFEST_NAME, manifest_bytes, packed
from valvebench.archive.chain import read_journal
from valvebench.model.entry import GENESIS, Anchor, sha256_of
from valvebench.model.words import AnchorKind

Files = list[tuple[str, bytes]]


def closed_job(folder: Path) -> Path:
    """A small closed session: a reading, its correction, a photo, a heat run, a tail."""
    desk = new_job(folder)
    desk.correct(2, {"ohm": 5.3}, "misread")
    desk.add_photo(PICTURE, file_name="p.png", of="plug")
    desk.record_with(LOG, RUN)
    desk.close()
    desk.record(Anchor(kind=AnchorKind.TAG_HANDED_OVER, to="counter"))
    desk.release()
    return folder


def files_of(raw: bytes) -> Files:
    """Everything in a bundle but its manifest, by another reader than ours."""
    with zipfile.ZipFile(io.BytesIO(raw)) as found:
        return [(name, found.read(name)) for name in found.namelist() if name != MANIFEST_NAME]


def packed_anew(files: Files) -> bytes:
    """A bundle of these files, its manifest made to fit: what someone does who knows how it works."""
    journal = read_journal(dict(files)[JOURNAL_MEMBER], source="made anew")
    return packed([(MANIFEST_NAME, manifest_bytes(manifest_of(journal, files))), *files])


def with_journal(files: Files, journal: bytes) -> Files:
    return [(name, journal if name == JOURNAL_MEMBER else raw) for name, raw in files]


def rebuilt(lines: Iterable[bytes], change: Callable[[dict], None] = lambda _: None) -> bytes:
    """The chain made anew after a change."""
    previous, result = GENESIS, []
    for number, line in enumerate(lines, 1):
        entry = json.loads(line)
        change(entry)
        entry |= {"n": number, "prev": previous}
        result.append(json.dumps(entry, ensure_ascii=False, separators=(",", ":")).encode())
        previous = sha256_of(result[-1])
    return b"".join(line + b"\n" for line in result)


def zipped(
    *members: tuple[str | zipfile.ZipInfo, bytes], method: int = zipfile.ZIP_STORED, comment: bytes = b""
) -> bytes:
    """A zip file of a common library's making."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as made:
        for name, raw in members:
            made.writestr(name, raw)
        made.comment = comment
    return buffer.getvalue()
