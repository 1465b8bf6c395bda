"""Statements of the archive, built from its tables once and then run by the driver as text."""

from __future__ import annotations

from functools import cache

from sqlalchemy import ClauseElement, Table, bindparam, insert, select

from valvebench.archive.store_open import DIALECT
from valvebench.archive.store_schema import FTS, derived_tables, written_tables


def text_of(statement: ClauseElement) -> str:
    """The statement as the driver reads it, values as question marks in the order they stand."""
    return str(statement.compile(dialect=DIALECT))


def insert_into(table: Table) -> str:
    """Insert one row, every column in its order."""
    return text_of(insert(table).values({column.name: bindparam(column.name) for column in table.columns}))


class Writing:
    """What adding a session writes; `prefix` names the second set of the derived tables."""

    def __init__(self, prefix: str = "") -> None:
        written, derived = written_tables().tables, derived_tables(prefix).tables
        self.journal = insert_into(written["journal"])
        self.tail = insert_into(written["journal_tail"])
        self.blob = insert_into(written["blob"])
        self.session_blob = insert_into(written["session_blob"])
        self.session = insert_into(derived[f"{prefix}session"])
        self.variant = insert_into(derived[f"{prefix}variant"])
        self.device = insert_into(derived[f"{prefix}device"])
        self.code = insert_into(derived[f"{prefix}code"])
        self.reading = insert_into(derived[f"{prefix}reading"])
        self.pack = insert_into(derived[f"{prefix}pack"])
        self.outcome = insert_into(derived[f"{prefix}outcome"])
        self.comeback = insert_into(derived[f"{prefix}comeback"])
        self.revision = insert_into(derived[f"{prefix}revision"])
        variant, device = derived[f"{prefix}variant"].c, derived[f"{prefix}device"].c
        self.variants = text_of(select(variant.key, variant.id))
        self.devices = text_of(select(device.variant, device.name, device.kind, device.at, device.basis, device.id))
        self.words = f"INSERT INTO {prefix}{FTS} (rowid, w) VALUES (?, ?)"


@cache
def writing(prefix: str = "") -> Writing:
    """The same statements for everybody."""
    return Writing(prefix)
