"""`python -m tests.data.archives.make_one`: a small archive of the present format, kept for ever.  All invented."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from tests.data.archived import DayClock, add_to, reading, session_in
from valvebench.archive.store import Store
from valvebench.archive.store_schema import FORMAT
from valvebench.bench.archived import Again
from valvebench.model.entry import Note, Outcome
from valvebench.model.words import Comeback, Rule


def main() -> None:
    with tempfile.TemporaryDirectory() as root:
        made = fill(Path(root))
        shutil.copy(made, Path(__file__).parent / f"format-{FORMAT}.sqlite")


def fill(root: Path) -> Path:
    """Three sessions: a serial, a comeback with its outcome, a note without a variant; judged anew once."""
    store = Store(root / "archive", clock=DayClock("2031-12-01"))
    bodies = [reading("Heron", 5.2), reading("Plover", 12.5), reading("Fluid", 2600.0, celsius=20.0)]
    first = session_in(root, "K-1", bodies, serial="QV-0418", customer="Harbour Shuttle", day="2031-03-01")
    second = session_in(root, "K-2", [reading("Heron", 6.0)], comeback_of="K-1", part="QT-2", day="2031-04-01")
    add_to(second, Outcome(fitted=True, comeback=Comeback.HOT, months=4), day="2031-08-01")
    third = session_in(root, "K-3", [Note(text="nothing read")], variant_raw=None, day="2031-05-01")
    for folder in (first, second, third):
        store.add(folder)
    store.rejudge(Again(rule=Rule.PLAIN))
    path = store.database.path
    store.close()
    return path


if __name__ == "__main__":
    main()
