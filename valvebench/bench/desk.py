"""The desk: one open session, and everything a person does with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final, NamedTuple

import msgspec

from valvebench import __version__
from valvebench.bench.judging import judged_whole
from valvebench.bench.pictures import check_picture
from valvebench.bench.ports import Clock, SessionStore
from valvebench.judge.session import SessionJudgement
from valvebench.model.air_tests import LeakTest, SweepTest
from valvebench.model.entry import (
    DATA_KINDS,
    GENESIS,
    KIND_OF_BODY,
    AnyBody,
    Close,
    Correct,
    Entry,
    OpenJob,
    Photo,
    Restore,
    Withdraw,
    body_from,
    encode_line,
    sha256_of,
)
from valvebench.model.errors import bad
from valvebench.model.flex import FlexTest
from valvebench.model.heat import HeatTest
from valvebench.model.session import Item, Ledger, Session, closing_rule
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Rule

PROGRAM: Final = f"valvebench {__version__}"


class Prepared(NamedTuple):
    """An entry that is ready for the disk but not on it: it does not count yet."""

    entry: Entry
    line: bytes


def first_line(job: OpenJob, *, at: str, by: str) -> bytes:
    """The first line of a journal."""
    return encode_line(n=1, at=at, by=by, body=job, prev=GENESIS)


class Desk:
    """An open session.  Nothing counts before the store has it; state is a fold over entries."""

    def __init__(self, store: SessionStore, *, clock: Clock, by: str | None = None) -> None:
        self._store, self._clock = store, clock
        self._ledger = Ledger(store.entries())
        self.by = by or self._ledger.last.by
        self._session: Session | None = None
        self._job = self.session.job
        self.variant = variant_from(self.session, store.blob)

    @property
    def session(self) -> Session:
        """What counts now."""
        if self._session is None:
            self._session = self._ledger.session()
        return self._session

    @property
    def job(self) -> OpenJob:
        """The job; it never changes, and asking for it folds nothing."""
        return self._job

    @property
    def is_closed(self) -> bool:
        """Whether only outcome and anchor entries may follow."""
        return self._ledger.is_closed

    @property
    def last_entry(self) -> Entry:
        """The newest line of the journal; asking for it folds nothing."""
        return self._ledger.last

    def judged(self, rule: Rule | None = None) -> SessionJudgement:
        """The whole session judged."""
        return judged_whole(self.session, self.variant, rule or closing_rule(self.session))

    def check(self, body: AnyBody) -> str:
        """The kind of a body that may follow now (raises BadInput where it may not)."""
        kind = KIND_OF_BODY[type(body)]
        self._ledger.check(kind, body)
        return kind

    def prepare(self, body: AnyBody) -> Prepared:
        """Check a body and make its line; touches no disk (raises BadInput)."""
        kind = self.check(body)
        last = self._ledger.last
        at = self._clock.now()
        line = encode_line(n=last.n + 1, at=at, by=self.by, body=body, prev=last.sha256)
        return Prepared(Entry(last.n + 1, at, self.by, kind, body, last.sha256, sha256_of(line)), line)

    def write(self, prepared: Prepared) -> None:
        """Put a prepared entry on disk; may run beside the window (raises WorldFailed)."""
        self._store.append(prepared.line)

    def accept(self, prepared: Prepared) -> Entry:
        """Count an entry that is on disk."""
        self._ledger.take(prepared.entry)
        self._session = None
        return prepared.entry

    def record(self, body: AnyBody) -> Entry:
        """Prepare, write and accept; returns only when the entry is on disk."""
        prepared = self.prepare(body)
        self.write(prepared)
        return self.accept(prepared)

    def item(self, number: int) -> Item:
        """What counts now of the data entry that a number is about (raises BadInput)."""
        item = self._ledger.root(number)
        if item is None:
            raise bad("entry", f"number {number}", "an entry that counts", "Look it up with 'valvebench judge'.")
        return item

    def find_item(self, number: int) -> Item | None:
        """What counts now of an entry; None for entries that are no data."""
        return self._ledger.items.get(number)

    def corrected(self, number: int, changes: Mapping[str, Any], why: str) -> Correct:
        """The body of a correction: the present one with the changed options (raises BadInput)."""
        item = self.item(number)
        present: dict[str, Any] = msgspec.to_builtins(item.body)
        present |= changes
        present = {name: value for name, value in present.items() if value is not None}
        body = msgspec.to_builtins(body_from(item.kind, present, source=f"entry {number}"))
        if body == msgspec.to_builtins(item.body):
            raise bad("correct", "nothing that differs", "at least one option of that entry")
        return Correct(entry=number, why=why, body=body)

    def correct(self, number: int, changes: Mapping[str, Any], why: str) -> Entry:
        """Give an earlier entry a new body; the earlier one stays readable."""
        return self.record(self.corrected(number, changes, why))

    def withdraw(self, number: int, why: str = "") -> Entry:
        """An earlier entry no longer counts."""
        return self.record(Withdraw(entry=number, why=why))

    def restore(self, number: int) -> Entry:
        """A withdrawn entry counts again."""
        return self.record(Restore(entry=number))

    def undo_body(self) -> Withdraw | None:
        """What undo would write: withdraw the newest entry that counts."""
        kinds = DATA_KINDS | {"correct"}
        standing = [e.n for e in self.session.entries if e.kind in kinds and e.n not in self.session.withdrawn]
        return Withdraw(entry=standing[-1], why="undo") if standing and not self.session.is_closed else None

    def redo_body(self) -> Restore | None:
        """What redo would write: restore what was withdrawn last, unless something new came since."""
        if self.session.is_closed:
            return None
        for entry in reversed(self.session.entries):
            if isinstance(entry.body, Withdraw) and entry.body.entry in self.session.withdrawn:
                return Restore(entry=entry.body.entry)
            if entry.kind in DATA_KINDS | {"correct"} and entry.n not in self.session.withdrawn:
                return None
        return None

    def photo_body(self, raw: bytes, *, file_name: str, of: str) -> Photo:
        """The entry of a picture that was not kept yet (raises BadInput where it is none)."""
        check_picture(raw, file_name=file_name)
        return Photo(sha256=sha256_of(raw), file_name=file_name, of=of, size_bytes=len(raw))

    def keep_picture(self, raw: bytes) -> None:
        """Put the bytes of a picture or a log on disk, before the entry that names them (raises WorldFailed)."""
        self._store.add_blob(raw)

    def add_photo(self, raw: bytes, *, file_name: str, of: str) -> Entry:
        """Keep a picture and say what it shows."""
        return self.record_with(raw, self.photo_body(raw, file_name=file_name, of=of))

    def record_with(self, raw: bytes, body: Photo | HeatTest | FlexTest | LeakTest | SweepTest) -> Entry:
        """Keep the bytes of a file, then the entry that names them; refused, nothing is kept."""
        self.prepare(body)
        self.keep_picture(raw)
        return self.record(body)

    def variant_file(self) -> bytes | None:
        """The bytes of the variant file as they were frozen; None where the job has none."""
        return self._store.blob(self._job.variant) if self._job.variant is not None else None

    def photo(self, sha256: str) -> bytes | None:
        """The bytes of a kept picture or log; None where they are missing or changed."""
        return self._store.blob(sha256)

    @staticmethod
    def close_body(judged: SessionJudgement) -> Close:
        """What closing would write: the verdict and what is missing."""
        return Close(
            verdict=judged.verdict.value,
            scope=judged.scope,
            rule=judged.rule,
            missing=tuple(one.what for one in judged.missing),
            program=PROGRAM,
        )

    def close(self, rule: Rule | None = None) -> Entry:
        """Close the session, finished or not; the verdict and what is missing go into the entry."""
        return self.record(self.close_body(self.judged(rule)))

    def now(self) -> str:
        """The present moment, RFC 3339 in UTC."""
        return self._clock.now()

    def release(self) -> None:
        """Let others open the session."""
        self._store.release()


def variant_from(session: Session, blob: Callable[[str], bytes | None]) -> Variant | None:
    """The variant file as it was when the job was opened (raises BadInput where it is damaged)."""
    sha256 = session.job.variant
    if sha256 is None:
        return None
    raw = blob(sha256)
    if raw is None:
        raise bad(f"blobs/{sha256[:12]}...", "missing or changed", "the frozen variant file")
    return read_variant(raw, source="the variant frozen in this session")
