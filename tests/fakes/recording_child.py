"""A person at work, until somebody kills the program: records without end and tells what was accepted.

python recording_child.py SESSION SEED: each accepted entry is one line "number hash" on standard output.
"""

from __future__ import annotations

import os
import random
import sys
from pathlib import Path

import msgspec

from tests.data.made_up import heat_test
from valvebench import compose
from valvebench.bench.desk import Desk
from valvebench.model.entry import Entry, Note, Reading, sha256_of

PICTURE_HEAD = b"\x89PNG\r\n\x1a\n"


def one_step(desk: Desk, chance: random.Random) -> Entry:
    """Mostly readings; long notes, pictures, heat runs, corrections and withdrawals between them."""
    what = chance.random()
    newest = max(desk.session.items, key=lambda item: item.n, default=None)
    if what < 0.1:
        return desk.record(Note(text=chance.choice("ab\u00e9\u6d4b") * chance.randint(1, 9_000)))
    if what < 0.2:
        raw = PICTURE_HEAD + chance.randbytes(chance.randint(1, 50_000))
        return desk.add_photo(raw, file_name="p.png", of="the plug")
    if what < 0.25:
        raw = b"probe_celsius,ohm\n" + chance.randbytes(chance.randint(1, 50_000)).hex().encode()
        return desk.record_with(raw, msgspec.structs.replace(heat_test("Heron"), sha256=sha256_of(raw)))
    if what < 0.3 and newest is not None:
        return desk.withdraw(newest.n, "slip")
    if what < 0.4 and newest is not None and isinstance(newest.body, Reading):
        return desk.correct(newest.n, {"ohm": newest.body.ohm + 0.001}, "misread")
    return desk.record(Reading(from_node="1", to_node="2", ohm=round(chance.uniform(5.0, 6.0), 2), celsius=23.0))


def main() -> None:
    """Record until killed."""
    chance = random.Random(int(sys.argv[2]))
    desk = compose.open_desk(Path(sys.argv[1]))
    while True:
        entry = one_step(desk, chance)
        os.write(1, f"{entry.n} {entry.sha256}\n".encode())


if __name__ == "__main__":
    main()
