"""Make everything that is found in the journals anew, beside what is there, and put it in its place at the end."""

from __future__ import annotations

import contextlib
from typing import Final

from sqlalchemy.schema import CreateIndex, CreateTable

from valvebench.archive.store_add import Shelf, Writer
from valvebench.archive.store_find import sound_row
from valvebench.archive.store_open import DIALECT, Database
from valvebench.archive.store_rows import index_of, outcome_of
from valvebench.archive.store_schema import FTS, FTS_OPTIONS, PREFIX, derived_tables
from valvebench.archive.store_show import Variants, view
from valvebench.archive.store_words import TOKENIZER
from valvebench.bench.archived import Counted, Step, always
from valvebench.bench.judging import judged_whole
from valvebench.model.errors import BenchError
from valvebench.model.session import closing_rule

CHUNK: Final = 50
"""Sessions for one write: others may add between two of them."""


def rebuild(database: Database, shelf: Shelf, *, step: Step = always) -> Counted:
    """Index every journal anew; found and added to meanwhile as before, changed in one go at the end.

    `step` hears sessions done and their number; where it says stop, everything stays as it was.
    """
    work = _Rebuild(database, shelf)
    try:
        with sound_row():
            is_whole = work.run(step)
    except BaseException:
        with contextlib.suppress(BenchError):
            work.drop()
        raise
    if not is_whole:
        work.drop()
    return Counted(work.done, 0, is_whole=is_whole, notes=tuple(work.notes))


class _Rebuild:
    def __init__(self, database: Database, shelf: Shelf) -> None:
        self._database, self._shelf = database, shelf
        self.done, self.notes = 0, list[str]()
        self._tails: dict[int, int] = {}
        self._variants = Variants()

    def run(self, step: Step) -> bool:
        self.drop()
        self._mend_lookups()
        self._make()
        writer = Writer(self._database, PREFIX)
        last = 0
        while numbers := self._next(last):
            with self._database.writing():
                for number in numbers:
                    self._index(writer, number)
            last = numbers[-1]
            total = int(self._database.rows("SELECT count(*) FROM journal")[0][0])
            if not step(self.done, total):
                return False
        with self._database.writing():
            for number in self._next(last):  # added while the last ones were written
                self._index(writer, number)
            self._mend_outcomes(writer)
            self._swap()
        return True

    def _mend_lookups(self) -> None:
        """What the database itself finds sessions and files by: damaged, it hides evidence that is whole."""
        with self._database.writing():
            for name in ("journal", "blob"):
                self._database.execute(f"REINDEX {name}")

    def drop(self) -> None:
        """Take away what a rebuild that did not end has left."""
        with self._database.writing():
            for name in (*derived_tables().tables, FTS):
                self._database.execute(f"DROP TABLE IF EXISTS {PREFIX}{name}")

    def _make(self) -> None:
        with self._database.writing():
            for table in derived_tables(PREFIX).sorted_tables:
                self._database.execute(str(CreateTable(table).compile(dialect=DIALECT)))
            self._database.execute(f"CREATE VIRTUAL TABLE {PREFIX}{FTS} USING fts5(w, {FTS_OPTIONS})")
            self._tails = self._count_tails()

    def _count_tails(self) -> dict[int, int]:
        rows = self._database.execute("SELECT session_id, count(*) FROM journal_tail GROUP BY session_id")
        return {int(row[0]): int(row[1]) for row in rows.fetchall()}

    def _next(self, last: int) -> list[int]:
        sql = "SELECT session_id FROM journal WHERE session_id > ? ORDER BY session_id LIMIT ?"
        return [int(row[0]) for row in self._database.rows(sql, (last, CHUNK))]

    def _index(self, writer: Writer, number: int) -> None:
        """One session; of one that does not verify it is said that it cannot be found."""
        try:
            seen = view(self._database, self._shelf, number, variants=self._variants)
            judged = judged_whole(seen.session, seen.variant, closing_rule(seen.session))
            indexed = index_of(seen.session, seen.variant, judged)
        except BenchError as error:
            self.notes.append(f"left out of the index: {error}")
        else:
            writer.index(number, indexed, outcome_of(seen.session))
        self.done += 1

    def _mend_outcomes(self, writer: Writer) -> None:
        """What became of a part may have been told while its session was done already."""
        now = self._count_tails()
        for number in [number for number, count in now.items() if self._tails.get(number) != count]:
            self._database.execute(f"DELETE FROM {PREFIX}outcome WHERE session_id = ?", (number,))
            seen = view(self._database, self._shelf, number, variants=self._variants)
            writer.tell_outcome(number, index_of(seen.session, seen.variant, None), outcome_of(seen.session))

    def _swap(self) -> None:
        execute, tables = self._database.execute, derived_tables().tables
        for name in (*tables, FTS):
            execute(f"DROP TABLE {name}")
            execute(f"ALTER TABLE {PREFIX}{name} RENAME TO {name}")
        for name in tables:
            for index in tables[name].indexes:
                execute(str(CreateIndex(index).compile(dialect=DIALECT)))
        execute("UPDATE meta SET value = ? WHERE name = 'tokenizer'", (str(TOKENIZER),))
