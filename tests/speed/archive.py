"""The archive against bare `sqlite3` in the same process, at 10,000 and 100,000 sessions of 20 readings.

`python -m tests.speed archive --million` also fills 1,000,000 sessions of 6 readings (minutes, and about 9 GB for a
while in the folder that TMPDIR names).  A row whose rival is "allowed" holds a time, a size or a rate against the
figure that was set for it; every other rival is the same work by `sqlite3` or numpy alone.
"""

from __future__ import annotations

import contextlib
import itertools
import os
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from tests.speed.archive_fill import VARIANTS, Maker, fill, rows_of
from tests.speed.measure import Row
from valvebench.archive.store import Store
from valvebench.archive.store_add import _STATE
from valvebench.archive.store_find import _BOUND, _MOST_BOUND, _code_sql, _text_sql, _time_sql
from valvebench.archive.store_rejudge import CHUNK, Chunk, fetch, judge_chunk
from valvebench.archive.store_trend import months_of, points_in_numpy
from valvebench.archive.store_words import match_text, variant_word, verdict_word
from valvebench.bench.archived import Again, Asked
from valvebench.model.words import Rule, Verdict

MILLION = False
PAIRS, READS = 160, 15
SIZES = ((10_000, 20), (100_000, 20))
HUGE = (1_000_000, 6)
_LAST = 2**62
_RAW_SETTINGS = ("synchronous = EXTRA", "foreign_keys = ON", "trusted_schema = OFF", "cell_size_check = ON")


class Filled(NamedTuple):
    """One archive with a bare connection to the same file."""

    store: Store
    raw: sqlite3.Connection
    count: int
    readings: int

    def named(self, what: str) -> str:
        size = {10_000: "10k", 100_000: "100k", 1_000_000: "1M"}.get(self.count, str(self.count))
        return f"archive {size}: {what}"


def rows() -> Iterator[Row]:
    """Every figure, smaller archives first."""
    one_word: dict[int, float] = {}
    yield from cpu_rows()
    for count, readings in (*SIZES, *((HUGE,) if MILLION else ())):
        with filled(count, readings) as one:
            yield from size_rows(one)
            yield from add_rows(one)
            yield from find_rows(one, one_word)
            yield from trend_rows(one)
            yield from rejudge_rows(one)
            yield from whole_rows(one)
    first, last = one_word[min(one_word)], one_word[max(one_word)]
    name = "archive: one word with a full page, largest / smallest"
    yield Row(name, last, first, last / first, limit=round(2.0 + 0.1 / first, 2), note="2 times and 0.1 ms")


@contextlib.contextmanager
def filled(count: int, readings: int) -> Iterator[Filled]:
    root = Path(tempfile.mkdtemp(prefix="valvebench-speed-", dir=os.environ.get("TMPDIR", "/var/tmp")))
    try:
        store = fill(root / "archive", count, readings)
        raw = bare(store.database.path)
        yield Filled(store, raw, count, readings)
        raw.close()
        store.close()
    finally:
        shutil.rmtree(root, ignore_errors=True)


def bare(path: Path) -> sqlite3.Connection:
    """The driver alone, with the same promises."""
    raw = sqlite3.connect(path, isolation_level=None, timeout=5, check_same_thread=False)
    for setting in _RAW_SETTINGS:
        raw.execute(f"PRAGMA {setting}")
    return raw


def allowed(name: str, ours: float, most: float, note: str = "", *, unit: str = "ms") -> Row:
    """A figure held against the one that was set."""
    return Row(f"{name} [{unit}] / allowed", ours, most, ours / most, limit=1.0, note=note)


def needed(name: str, ours: float, least: float, note: str = "", *, unit: str) -> Row:
    """The same for a rate, which may be higher."""
    return Row(f"{name} [{unit}] / needed", ours, least, ours / least, limit=1.0, at_least=True, note=note)


def or_more(ratio: float, more_ms: float, bare_ms: float) -> float:
    """A ratio, or so many milliseconds more where that is the larger: what is constant says nothing of a ratio."""
    return round(max(ratio, 1 + more_ms / bare_ms), 2)


def ms(act: Callable[[], object], clock: Callable[[], float] = time.perf_counter) -> float:
    start = clock()
    act()
    return 1000 * (clock() - start)


# -- adding --------------------------------------------------------------------------------------


def raw_add(raw: sqlite3.Connection, rows: dict[str, Any], key: bytes) -> None:
    """The same statements with the same rows, made beforehand."""
    raw.execute("BEGIN IMMEDIATE")
    raw.execute(_STATE, (key, key)).fetchone()
    for statement, values in rows.items():
        if len(values) == 1:
            raw.execute(statement, values[0])
        else:
            raw.executemany(statement, values)
    raw.execute("COMMIT")


def add_pairs(one: Filled, maker: Maker, pairs: int, clock: Callable[[], float]) -> tuple[list[float], list[float]]:
    """Times of ours and of the driver's adds [ms], by turns."""
    variants = dict(one.store.database.rows("SELECT key, id FROM variant"))  # type: ignore[arg-type]
    device_of = {device: n for n, device in enumerate(maker.devices, start=1)}
    last = int(one.raw.execute("SELECT coalesce(max(session_id), 0) FROM journal").fetchone()[0])
    ours, theirs = [], []
    for turn in range(pairs):
        mine, other = maker.made(one.count, one.count), maker.made(one.count, one.count)
        number = last + 2 * turn + (1 if turn % 2 else 2)
        rows = rows_of(other, number, device_of, variants[other.indexed.variant])

        def add(mine: Any = mine) -> None:
            one.store.keep(mine)

        def raw(rows: Any = rows, other: Any = other) -> None:
            raw_add(one.raw, rows, other.indexed.key)

        for act, times in ((add, ours), (raw, theirs)) if turn % 2 == 0 else ((raw, theirs), (add, ours)):
            start = clock()
            act()
            times.append(1000 * (clock() - start))
    return ours, theirs


def add_rows(one: Filled) -> Iterator[Row]:
    maker = Maker(one.readings, f"added to {one.count}")
    ours, theirs = add_pairs(one, maker, PAIRS, time.perf_counter)
    ratio = statistics.median(a / b for a, b in zip(ours, theirs, strict=True))
    p50, p95 = statistics.median(ours), statistics.quantiles(ours, n=20)[-1]
    note = f"p95 {p95:.1f}, most {max(ours):.1f} ms; one sync {sync_ms(one.store.folder):.2f} ms"
    yield Row(one.named("add / sqlite3"), p50, statistics.median(theirs), ratio, limit=1.25, note=note)
    yield allowed(one.named("add, p95"), p95, 3 * p50, "three times the median")


def cpu_rows() -> Iterator[Row]:
    """Adding where a sync costs nothing: what is left is ours."""
    shm = Path("/dev/shm")
    root = Path(tempfile.mkdtemp(prefix="valvebench-speed-", dir=shm if shm.is_dir() else None))
    try:
        store = fill(root / "archive", 500, 20)
        raw = bare(store.database.path)
        one = Filled(store, raw, 500, 20)
        ours, theirs = add_pairs(one, Maker(20, "on a RAM disk"), PAIRS, time.process_time)
        more = statistics.median(ours) - statistics.median(theirs)
        note = f"ours {statistics.median(ours):.2f}, sqlite3 {statistics.median(theirs):.2f} ms of processor"
        yield allowed("archive on a RAM disk: add, more than sqlite3", more, 0.5, note)
        raw.close()
        store.close()
    finally:
        shutil.rmtree(root, ignore_errors=True)
    syncs = syncs_of_a_commit()
    if syncs is not None:
        yield allowed("archive: syncs of one commit", syncs, 5, "counted by strace", unit="calls")


_CHILD = """
import sys
from pathlib import Path
from tests.data.archived import DayClock
from tests.speed.archive_fill import Maker
from valvebench.archive.store import Store
store = Store(Path(sys.argv[1]), clock=DayClock())
maker = Maker(20, "counted")
for _ in range(int(sys.argv[2])):
    store.keep(maker.made(1, 1))
store.close()
"""


def syncs_of_a_commit() -> float | None:
    """Calls of fsync and fdatasync for one more session; None where strace is missing or not allowed."""
    if shutil.which("strace") is None:
        return None
    counts = []
    with tempfile.TemporaryDirectory(prefix="valvebench-speed-") as root:
        for adds in (2, 12):
            out = Path(root) / f"{adds}.txt"
            command = ["strace", "-f", "-qq", "-e", "trace=fsync,fdatasync", "-o", str(out)]
            child = [sys.executable, "-c", _CHILD, str(Path(root) / f"archive-{adds}"), str(adds)]
            found = subprocess.run([*command, *child], capture_output=True, check=False)
            if found.returncode != 0 or not out.is_file():
                return None
            counts.append(out.read_text().count("sync("))
    return (counts[1] - counts[0]) / 10


def sync_ms(folder: Path) -> float:
    """What one fdatasync of a page costs at this moment."""
    path = folder.parent / "sync"
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT)
    sync = getattr(os, "fdatasync", os.fsync)
    times = []
    for _ in range(15):
        os.write(descriptor, bytes(4096))
        times.append(ms(lambda: sync(descriptor)))
    os.close(descriptor)
    path.unlink()
    return statistics.median(times)


# -- finding -------------------------------------------------------------------------------------


Statement = tuple[str, tuple[Any, ...]]


class Query(NamedTuple):
    """What is asked of the archive, and the same statement for the driver alone."""

    name: str
    asked: Asked
    raw: Sequence[Statement]


def queries(one: Filled) -> list[Query]:
    middle = one.raw.execute("SELECT * FROM session WHERE id = ?", (one.count // 2,)).fetchone()
    job, serial, customer = middle[2], middle[3], middle[5]
    rare = f"tern-{VARIANTS - 2:02d}"
    number = one.raw.execute("SELECT id FROM variant WHERE key = ?", (rare,)).fetchone()[0]
    late = one.raw.execute("SELECT closed_at FROM session WHERE id = ?", (one.count - one.count // 100,)).fetchone()[0]
    day = time.strftime("%Y-%m-%d", time.gmtime(late / 1000))
    bound = one.raw.execute("SELECT min(id) FROM session WHERE closed_at >= ?", (late // 86_400_000 * 86_400_000,))
    lowest = bound.fetchone()[0]

    def text(typed: str, words: Sequence[str] = ()) -> list[Statement]:
        code = "".join(typed.lower().split()).replace("-", "")
        return [(_code_sql(()), (code, _LAST, 51)), (_text_sql(()), (match_text(typed, words), _LAST, 0, code, 51))]

    since_ms = late // 86_400_000 * 86_400_000
    bounded = [
        (_BOUND, (since_ms, _MOST_BOUND)),
        (_code_sql(("s.closed_at >= ?",)), ("fluid", _LAST, since_ms, 51)),
        (_text_sql(("s.closed_at >= ?",)), (match_text("fluid "), _LAST, lowest, "fluid", since_ms, 51)),
    ]
    by_time = (_time_sql((), is_by_fate=False), (_LAST, _LAST, 51))
    both = (_text_sql(()), (match_text("", [verdict_word(6), variant_word(number)]), _LAST, 0, "", 51))
    return [
        Query("job number", Asked(text=job), text(job)),
        Query("beginning of a serial", Asked(text=serial[:7]), text(serial[:7])),
        Query("qv, the beginning of every serial", Asked(text="qv"), text("qv")),
        Query("one word, in all", Asked(text="fluid "), text("fluid ")),
        Query("one word, in 30 %", Asked(text="burnt "), text("burnt ")),
        Query("a rare word", Asked(text="loonloon34 "), text("loonloon34 ")),
        Query("customer, three words", Asked(text=customer + " "), text(customer + " ")),
        Query("nothing found", Asked(text="nothing of the kind "), text("nothing of the kind ")),
        Query("a word and a beginning in all", Asked(text="fluid ter"), text("fluid ter")),
        Query(
            "word, verdict and rare variant",
            Asked(text="fluid ", variant=rare, verdict=Verdict.FAIL),
            [
                (_code_sql(("s.variant = ?", "s.verdict = ?")), ("fluid", _LAST, rare, 0, 51)),
                text("fluid ", [verdict_word(0), variant_word(number)])[1],
            ],
        ),
        Query("a word since a day of the last month", Asked(text="fluid ", since=day), bounded),
        Query("nothing typed", Asked(), [by_time]),
        Query("variant and verdict, nothing typed", Asked(variant=rare, verdict=Verdict.NOT_FINISHED), [both]),
    ]


def least(
    acts: Sequence[Callable[[], object]], times: int = READS, clock: Callable[[], float] = time.perf_counter
) -> list[float]:
    """The least of each [ms], by turns."""
    found = [[ms(act, clock) for act in acts] for _ in range(times)]
    return [min(column) for column in zip(*found, strict=True)]


def find_rows(one: Filled, one_word: dict[int, float]) -> Iterator[Row]:
    slowest, slow_name = 0.0, ""
    for query in queries(one):

        def ours(query: Query = query) -> object:
            return one.store.find(query.asked)

        def raw(query: Query = query) -> object:
            return [one.raw.execute(sql, values).fetchall() for sql, values in query.raw]

        mine, bare_ms = least((ours, raw))
        found = len(one.store.find(query.asked).sessions)
        limit = or_more(1.5, 0.3, bare_ms)
        note = f"{found} found"
        yield Row(one.named(f"find, {query.name} / sqlite3"), mine, bare_ms, mine / bare_ms, limit=limit, note=note)
        if query.name == "one word, in all":
            one_word[one.count] = mine
        if mine > slowest:
            slowest, slow_name = mine, query.name
    yield allowed(one.named("find, the slowest of these, warm"), slowest, 25.0, slow_name)
    worst, typed = worst_typed(one)
    yield allowed(one.named("find, worst of anything typed"), worst, 500.0, typed)
    yield from page_rows(one)
    cold = cold_ms(one)
    if cold is not None:
        yield allowed(one.named("open and newest 50, cold"), cold[0], 50.0)
        yield allowed(one.named("first find of a new process, cold"), cold[1], 200.0)


def worst_typed(one: Filled) -> tuple[float, str]:
    """Short beginnings, many words, and two filters that never meet."""
    typed = ["q", "qv", "t", "te", "2", "20", "a b", "fluid burnt clear", "auk brant curlew", "f" * 500, "2 0 q v"]
    asked = [Asked(text=text) for text in typed]
    never = one.raw.execute("SELECT variant FROM session GROUP BY variant ORDER BY count(*) LIMIT 1").fetchone()[0]
    asked += [Asked(variant=never, verdict=Verdict.NOT_USABLE), Asked(text="fluid ", verdict=Verdict.NOT_USABLE)]
    asked += [Asked(text="fluid ", since="1999-01-01"), Asked(text="nothing ", since="2049-01-01")]
    return max(
        (min(ms(partial(one.store.find, this)) for _ in range(3)), this.text or f"{this.variant} {this.verdict}")
        for this in asked
    )


def page_rows(one: Filled) -> Iterator[Row]:
    """Page 1000, or the last one there is, by its key; against page 1."""
    back = min(50 * 1000, one.count - 100)
    newest = int(one.raw.execute("SELECT max(id) FROM session").fetchone()[0])
    closed_at = one.raw.execute("SELECT closed_at FROM session WHERE id = ?", (newest - back,)).fetchone()[0]
    for name, text, key in (
        ("words", "fluid ", f"t.{newest - back}"),
        ("filters", "", f"d.{closed_at}.{newest - back}"),
    ):
        first, later = Asked(text=text), Asked(text=text, after=key)
        near, far = least([partial(one.store.find, first), partial(one.store.find, later)])
        yield Row(one.named(f"page {back // 50} by {name} / page 1"), far, near, far / near, limit=1.5)


_COLD = """
import os, sys, time
from pathlib import Path
path = Path(sys.argv[1]) / "archive.sqlite"
fd = os.open(path, os.O_RDONLY)
os.posix_fadvise(fd, 0, 0, os.POSIX_FADV_DONTNEED)
os.close(fd)
from tests.data.archived import DayClock
from valvebench.archive.store import Store
from valvebench.bench.archived import Asked
start = time.perf_counter()
store = Store(path.parent, clock=DayClock())
store.find(Asked())
opened = time.perf_counter()
store.find(Asked(text="fluid ter"))
print(1000 * (opened - start), 1000 * (time.perf_counter() - opened))
"""


def cold_ms(one: Filled) -> tuple[float, float] | None:
    """Opening with the newest page, then the first words, in a new process with nothing of the file in memory."""
    if not hasattr(os, "posix_fadvise"):
        return None
    child = [sys.executable, "-c", _COLD, str(one.store.folder)]
    found = [subprocess.run(child, capture_output=True, text=True, check=True).stdout.split() for _ in range(3)]
    return min(float(pair[0]) for pair in found), min(float(pair[1]) for pair in found)


# -- values over time ------------------------------------------------------------------------------


def trend_rows(one: Filled) -> Iterator[Row]:
    # one of some 54 values for a thousand sessions
    near = "SELECT device FROM reading GROUP BY device ORDER BY abs(count(*) - ?) LIMIT 1"
    device = one.raw.execute(near, (54 * one.count // 1000,)).fetchone()[0]
    database = one.store.database
    aggregate = (
        "SELECT closed_at / 2629746000, count(*), avg(ohm_ref), min(ohm_ref), max(ohm_ref), sum(verdict = 0) "
        "FROM reading WHERE {} = ? GROUP BY 1 ORDER BY 1"
    )
    points = "SELECT closed_at, ohm_ref, u FROM reading WHERE device = ? ORDER BY closed_at, session_id, seq"
    mine, bare_ms = least(
        (
            lambda: months_of(database, device),
            lambda: one.raw.execute(aggregate.format("device"), (device,)).fetchall(),
        )
    )
    count = len(one.raw.execute(points, (device,)).fetchall())
    name = one.named("months of one device")
    limit = or_more(1.15, 0.3, bare_ms)
    yield Row(f"{name} / bare aggregate", mine, bare_ms, mine / bare_ms, limit=limit, note=f"{count} values")
    yield allowed(name, mine, 50.0)
    scan = min(ms(lambda: one.raw.execute(aggregate.format("+device"), (device,)).fetchall()) for _ in range(3))
    yield Row(f"{name}, quicker than a scan", mine, scan, scan / mine, limit=10.0, at_least=True)
    mine, bare_ms = least(
        (lambda: points_in_numpy(database, device), lambda: one.raw.execute(points, (device,)).fetchall())
    )
    yield Row(one.named("all values in numpy / bare fetchall"), mine, bare_ms, mine / bare_ms, limit=1.6)


# -- judged anew -----------------------------------------------------------------------------------


def rejudge_rows(one: Filled) -> Iterator[Row]:
    again = Again(rule=Rule.PROVED5)
    chunks = []
    after = 0
    while chunk := fetch(one.store.database, after, _LAST):
        chunks.append(chunk)
        after = chunk.numbers[-1]
        if len(chunks) >= 20:
            break
    readings = sum(len(chunk.records) for chunk in chunks)

    def read_and_judge() -> None:
        after = 0
        for _ in chunks:
            chunk = fetch(one.store.database, after, _LAST)
            if chunk is None:
                return
            judge_chunk(chunk, again)
            after = chunk.numbers[-1]

    mine, bare_ms = least(
        (read_and_judge, lambda: [judge_chunk(chunk, again) for chunk in chunks]), 5, time.process_time
    )
    note = f"{readings / mine / 1000:.1f} million readings/s, bare {readings / bare_ms / 1000:.1f}"
    name = one.named("read and judge, rate / bare numpy")
    limit = 0.3 if one.readings == 20 else None  # six readings share the cost of reading their row
    yield Row(name, mine, bare_ms, bare_ms / mine, limit=limit, at_least=True, note=note)
    chunks.clear()
    yield from durable_rows(one, again)


def judged_all(chunks: Sequence[Chunk], again: Again) -> None:
    for chunk in chunks:
        judge_chunk(chunk, again)


def durable_rows(one: Filled, again: Again) -> Iterator[Row]:
    """All sessions, written; by the processor, as the waits for a shared disk are another's."""
    wall, start = time.perf_counter(), time.process_time()
    done = one.store.rejudge(again)
    seconds, wall = time.process_time() - start, time.perf_counter() - wall
    assert done is not None
    note = f"{done.readings / wall / 1e6:.1f} million/s with the waits for disk and others"
    name = one.named("judged anew, to the disk (cpu)")
    if one.readings == 20:
        yield needed(name, done.readings / seconds / 1e6, 1.0, note, unit="million readings/s")
    note = f"{done.sessions / wall / 1000:.0f} thousand/s with the waits"
    yield needed(name, done.sessions / seconds / 1000, 50.0, note, unit="1000 sessions/s")
    by_cpu, by_wall = stop_ms(one, again, time.process_time), stop_ms(one, again, time.perf_counter)
    note = f"{by_wall:.0f} ms with the waits; after {CHUNK} sessions"
    yield allowed(one.named("stop judging anew (cpu)"), by_cpu, 200.0, note)


def stop_ms(one: Filled, again: Again, clock: Callable[[], float]) -> float:
    """The longest from one time somebody can say stop to the next, and from there until the call is back."""
    heard = [clock()]

    def step(done: int, of: int) -> bool:
        heard.append(clock())
        return len(heard) < 4

    one.store.rejudge(again, step=step)
    heard.append(clock())
    # the first of them also clears away what the last stopped run has left
    return 1000 * max(b - a for a, b in itertools.pairwise(heard[1:]))


# -- the whole archive -----------------------------------------------------------------------------


def copied(raw: sqlite3.Connection, target: Path) -> None:
    """The same pages by the driver in one step, nobody let in, and on the disk at the end."""
    copy = sqlite3.connect(target)
    copy.execute("PRAGMA synchronous = EXTRA")
    raw.backup(copy)
    copy.close()
    target.unlink()


def size_rows(one: Filled) -> Iterator[Row]:
    if one.readings == 20:
        size = one.store.database.path.stat().st_size / one.count
        yield allowed(one.named("size of a session"), size, 9000.0, unit="bytes")


def whole_rows(one: Filled) -> Iterator[Row]:
    size = one.store.database.path.stat().st_size
    target = one.store.folder.parent / "b.backup"
    waits, steps, pause = [], [], threading.Event()
    maker = Maker(one.readings, f"meanwhile {one.count}")

    def adding() -> None:
        while not pause.wait(0.02):
            made = maker.made(one.count, one.count)
            waits.append(ms(lambda made=made: one.store.keep(made)))

    quiet = statistics.median(ms(lambda: one.store.keep(maker.made(one.count, one.count))) for _ in range(9))
    thread = threading.Thread(target=adding)
    thread.start()
    start = time.perf_counter()
    one.store.backup(target, step=lambda done, of: steps.append(done) or True)
    seconds = time.perf_counter() - start
    pause.set()
    thread.join()
    target.unlink()
    one_step = ms(partial(copied, one.raw, target.with_name("c.backup"))) / 1000
    restarts = sum(b <= a for a, b in itertools.pairwise(steps))
    rate = size / seconds / 1e6
    note = f"{len(waits)} sessions added meanwhile, {restarts} restarts"
    yield needed(one.named("backup while sessions are added"), rate, 150.0, note, unit="MB/s")
    name = one.named("backup while sessions are added / copy in one step")
    yield Row(name, 1000 * seconds, 1000 * one_step, seconds / one_step, note=f"{size / one_step / 1e6:.0f} MB/s")
    if waits:
        note = f"alone {quiet:.1f} ms"
        yield allowed(one.named("backup, longest wait of an add"), max(waits) - quiet, 100.0, note)
    yield allowed(one.named("backup, begun anew"), restarts + 1, 1.0, unit="times")
