"""Check the whole archive: every chain, head and file, and the index that was made from them.

SQLite itself does not notice changed content, only broken structure; so each record is held against its own hashes,
and what is wrong is named by session.
"""

from __future__ import annotations

import contextlib
from typing import Any, Final

from valvebench.archive.saver import TEMPORARY_PREFIX
from valvebench.archive.store_add import Shelf
from valvebench.archive.store_find import sound_row
from valvebench.archive.store_open import Database
from valvebench.archive.store_restore import unlike_ours
from valvebench.archive.store_rows import FATES, RECORD, Indexed, RunDigest, digest_of, index_of, outcome_of
from valvebench.archive.store_show import Kept, Variants, kept, problems_of
from valvebench.archive.store_words import TOKENIZER, variant_word, verdict_word
from valvebench.bench.archived import Checked, Step, Unlike, always
from valvebench.model.entry import OpenJob
from valvebench.model.errors import BenchError, EvidenceBroken
from valvebench.model.session import Session, fold

_MOST_SAID: Final = 20
_NUMBERS: Final = "SELECT session_id FROM journal UNION SELECT id FROM session ORDER BY 1"
"""A journal that is gone is missed by the list that shows its session."""
_MOST_PROBED: Final = 200
_READINGS: Final = (
    "SELECT device, closed_at, session_id, seq, ohm, celsius, ohm_ref, u, verdict FROM reading "
    "WHERE device = ? AND closed_at = ? AND session_id = ?"
)
_DEVICE: Final = "SELECT id, variant, name, kind, at, basis, ref_celsius, k_celsius FROM device WHERE id = ?"


def verify_all(database: Database, shelf: Shelf, *, step: Step = always) -> Checked:
    """Everything that is not as it was written; `step` hears sessions done and their number and may say stop."""
    work = _Check(database, shelf)
    work.structure()
    is_whole = work.sessions(step)
    with contextlib.suppress(BenchError):  # what cannot be read was told above
        work.runs()
    if is_whole:
        work.counts()
    notes = [*work.notes] if is_whole else [*work.notes, "Stopped before the end: the rest was not looked at."]
    return Checked(not work.problems, work.done, work.files, tuple(work.problems), tuple(notes))


class _Check:
    def __init__(self, database: Database, shelf: Shelf) -> None:
        self._database, self._shelf = database, shelf
        self.problems: list[Unlike] = []
        self.notes: list[str] = []
        self._variants = Variants()
        self.done, self.files, self._readings, self._codes = 0, 0, 0, 0

    def _found(self, what: str, found: Kept | None = None, job: str | None = None) -> None:
        self.problems.append(Unlike(found.key.hex() if found is not None else None, job, what))

    def structure(self) -> None:
        """The file itself, on a connection of its own: at a large archive this takes minutes."""
        with contextlib.suppress(BenchError):
            beside = Database(self._database.path)
            try:
                self._pragmas(beside)
            except BenchError as error:
                self._found(str(error))
            finally:
                beside.close()
            self._words()
            return
        self._found(f"{self._database.path}: cannot be opened a second time")

    def _words(self) -> None:
        """The full text's own check; it asks for the right to write, which one connection alone can have."""
        try:
            with self._database.writing():
                self._database.execute("INSERT INTO fts (fts) VALUES ('integrity-check')")
        except EvidenceBroken as error:
            self._found(str(error))

    def _pragmas(self, beside: Database) -> None:
        # the quick check would pass over an index of the database that no longer agrees with its table
        for row in beside.rows(f"PRAGMA integrity_check({_MOST_SAID})"):
            if row[0] != "ok":
                self._found(f"structure: {row[0]}")
        for row in beside.rows("PRAGMA foreign_key_check")[:_MOST_SAID]:
            self._found(f"structure: a row of {row[0]} refers to what is not there")
        for sha256, n, length in beside.rows("SELECT sha256, n, length(data) FROM blob"):
            self._length(bytes(sha256).hex(), n, length)
        with beside.reading():
            odd = unlike_ours(beside.driver)
        if odd is not None:
            self._found(f"structure: {odd}")
        version = beside.rows("SELECT value FROM meta WHERE name = 'tokenizer'")
        if not version or version[0][0] != str(TOKENIZER):
            self.notes.append("The words were made by another version of this program: run 'archive rebuild'.")

    def _length(self, name: str, n: int, length: int | None) -> None:
        """Whether a file is as long as was written down; of one that is changed itself its sessions tell."""
        found = length if length is not None else self._shelf.size(name, n)
        if found != n and (length is not None or self._shelf.get(name) is not None):
            self._found(f"structure: the length that was written down for file {name[:12]}... is changed")

    def sessions(self, step: Step) -> bool:
        """Every session; one that cannot be read does not keep the others from being looked at."""
        try:
            numbers = [int(row[0]) for row in self._database.rows(_NUMBERS)]
        except BenchError as error:
            self._found(str(error))
            return True
        for number in numbers:
            try:
                with sound_row(), self._database.reading():
                    self._session(number)
            except BenchError as error:
                self._found(f"session number {number}: {error}")
            self.done += 1
            if not step(self.done, len(numbers)):
                return False
        return True

    def _session(self, number: int) -> None:
        found = kept(self._database, number)
        journal, problems = problems_of(self._database, self._shelf, found)
        self.files += len(found.shas)
        first = journal.entries[0].body if journal.entries else None
        job = first.job if isinstance(first, OpenJob) else None
        for problem in problems:
            where = f"line {problem.line}: " if problem.line else ""
            self._found(f"{where}{problem.what}", found, job)
        if problems:
            return
        session = fold(journal.entries)
        variant = self._variants.of(session, self._database, self._shelf)
        for what in self._index_problems(number, session, index_of(session, variant, None)):
            self._found(f"index: {what}. The evidence is as it was; run 'archive rebuild'", found, job)

    def _index_problems(self, number: int, session: Session, wanted: Indexed) -> list[str]:
        problems = []
        if self._row("SELECT * FROM session WHERE id = ?", number) != _session_row(number, wanted):
            problems.append("what a list shows of it is changed")
        for code in wanted.codes:
            self._codes += 1
            if not self._database.value("SELECT 1 FROM code WHERE norm = ? AND session_id = ?", (code, number)):
                problems.append(f"its code {code!r} is missing")
        if not self._is_found(number, wanted):
            problems.append("words of it are missing")
        if self._row("SELECT * FROM outcome WHERE session_id = ?", number) != _outcome_row(number, session, wanted):
            problems.append("what became of the part is changed")
        return [*problems, *self._links(number, wanted), *self._pack_problems(number, wanted)]

    def _row(self, sql: str, number: int) -> tuple[Any, ...] | None:
        row = self._database.execute(sql, (number,)).fetchone()
        return tuple(row) if row is not None else None

    def _is_found(self, number: int, wanted: Indexed) -> bool:
        words = [verdict_word(wanted.verdict), *wanted.words[:_MOST_PROBED]]
        if wanted.variant is not None:
            found = self._database.value("SELECT id FROM variant WHERE key = ?", (wanted.variant,))
            words.append(variant_word(int(found or 0)))
        asked = " AND ".join(f'"{word}"' for word in words)
        return bool(self._database.value("SELECT 1 FROM fts WHERE fts MATCH ? AND rowid = ?", (asked, number)))

    def _links(self, number: int, wanted: Indexed) -> list[str]:
        value = self._database.value
        came = value("SELECT of_job FROM comeback WHERE session_id = ?", (number,))
        revised = self._row("SELECT of_key, why FROM revision WHERE session_id = ?", number)
        is_right = came == wanted.comeback_of and revised == wanted.revises
        return [] if is_right else ["what it belongs to is changed"]

    def _pack_problems(self, number: int, wanted: Indexed) -> list[str]:
        row = self._row("SELECT b, digest FROM pack WHERE session_id = ?", number)
        if row is None:
            return ["its readings are missing"]
        pack = bytes(row[0])
        devices = {one[0] for one in RECORD.iter_unpack(pack)} if len(pack) % RECORD.size == 0 else set()
        rows = [
            tuple(one)
            for device in sorted(devices - {0})
            for one in self._database.execute(_READINGS, (device, wanted.closed_at, number)).fetchall()
        ]
        self._readings += len(rows)
        rows.sort(key=lambda one: one[3])
        named = [one for device in sorted(devices - {0}) if (one := self._row(_DEVICE, device)) is not None]
        return [] if digest_of(pack, rows, named) == bytes(row[1]) else ["its readings are changed"]

    def runs(self) -> None:
        """Later judgements, each run as a whole."""
        runs = "SELECT id, what, digest, at, program FROM run WHERE is_whole = 1 ORDER BY id"
        for number, what, digest, at, program in self._database.rows(runs):
            rows = self._database.rows("SELECT * FROM judgement WHERE run_id = ? ORDER BY session_id", (number,))
            found = RunDigest(number, at, what, program)
            found.add([tuple(row)[1:] for row in rows])
            if found.value() != (bytes(digest) if digest is not None else b""):
                self._found(f"judgement {number} ({what}) is changed: judge anew")

    def counts(self) -> None:
        """Rows that belong to no session, and files that nobody names."""
        try:
            if self.problems:
                return  # what is missing was told already, and would be counted twice
            for table, wanted in (("session", self.done), ("reading", self._readings), ("code", self._codes)):
                count = int(self._database.rows(f"SELECT count(*) FROM {table}")[0][0])
                if count != wanted:
                    self._found(f"index: {count} rows of {table} where {wanted} belong; run 'archive rebuild'")
            named = {bytes(row[0]).hex() for row in self._database.rows("SELECT sha256 FROM blob WHERE data IS NULL")}
        except BenchError as error:
            self._found(str(error))
            return
        lying = {one.name for one in self._shelf.folder.iterdir()} if self._shelf.folder.is_dir() else set()
        left = [name for name in lying - named if not name.startswith(TEMPORARY_PREFIX)]
        if left:
            self.notes.append(f"{len(left)} files in {self._shelf.folder} belong to no session.")


def _session_row(number: int, wanted: Indexed) -> tuple[Any, ...]:
    named = (wanted.job, wanted.serial, wanted.part, wanted.customer, wanted.supplier, wanted.batch, wanted.variant)
    return (number, wanted.key, *named, wanted.verdict, wanted.closed_at, wanted.n_entries)


def _outcome_row(number: int, session: Session, wanted: Indexed) -> tuple[Any, ...] | None:
    told = outcome_of(session)
    if told is None:
        return None
    fate = FATES.index(told.fate) if told.fate is not None else None
    fitted = int(told.fitted) if told.fitted is not None else None
    return (number, fate, wanted.closed_at, fitted, told.comeback, told.months, told.odometer_km)
