"""Sweeps writers with the preload shim loaded; tells what came of each as one line of JSON.

python -m tests.fakes.shim_child FOLDER WRITERS MODES EVERY: the two in the middle with bars between their words.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from tests.fakes.all_writers import SHIM_WRITERS
from tests.fakes.shim import ShimFaults
from tests.fakes.sweep import sweep


def main() -> None:
    """The sweeps, in this process and its forks."""
    folder, writers, modes, every = sys.argv[1:]
    for number, name in enumerate(writers.split("|")):
        place = Path(folder).resolve() / str(number)
        place.mkdir()
        swept = sweep(SHIM_WRITERS[name], place, tuple(modes.split("|")), faults=ShimFaults, every=int(every))
        told = {"writer": name, "trials": swept.trials, "points": swept.points, "violations": swept.violations}
        print(json.dumps(told))


if __name__ == "__main__":
    main()
