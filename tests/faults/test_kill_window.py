"""SIGKILL of the whole window while readings are typed: none that counted is lost, the first page offers to go on."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
import zlib
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.fakes import window_child
from tests.fakes.writers import hashes_of, temporaries
from valvebench import compose
from valvebench.archive.verify import verify

ROOT = Path(__file__).resolve().parents[2]


class Tally(NamedTuple):
    """Sums over kills; `slowest_s` from the start of the program to the open session."""

    kills: int = 0
    kept: int = 0
    lost: int = 0
    unsaid: int = 0
    offered: int = 0
    not_verified: int = 0
    left: int = 0
    slowest_s: float = 0.0


def killed_once(settings: Path, words: list[str], chance: random.Random) -> tuple[list[str], int, float]:
    """Let a window run and kill it: the hashes it counted as kept, how many entries it opened with, how soon."""
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "QT_QPA_PLATFORM": "offscreen",
        "VALVEBENCH_SETTINGS": str(settings),
    }
    command = [sys.executable, window_child.__file__, *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=environment) as child:
        opened = child.stdout.readline().split()
        first = b"" if chance.random() < 0.1 else child.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.3))
        child.send_signal(signal.SIGKILL)
        said = first + child.stdout.read()
    assert opened, "the session was never open"
    # the line said last may itself be torn by the kill: it counts only with its line feed
    kept = [line.split()[1].decode() for line in said.split(b"\n")[:-1]]
    return kept, int(opened[1]), float(opened[2])


def kill_often(place: Path, name: str, kills: int) -> Tally:
    chance = random.Random(zlib.crc32(name.encode()))
    (sample,) = (compose.data_folder() / "sample_sessions").glob("*in-work")
    job = place / "job"
    shutil.copytree(sample, job)
    tally = Tally()
    for number in range(kills):
        before = hashes_of(job)
        kept, opened, seconds = killed_once(place / "settings", [] if number else [str(job)], chance)
        found = hashes_of(job)
        lost = [sha256 for sha256 in [*before, *kept] if sha256 not in set(found)]
        tally = Tally(
            kills=tally.kills + 1,
            kept=tally.kept + len(kept),
            lost=tally.lost + len(lost),
            unsaid=tally.unsaid + len(found) - len(before) - len(kept),
            offered=tally.offered + (opened == len(before)),
            not_verified=tally.not_verified + (not verify(job).ok),
            left=tally.left + len(temporaries(job)),
            slowest_s=max(tally.slowest_s, seconds),
        )
    return tally


def holds(tally: Tally) -> bool:
    """An entry on its way at the kill may stand there unsaid: its line was on disk, its mark not yet shown."""
    return (
        tally.lost == tally.not_verified == tally.left == 0
        and tally.offered == tally.kills
        and 0 <= tally.unsaid <= 2 * tally.kills
    )


def test_a_window_that_is_killed_loses_nothing(tmp_path, figure):
    tally = kill_often(tmp_path, "window, twice", 2)
    figure(4, f"window: {tally}")
    assert tally.kept > 0
    assert holds(tally)


@pytest.mark.study
@pytest.mark.parametrize("part", range(10))
def test_two_hundred_windows_that_are_killed_lose_nothing(tmp_path, part, figure):
    tally = kill_often(tmp_path, f"window, part {part}", 20)
    figure(4, f"window: {tally}")
    assert holds(tally)
