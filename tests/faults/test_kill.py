"""SIGKILL at any moment while recording: no accepted entry is lost, and recording goes on."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
import zlib
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.fakes import recording_child
from tests.fakes.writers import hashes_of, new_job, temporaries
from tests.patience import PATIENCE_MS
from valvebench import compose
from valvebench.archive.verify import verify
from valvebench.model.entry import Note

ROOT = Path(__file__).resolve().parents[2]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}
KILLS_PER_SESSION = 10


class Tally(NamedTuple):
    """Sums over kills."""

    kills: int = 0
    accepted: int = 0
    lost: int = 0
    torn: int = 0
    unsaid: int = 0
    not_verified: int = 0
    left: int = 0


def killed_once(job: Path, chance: random.Random) -> tuple[list[str], bytes]:
    """Let a child record and kill it; the hashes it said were accepted, and the bytes of a torn line."""
    command = [sys.executable, recording_child.__file__, str(job), str(chance.getrandbits(32))]
    with subprocess.Popen(command, stdout=subprocess.PIPE, env=ENVIRONMENT) as child:
        first = b"" if chance.random() < 0.1 else child.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.08))
        child.send_signal(signal.SIGKILL)
        said = first + child.stdout.read()
    assert child.returncode == -signal.SIGKILL
    # the line said last may itself be torn by the kill: it counts only with its line feed
    accepted = [line.split()[1].decode() for line in said.split(b"\n")[:-1]]
    return accepted, _torn(job)


def _torn(job: Path) -> bytes:
    return (job / "journal.jsonl").read_bytes().rpartition(b"\n")[2]


def after(job: Path, before: list[str], accepted: list[str], torn: bytes, tally: Tally) -> Tally:
    """Reopen, look what is there, and go on recording."""
    desk = compose.open_desk(job)
    found = hashes_of(job)
    desk.record(Note(text="goes on"))
    desk.release()
    lost = len([sha256 for sha256 in [*before, *accepted] if sha256 not in set(found)])
    return Tally(
        kills=tally.kills + 1,
        accepted=tally.accepted + len(accepted),
        lost=tally.lost + lost,
        torn=tally.torn + bool(torn),
        unsaid=tally.unsaid + len(found) - len(before) - len(accepted),
        not_verified=tally.not_verified + (not verify(job).ok),
        left=tally.left + len(temporaries(job)),
    )


def kill_often(place: Path, name: str, kills: int) -> Tally:
    chance = random.Random(zlib.crc32(name.encode()))
    tally = Tally()
    for number in range(kills):
        job = place / f"job-{number // KILLS_PER_SESSION}"
        if not job.exists():
            new_job(job).release()
        before = hashes_of(job)
        accepted, torn = killed_once(job, chance)
        tally = after(job, before, accepted, torn, tally)
    return tally


def holds(tally: Tally) -> bool:
    return tally.lost == tally.not_verified == tally.left == 0 and 0 <= tally.unsaid <= tally.kills


def test_twenty_kills_lose_nothing(tmp_path, figure):
    tally = kill_often(tmp_path, "twenty kills", 20)
    figure(4, f"recorder: {tally}")
    assert tally.accepted > 20
    assert holds(tally)


@pytest.mark.study
@pytest.mark.parametrize("part", range(5))
@pytest.mark.parametrize("where", ["disk", "memory"])
def test_two_hundred_kills_lose_nothing(tmp_path, ram_path, where, part, figure):
    tally = kill_often(tmp_path if where == "disk" else ram_path, f"{where}, part {part}", 20)
    figure(4, f"recorder: {tally}")
    assert holds(tally)


def commands_until_killed(job: Path, seconds: float, *, first: bool) -> list[str]:
    """`valvebench record` again and again, as a shell loop would; the last one is killed.

    `first`: the time counts once one was accepted, however busy the machine is.
    """
    accepted: list[str] = []
    deadline = time.monotonic() + seconds + (PATIENCE_MS / 1000 if first else 0.0)
    while True:
        command = [sys.executable, "-m", "valvebench", "record", str(job), "note", "by command", "--json"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, env=ENVIRONMENT, cwd=ROOT) as child:
            try:
                answer, _ = child.communicate(timeout=max(0.0, deadline - time.monotonic()))
            except subprocess.TimeoutExpired:
                child.kill()
                answer, _ = child.communicate()
        if answer.endswith(b"\n"):
            accepted.append(json.loads(answer)["hash"])
            if first and len(accepted) == 1:
                deadline = time.monotonic() + seconds
        if child.returncode == -signal.SIGKILL:
            return accepted
        assert child.returncode == 0


def test_killed_commands_lose_nothing(tmp_path, figure):
    job = tmp_path / "job"
    new_job(job).release()
    chance = random.Random(zlib.crc32(b"killed commands"))
    tally = Tally()
    for _ in range(6):
        before = hashes_of(job)
        accepted = commands_until_killed(job, chance.uniform(0.05, 0.6), first=chance.random() < 0.7)
        tally = after(job, before, accepted, _torn(job), tally)
    figure(4, f"commands: {tally}")
    assert holds(tally)
