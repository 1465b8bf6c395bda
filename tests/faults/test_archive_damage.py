"""A damaged archive is noticed: bits of its file flipped, every change named by record, the good records readable."""

from __future__ import annotations

import contextlib
import random
import sqlite3
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.fakes.archive_sessions import Sessions
from tests.fakes.archive_writers import PHOTO, opened
from valvebench.archive.store import Store
from valvebench.archive.store_show import kept
from valvebench.bench.archived import Again, Asked, Checked, Unlike
from valvebench.model.entry import sha256_of
from valvebench.model.errors import BenchError, EvidenceBroken
from valvebench.model.words import Rule

SESSIONS = 8
OF_SESSION = {
    "journal": "session_id",
    "journal_tail": "session_id",
    "session_blob": "session_id",
    "session": "id",
    "code": "session_id",
    "reading": "session_id",
    "pack": "session_id",
    "outcome": "session_id",
    "comeback": "session_id",
    "revision": "session_id",
}
"""Tables whose rows belong to a session, and the column that says to which."""
SHARED = ("blob", "variant", "device", "run", "judgement")
"""Tables whose rows belong to several sessions or to a later judgement."""

Rows = dict[str, list[tuple[object, ...]]]


@pytest.fixture(scope="module")
def template(tmp_path_factory) -> Path:
    """An archive with everything in it: later lines, outcomes, a photo, links and a later judgement."""
    root = tmp_path_factory.mktemp("template")
    made, store = Sessions(root, 12), opened(root / "archive")
    store.database.execute("UPDATE meta SET value = '0123456789abcdef' WHERE name = 'id'")  # the same bits at every run
    for number in range(SESSIONS):
        more = {"comeback_of": "D-0"} if number == 5 else {}
        raw = made.closed(f"D-{number}", serial=f"QV-{number}", note=f"note {number}", **more)
        store.keep(made.prepared(made.told(raw) if number % 2 else raw))
    store.shelf.put(sha256_of(PHOTO), PHOTO)
    store.keep(made.prepared(made.closed("D-photo", photo=PHOTO)))
    store.rejudge(Again(rule=Rule.PLAIN))
    assert store.verify().ok
    store.close()
    return root / "archive"


def rows_of(path: Path) -> Rows | None:
    """Every row of every table as SQLite reads it now; None where it cannot."""
    other = sqlite3.connect(path)
    try:
        return {name: other.execute(f"SELECT * FROM {name}").fetchall() for name in (*OF_SESSION, *SHARED)}
    except (sqlite3.Error, UnicodeDecodeError):
        return None
    finally:
        other.close()


def columns_of(path: Path) -> dict[str, int]:
    """In which column of each table the number of the session stands."""
    other = sqlite3.connect(path)
    try:
        told = {name: [row[1] for row in other.execute(f"PRAGMA table_info({name})")] for name in OF_SESSION}
        return {name: told[name].index(column) for name, column in OF_SESSION.items()}
    finally:
        other.close()


class Damage(NamedTuple):
    """What one flipped bit changed: sessions by number, and tables that belong to several."""

    sessions: frozenset[int]
    shared: tuple[str, ...]


def damage(sound: Rows, found: Rows, columns: dict[str, int]) -> Damage:
    """Whose rows are not there any more as they were; a row that went over to another session was the first one's."""
    changed: set[int] = set()
    for name, column in columns.items():
        was, now = ({repr(row): row for row in rows} for rows in (sound[name], found[name]))
        lost = [was[key] for key in was.keys() - now.keys()] or [now[key] for key in now.keys() - was.keys()]
        changed |= {row[column] for row in lost if isinstance(row[column], int)}
    return Damage(frozenset(changed), tuple(name for name in SHARED if sound[name] != found[name]))


class Tally(NamedTuple):
    """Sums over flipped bits."""

    flips: int = 0
    changed: int = 0
    named: int = 0
    structure: int = 0
    refused: int = 0
    unnoticed: int = 0
    crashes: int = 0
    good: int = 0
    readable: int = 0
    mended: int = 0
    held: int = 0

    def text(self) -> str:
        return (
            f"{self.flips} bits flipped, {self.changed} changed content, {self.named} of them named by record; "
            f"{self.structure} more told as structure, {self.refused} refused at opening, {self.unnoticed} unnoticed, "
            f"{self.crashes} crashes; {self.readable} of {self.good} good records readable, "
            f"{self.mended} more after a rebuild; {self.held} on a damaged page held back and told"
        )


class Flipping:
    """Flips one bit of a copy after the other and looks what the archive says of it."""

    def __init__(self, template: Path, place: Path) -> None:
        self._raw = (template / "archive.sqlite").read_bytes()
        self._sound = rows_of(template / "archive.sqlite")
        self._columns = columns_of(template / "archive.sqlite")
        self._folder = place / "flipped"
        (self._folder / "blobs").mkdir(parents=True)
        (self._folder / "blobs" / sha256_of(PHOTO)).write_bytes(PHOTO)
        store = opened(template)
        with store.database.reading():
            self._kept = {number: kept(store.database, number) for number in range(1, SESSIONS + 2)}
            self._jobs = dict(store.database.execute("SELECT id, job FROM session").fetchall())
        store.close()
        self.odd: list[str] = []

    def flip(self, bit: int, tally: Tally) -> Tally:
        """One bit."""
        path = self._folder / "archive.sqlite"
        spoilt = bytearray(self._raw)
        spoilt[bit // 8] ^= 1 << bit % 8
        path.write_bytes(spoilt)
        found = rows_of(path)
        done = damage(self._sound, found, self._columns) if found is not None else None
        tally = tally._replace(flips=tally.flips + 1)
        try:
            store = opened(self._folder)
        except BenchError:
            return tally._replace(refused=tally.refused + 1)
        except Exception as error:
            return self._crash(bit, error, tally)
        try:
            return self._looked_at(bit, store, done, tally)
        except Exception as error:
            return self._crash(bit, error, tally)
        finally:
            store.close()

    def _crash(self, bit: int, error: Exception, tally: Tally) -> Tally:
        self.odd.append(f"bit {bit}: {error!r}")
        return tally._replace(crashes=tally.crashes + 1)

    def _looked_at(self, bit: int, store: Store, done: Damage | None, tally: Tally) -> Tally:
        checked = store.verify()
        try:
            store.find(Asked(text="heron"))
            store.find(Asked())
        except BenchError:
            pass  # told in words
        if done is None:
            noticed = not checked.ok
            if not noticed:
                self.odd.append(f"bit {bit}: cannot be read, unnoticed")
            return tally._replace(structure=tally.structure + noticed, unnoticed=tally.unnoticed + (not noticed))
        tally = self._readable(bit, store, done, checked, tally)
        if not done.sessions and not done.shared:
            return tally._replace(structure=tally.structure + (not checked.ok))
        named = self._named(checked.problems)
        other = [number for number in done.sessions if number not in self._kept]  # its number itself was changed
        is_told = done.sessions & set(self._kept) <= named or (bool(other) and self._are_told(other, checked.problems))
        is_named = not checked.ok and is_told
        if not is_named:
            self.odd.append(f"bit {bit}: {done}, told: {[(one.job, one.what) for one in checked.problems]}")
        return tally._replace(
            changed=tally.changed + 1, named=tally.named + is_named, unnoticed=tally.unnoticed + checked.ok
        )

    def _named(self, problems: Iterable[Unlike]) -> set[int]:
        """Sessions that were told: by identity, by job where the identity is what changed, or else by number."""
        ids, jobs = {one.id for one in problems}, {one.job for one in problems}
        told = " ".join(one.what for one in problems)
        return {
            number
            for number, one in self._kept.items()
            if one.key.hex() in ids or self._jobs[number] in jobs or f"session number {number}:" in told
        }

    def _are_told(self, numbers: Iterable[int], problems: Iterable[Unlike]) -> bool:
        told = " ".join(one.what for one in problems)
        return all(f"session number {number}:" in told for number in numbers)

    def _readable(self, bit: int, store: Store, done: Damage, checked: Checked, tally: Tally) -> Tally:
        """Records that the bit did not touch: each opened as evidence, its bytes as they were.

        One that shares a damaged page is held back, and told.
        """
        if "blob" in done.shared:
            return tally  # the frozen variant that all of them share is changed
        untouched = set(self._kept) - done.sessions
        held = untouched & self._named(checked.problems)
        good = sorted(untouched - held)
        hidden = [number for number in good if not self._is_readable(store, number)]
        if hidden:  # what it is looked up by is damaged: verify says so, and that can be made anew
            self.odd.append(f"bit {bit}: sessions {hidden} not touched, readable only after a rebuild")
            with contextlib.suppress(EvidenceBroken):  # it says what is to be done
                store.rebuild()
        mended = [number for number in hidden if self._is_readable(store, number)]
        readable = len(good) - len(hidden)
        return tally._replace(
            good=tally.good + len(good),
            readable=tally.readable + readable,
            mended=tally.mended + len(mended),
            held=tally.held + len(held),
        )

    def _is_readable(self, store: Store, number: int) -> bool:
        one = self._kept[number]
        try:
            store.view(one.key.hex())
            with store.database.reading():
                return kept(store.database, number).raw == one.raw
        except BenchError:
            return False


def bits(template: Path, name: str, count: int, *, used: bool) -> Iterator[int]:
    """Bits of the whole file, or only of bytes that hold something: a small archive is mostly empty space."""
    chance = random.Random(zlib.crc32(name.encode()))
    raw = (template / "archive.sqlite").read_bytes()
    places = [place for place, byte in enumerate(raw) if byte or not used]
    return (chance.choice(places) * 8 + chance.randrange(8) for _ in range(count))


def flip_many(template: Path, place: Path, name: str, count: int, *, used: bool = False) -> tuple[Tally, list[str]]:
    flipping, tally = Flipping(template, place), Tally()
    for bit in bits(template, name, count, used=used):
        tally = flipping.flip(bit, tally)
    return tally, flipping.odd


def holds(tally: Tally) -> bool:
    is_readable = tally.readable + tally.mended == tally.good
    return is_readable and (tally.unnoticed, tally.crashes, tally.named) == (0, 0, tally.changed)


def test_a_few_flipped_bits(template, ram_path, figure):
    tally, odd = flip_many(template, ram_path, "bits of an archive", 25, used=True)
    figure(12, tally.text())
    assert holds(tally), odd
    assert tally.changed > 5


@pytest.mark.study
@pytest.mark.parametrize("part", range(10))
def test_fifteen_hundred_flipped_bits(template, ram_path, part, figure):
    tally, odd = flip_many(template, ram_path, f"bits of an archive, part {part}", 150, used=part % 2 == 1)
    figure(12, tally.text())
    print(*odd[:20], sep="\n")
    assert holds(tally), odd[:20]
