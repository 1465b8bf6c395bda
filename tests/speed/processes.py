"""`valvebench reading` as a process against a process that imports numpy and does nothing."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from tests.speed.measure import Figures, Row, interleaved, row

ROOT = Path(__file__).parents[2]
BAND = ("--celsius", "60", "--low", "5", "--high", "6", "--json")
PLAIN = ("-m", "valvebench", "reading", "--ohm", "6.4", *BAND)
# Five repeats that weigh against a fine meter: few degrees of freedom, so Student's t is needed.
FINE = ("--meter", "0.01%+1x0.001", "--leads", "four_wire", "--u-celsius", "0.01")
REPEATS = ("-m", "valvebench", "reading", "--repeats", "6.1 6.2 6.3 6.4 6.5", *FINE, *BAND)
NUMPY = ("-c", "import numpy")


def process(words: tuple[str, ...]) -> Callable[[], Figures]:
    """Start it, wait for it; user and system time of the child and the time on the clock."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}

    def run() -> Figures:
        before, wall = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
        done = subprocess.run([sys.executable, *words], env=environment, stdout=subprocess.DEVNULL, check=False)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        if done.returncode not in (0, 1, 3):
            raise AssertionError(f"{words}: exit code {done.returncode}")
        cpu = after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime
        return {"cpu": cpu, "wall": time.perf_counter() - wall}

    return run


def rows() -> list[Row]:
    found = []
    for name, words, limit in (("reading", PLAIN, 2.0), ("reading, 5 repeats, t quantile", REPEATS, 4.0)):
        pairs = interleaved(process(words), process(NUMPY), pairs=15)
        found += [row(f"{name} / import numpy", pairs, figure=figure, limit=limit) for figure in ("cpu", "wall")]
    return found
