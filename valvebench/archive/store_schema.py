"""The tables of the archive, the same for every database.

`written_tables` hold what was put in; everything in `derived_tables` is found in it and can be made anew.
"""

from __future__ import annotations

from typing import Any, Final

from sqlalchemy import (
    BigInteger,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.dialects import sqlite
from sqlalchemy.types import TypeEngine

FORMAT: Final = 1
"""The format of archives that this program writes; it goes up with each migration."""
APPLICATION_ID: Final = 0x56424152
"""Tells an archive from every other SQLite file."""
SMALL_FILE_BYTES: Final = 64 * 1024
"""Files up to here lie in the database, larger ones beside it: a backup's time grows with every byte in it."""

BIG: Final = BigInteger().with_variant(sqlite.INTEGER(), "sqlite")
WHOLE: Final = Integer().with_variant(sqlite.INTEGER(), "sqlite")
SMALL: Final = SmallInteger().with_variant(sqlite.INTEGER(), "sqlite")
REAL: Final[TypeEngine[float]] = Double().with_variant(sqlite.REAL(), "sqlite")
BYTES: Final = LargeBinary().with_variant(sqlite.BLOB(), "sqlite")
STRICT: Final[dict[str, Any]] = {"sqlite_strict": True}
KEYED: Final[dict[str, Any]] = {"sqlite_strict": True, "sqlite_with_rowid": False}
FTS: Final = "fts"
PREFIX: Final = "new_"
"""Begins the names of derived tables that are being made anew."""
FTS_OPTIONS: Final = "content='', detail=none, columnsize=0, prefix='2 3 4', tokenize='ascii'"
"""`ascii` takes every sign beyond ASCII for a letter: ours are split already, and letters younger than the
database's own tables stay whole."""


def _key(name: str) -> Column[Any]:
    """A number that we give ourselves."""
    return Column(name, BIG, primary_key=True, autoincrement=False)


def _lists(meta: MetaData) -> None:
    """What the archive says of itself, and sessions that are not closed."""
    Table("meta", meta, Column("name", Text, primary_key=True), Column("value", Text), **STRICT)
    Table(
        "open_session",
        meta,
        Column("key", BYTES, primary_key=True),
        Column("path", Text, nullable=False),
        Column("job", Text, nullable=False),
        Column("entries", WHOLE, nullable=False),
        Column("seen_at", BIG, nullable=False),
        **STRICT,
    )


def _journals(meta: MetaData) -> None:
    """The closed part as it stands, its head, how many lines there are in all; and the lines after closing."""
    Table(
        "journal",
        meta,
        _key("session_id"),
        Column("key", BYTES, nullable=False, unique=True),
        Column("head", BYTES, nullable=False),
        Column("n", WHOLE, nullable=False),
        Column("bytes", BYTES, nullable=False),
        **STRICT,
    )
    Table(
        "journal_tail",
        meta,
        Column("session_id", BIG, ForeignKey("journal.session_id"), primary_key=True),
        Column("seq", WHOLE, primary_key=True),
        # nothing after the last line vouches for it, so its hash stands beside it
        Column("sha256", BYTES, nullable=False),
        Column("bytes", BYTES, nullable=False),
        **KEYED,
    )


def _files(meta: MetaData) -> None:
    """Files of sessions, each once; `data` is NULL for one that lies beside the database."""
    Table(
        "blob",
        meta,
        Column("sha256", BYTES, primary_key=True),
        Column("n", BIG, nullable=False),
        Column("data", BYTES),
        **STRICT,
    )
    Table(
        "session_blob",
        meta,
        Column("session_id", BIG, ForeignKey("journal.session_id"), primary_key=True),
        Column("sha256", BYTES, ForeignKey("blob.sha256"), primary_key=True),
        **KEYED,
    )


def _judgements(meta: MetaData) -> None:
    """Later judgements: one byte for each reading."""
    Table(
        "run",
        meta,
        Column("id", WHOLE, primary_key=True),
        Column("at", BIG, nullable=False),
        Column("what", Text, nullable=False),
        Column("program", Text, nullable=False),
        Column("is_whole", SMALL, nullable=False),
        Column("digest", BYTES),
        **STRICT,
    )
    Table(
        "judgement",
        meta,
        Column("run_id", WHOLE, ForeignKey("run.id"), primary_key=True),
        Column("session_id", BIG, ForeignKey("journal.session_id"), primary_key=True),
        Column("verdict", SMALL, nullable=False),
        Column("readings", BYTES, nullable=False),
        **KEYED,
    )


def _session(meta: MetaData, prefix: str) -> None:
    """What a list shows; narrow, so that a page of it is read at once."""
    Table(
        f"{prefix}session",
        meta,
        _key("id"),
        Column("key", BYTES, nullable=False),
        Column("job", Text, nullable=False),
        Column("serial", Text),
        Column("part", Text),
        Column("customer", Text),
        Column("supplier", Text),
        Column("batch", Text),
        Column("variant", Text),
        Column("verdict", SMALL, nullable=False),
        Column("closed_at", BIG, nullable=False),
        Column("n_entries", WHOLE, nullable=False),
        Index(f"{prefix}session_closed", "closed_at", "id"),
        Index(f"{prefix}session_variant", "variant", "closed_at", "id"),
        Index(f"{prefix}session_verdict", "verdict", "closed_at", "id"),
        **STRICT,
    )


def _named(meta: MetaData, prefix: str) -> None:
    """Numbers of variants; of devices one for each way their limits are stated, which says what a value is worth."""
    Table(
        f"{prefix}variant",
        meta,
        Column("id", WHOLE, primary_key=True),
        Column("key", Text, nullable=False, unique=True),
        **STRICT,
    )
    Table(
        f"{prefix}device",
        meta,
        Column("id", WHOLE, primary_key=True),
        Column("variant", Text, nullable=False),
        Column("name", Text, nullable=False),
        Column("kind", Text, nullable=False),
        Column("at", Text, nullable=False),
        Column("basis", Text, nullable=False),
        Column("ref_celsius", REAL),
        Column("k_celsius", REAL),
        UniqueConstraint("variant", "name", "kind", "at", "basis"),
        **STRICT,
    )


def _readings(meta: MetaData, prefix: str) -> None:
    """Readings by device and time, for a trend; and the same by session, packed, for judging anew."""
    Table(
        f"{prefix}reading",
        meta,
        _key("device"),
        _key("closed_at"),
        _key("session_id"),
        _key("seq"),
        Column("ohm", REAL, nullable=False),
        Column("celsius", REAL, nullable=False),
        Column("ohm_ref", REAL, nullable=False),
        Column("u", REAL),
        Column("verdict", SMALL, nullable=False),
        **KEYED,
    )
    Table(
        f"{prefix}pack",
        meta,
        _key("session_id"),
        Column("about", WHOLE, nullable=False),
        Column("digest", BYTES, nullable=False),
        Column("b", BYTES, nullable=False),
        **STRICT,
    )


def _links(meta: MetaData, prefix: str) -> None:
    """Codes, what became of a part, and which sessions belong together."""
    Table(f"{prefix}code", meta, Column("norm", Text, primary_key=True), _key("session_id"), **KEYED)
    Table(
        f"{prefix}outcome",
        meta,
        _key("session_id"),
        Column("fate", SMALL),
        Column("closed_at", BIG, nullable=False),
        Column("fitted", SMALL),
        Column("comeback", Text),
        Column("months", REAL),
        Column("odometer_km", REAL),
        Index(f"{prefix}outcome_fate", "fate", "closed_at", "session_id"),
        **STRICT,
    )
    Table(f"{prefix}comeback", meta, Column("of_job", Text, primary_key=True), _key("session_id"), **KEYED)
    Table(
        f"{prefix}revision",
        meta,
        Column("of_key", BYTES, primary_key=True),
        _key("session_id"),
        Column("why", Text, nullable=False),
        **KEYED,
    )


def written_tables() -> MetaData:
    """What was put in: it is never made anew."""
    meta = MetaData()
    for add in (_lists, _journals, _files, _judgements):
        add(meta)
    return meta


def derived_tables(prefix: str = "") -> MetaData:
    """What is found in it; `prefix` names a second set while it is made anew."""
    meta = MetaData()
    for add in (_session, _named, _readings, _links):
        add(meta, prefix)
    return meta


def all_tables() -> tuple[Table, ...]:
    """Every table, each after those it refers to."""
    return (*written_tables().sorted_tables, *derived_tables().sorted_tables)
