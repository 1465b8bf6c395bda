"""Check a session from outside: chain, blobs, and the head that was given out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from valvebench.archive.bundle_form import SUFFIX
from valvebench.archive.chain import Journal, head_problems, parse_head
from valvebench.archive.session_folder import JOURNAL_NAME, read_blob, read_session
from valvebench.bench.evidence import ChainProblem, Verified, anchored_text
from valvebench.model.air_tests import LeakTest, SweepTest
from valvebench.model.entry import Anchor, AnyBody, Close, Entry, OpenJob, Photo
from valvebench.model.flex import FlexTest
from valvebench.model.heat import HeatTest


def verify(path: Path, *, head: str | None = None) -> Verified:
    """Check a session folder or a bundle (raises BadInput for what is neither, or for a malformed head)."""
    if head is not None:
        parse_head(head)
    folder = path.parent if path.name == JOURNAL_NAME else path
    if folder.suffix.lower() == SUFFIX and folder.is_file():
        from valvebench.archive.bundle_open import verify_bundle

        return verify_bundle(folder, head=head)
    return verified(read_session(folder), lambda sha256: read_blob(folder, sha256) is not None, head=head)


def verified(journal: Journal, is_kept: Callable[[str], bool], *, head: str | None = None) -> Verified:
    """Check a journal; `is_kept` says whether the file of a hash is there and still matches it."""
    problems = [*journal.problems, *_blob_problems(journal, is_kept)]
    if head is not None:
        problems += head_problems(journal, head)
    closing = next((entry for entry in journal.entries if isinstance(entry.body, Close)), None)
    last = closing.n if closing is not None else len(journal.line_hashes)
    return Verified(
        ok=not problems,
        entries=len(journal.line_hashes),
        head=f"{last}:{journal.line_hashes[last - 1]}" if 0 < last <= len(journal.line_hashes) else None,
        tail=max(0, len(journal.line_hashes) - last),
        is_closed=closing is not None,
        anchors=_anchors(journal.entries),
        problems=tuple(problems),
        notes=tuple(_notes(journal, head)),
    )


def _anchors(entries: tuple[Entry, ...]) -> tuple[dict[str, Any], ...]:
    bodies = [(entry, entry.body) for entry in entries]
    return tuple({"kind": body.kind.value, "to": body.to, "at": e.at} for e, body in bodies if isinstance(body, Anchor))


def _blob_problems(journal: Journal, is_kept: Callable[[str], bool]) -> list[ChainProblem]:
    problems = []
    for entry in journal.entries:
        wanted = file_of(entry.body)
        if wanted is not None and not is_kept(wanted):
            problems.append(ChainProblem(line=entry.n, what=f"its file blobs/{wanted[:12]}... is missing or changed"))
    return problems


def file_of(body: AnyBody) -> str | None:
    """The hash of the file an entry names: the frozen variant, a picture, the log of a run, a flex or an air test."""
    if isinstance(body, Photo | HeatTest | FlexTest | LeakTest | SweepTest):
        return body.sha256
    return body.variant if isinstance(body, OpenJob) else None


def _notes(journal: Journal, head: str | None) -> list[str]:
    notes = []
    if journal.torn:
        notes.append(f"A torn last line of {len(journal.torn)} bytes was never accepted and does not count.")
    if head is None:
        notes.append("Without --head a change to or after the last line cannot be seen.")
    else:
        number, _ = parse_head(head)
        if number < len(journal.line_hashes):
            notes.append(f"The head covers lines 1 to {number}; a change to the last line after it cannot be seen.")
    anchors = [entry.body for entry in journal.entries if isinstance(entry.body, Anchor)]
    notes.append(anchored_text([anchor.kind for anchor in anchors]))
    return notes
