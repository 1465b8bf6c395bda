"""One box to find sessions with: anything may be typed, the newest come first, a page at a time."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from functools import cache, lru_cache
from typing import Any, Final, NamedTuple

from valvebench.archive.store_open import Database
from valvebench.archive.store_rows import FATES, milliseconds
from valvebench.archive.store_words import code_of, match_text, plain_words, variant_word, verdict_word
from valvebench.bench.archived import Asked, DeviceName, Listed, ListedPage, Names
from valvebench.judge.again import CODE_OF, CODES
from valvebench.model.errors import BenchError, EvidenceBroken, bad

MOST_A_PAGE: Final = 500
_MOST_TYPED: Final = 2000
_MOST_BOUND: Final = 20_000
"""Sessions looked at for the lowest number since a day; beyond, that day bounds so little that nothing is gained."""
_BOUND: Final = (
    "SELECT count(*), min(id) FROM (SELECT id FROM session WHERE closed_at >= ? ORDER BY closed_at, id LIMIT ?)"
)
_LAST: Final = 2**63 - 1
_DAMAGED: Final = (
    "The index of the archive is damaged. Run 'valvebench archive rebuild'; the evidence is kept apart from it."
)
_FIRST_DAY: Final = date(1970, 1, 1)
_COLUMNS: Final = (
    "s.id, s.key, s.job, s.serial, s.part, s.customer, s.variant, s.verdict, o.fate, s.closed_at, "
    "EXISTS (SELECT 1 FROM revision r WHERE r.of_key = s.key)"
)
_OUTCOME: Final = "LEFT JOIN outcome o ON o.session_id = s.id"
_CODE, _TEXT, _TIME = "c", "t", "d"


class _Place(NamedTuple):
    """Where a page begins: in which list, after which time (by filters alone) and which number."""

    list_name: str
    closed_at: int
    number: int


def find(database: Database, asked: Asked) -> ListedPage:
    """A page of sessions (raises BadInput only for a key of a page that never was, or a date that is none)."""
    most = max(1, min(asked.most, MOST_A_PAGE))
    typed = asked.text[:_MOST_TYPED]
    place = _place(asked.after)
    with database.reading():
        filters = _Filters.of(asked)
        has_words = bool(plain_words(typed))
        if not has_words and not filters.are_words():
            return _by_time(database, filters, place, most)
        if place is not None and place.list_name == _TIME:
            raise bad("after", "a page without words", "the `next` of the page before")
        code = code_of(typed)
        rows: list[Any] = []
        if has_words and (place is None or place.list_name == _CODE):
            rows = _by_code(database, code, filters, place, most + 1)
            if len(rows) > most:
                return _page(rows[:most], f"{_CODE}.{rows[most - 1][0]}")
            place = None
        more = _by_text(database, typed, code, filters, place, most + 1 - len(rows))
    rows = [*rows, *more]
    is_last = len(rows) <= most
    # where all that was shown stood under its code, the next page begins the list of the others
    shown = rows[:most]
    number = shown[-1][0] if more[: most - (len(rows) - len(more))] else _LAST
    return _page(shown, None if is_last else f"{_TEXT}.{number}")


class _Filters(NamedTuple):
    """Filters as what the tables hold."""

    variant: str | None
    verdict: int | None
    fate: int | None
    since: int | None

    @classmethod
    def of(cls, asked: Asked) -> _Filters:
        return cls(
            storable(asked.variant) if asked.variant is not None else None,
            CODE_OF[asked.verdict] if asked.verdict is not None else None,
            FATES.index(asked.outcome) if asked.outcome is not None else None,
            since_ms(asked.since),
        )

    def are_words(self) -> bool:
        """Whether they are looked up as words: two columns that seldom meet would be walked from end to end."""
        return self.variant is not None and self.verdict is not None and self.fate is None

    def columns(self) -> tuple[list[str], list[Any]]:
        """Tests of columns with their values."""
        found = (
            ("s.variant = ?", self.variant),
            ("s.verdict = ?", self.verdict),
            ("o.fate = ?", self.fate),
            ("s.closed_at >= ?", self.since),
        )
        tests = [(test, value) for test, value in found if value is not None]
        return [test for test, _ in tests], [value for _, value in tests]


def storable(text: str) -> str:
    """The text as a database takes it: half a sign becomes a question mark, which no stored text has in its place."""
    return text.encode("utf-8", errors="replace").decode("utf-8")


def since_ms(text: str | None) -> int | None:
    """A day, or a day and time, in milliseconds since 1970; midnight in UTC where nothing else is said."""
    if text is None:
        return None
    try:
        day = datetime.fromisoformat(text)
    except ValueError:
        raise bad("since", repr(text), "a day such as 2031-05-06") from None
    return milliseconds((day if day.tzinfo is not None else day.replace(tzinfo=UTC)).isoformat())


def _place(after: str | None) -> _Place | None:
    if after is None:
        return None
    name, *numbers = after.split(".")
    wanted = {_CODE: 1, _TEXT: 1, _TIME: 2}.get(name)
    is_number = all(one.removeprefix("-").isdecimal() and one.isascii() and len(one) <= 20 for one in numbers)
    if wanted != len(numbers) or not is_number or any(abs(int(one)) > _LAST for one in numbers):
        raise bad("after", repr(after), "the `next` of the page before")
    return _Place(name, int(numbers[0]) if wanted == 2 else 0, int(numbers[-1]))


def _by_time(database: Database, filters: _Filters, place: _Place | None, most: int) -> ListedPage:
    """Nothing typed: by the time of closing, from the index that fits the filters."""
    if place is not None and place.list_name != _TIME:
        raise bad("after", "a page of a search", "the `next` of a page without words")
    closed_at, number = (place.closed_at, place.number) if place is not None else (_LAST, _LAST)
    tests, values = filters.columns()
    sql = _time_sql(tuple(tests), is_by_fate=filters.fate is not None)
    rows = database.execute(sql, (*values, closed_at, number, most + 1)).fetchall()
    shown = rows[:most]
    return _page(shown, f"{_TIME}.{shown[-1][9]}.{shown[-1][0]}" if len(rows) > most else None)


@cache
def _time_sql(tests: tuple[str, ...], *, is_by_fate: bool) -> str:
    if is_by_fate:
        joined, order = "outcome o CROSS JOIN session s ON s.id = o.session_id", "o.closed_at, o.session_id"
    else:
        joined, order = f"session s {_OUTCOME}", "s.closed_at, s.id"
    where = " AND ".join([*tests, f"({order}) < (?, ?)"])
    descending = ", ".join(f"{name} DESC" for name in order.split(", "))
    return f"SELECT {_COLUMNS} FROM {joined} WHERE {where} ORDER BY {descending} LIMIT ?"


def _by_code(database: Database, code: str, filters: _Filters, place: _Place | None, most: int) -> list[Any]:
    """Sessions whose job number, serial or part number is just what was typed."""
    tests, values = filters.columns()
    last = place.number if place is not None else _LAST
    return list(database.execute(_code_sql(tuple(tests)), (code, last, *values, most)).fetchall())


@cache
def _code_sql(tests: tuple[str, ...]) -> str:
    where = " AND ".join(["c.norm = ?", "c.session_id < ?", *tests])
    return (
        f"SELECT {_COLUMNS} FROM code c CROSS JOIN session s ON s.id = c.session_id {_OUTCOME} "
        f"WHERE {where} ORDER BY c.session_id DESC LIMIT ?"
    )


def _by_text(
    database: Database, typed: str, code: str, filters: _Filters, place: _Place | None, most: int
) -> list[Any]:
    """Sessions that hold every word; those found by their code already stand before them."""
    words = [verdict_word(filters.verdict)] if filters.verdict is not None else []
    if filters.variant is not None:
        number = database.value("SELECT id FROM variant WHERE key = ?", (filters.variant,))
        if number is None:
            return []
        words.append(variant_word(int(number)))
    # verdict and variant are words of the full text: tested as columns they would be looked up for every hit
    tests, values = filters._replace(variant=None, verdict=None).columns()
    last = place.number if place is not None else _LAST
    first = _lowest(database, filters.since)
    asked = (match_text(typed, words), last, first, code, *values, most)
    return list(database.execute(_text_sql(tuple(tests)), asked).fetchall())


@cache
def _text_sql(tests: tuple[str, ...]) -> str:
    apart = "NOT EXISTS (SELECT 1 FROM code c WHERE c.norm = ? AND c.session_id = fts.rowid)"
    where = " AND ".join(["fts MATCH ?", "fts.rowid < ?", "fts.rowid >= ?", apart, *tests])
    return (
        f"SELECT {_COLUMNS} FROM fts CROSS JOIN session s ON s.id = fts.rowid {_OUTCOME} "
        f"WHERE {where} ORDER BY fts.rowid DESC LIMIT ?"
    )


def _lowest(database: Database, since: int | None) -> int:
    """The lowest number of a session closed since then; 0 where looking for it would take longer than it saves."""
    if since is None:
        return 0
    row = database.execute(_BOUND, (since, _MOST_BOUND)).fetchone()
    count, lowest = row if row is not None else (0, None)
    return int(lowest or _LAST) if count < _MOST_BOUND else 0


def names(database: Database) -> Names:
    """Variants and devices, in the order of their names."""
    with database.reading():
        variants = database.execute("SELECT key FROM variant ORDER BY key").fetchall()
        devices = database.execute(
            "SELECT DISTINCT variant, name, at FROM device ORDER BY variant, name, at"
        ).fetchall()
    return Names(tuple(key for (key,) in variants), tuple(DeviceName(*row) for row in devices))


def _page(rows: Sequence[Any], after: str | None) -> ListedPage:
    return ListedPage(listed(rows), after)


def listed(rows: Sequence[Any]) -> tuple[Listed, ...]:
    """Rows of the columns above as people and scripts read them (raises EvidenceBroken where one is damaged)."""
    with sound_row():
        return tuple(_listed(row) for row in rows)


def _listed(row: Any) -> Listed:
    _, key, job, serial, part, customer, variant, verdict, fate, closed_at, is_revised = row
    return Listed(
        id=key.hex(),
        job=job,
        serial=serial,
        part=part,
        customer=customer,
        variant=variant,
        verdict=CODES[verdict],
        outcome=FATES[fate] if fate is not None else None,
        closed_at=time_text(closed_at),
        is_revised=bool(is_revised),
    )


class sound_row:  # noqa: N801  reads as the words of a `with`
    """Turns what a damaged row of the index leads to into words: a number of no verdict, a day of no year."""

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, _: object) -> None:
        if isinstance(error, BenchError):
            return
        if isinstance(error, IndexError | TypeError | ValueError | OverflowError | AttributeError | struct.error):
            raise EvidenceBroken(_DAMAGED) from error


def time_text(moment_ms: int) -> str:
    """Milliseconds since 1970 as RFC 3339 in UTC."""
    # a list formats fifty of these for a page: one `%` is the quickest way there is
    clock = (moment_ms // 3_600_000 % 24, moment_ms // 60_000 % 60, moment_ms // 1000 % 60, moment_ms % 1000)
    return "%sT%02d:%02d:%02d.%03dZ" % (_day(moment_ms // 86_400_000), *clock)  # noqa: UP031


@lru_cache(maxsize=4096)
def _day(days: int) -> str:
    """A day as a list shows it; fifty sessions of a page share a few."""
    return (_FIRST_DAY + timedelta(days=days)).isoformat()


def listed_number(database: Database, number: int) -> Listed:
    """One session as a list shows it."""
    row = database.execute(f"SELECT {_COLUMNS} FROM session s {_OUTCOME} WHERE s.id = ?", (number,)).fetchone()
    if row is None:
        raise bad(
            "archive", f"a session without its index (number {number})", "both", "Run 'valvebench archive rebuild'."
        )
    return listed([row])[0]


def number_of(database: Database, ident: str) -> int:
    """The number of the session with this identity or the beginning of it (raises BadInput)."""
    digits = ident.strip().lower()
    fewest = 4
    if not all(sign in "0123456789abcdef" for sign in digits) or not fewest <= len(digits) <= 32:
        raise bad("id", repr(ident), f"{fewest} to 32 hexadecimal digits, as find prints them", _try_find())
    low, high = bytes.fromhex(digits.ljust(32, "0")), bytes.fromhex(digits.ljust(32, "f"))
    rows = database.execute(
        "SELECT session_id FROM journal WHERE key >= ? AND key <= ? LIMIT 2", (low, high)
    ).fetchall()
    if len(rows) != 1:
        found = "more than one session that begins so" if rows else "no session of this identity"
        raise bad("id", f"{ident!r}: {found}", "the identity of one session of the archive", _try_find())
    return int(rows[0][0])


def _try_find() -> str:
    return "Look it up with 'valvebench archive find'."
