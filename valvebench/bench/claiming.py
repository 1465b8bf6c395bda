"""What a claim rests on, gathered from a closed session: nothing is worked out that the session does not hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from valvebench.judge.row import Row
from valvebench.judge.rows import same_set_up
from valvebench.judge.session import SessionJudgement
from valvebench.model.entry import Entry, FluidFound, MeterCheck, Note, OpenJob, Photo, Reading
from valvebench.model.errors import bad
from valvebench.model.session import Item, Session
from valvebench.model.variant import Variant

_COOLER = "cooler"


@dataclass(frozen=True, kw_only=True)
class FailedItem:
    """A row that failed, the entries it came from, and the last meter check before them with the same set-up."""

    row: Row
    taken: tuple[Item, ...]
    check: Item | None


@dataclass(frozen=True, kw_only=True)
class CoolerTold:
    """What the variant's checklist asks about the cooler, and notes that name it, word for word."""

    asked: tuple[str, ...]
    notes: tuple[Item, ...]


@dataclass(frozen=True, kw_only=True)
class ClaimFacts:
    """Everything on a claim page; None and empty mean that the session does not tell."""

    session: Session
    variant: Variant | None
    judged: SessionJudgement
    opened: Entry
    closed: Entry
    tested: tuple[Item, ...]
    failed: tuple[FailedItem, ...]
    fluid: tuple[Item, ...]
    cooler: CoolerTold
    photos: tuple[Item, ...]

    @property
    def job(self) -> OpenJob:
        """The job as it came in."""
        return self.session.job


def claim_facts(session: Session, variant: Variant | None, judged: SessionJudgement) -> ClaimFacts:
    """Gather them (raises BadInput for an open session: entries may still follow, and the head would change).

    Parameters
    ----------
    session : a closed session, read from its folder or from the archive
    variant : the one frozen in it, or None
    judged : the session judged, with whatever rule the claim is to name
    """
    if session.close is None:
        raise bad("session", "an open session", "a closed one", "Close it first: the claim names its head.")
    return ClaimFacts(
        session=session,
        variant=variant,
        judged=judged,
        opened=session.entries[0],
        closed=session.close,
        tested=tuple(item for item in session.items if not isinstance(item.body, FluidFound | Note | Photo)),
        failed=tuple(_failed(row, session.items) for row in judged.failed()),
        fluid=_of_kind(session, FluidFound),
        cooler=cooler_told(session, variant),
        photos=_of_kind(session, Photo),
    )


def _of_kind(session: Session, kind: type) -> tuple[Item, ...]:
    return tuple(item for item in session.items if isinstance(item.body, kind))


def _failed(row: Row, items: Sequence[Item]) -> FailedItem:
    taken = tuple(item for item in items if item.n in row.entries)
    return FailedItem(row=row, taken=taken, check=last_check(items, taken))


def last_check(items: Sequence[Item], taken: Sequence[Item]) -> Item | None:
    """The newest meter check before the first of these readings, by the same meter with the leads in the same state."""
    readings = [item for item in taken if isinstance(item.body, Reading)]
    if not readings:
        return None
    first = readings[0]
    before = [item for item in items if item.n < first.n and _serves(item, first.body)]
    return before[-1] if before else None


def _serves(item: Item, reading: object) -> bool:
    return isinstance(item.body, MeterCheck) and isinstance(reading, Reading) and same_set_up(item.body, reading)


def cooler_told(session: Session, variant: Variant | None) -> CoolerTold:
    """Beside what was recorded of it with the fluid: what was noted is quoted, never read into."""
    lines = variant.checklist_lines if variant is not None else ()
    return CoolerTold(
        asked=tuple(line.text for line in lines if _COOLER in line.text.lower()),
        notes=tuple(i for i in session.items if isinstance(i.body, Note) and _COOLER in i.body.text.lower()),
    )
