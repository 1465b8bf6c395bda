"""What the archive says is kept is kept: SIGKILL of its writer at any moment, and calls that might drop its locks."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import time
import zlib
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.fakes.archive_sessions import Sessions
from tests.fakes.archive_writers import opened
from valvebench.archive.store import Store
from valvebench.archive.store_open import Database
from valvebench.bench.archived import Again, Asked
from valvebench.model.words import Rule

TAIL_SHARE = 0.3


class Tally(NamedTuple):
    """Sums over kills; `hot` counts restarts in which something half done had to be taken back.

    `unsaid` is the most that one kill left kept without its being said.
    """

    kills: int = 0
    said: int = 0
    lost: int = 0
    unsaid: int = 0
    broken: int = 0
    hot: int = 0


def keep_until_killed(folder: Path, place: Path, seed: int, saying: int) -> None:
    """In a child: keep sessions and what became of them; each commit is one line `identity lines`."""
    chance, made, store = random.Random(seed), Sessions(place, seed), opened(folder)
    for number in range(10**6):
        raw = made.closed(f"K{seed:08x}-{number}")
        _keep(store, made, raw, saying)
        if chance.random() < TAIL_SHARE:
            _keep(store, made, made.told(raw), saying)


def _keep(store: Store, made: Sessions, raw: bytes, saying: int) -> None:
    prepared = made.prepared(raw)
    store.keep(prepared)
    lines = raw.count(b"\n")
    os.write(saying, f"{prepared.indexed.key.hex()} {lines}\n".encode())


def killed_once(folder: Path, place: Path, chance: random.Random, commits: int) -> list[tuple[bytes, int]]:
    """Let a child keep sessions and kill it some time after so many commits; what it said is kept, with its lines."""
    reading, writing = os.pipe()
    seed = chance.getrandbits(32)
    pid = os.fork()
    if pid == 0:
        try:
            os.close(reading)
            keep_until_killed(folder, place, seed, writing)
        finally:
            os._exit(1)
    os.close(writing)
    with os.fdopen(reading, "rb") as lines:
        said = [lines.readline() for _ in range(commits)]
        time.sleep(chance.uniform(0.0, 0.01))
        os.kill(pid, signal.SIGKILL)
        said += lines.readlines()
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == -signal.SIGKILL
    # one that was killed while it said so counts only with its line feed
    return [(bytes.fromhex(line.split()[0].decode()), int(line.split()[1])) for line in said if line.endswith(b"\n")]


def lines_in(store: Store) -> dict[bytes, int]:
    return {bytes(key): int(n) for key, n in store.database.rows("SELECT key, n FROM journal")}


def after(folder: Path, promised: dict[bytes, int], tally: Tally, said: int) -> Tally:
    """Open again, look what is there, and take that as the ground for the next one."""
    is_hot = _is_hot(folder / "archive.sqlite-journal")
    store = opened(folder)
    try:
        is_sound = store.database.rows("PRAGMA integrity_check")[0][0] == "ok"
        found = lines_in(store)
    finally:
        store.close()
    lost = [key for key, n in promised.items() if found.get(key, 0) < n]
    unsaid = [key for key, n in found.items() if promised.get(key) != n]
    promised.update(found)
    return Tally(
        kills=tally.kills + 1,
        said=tally.said + said,
        lost=tally.lost + len(lost),
        unsaid=max(tally.unsaid, len(unsaid)),
        broken=tally.broken + (not is_sound),
        hot=tally.hot + is_hot,
    )


def _is_hot(journal: Path) -> bool:
    return journal.exists() and journal.stat().st_size > 0


def kill_often(place: Path, name: str, kills: int, fewest: int, most: int) -> Tally:
    chance, tally = random.Random(zlib.crc32(name.encode())), Tally()
    promised: dict[bytes, int] = {}
    for number in range(kills):
        (place / f"jobs-{number}").mkdir()
        said = killed_once(place / "archive", place / f"jobs-{number}", chance, chance.randint(fewest, most))
        promised.update(said)
        tally = after(place / "archive", promised, tally, len(said))
    store = opened(place / "archive")
    checked = store.verify()
    store.close()
    assert checked.ok, checked.problems
    return tally


def holds(tally: Tally) -> bool:
    return tally.lost == tally.broken == 0 and tally.unsaid <= 1


def test_ten_kills_lose_nothing(ram_path, figure):
    tally = kill_often(ram_path, "ten kills of the archive", 10, 2, 20)
    figure(8, f"archive: {tally}, then everything verified")
    assert tally.said > 50
    assert holds(tally)


@pytest.mark.study
@pytest.mark.parametrize("part", range(10))
@pytest.mark.parametrize("where", ["disk", "memory"])
def test_two_hundred_kills_lose_nothing(tmp_path, ram_path, where, part, figure):
    place = tmp_path if where == "disk" else ram_path
    tally = kill_often(place, f"archive on {where}, part {part}", 10, 80, 140)
    figure(8, f"archive on {where}: {tally}, then everything verified")
    assert holds(tally)


# -- nobody touches the file behind the library: howtocorrupt.html 2.2, locks go with any close in the same process


def every_call(store: Store, ident: str, out: Path) -> None:
    """What the program does with an archive that is open, all of it in this process."""
    reading_calls(store, ident, out)
    store.verify()
    store.rejudge(Again(rule=Rule.PLAIN))
    store.rebuild()


def reading_calls(store: Store, ident: str, out: Path) -> None:
    store.find(Asked(text="heron"))
    store.show(ident)
    store.view(ident)
    store.write_folder(ident, out / "folder")
    store.trend("tern-body-2", "Heron")
    store.export(out / "csv")
    store.backup(out / "a.backup")


def plain_read(store: Store, _ident: str, _out: Path) -> None:
    """What must never be done, planted: the file read like any other."""
    with store.database.path.open("rb") as file:
        file.read(100)


CALLS = {"the program's calls": reading_calls, "a plain read": plain_read}


class Child:
    """A program of its own that works with an archive and stops where it is told to."""

    def __init__(self, work) -> None:
        self._said, saying = os.pipe()
        hearing, self._tell = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            code = 1
            try:
                work(lambda: (os.write(saying, b"."), os.read(hearing, 1)))
                code = 0
            finally:
                os._exit(code)
        os.close(saying)
        os.close(hearing)

    def wait(self) -> bool:
        """Until it stops; False where it ended instead."""
        return os.read(self._said, 1) == b"."

    def go_on(self) -> None:
        os.write(self._tell, b".")

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self._said)
        os.close(self._tell)


def keep_ten(store: Store, made: Sessions, name: str) -> str:
    prepared = [made.prepared(made.closed(f"{name}-{n}")) for n in range(10)]
    for one in prepared:
        store.keep(one)
    return prepared[0].indexed.key.hex()


def test_ten_rows_every_call_another_program_ten_rows_and_a_kill(ram_path, figure):
    """The order of events that lost ten of twenty rows where the file was read as a plain one."""
    folder = ram_path / "archive"

    def work(pause):
        made, store = Sessions(ram_path, 1), opened(folder)
        every_call(store, keep_ten(store, made, "early"), ram_path)
        pause()
        keep_ten(store, made, "late")
        pause()

    child = Child(work)
    assert child.wait()
    store = opened(folder)
    assert len(store.find(Asked()).sessions) == 10
    store.close()
    child.go_on()
    assert child.wait()
    child.kill()
    store = opened(folder)
    found, checked = len(lines_in(store)), store.verify()
    store.close()
    figure(9, f"{found} of 20 sessions there after every call, another program and a kill")
    assert (found, checked.ok) == (20, True)


@pytest.mark.parametrize("what", CALLS)
def test_no_call_lets_go_of_the_lock_of_a_write(ram_path, what, figure):
    folder = ram_path / "archive"

    def work(pause):
        made, store = Sessions(ram_path, 2), opened(folder)
        ident = keep_ten(store, made, "kept")
        with Database(store.database.path).writing():
            CALLS[what](store, ident, ram_path)
            pause()

    child = Child(work)
    assert child.wait()
    other = sqlite3.connect(folder / "archive.sqlite", timeout=0, isolation_level=None)
    try:
        other.execute("BEGIN IMMEDIATE")
        got_in = True
    except sqlite3.OperationalError:
        got_in = False
    finally:
        other.close()
        child.kill()
    figure(9, f"after {what} another program {'gets' if got_in else 'does not get'} into a write that is held")
    assert got_in == (what == "a plain read")
