"""Put one closed session into the archive: checked first, then all of it in one go."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from valvebench.archive.chain import Journal, read_journal
from valvebench.archive.saver import reason, save, sync_folder
from valvebench.archive.session_folder import JOURNAL_NAME, checked_entries, read_blob
from valvebench.archive.store_open import FILES_NAME, Database
from valvebench.archive.store_rows import (
    FATES,
    RECORD,
    DeviceKey,
    Indexed,
    digest_of,
    files_of,
    in_trend,
    index_of,
    key_of,
    milliseconds,
    outcome_of,
    photos_of,
)
from valvebench.archive.store_schema import SMALL_FILE_BYTES
from valvebench.archive.store_sql import writing
from valvebench.archive.store_words import variant_word, verdict_word
from valvebench.archive.verify import verify
from valvebench.bench.archived import Change, OutcomeTold
from valvebench.bench.desk import variant_from
from valvebench.bench.judging import judged_whole
from valvebench.model.entry import sha256_of
from valvebench.model.errors import EvidenceBroken, WorldFailed
from valvebench.model.session import Session, closing_rule, fold
from valvebench.model.variant import Variant

_FIRST_TAIL: Final = 1
_STATE: Final = (
    "SELECT (SELECT session_id FROM journal WHERE key = ?), (SELECT max(session_id) FROM journal), "
    "EXISTS (SELECT 1 FROM open_session WHERE key = ?), (SELECT schema_version FROM pragma_schema_version)"
)
"""Whether a session is there or was listed as open, the last number, and whether tables were replaced meanwhile."""


class File(NamedTuple):
    """A file of a session: its hash, its length, and its bytes where they go into the database."""

    sha256: str
    n: int
    data: bytes | None


class Prepared(NamedTuple):
    """A closed session ready for the archive: nothing of it is there yet."""

    indexed: Indexed
    journal: bytes
    """The lines up to its closing, as they stand."""
    head: bytes
    tail: tuple[bytes, ...]
    """Each later line, as it stands."""
    outcome: OutcomeTold | None
    files: tuple[File, ...]
    source: str


class Seen(NamedTuple):
    """A session that was read and checked; `prepared` is None while it is open."""

    session: Session
    prepared: Prepared | None


Blob = Callable[[str], bytes | None]


def read_closed(folder: Path, keep_beside: Callable[[str, bytes], None]) -> Seen:
    """Check a session folder and make it ready (raises BadInput, WorldFailed, EvidenceBroken).

    `keep_beside` puts the bytes of a large file or a photo on disk beside the database.
    """
    folder = folder.parent if folder.name == JOURNAL_NAME else folder
    found = verify(folder)
    if not found.ok:
        first = found.problems[0]
        where = f"line {first.line}: " if first.line else ""
        raise EvidenceBroken(f"{folder}: not added, the evidence does not verify. {where}{first.what}.")
    raw = _journal_bytes(folder)
    journal = read_journal(raw, source=str(folder))
    session = fold(checked_entries(journal, source=str(folder)))  # it may have grown since it was checked
    if not session.is_closed:
        return Seen(session, None)

    def blob(sha256: str) -> bytes | None:
        return read_blob(folder, sha256)

    variant = variant_from(session, blob)
    files = _files(session, variant, blob, keep_beside, source=str(folder))
    return Seen(session, prepared_from(raw, journal, session, variant, files=files, source=str(folder)))


def _journal_bytes(folder: Path) -> bytes:
    try:
        return (folder / JOURNAL_NAME).read_bytes()
    except OSError as error:
        raise WorldFailed(f"{folder}: cannot be read ({reason(error)}).") from error


def prepared_from(
    raw: bytes,
    journal: Journal,
    session: Session,
    variant: Variant | None,
    *,
    files: tuple[File, ...],
    source: str,
) -> Prepared:
    """The closed part, the tail and the index of a journal that verifies (raises BadInput)."""
    lines = [line + b"\n" for line in raw[: journal.length_bytes].split(b"\n")[:-1]]
    n_closed = session.close.n if session.close is not None else 0
    judged = judged_whole(session, variant, closing_rule(session))
    return Prepared(
        indexed=index_of(session, variant, judged),
        journal=b"".join(lines[:n_closed]),
        head=bytes.fromhex(journal.line_hashes[n_closed - 1]),
        tail=tuple(line.removesuffix(b"\n") for line in lines[n_closed:]),
        outcome=outcome_of(session),
        files=files,
        source=source,
    )


def _files(
    session: Session, variant: Variant | None, blob: Blob, keep_beside: Callable[[str, bytes], None], *, source: str
) -> tuple[File, ...]:
    photos = photos_of(session, variant)
    found = []
    for sha256 in files_of(session, variant):
        raw = blob(sha256)
        if raw is None:
            if variant is not None and sha256 in {one.sha256 for one in variant.named_pictures}:
                continue  # a photo that was not beside the variant file when the job was opened
            raise EvidenceBroken(f"{source}: not added, its file blobs/{sha256[:12]}... is missing or changed.")
        is_beside = sha256 in photos or len(raw) > SMALL_FILE_BYTES
        if is_beside:
            keep_beside(sha256, raw)
        found.append(File(sha256, len(raw), None if is_beside else raw))
    return tuple(found)


class Shelf:
    """The files beside the database, each under its hash."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / FILES_NAME

    def put(self, sha256: str, raw: bytes) -> None:
        """Keep bytes; returns only when they are on the disk (raises WorldFailed)."""
        if self.get(sha256) is None:
            try:
                self.folder.mkdir(exist_ok=True)
            except OSError as error:
                raise WorldFailed(f"{self.folder}: cannot be made ({reason(error)}).") from error
            save(self.folder / sha256, raw)
            return
        try:  # perhaps by a run that died before it could sync the name
            sync_folder(self.folder)
        except OSError as error:
            raise WorldFailed(f"{self.folder}: not saved ({reason(error)}). Check the disk.") from error

    def size(self, sha256: str, otherwise: int) -> int:
        """The length of the file under a hash; `otherwise` where there is none."""
        try:
            return (self.folder / sha256).stat().st_size
        except OSError:
            return otherwise

    def get(self, sha256: str) -> bytes | None:
        """The bytes under a hash; None where they are missing or changed."""
        try:
            raw = (self.folder / sha256).read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise WorldFailed(f"{self.folder / sha256}: cannot be read ({reason(error)}).") from error
        return raw if sha256_of(raw) == sha256 else None


class Numbers:
    """The numbers of variants and devices, made at their first use; `prefix` as of the derived tables."""

    def __init__(self, database: Database, prefix: str = "") -> None:
        self._database, self._sql = database, writing(prefix)
        self.forget()

    def forget(self) -> None:
        """Read them again at the next use: what was made in a write that failed is not there."""
        self._variants: dict[str, int] = {}
        self._devices: dict[tuple[str, str, str, str, str], int] = {}

    def variant(self, key: str) -> int:
        """The number of a variant."""
        if key not in self._variants:
            self._variants = {str(row[0]): int(row[1]) for row in self._database.execute(self._sql.variants)}
        if key not in self._variants:
            number = max(self._variants.values(), default=0) + 1
            self._database.execute(self._sql.variant, (number, key))
            self._variants[key] = number
        return self._variants[key]

    def device(self, key: DeviceKey) -> int:
        """The number of a device."""
        name = (key.variant, key.name, key.kind, key.at, key.basis)
        if name not in self._devices:
            self._devices = {
                (row[0], row[1], row[2], row[3], row[4]): int(row[5])
                for row in self._database.execute(self._sql.devices)
            }
        if name not in self._devices:
            number = max(self._devices.values(), default=0) + 1
            self._database.execute(self._sql.device, (number, *name, key.ref_celsius, key.k_celsius))
            self._devices[name] = number
        return self._devices[name]


class Writer:
    """Writes sessions and their index; every call belongs into one `writing` of the database."""

    def __init__(self, database: Database, prefix: str = "") -> None:
        self._database, self._sql = database, writing(prefix)
        self._execute = database.execute
        self.numbers = Numbers(database, prefix)
        self._schema: int | None = None

    def add(self, prepared: Prepared) -> Change:
        """Add a session, or what is new in its tail (raises EvidenceBroken where another one has its name)."""
        state = self._execute(_STATE, (prepared.indexed.key,) * 2).fetchone()
        known, last, is_open, version = state if state is not None else (None, 0, 0, 0)
        if version != self._schema:  # another program has made the index anew: its numbers may be others
            self._schema = version
            self.numbers.forget()
        if known is not None:
            return self._again(int(known), prepared)
        number = int(last or 0) + 1
        n = prepared.indexed.n_entries + len(prepared.tail)
        self._execute(self._sql.journal, (number, prepared.indexed.key, prepared.head, n, prepared.journal))
        self._add_tail(number, prepared.tail, _FIRST_TAIL)
        self._add_files(number, prepared.files)
        self.index(number, prepared.indexed, prepared.outcome)
        if is_open:
            self._execute("DELETE FROM open_session WHERE key = ?", (prepared.indexed.key,))
        return Change.ADDED

    def _again(self, number: int, prepared: Prepared) -> Change:
        row = self._execute("SELECT head, bytes FROM journal WHERE session_id = ?", (number,)).fetchone()
        if row is None or bytes(row[0]) != prepared.head or bytes(row[1]) != prepared.journal:
            raise EvidenceBroken(
                f"{prepared.source}: not added. The archive holds another session of the same identity "
                f"(job {prepared.indexed.job!r}), and what was closed never changes: one of the two was altered. "
                "Check both with 'valvebench verify --head' against the head on tag or report."
            )
        rows = self._execute("SELECT bytes FROM journal_tail WHERE session_id = ? ORDER BY seq", (number,)).fetchall()
        kept = tuple(bytes(row[0]) for row in rows)
        common = min(len(kept), len(prepared.tail))
        if kept[:common] != prepared.tail[:common]:
            raise EvidenceBroken(
                f"{prepared.source}: not added. Its entries after closing differ from those the archive holds: "
                "one of the two was altered, or outcomes were recorded in two copies of the session."
            )
        new = prepared.tail[common:]
        if not new:
            return Change.NOTHING
        self._add_tail(number, new, _FIRST_TAIL + common)
        self._execute("UPDATE journal SET n = n + ? WHERE session_id = ?", (len(new), number))
        self._execute("DELETE FROM outcome WHERE session_id = ?", (number,))
        self.tell_outcome(number, prepared.indexed, prepared.outcome)
        return Change.TAIL

    def _add_tail(self, number: int, lines: Sequence[bytes], first: int) -> None:
        if lines:
            rows = [(number, first + n, bytes.fromhex(sha256_of(line)), line) for n, line in enumerate(lines)]
            self._execute(self._sql.tail, rows)

    def _add_files(self, number: int, files: Iterable[File]) -> None:
        for file in files:
            sha256 = bytes.fromhex(file.sha256)
            if self._database.value("SELECT 1 FROM blob WHERE sha256 = ?", (sha256,)) is None:
                self._execute(self._sql.blob, (sha256, file.n, file.data))
            self._execute(self._sql.session_blob, (number, sha256))

    def index(self, number: int, index: Indexed, outcome: OutcomeTold | None) -> None:
        """Write what is found in a session."""
        execute, sql = self._execute, self._sql
        shown = (index.job, index.serial, index.part, index.customer, index.supplier, index.batch, index.variant)
        execute(sql.session, (number, index.key, *shown, index.verdict, index.closed_at, index.n_entries))
        if index.codes:
            execute(sql.code, [(code, number) for code in index.codes])
        devices = [self.numbers.device(one.device) if one.device is not None else 0 for one in index.records]
        pack = packed(index, devices)
        readings = readings_of(number, index, devices)
        if readings:
            execute(sql.reading, readings)
        named = {n: one.device for n, one in zip(devices, index.records, strict=True) if one.device is not None}
        digest = digest_of(pack, readings, [(n, *key) for n, key in sorted(named.items())])
        execute(sql.pack, (number, index.about, digest, pack))
        filters = [verdict_word(index.verdict)]
        if index.variant is not None:
            filters.append(variant_word(self.numbers.variant(index.variant)))
        # written only with a new session row: a second text under one number would be found beside the first
        execute(sql.words, (number, " ".join([*filters, *index.words])))
        self.tell_outcome(number, index, outcome)
        if index.comeback_of is not None:
            execute(sql.comeback, (index.comeback_of, number))
        if index.revises is not None:
            execute(sql.revision, (index.revises[0], number, index.revises[1]))

    def tell_outcome(self, number: int, index: Indexed, told: OutcomeTold | None) -> None:
        """Write what became of the part."""
        if told is None:
            return
        fate = FATES.index(told.fate) if told.fate is not None else None
        fitted = None if told.fitted is None else int(told.fitted)
        row = (number, fate, index.closed_at, fitted, told.comeback, told.months, told.odometer_km)
        self._execute(self._sql.outcome, row)

    def note_open(self, session: Session, folder: Path, seen_at: str) -> None:
        """List a session that is still open, where it lies."""
        row = (key_of(session.job.session), str(folder.absolute()), session.job.job, len(session.entries))
        self._execute("DELETE FROM open_session WHERE key = ?", row[:1])
        self._execute(
            "INSERT INTO open_session (key, path, job, entries, seen_at) VALUES (?, ?, ?, ?, ?)",
            (*row, milliseconds(seen_at)),
        )


def packed(index: Indexed, devices: Sequence[int]) -> bytes:
    """The judged rows as records of one length; `devices` holds their numbers, 0 for none."""
    return b"".join(RECORD.pack(device, *one[1:10]) for device, one in zip(devices, index.records, strict=True))


def readings_of(number: int, index: Indexed, devices: Sequence[int]) -> list[tuple[object, ...]]:
    """The rows of the trend table of one session; a row's place among the records is its number."""
    return [
        (
            *(device, index.closed_at, number, seq, one.ohm, one.celsius, one.value),
            *(one.u if math.isfinite(one.u) else None, one.verdict),
        )
        for seq, (device, one) in enumerate(zip(devices, index.records, strict=True))
        if in_trend(one)
    ]
