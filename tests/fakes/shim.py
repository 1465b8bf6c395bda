"""The preload shim: built where there is a compiler, and driven from inside the program it was loaded into."""

from __future__ import annotations

import ctypes
import json
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from tests.external_tools import need

SOURCE: Final = Path(__file__).with_name("fault_shim.c")
ROOT: Final = Path(__file__).resolve().parents[2]
MODES: Final = (
    "EIO",
    "ENOSPC",
    "EIO-sticky",
    "ENOSPC-sticky",
    "short",
    "half",
    "die-before",
    "die-after",
    "die-half",
)
"""In the order of the shim's own; `die-half` writes half of it and is killed."""


def build(folder: Path) -> Path:
    """The shim as a library in a folder; without a compiler the test is skipped, in CI it fails."""
    compiler, made = need("cc", "gcc"), folder / "fault_shim.so"
    words = ["-Wall", "-Wextra", "-Werror", "-O1", "-shared", "-fPIC", "-o", str(made), str(SOURCE), "-ldl"]
    subprocess.run([compiler, *words], check=True)
    return made


class ShimFaults:
    """What `FaultyOs` is for the calls of `os`, for those of the C library below one folder."""

    def __init__(self, folder: Path, k: int, mode: str) -> None:
        self._library = ctypes.CDLL(None)
        self._folder, self._k, self._mode = os.fsencode(folder), k, MODES.index(mode)

    def arm(self) -> None:
        self._library.shim_arm(self._folder, ctypes.c_long(self._k), self._mode)

    def disarm(self) -> None:
        self._library.shim_disarm()

    @property
    def calls(self) -> int:
        return self._count("calls")

    @property
    def hits(self) -> int:
        return self._count("hits")

    @property
    def wrong(self) -> list[str]:
        found = {
            "a sync was tried again after it failed": self._count("synced_again"),
            "a file whose sync failed was put in place": self._count("placed_unsynced"),
        }
        return [words for words, count in found.items() if count]

    def _count(self, name: str) -> int:
        counted = getattr(self._library, f"shim_{name}")
        counted.restype = ctypes.c_long
        return int(counted())


def run_in_shim(shim: Path, *words: str) -> list[str]:
    """What a program of its own that has the shim loaded says, line by line."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "LD_PRELOAD": str(shim)}
    command = [sys.executable, *words]
    run = subprocess.run(command, check=False, capture_output=True, text=True, env=environment, cwd=ROOT)
    assert run.returncode == 0, run.stderr
    return run.stdout.splitlines()


def sweep_in_shim(
    shim: Path, place: Path, writers: Sequence[str], modes: Sequence[str], every: int = 1
) -> list[dict[str, Any]]:
    """Sweep writers of the table; `every` as of the sweep."""
    words = ("-m", "tests.fakes.shim_child", str(place), "|".join(writers), "|".join(modes), str(every))
    return [json.loads(line) for line in run_in_shim(shim, *words)]
