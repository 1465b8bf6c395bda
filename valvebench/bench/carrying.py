"""What one session tells another that is begun from it: its looks and photos, each with where it comes from.

The earlier session stays as it is: its chain, its times and its people are the evidence, and what is carried over only
points at it.  How something was seen goes along unchanged, so that nothing grows surer on the way.
"""

from __future__ import annotations

from typing import NamedTuple

import msgspec

from valvebench.bench.desk import Desk
from valvebench.model.entry import FeatureSeen, Note, Photo
from valvebench.model.format import stamp_text
from valvebench.model.session import Item, Session

_HEAD_DIGITS = 16
_LONGEST = 1000


class Carried(NamedTuple):
    """What goes along: looks, photos with their bytes, and where they come from in words."""

    looks: tuple[FeatureSeen, ...]
    photos: tuple[tuple[Photo, bytes], ...]
    origin: str


def carried_from(desk: Desk) -> Carried:
    """Looks and photos of an open session; reads its photos, so ask beside the window."""
    session = desk.session
    looks = tuple(
        msgspec.structs.replace(body, carried=body.carried or _where(session, item)[:_LONGEST])
        for item in session.items
        if isinstance(body := item.body, FeatureSeen)
    )
    photos = [item.body for item in session.items if isinstance(item.body, Photo)]
    read = [(body, desk.photo(body.sha256)) for body in photos]
    return Carried(looks, tuple((body, raw) for body, raw in read if raw is not None), _origin(session))


def _where(session: Session, item: Item) -> str:
    return f"{session.job.job}, entry {item.n}, {item.by}, {stamp_text(item.at)}"


def _origin(session: Session) -> str:
    number, _, digits = session.head.partition(":")
    return f"Begun from {session.job.job}, whose head was {number}:{digits[:_HEAD_DIGITS]}."


def carry_into(desk: Desk, carried: Carried) -> None:
    """Keep it all in a session that was just begun (raises BadInput, WorldFailed)."""
    desk.record(Note(text=carried.origin))
    for look in carried.looks:
        desk.record(look)
    for photo, raw in carried.photos:
        desk.record_with(raw, photo)
