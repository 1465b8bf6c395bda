"""Keep a closed session in the archive, and say so in the session itself."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from valvebench.bench.archived import Added, Change
from valvebench.bench.desk import Desk
from valvebench.bench.ports import Archive
from valvebench.model.entry import Anchor
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.model.session import Session
from valvebench.model.words import AnchorKind


def keep_session(archive: Archive, folder: Path, *, open_desk: Callable[[Path], Desk]) -> Added:
    """Add a session and write the anchor `own_archive` behind it; the archive holds that entry too.

    A session that cannot be written to is kept without the anchor, and the answer says so (raises BenchError).
    """
    added = archive.add(folder)
    if added.change is Change.OPEN:
        return added
    try:
        desk = open_desk(folder)
    except WorldFailed as error:
        note = f"Kept, but the session does not say so: the anchor own_archive could not be written. {error}"
        return added._replace(notes=(*added.notes, note))
    try:
        is_new = lacks_anchor(archive, desk.session, ident=added.id or "")
        if is_new:
            desk.record(own_anchor(archive.id))
    except WorldFailed as error:
        return added._replace(notes=(*added.notes, f"Kept, but the anchor own_archive was not written. {error}"))
    finally:
        desk.release()
    if is_new:
        archive.add(folder)
    return added


def own_anchor(archive_id: str) -> Anchor:
    """What a session says that is kept in this archive."""
    return Anchor(kind=AnchorKind.OWN_ARCHIVE, to=f"archive {archive_id}")


def is_anchored(session: Session, archive_id: str) -> bool:
    """Whether a session says that it is kept in this archive."""
    return own_anchor(archive_id) in session.anchors


def lacks_anchor(archive: Archive, session: Session, *, ident: str) -> bool:
    """Whether an archive holds this closed session, sound and with its head, and the session does not say so.

    One of which the archive has more entries is an old copy: what is added to that the archive could not take.
    """
    if not session.is_closed or is_anchored(session, archive.id):
        return False
    try:
        shown = archive.show(ident)
    except BadInput:
        return False
    return shown.head == session.head and shown.entries <= len(session.entries) and not shown.problems
