"""One session of the archive: what it holds, whether it is as it was written, and what belongs to it."""

from __future__ import annotations

import itertools
import os
from pathlib import Path
from typing import Any, Final, NamedTuple

from valvebench.archive.chain import Journal, read_journal
from valvebench.archive.saver import advice, reason, save, sync_folder
from valvebench.archive.session_folder import BLOBS_NAME, JOURNAL_NAME, checked_entries
from valvebench.archive.store_add import Shelf
from valvebench.archive.store_find import listed_number, sound_row, time_text
from valvebench.archive.store_open import Database
from valvebench.archive.store_rows import files_of, key_of, outcome_of
from valvebench.archive.store_words import code_of
from valvebench.bench.archived import Linked, Listed, Rejudgement, Shown
from valvebench.bench.desk import variant_from
from valvebench.bench.evidence import ChainProblem
from valvebench.bench.view import SessionView
from valvebench.judge.again import CODES
from valvebench.model.entry import Close, OpenJob, sha256_of
from valvebench.model.errors import BadInput, BenchError, EvidenceBroken, WorldFailed, bad
from valvebench.model.session import Session, fold
from valvebench.model.variant import Variant
from valvebench.model.words import Verdict

_MOST_VARIANTS: Final = 64


class Kept(NamedTuple):
    """A session as the archive keeps it: its whole journal and the head that was written down when it was added."""

    number: int
    key: bytes
    head: bytes
    n: int
    raw: bytes
    tail: tuple[str, ...]
    """The hash of each line after closing, as it was written down beside it."""
    shas: tuple[str, ...]

    @property
    def source(self) -> str:
        """What it is called in messages."""
        return f"archived session {self.key.hex()[:8]}"


def kept(database: Database, number: int) -> Kept:
    """The bytes of one session."""
    row = database.execute("SELECT key, head, n, bytes FROM journal WHERE session_id = ?", (number,)).fetchone()
    if row is None:
        raise bad("archive", f"no session number {number}", "one that was added")
    tail_sql = "SELECT bytes, sha256 FROM journal_tail WHERE session_id = ? ORDER BY seq"
    tail = [(bytes(line), bytes(sha256).hex()) for line, sha256 in database.execute(tail_sql, (number,)).fetchall()]
    files = database.execute("SELECT sha256 FROM session_blob WHERE session_id = ?", (number,)).fetchall()
    raw = bytes(row[3]) + b"".join(line + b"\n" for line, _ in tail)
    hashes = tuple(sha256 for _, sha256 in tail)
    shas = tuple(bytes(one[0]).hex() for one in files)
    return Kept(number, bytes(row[0]), bytes(row[1]), int(row[2]), raw, hashes, shas)


def file_bytes(database: Database, shelf: Shelf, sha256: str) -> bytes | None:
    """The bytes of a file of the archive; None where they are missing or changed."""
    row = database.execute("SELECT data FROM blob WHERE sha256 = ?", (bytes.fromhex(sha256),)).fetchone()
    if row is None or row[0] is None:
        return shelf.get(sha256)
    raw = bytes(row[0])
    return raw if sha256_of(raw) == sha256 else None


def problems_of(database: Database, shelf: Shelf, found: Kept) -> tuple[Journal, list[ChainProblem]]:
    """Where a session is not as it was written: chain, head, identity and files."""
    journal = read_journal(found.raw, source=found.source)
    problems = list(journal.problems)
    closing = next((entry for entry in journal.entries if isinstance(entry.body, Close)), None)
    if closing is None or bytes.fromhex(closing.sha256) != found.head:
        line = closing.n if closing is not None else 0
        problems.append(ChainProblem(line=line, what="differs from the head that was kept when it was added"))
    elif (tail := journal.line_hashes[closing.n :]) != found.tail:
        same = itertools.takewhile(lambda pair: pair[0] == pair[1], zip(tail, found.tail, strict=False))
        problems.append(ChainProblem(line=closing.n + len(list(same)) + 1, what="is not as it was when it was added"))
    if len(journal.line_hashes) != found.n:
        what = f"{found.n} lines were kept, {len(journal.line_hashes)} are there"
        problems.append(ChainProblem(line=min(found.n, len(journal.line_hashes) + 1), what=what))
    first = journal.entries[0].body if journal.entries else None
    if not isinstance(first, OpenJob) or key_of(first.session) != found.key:
        problems.append(ChainProblem(line=1, what="names another session than the archive does"))
    if not journal.problems:
        problems += _file_problems(database, shelf, found, journal)
    return journal, problems


def _file_problems(database: Database, shelf: Shelf, found: Kept, journal: Journal) -> list[ChainProblem]:
    session = fold(journal.entries)
    missing = [sha256 for sha256 in found.shas if file_bytes(database, shelf, sha256) is None]
    missing += [sha256 for sha256 in files_of(session, None) if sha256 not in found.shas]
    return [ChainProblem(line=0, what=f"its file {sha256[:12]}... is missing or changed") for sha256 in missing]


class Variants:
    """Frozen variants that were read already, by the hash of their file: thousands of sessions share a few."""

    def __init__(self) -> None:
        self._known: dict[str, Variant] = {}

    def of(self, session: Session, database: Database, shelf: Shelf) -> Variant | None:
        """The variant of a session whose files were checked (raises BadInput where it cannot be read)."""
        sha256 = session.job.variant or ""
        if sha256 not in self._known:
            found = variant_from(session, lambda wanted: file_bytes(database, shelf, wanted))
            if found is None:
                return None
            if len(self._known) >= _MOST_VARIANTS:
                self._known.clear()
            self._known[sha256] = found
        return self._known[sha256]


def view(database: Database, shelf: Shelf, number: int, *, variants: Variants | None = None) -> SessionView:
    """The session to look at, never to change (raises EvidenceBroken, BadInput)."""
    with database.reading():
        found = kept(database, number)
        journal, problems = problems_of(database, shelf, found)
        if problems:
            raise EvidenceBroken(f"{found.source}: the evidence does not verify. {_first(problems)}")
        session = fold(checked_entries(journal, source=found.source))
        variant = (variants or Variants()).of(session, database, shelf)
    return SessionView(session=session, variant=variant)


def _first(problems: list[ChainProblem]) -> str:
    first = problems[0]
    return f"line {first.line}: {first.what}." if first.line else f"{first.what}."


def show(database: Database, shelf: Shelf, number: int) -> Shown:
    """Everything the archive says of one session; what is wrong with it is told, not raised."""
    with database.reading():
        found = kept(database, number)
        journal, problems = problems_of(database, shelf, found)
        session = None
        try:
            session = fold(journal.entries)
        except BenchError as error:
            problems.append(ChainProblem(line=0, what=str(error)))
        anchors = session.anchors if session is not None else ()
        return Shown(
            session=_listed(database, found, journal, problems),
            entries=len(journal.line_hashes),
            head=f"{len(journal.line_hashes) - len(found.tail)}:{found.head.hex()}",
            tail=len(found.tail),
            anchors=tuple({"kind": one.kind.value, "to": one.to} for one in anchors),
            outcome=outcome_of(session) if session is not None else None,
            links=tuple(_links(database, found, session.job if session is not None else None)),
            judgements=tuple(_judgements(database, number)),
            files=found.shas,
            problems=tuple(problems),
        )


def _listed(database: Database, found: Kept, journal: Journal, problems: list[ChainProblem]) -> Listed:
    """As a list shows it; one that is in no list, since it did not verify when the index was made, with its name."""
    try:
        return listed_number(database, found.number)
    except BadInput:
        problems.append(ChainProblem(line=0, what="is not in the index"))
    first = journal.entries[0] if journal.entries else None
    job = first.body.job if first is not None and isinstance(first.body, OpenJob) else ""
    return Listed(
        id=found.key.hex(),
        job=job,
        serial=None,
        part=None,
        customer=None,
        variant=None,
        verdict=Verdict.NOT_USABLE,
        outcome=None,
        closed_at=journal.entries[-1].at if journal.entries else "",
    )


def _links(database: Database, found: Kept, job: OpenJob | None) -> list[Linked]:
    if job is None:
        return []
    links = []
    own = code_of(job.job)
    came_back = "SELECT session_id, NULL FROM comeback WHERE of_job = ? ORDER BY session_id"
    links += _linked(database, came_back, own, "came_back_as")
    if job.comeback_of and (of := code_of(job.comeback_of)):
        earlier = "SELECT session_id, NULL FROM code WHERE norm = ? AND session_id <> ? ORDER BY session_id"
        of_that_job = _linked(database, earlier, (of, found.number), "comeback_of")
        links += [one for one in of_that_job if code_of(one.job) == of]  # not one whose part number reads the same
    later = "SELECT session_id, why FROM revision WHERE of_key = ? ORDER BY session_id"
    links += _linked(database, later, found.key, "revised_by")
    if job.revises:
        revised = "SELECT session_id, NULL FROM journal WHERE key = ?"
        links += [
            one._replace(why=job.revises_why) for one in _linked(database, revised, key_of(job.revises), "revises")
        ]
    return links


def _linked(database: Database, sql: str, value: Any, how: str) -> list[Linked]:
    values = value if isinstance(value, tuple) else (value,)
    found = []
    for number, why in database.execute(sql, values).fetchall():
        one = listed_number(database, number)
        found.append(Linked(one.id, one.job, one.closed_at, how, why))
    return found


def _judgements(database: Database, number: int) -> list[Rejudgement]:
    rows = database.execute(
        "SELECT run.id, run.at, run.what, j.verdict FROM run JOIN judgement j ON j.run_id = run.id "
        "WHERE run.is_whole = 1 AND j.session_id = ? ORDER BY run.id",
        (number,),
    ).fetchall()
    with sound_row():
        return [Rejudgement(run, time_text(at), what, CODES[verdict]) for run, at, what, verdict in rows]


def write_folder(database: Database, shelf: Shelf, number: int, target: Path, *, read_only: bool = False) -> Path:
    """The session as a folder like the one that was added, at a new place (raises BadInput, WorldFailed).

    `read_only` takes the right to write from it: what it holds is looked at, and changed only in the archive.
    """
    with database.reading():
        found = kept(database, number)
        files = [(sha256, file_bytes(database, shelf, sha256)) for sha256 in found.shas]
    lost = next((sha256 for sha256, raw in files if raw is None), None)
    if lost is not None:
        raise EvidenceBroken(
            f"{found.source}: its file {lost[:12]}... is missing or changed. Restore the latest backup."
        )
    if target.exists():
        raise bad(str(target), "something of this name", "the name of a new folder")
    try:
        (target / BLOBS_NAME).mkdir(parents=True)
        for sha256, raw in files:
            save(target / BLOBS_NAME / sha256, raw or b"")
        save(target / JOURNAL_NAME, found.raw, replace=False)  # last: without it the folder is no session
        for holder in (target, target.parent):
            sync_folder(holder)
        if read_only:
            make_read_only(target)
    except WorldFailed:
        raise
    except OSError as error:
        raise WorldFailed(f"{target}: not written ({reason(error)}). {advice(error)}") from error
    return target


def make_read_only(folder: Path) -> None:
    """Take the right to write from everything in a folder that is only to be looked at."""
    for path in [*folder.rglob("*"), folder]:
        os.chmod(path, 0o555 if path.is_dir() else 0o444)  # noqa: PTH101  one spelling for both kinds
