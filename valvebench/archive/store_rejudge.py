"""Judge sessions of the archive anew: another rule or a corrected band, as a dated judgement beside the first one.

Readings judged by value, doubt and limits alone are judged from their records, thousands of sessions in one call of
`judge.again`; a session in which anything else has a say is judged whole, from its journal.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Callable, Sequence
from functools import cache, partial
from typing import Any, Final, NamedTuple

import msgspec

from valvebench import __version__
from valvebench.archive.store_add import Shelf
from valvebench.archive.store_find import since_ms, sound_row, storable
from valvebench.archive.store_open import Database
from valvebench.archive.store_rows import (
    HAS_MIXED,
    IS_MISSING,
    IS_PLAIN,
    OTHERS_MASK,
    OTHERS_SHIFT,
    RECORD,
    RECORD_FIELDS,
    RECORD_TYPES,
    STATES,
    VERDICT_SHIFT,
    RunDigest,
    milliseconds,
    records_of,
)
from valvebench.archive.store_schema import written_tables
from valvebench.archive.store_show import Variants, view
from valvebench.archive.store_sql import insert_into
from valvebench.archive.store_trend import Device, factor_between
from valvebench.bench.archived import Again, Rejudged, Step
from valvebench.bench.judging import judged_whole
from valvebench.judge.again import CODE_OF, CODES, RULES, Judged, judge_again, sessions_again
from valvebench.model.errors import BenchError, bad
from valvebench.model.session import closing_rule
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import RULE_TEXT, ItemState

CHUNK: Final = 5000
"""Sessions judged and written in one go; the person can say stop between two of them."""
_ROW: Final = insert_into(written_tables().tables["judgement"])
_OPEN: Final = STATES.index(ItemState.OPEN)


class Band(NamedTuple):
    """A corrected band: by the number of the device, its limits where that device's values hold [ohm]."""

    low: dict[int, float]
    high: dict[int, float]


class Chunk(NamedTuple):
    """Some sessions as they stand: numbers, what to know of each, verdicts at closing, records of all in a row."""

    numbers: tuple[int, ...]
    about: Any
    closed_as: Any
    counts: Any
    records: Any


@cache
def record_type() -> Any:
    """The record as numpy reads it."""
    import numpy as np

    return np.dtype(list(zip(RECORD_FIELDS, RECORD_TYPES, strict=True)))


def _storable(again: Again) -> Again:
    """The same with its texts as a database takes them."""
    texts = {name: getattr(again, name) for name in ("variant", "device", "since", "why")}
    return msgspec.structs.replace(again, **{name: storable(text) for name, text in texts.items() if text is not None})


def rejudge(database: Database, shelf: Shelf, again: Again, *, at: str, step: Step) -> Rejudged | None:
    """Judge every matching session anew (raises BadInput); None, and nothing counts, where `step` says stop."""
    again = _storable(again)
    work = _Work(database, shelf, again)
    with database.reading():
        work.prepare()
    tests, values = _matching(again)
    run, digest = _begin(database, again, at)
    last = int(database.rows("SELECT coalesce(max(id), 0) FROM session")[0][0])
    total = int(database.rows(f"SELECT count(*) FROM session s WHERE s.id <= ?{tests}", (last, *values))[0][0])
    done, after = 0, 0
    while chunk := fetch(database, after, last, tests=tests, values=values):
        found = work.judged(chunk, partial(_further, step, done, total))
        if found is None:
            return None
        if found:
            with database.writing():
                database.driver.executemany(_ROW, [(run, *row) for row in found])
        digest.add(found)
        done, after = done + len(chunk.numbers), chunk.numbers[-1]
        if not step(done, total):
            return None
    with database.writing():
        database.execute("UPDATE run SET is_whole = 1, digest = ? WHERE id = ?", (digest.value(), run))
    changed = tuple((CODES[old], CODES[new], n) for (old, new), n in sorted(work.changed.items()) if old != new)
    return Rejudged(run, at, done - len(work.not_judged), work.readings, changed, tuple(work.not_judged))


def _further(step: Step, done: int, total: int, extra: int) -> bool:
    return step(done + extra, total)


def _begin(database: Database, again: Again, at: str) -> tuple[int, RunDigest]:
    """A new run; what is left of one that was stopped goes."""
    with database.writing():
        for (old,) in database.execute("SELECT id FROM run WHERE is_whole = 0").fetchall():
            database.execute("DELETE FROM judgement WHERE run_id = ?", (old,))
            database.execute("DELETE FROM run WHERE id = ?", (old,))
        run = int(database.value("SELECT coalesce(max(id), 0) FROM run")) + 1
        row = (run, milliseconds(at), what_of(again), f"valvebench {__version__}")
        digest = RunDigest(run, row[1], row[2], row[3])
        database.execute("INSERT INTO run (id, at, what, program, is_whole) VALUES (?, ?, ?, ?, 0)", row)
    return run, digest


def what_of(again: Again) -> str:
    """What was judged anew, in words."""
    parts = [RULE_TEXT[again.rule]] if again.rule is not None else []
    if again.device is not None:
        ends = [f"{end:g}" if end is not None else "none" for end in (again.low_ohm, again.high_ohm)]
        parts.append(f"{again.device} {ends[0]} to {ends[1]} ohm")
    parts += [f"variant {again.variant}"] if again.variant else []
    parts += [f"since {again.since}"] if again.since else []
    return "; ".join([*parts, *([again.why] if again.why else [])])


def _matching(again: Again) -> tuple[str, list[Any]]:
    tests = (("s.variant = ?", again.variant), ("s.closed_at >= ?", since_ms(again.since)))
    given = [(test, value) for test, value in tests if value is not None]
    return "".join(f" AND {test}" for test, _ in given), [value for _, value in given]


def fetch(
    database: Database, after: int, last: int, *, tests: str = "", values: Sequence[Any] = (), most: int = CHUNK
) -> Chunk | None:
    """The next sessions with their records; None after the last one."""
    import numpy as np

    joined = " CROSS JOIN session s ON s.id = p.session_id" if tests else ""
    sql = (
        f"SELECT p.session_id, p.about, p.b FROM pack p{joined} "
        f"WHERE p.session_id > ? AND p.session_id <= ?{tests} ORDER BY p.session_id LIMIT ?"
    )
    rows = database.plain_rows(sql, (after, last, *values, most))
    if not rows:
        return None
    numbers, abouts, packs = zip(*rows, strict=True)
    with sound_row():
        about = np.array(abouts, np.int64)
        counts = np.array([len(pack) for pack in packs])
        if (counts % RECORD.size).any() or (about >> VERDICT_SHIFT >= len(CODES)).any():
            raise ValueError("a pack that is cut short, or a verdict of no kind")
        records = np.frombuffer(b"".join(packs), record_type())
    return Chunk(
        numbers=numbers,
        about=about,
        closed_as=about >> VERDICT_SHIFT,
        counts=counts // RECORD.size,
        records=records,
    )


def judge_chunk(chunk: Chunk, again: Again, band: Band | None = None) -> tuple[Any, Any]:
    """The verdict of each record and of each session, as numbers in `CODES`."""
    with sound_row():
        return _judged_chunk(chunk, again, band)


def _judged_chunk(chunk: Chunk, again: Again, band: Band | None) -> tuple[Any, Any]:
    import numpy as np

    # the records lie close on close: each column on its own is several times as quick to reckon with
    columns = {name: np.ascontiguousarray(chunk.records[name]) for name in RECORD_FIELDS}
    if band is not None:
        for number, end in band.low.items():
            mine = columns["device"] == number
            columns["low"][mine], columns["high"][mine] = end, band.high[number]
    if again.rule is not None:
        columns["rule"] = np.full(len(chunk.records), RULES.index(again.rule), np.uint8)
    verdict = judge_again(
        Judged(
            value=columns["ohm"],
            u=columns["u"],
            shape=columns["shape"],
            low=columns["low"],
            high=columns["high"],
            rule=columns["rule"],
            is_open=columns["state"] == _OPEN,
        )
    )
    sessions = sessions_again(
        verdict,
        question=columns["question"],
        session=np.repeat(np.arange(len(chunk.numbers)), chunk.counts),
        is_missing=(chunk.about & IS_MISSING) != 0,
        others=chunk.about >> OTHERS_SHIFT & OTHERS_MASK,
    )
    return verdict, sessions


class _Work:
    """Judges one chunk after the other and counts what changed."""

    def __init__(self, database: Database, shelf: Shelf, again: Again) -> None:
        self._database, self._shelf, self._again = database, shelf, again
        self._band: Band | None = None
        self.changed: Counter[tuple[int, int]] = Counter()
        self.readings = 0
        self._variants = Variants()
        self.not_judged: list[tuple[str, str]] = []

    def prepare(self) -> None:
        """Refuse what cannot be meant, and look up the device of a corrected band (raises BadInput)."""
        again = self._again
        ends = (again.low_ohm, again.high_ohm)
        has_band = any(end is not None for end in ends)
        if again.rule is None and not has_band:
            raise bad("rejudge", "neither a rule nor a band", "at least one of them")
        if not has_band and again.device is None:
            return
        if not (has_band and again.device and again.variant):
            raise bad("rejudge", "part of a band", "variant, device and at least one of its limits")
        if any(end is not None and not math.isfinite(end) for end in ends):
            raise bad("rejudge", f"limits {ends}", "numbers in ohm")
        if None not in ends and not ends[0] <= ends[1]:  # type: ignore[operator]  # neither is None
            raise bad("rejudge", f"limits {ends[0]:g} to {ends[1]:g}", "the lower one first")
        self._band = _band_of(self._database, again)

    def judged(self, chunk: Chunk, go_on: Callable[[int], bool]) -> list[tuple[int, int, bytes]] | None:
        """Rows of the new judgement; None where the person said stop."""
        verdict, sessions = judge_chunk(chunk, self._again, self._band)
        needs = IS_PLAIN if self._band is None else IS_PLAIN | HAS_MIXED
        slow = ((chunk.about & needs) != IS_PLAIN).nonzero()[0].tolist()
        ends, raw = chunk.counts.cumsum().tolist(), verdict.tobytes()
        parts = [raw[begin:end] for begin, end in itertools.pairwise([0, *ends])]
        rows: list[tuple[int, int, bytes] | None] = list(zip(chunk.numbers, sessions.tolist(), parts, strict=True))
        for place in slow:
            rows[place] = self._whole(chunk.numbers[place])
            if not go_on(place):
                return None
        found = [row for row in rows if row is not None]
        self._count(chunk, rows)
        self.readings += sum(len(readings) for _, _, readings in found)
        return found

    def _count(self, chunk: Chunk, rows: Sequence[tuple[int, int, bytes] | None]) -> None:
        pairs = zip(chunk.closed_as.tolist(), rows, strict=True)
        self.changed.update((old, row[1]) for old, row in pairs if row is not None)

    def _whole(self, number: int) -> tuple[int, int, bytes] | None:
        again = self._again
        try:
            seen = view(self._database, self._shelf, number, variants=self._variants)
            variant = _with_band(seen.variant, again)
            judged = judged_whole(seen.session, variant, again.rule or closing_rule(seen.session))
        except BenchError as error:
            key = self._database.rows("SELECT key FROM journal WHERE session_id = ?", (number,))[0][0]
            self.not_judged.append((key.hex(), str(error)))
            return None
        records, _ = records_of(judged, variant)
        return number, CODE_OF[judged.verdict], bytes(one.verdict for one in records)


def _with_band(variant: Variant | None, again: Again) -> Variant | None:
    """The variant with the corrected limits of one device."""
    if variant is None or again.device is None:
        return variant
    devices = tuple(
        msgspec.structs.replace(one, low_ohm=again.low_ohm, high_ohm=again.high_ohm)
        if isinstance(one, Coil) and one.name == again.device
        else one
        for one in variant.devices
    )
    return msgspec.structs.replace(variant, devices=devices)


def _band_of(database: Database, again: Again) -> Band:
    """The corrected limits carried to where each way the device was stated holds."""
    sql = "SELECT id, kind, ref_celsius, k_celsius FROM device WHERE variant = ? AND name = ? ORDER BY id"
    devices = [Device(*row) for row in database.execute(sql, (again.variant, again.device)).fetchall()]
    if not devices:
        raise bad("device", repr(again.device), f"a device of {again.variant} that the archive holds readings of")
    if any(one.ref_celsius is None for one in devices):
        raise bad(
            "device", f"{again.device}, a {devices[-1].kind}", "a coil: only its band is one for all temperatures"
        )
    low = -math.inf if again.low_ohm is None else again.low_ohm
    high = math.inf if again.high_ohm is None else again.high_ohm
    factors = {one.number: factor_between(devices[-1], one) for one in devices}
    return Band({n: low * f for n, f in factors.items()}, {n: high * f for n, f in factors.items()})
