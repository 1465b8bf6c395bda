"""An archive filled in bulk with made-up sessions: real sizes, real tables, no disk waits.  The same at every run."""

from __future__ import annotations

import random
import sqlite3
import zlib
from collections.abc import Iterator
from itertools import accumulate
from pathlib import Path
from typing import Any

import numpy as np

from tests.data.archived import DayClock
from valvebench.archive.store import Store
from valvebench.archive.store_add import Prepared, packed, readings_of
from valvebench.archive.store_rows import IS_PLAIN, VERDICT_SHIFT, DeviceKey, Indexed, Record, digest_of
from valvebench.archive.store_sql import writing
from valvebench.archive.store_words import code_of, variant_word, verdict_word, words_of

VARIANTS, DEVICES, CUSTOMERS, YEARS = 40, 10, 3000, 10
FIRST_MS, YEAR_MS = 1_900_000_000_000, 365 * 86_400_000
BIRDS = ("auk", "brant", "curlew", "dunlin", "eider", "fulmar", "gull", "heron", "ibis", "jay", "knot", "loon")
CHUNK = 2000


class Maker:
    """Makes session after session; `readings` in each."""

    def __init__(self, readings: int, name: str) -> None:
        self.readings = readings
        self._dice = random.Random(zlib.crc32(name.encode()))
        self._numbers = np.random.default_rng(zlib.crc32(name.encode()))
        self._words = [f"{a}{b}{n}" for n in range(40) for a in BIRDS for b in BIRDS][:5000]
        self._weights = list(accumulate(1.0 / (1 + place) for place in range(len(self._words))))
        birds = len(BIRDS)
        self._customers = [
            f"{BIRDS[n % birds]}ton {BIRDS[n // birds % birds]}mere {BIRDS[n * 7 % birds]}{n // 144}"
            for n in range(CUSTOMERS)
        ]
        self.devices = [
            DeviceKey(f"tern-{v:02d}", f"{BIRDS[d]}", "solenoid", "case_connector", "20/234.5", 20.0, 234.5)
            for v in range(VARIANTS)
            for d in range(DEVICES)
        ]

    def made(self, number: int, count: int) -> Prepared:
        """Session `number` of `count`, closed at its time in ten years."""
        dice = self._dice
        variant = min(int(dice.expovariate(0.15)), VARIANTS - 1)
        job, serial = f"{2_000_000 + number}", f"QV-{dice.randrange(10**7):07d}"
        customer = dice.choice(self._customers)
        closed_at = FIRST_MS + number * (YEARS * YEAR_MS // count)
        records = self._records(variant)
        verdict = 0 if any(one.verdict == 0 for one in records) else 2
        verdict = 6 if verdict == 2 and dice.random() < 0.01 else verdict
        noted = dice.choices(self._words, cum_weights=self._weights, k=12)
        words = words_of([job, serial, customer, f"tern-{variant:02d} fluid", " ".join(noted), _sometimes(dice)])
        index = Indexed(
            key=dice.randbytes(16),
            job=job,
            serial=serial,
            part=None,
            customer=customer,
            supplier=None,
            batch=None,
            variant=f"tern-{variant:02d}",
            verdict=verdict,
            closed_at=closed_at,
            n_entries=self.readings + 2,
            codes=(code_of(job), code_of(serial)),
            words=words,
            records=records,
            about=IS_PLAIN | verdict << VERDICT_SHIFT,
            comeback_of=None,
            revises=None,
        )
        return Prepared(index, self._journal(job, serial, customer), dice.randbytes(32), (), None, (), "made up")

    def _records(self, variant: int) -> tuple[Record, ...]:
        n = self.readings
        ohm = self._numbers.normal(5.2, 0.12, n)
        celsius = self._numbers.uniform(15, 90, n)
        first = variant * DEVICES
        return tuple(
            Record(self.devices[first + k % DEVICES], k, 0, _verdict(x), 0, 0, x, 0.03, 4.9, 5.5, x * 1.05, c)
            for k, (x, c) in enumerate(zip(ohm.tolist(), celsius.tolist(), strict=True))
        )

    def _journal(self, job: str, serial: str, customer: str) -> bytes:
        """Lines as long as real ones; their hashes are made up."""
        dice, at = self._dice, "2031-05-06T09:00:01.000Z"
        head = (
            f'{{"n":1,"at":"{at}","by":"Ann","kind":"open-job","body":{{"session":"{dice.randbytes(16).hex()}",'
            f'"job":"{job}","variant":"{dice.randbytes(32).hex()}","customer":"{customer}","serial":"{serial}",'
            f'"program":"valvebench 0.1.0"}},"prev":"{"0" * 64}"}}\n'
        )
        lines = [
            f'{{"n":{n},"at":"{at}","by":"Ann","kind":"reading","body":{{"celsius":{20 + n}.5,"ohm":5.{n + 100},'
            f'"temperature":"taped","meter":"0.5%+5x0.01","leads":"nulled","from":"{n}","to":"11"}},'
            f'"prev":"{dice.randbytes(32).hex()}"}}\n'
            for n in range(2, self.readings + 2)
        ]
        close = (
            f'{{"n":{self.readings + 2},"at":"{at}","by":"Ann","kind":"close","body":{{"verdict":"pass",'
            f'"scope":"20 of 20 electrical; air not required","program":"valvebench 0.1.0"}},'
            f'"prev":"{dice.randbytes(32).hex()}"}}\n'
        )
        return "".join([head, *lines, close]).encode()


def _verdict(ohm: float) -> int:
    """What 4.9 to 5.5 ohm with a doubt of 0.06 says, as a number."""
    if ohm < 4.84 or ohm > 5.56:
        return 0
    return 2 if 4.96 <= ohm <= 5.44 else 1


def _sometimes(dice: random.Random) -> str:
    """A word in three of ten sessions."""
    return "burnt" if dice.random() < 0.3 else "clear"


def rows_of(prepared: Prepared, number: int, device_of: dict[DeviceKey, int], variant: int) -> dict[str, Any]:
    """The rows that adding a session writes, ready for the driver."""
    index, sql = prepared.indexed, writing()
    devices = [device_of[one.device] for one in index.records if one.device is not None]
    pack, readings = packed(index, devices), readings_of(number, index, devices)
    named = sorted({(n, *one.device) for n, one in zip(devices, index.records, strict=True) if one.device is not None})
    shown = (index.job, index.serial, index.part, index.customer, index.supplier, index.batch, index.variant)
    words = " ".join([verdict_word(index.verdict), variant_word(variant), *index.words])
    return {
        sql.journal: [(number, index.key, prepared.head, index.n_entries, prepared.journal)],
        sql.session: [(number, index.key, *shown, index.verdict, index.closed_at, index.n_entries)],
        sql.code: [(code, number) for code in index.codes],
        sql.reading: readings,
        sql.pack: [(number, index.about, digest_of(pack, readings, named), pack)],
        sql.words: [(number, words)],
    }


def fill(folder: Path, count: int, readings: int) -> Store:
    """An archive of `count` sessions, opened; data that is made up."""
    store = Store(folder, clock=DayClock())
    path = store.database.path
    store.close()
    maker = Maker(readings, f"archive {count}")
    raw = sqlite3.connect(path, isolation_level=None)
    raw.execute("PRAGMA synchronous = OFF")
    raw.execute("PRAGMA cache_size = -200000")
    sql = writing()
    variants = {f"tern-{n:02d}": n + 1 for n in range(VARIANTS)}
    device_of = {device: n for n, device in enumerate(maker.devices, start=1)}
    raw.executemany(sql.variant, [(number, key) for key, number in variants.items()])
    raw.executemany(sql.device, [(number, *device) for device, number in device_of.items()])
    for numbers in _chunks(count):
        made = [(n, maker.made(n, count)) for n in numbers]
        raw.execute("BEGIN")
        parts = [rows_of(one, n, device_of, variants[str(one.indexed.variant)]) for n, one in made]
        for statement in parts[0]:
            rows = [row for part in parts for row in part[statement]]
            # by the clustered key, so that one chunk touches each page once
            raw.executemany(statement, sorted(rows, key=_key) if statement == sql.reading else rows)
        raw.execute("COMMIT")
    raw.close()
    return Store(folder, clock=DayClock())


def _key(row: tuple[Any, ...]) -> tuple[Any, ...]:
    return row[:4]


def _chunks(count: int) -> Iterator[range]:
    for start in range(1, count + 1, CHUNK):
        yield range(start, min(start + CHUNK, count + 1))
