"""A first look at a session before it is read: its job, its variant, its last readings.

Nothing of it is proved and nothing judged: it is there to be looked at while the whole journal is
read, and nothing is kept on the strength of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from valvebench.judge.targets import Targets
from valvebench.model.entry import Entry, OpenJob, Reading, decode_line
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant


class Seen(NamedTuple):
    """A reading with the number of its entry, and what lies between its two nodes."""

    number: int
    reading: Reading
    what: str


class Glimpse(NamedTuple):
    """The job, the variant it was opened with, and its last readings, the newest last."""

    job: OpenJob
    variant: Variant | None
    readings: tuple[Seen, ...]


def glimpse_of(first: bytes, last: Sequence[bytes], *, blob: Callable[[str], bytes | None]) -> Glimpse | None:
    """What the first line of a journal and its last ones tell; None without a job (raises BadInput)."""
    job = decode_line(first, source="the first line").body
    if not isinstance(job, OpenJob):
        return None
    raw = blob(job.variant) if job.variant is not None else None
    variant = read_variant(raw, source="the variant frozen in this session") if raw is not None else None
    entries = [decode_line(line, source="the last lines") for line in last]
    return Glimpse(job, variant, _standing(entries, Targets(variant)))


def _standing(entries: Sequence[Entry], targets: Targets) -> tuple[Seen, ...]:
    """The readings no later entry speaks of: what a correction made of one only the whole journal tells."""
    spoken_of = {getattr(entry.body, "entry", None) for entry in entries}
    return tuple(
        Seen(entry.n, entry.body, targets.of(entry.body).what)
        for entry in entries
        if isinstance(entry.body, Reading) and entry.n not in spoken_of
    )
