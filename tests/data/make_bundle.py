"""Makes the bundle that is kept of each released format, and opened by a test for as long as there is a program.

python -m tests.data.make_bundle FILE: run once, when the format came to be; the file is then never made anew.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.fakes.writers import LOG, PICTURE, READING, RUN, VARIANT
from valvebench import compose
from valvebench.archive.bundle import bundle_of
from valvebench.bench.desk import Desk
from valvebench.model.entry import Anchor, Note, OpenJob
from valvebench.model.words import AnchorKind


class StoppedClock:
    """An invented day."""

    def now(self) -> str:
        """RFC 3339 in UTC."""
        return "2026-11-30T09:00:00.000Z"


def fill(desk: Desk) -> None:
    """A few entries of different kinds, all invented."""
    desk.record(READING)
    desk.correct(2, {"ohm": 5.3}, "misread")
    desk.record(Note(text="Überall gemessen \u2126"))
    desk.add_photo(PICTURE, file_name="p.png", of="plug")
    desk.record_with(LOG, RUN)
    desk.close()
    desk.record(Anchor(kind=AnchorKind.TAG_HANDED_OVER, to="counter"))
    desk.release()


def main() -> None:
    """Write the file."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job"
        data = {"job": "2301", "session": "0123456789abcdef0123456789abcdef", "program": "valvebench"}
        desk = compose.create_job(job, data, variant_raw=VARIANT, by="Wren", clock=StoppedClock())
        assert isinstance(desk.job, OpenJob)
        fill(desk)
        Path(sys.argv[1]).write_bytes(bundle_of(job)[0])


if __name__ == "__main__":
    main()
