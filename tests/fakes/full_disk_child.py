"""Records on a disk of a megabyte until it is full, makes room, goes on; tells the tale as JSON.

python full_disk_child.py FOLDER: the folder is a small file system of its own.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from tests.fakes.writers import PICTURE, hashes_of, new_job, temporaries
from valvebench import compose
from valvebench.archive.kept_file import KeptFile
from valvebench.archive.saver import save
from valvebench.archive.verify import verify
from valvebench.bench.desk import Desk
from valvebench.model.entry import Note
from valvebench.model.errors import WorldFailed

MOST = 10_000


def fill(desk: Desk) -> tuple[list[str], str, float]:
    """Record until refused: what was accepted, the words of the refusal, how long it took [s]."""
    accepted: list[str] = []
    for _ in range(MOST):
        begun = time.monotonic()
        try:
            accepted.append(desk.record(Note(text="x" * 3_000)).sha256)
        except WorldFailed as error:
            return accepted, str(error), time.monotonic() - begun
    raise AssertionError("the disk was never full")


def refusal_of(act) -> str:
    """The words with which something is refused, or nothing."""
    try:
        act()
    except WorldFailed as error:
        return str(error)
    return ""


def main() -> None:
    """The tale."""
    place = Path(sys.argv[1])
    desk = new_job(place / "job")
    save(place / "report", b"old")
    compose.write_bundle(place / "job", place / "sent.zip")
    sent = (place / "sent.zip").read_bytes()
    settings = KeptFile(place / "settings")
    settings.write(b"old")
    ballast = place / "ballast"
    ballast.write_bytes(bytes(60_000))
    accepted, words, seconds = fill(desk)
    full = {
        "picture": refusal_of(lambda: desk.add_photo(PICTURE * 100, file_name="p.png", of="plug")),
        "report": refusal_of(lambda: save(place / "report", bytes(100_000))),
        "job": refusal_of(lambda: compose.create_job(place / "other", {"job": "J2"}).release()),
        "bundle": refusal_of(lambda: compose.write_bundle(place / "job", place / "sent.zip")),
        "open a bundle": refusal_of(lambda: compose.open_bundle(place / "sent.zip", place / "back")),
        "settings": refusal_of(lambda: settings.write(bytes(20_000))),
        "old_stand": [(place / "sent.zip").read_bytes() == sent, settings.read() == b"old"],
        "no_folder": not (place / "back").exists(),
        "report_is_old": (place / "report").read_bytes() == b"old",
        "verified": verify(place / "job").ok,
        "temporaries": temporaries(place),
    }
    ballast.unlink()
    accepted.append(desk.record(Note(text="room again")).sha256)
    desk.release()
    compose.open_desk(place / "job").release()
    found = hashes_of(place / "job")
    compose.open_bundle(place / "sent.zip", place / "back")
    settings.write(b"new")
    after = {"verified": verify(place / "job").ok, "same": found[3:] == accepted, "temporaries": temporaries(place)}
    after["opened"] = verify(place / "back").ok
    print(json.dumps({"accepted": len(accepted), "words": words, "seconds": seconds, "full": full, "after": after}))


if __name__ == "__main__":
    main()
