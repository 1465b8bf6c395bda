"""Keep a closed session in the archive, and say so in the session itself."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from valvebench.bench.archived import Added, Change
from valvebench.bench.desk import Desk
from valvebench.bench.ports import Archive
from valvebench.model.entry import Anchor
from valvebench.model.errors import WorldFailed
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
        is_new = anchor_in(desk, archive.id)
    except WorldFailed as error:
        return added._replace(notes=(*added.notes, f"Kept, but the anchor own_archive was not written. {error}"))
    finally:
        desk.release()
    if is_new:
        archive.add(folder)
    return added


def anchor_in(desk: Desk, archive_id: str) -> bool:
    """Record that a closed session is kept in this archive, once; returns whether the entry is new."""
    to = f"archive {archive_id}"
    given = [one for one in desk.session.anchors if one.kind is AnchorKind.OWN_ARCHIVE]
    if any(one.to == to for one in given):
        return False
    desk.record(Anchor(kind=AnchorKind.OWN_ARCHIVE, to=to))
    return True
