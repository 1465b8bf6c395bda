"""The world refuses: another program, another user, a full disk, a disk that cannot be written.  Told in words."""

from __future__ import annotations

import errno
import json
import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.external_tools import need
from tests.fakes import full_disk_child, recording_child
from tests.fakes.sweep import in_child
from tests.fakes.writers import hashes_of, new_job
from valvebench import compose
from valvebench.__main__ import main
from valvebench.archive.session_folder import JOURNAL_NAME
from valvebench.archive.verify import verify
from valvebench.model.entry import Note
from valvebench.model.errors import BenchError, WorldFailed

ROOT = Path(__file__).resolve().parents[2]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}
NOBODY = 65534


@pytest.fixture
def job(tmp_path):
    new_job(tmp_path / "job").release()
    return tmp_path / "job"


@pytest.fixture
def other_program(job):
    """A second program that has the session open and records in it."""
    command = [sys.executable, recording_child.__file__, str(job), "1"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, env=ENVIRONMENT) as child:
        assert child.stdout.readline()
        yield child
        child.kill()


def test_a_session_is_open_only_once(job, other_program, capsys):
    with pytest.raises(WorldFailed, match="open in another window or command"):
        compose.open_desk(job)
    assert main(["record", str(job), "note", "mine"]) == 2
    assert "open in another window or command" in capsys.readouterr().err


def test_a_session_open_elsewhere_can_be_looked_at(job, other_program, capsys):
    os.kill(other_program.pid, signal.SIGSTOP)
    assert main(["verify", str(job)]) == 0
    assert main(["judge", str(job)]) in (0, 1, 3)
    capsys.readouterr()
    os.kill(other_program.pid, signal.SIGCONT)


def test_a_killed_program_holds_no_lock(job, other_program):
    other_program.kill()
    other_program.wait()
    desk = compose.open_desk(job)
    desk.record(Note(text="mine"))
    desk.release()
    assert verify(job).ok


def test_a_session_is_open_only_once_in_the_same_program(job):
    desk = compose.open_desk(job)
    with pytest.raises(WorldFailed, match="open in another window or command"):
        compose.open_desk(job)
    desk.release()
    desk.release()
    compose.open_desk(job).release()


def test_a_session_that_cannot_be_opened_is_not_left_locked(job):
    journal = job / JOURNAL_NAME
    whole = journal.read_bytes()
    journal.write_bytes(whole.replace(b"5.4", b"5.5"))
    assert main(["record", str(job), "note", "more"]) == 4
    journal.write_bytes(whole)
    assert main(["record", str(job), "note", "more"]) == 0


@pytest.fixture
def public_job():
    """A session below a folder that every user may enter."""
    with tempfile.TemporaryDirectory(prefix="valvebench-") as folder:
        Path(folder).chmod(0o755)
        new_job(Path(folder) / "job").release()
        yield Path(folder) / "job"


def as_nobody(*words: object) -> tuple[int, str]:
    """A command run in a fork without the rights of the superuser: its exit code and all its words."""

    def work(say) -> int:
        compose.user_name()  # brings in a library that may lie where only the superuser reads
        if os.geteuid() == 0:
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        with tempfile.TemporaryFile("w+") as said:
            os.dup2(said.fileno(), 1)
            os.dup2(said.fileno(), 2)
            sys.stdout, sys.stderr = os.fdopen(1, "w", closefd=False), os.fdopen(2, "w", closefd=False)
            code = main([str(word) for word in words])
            sys.stdout.flush()
            sys.stderr.flush()
            said.seek(0)
            say(said.read())
        return code

    code, lines = in_child(work)
    return code, "\n".join(lines)


def test_a_folder_that_may_not_be_written_to(public_job):
    for path in (public_job, *public_job.rglob("*")):
        path.chmod(0o555 if path.is_dir() else 0o444)
    before = hashes_of(public_job)
    code, words = as_nobody("record", public_job, "note", "mine")
    assert (code, "cannot be written to (Permission denied)" in words) == (2, True), words
    assert as_nobody("judge", public_job)[0] in (0, 1, 3)
    assert as_nobody("verify", public_job)[0] == 0
    code, words = as_nobody("open-job", public_job.parent / "new", "--job", "1")
    assert (code, "Permission denied" in words) == (2, True), words
    assert hashes_of(public_job) == before


@pytest.mark.parametrize("hidden", ["journal.jsonl", "blobs", "."])
@pytest.mark.parametrize(
    "command", [("judge",), ("verify",), ("record", "note", "mine"), ("report", "--xlsx", "r.xlsx")], ids=" ".join
)
def test_what_may_not_be_read_is_said_in_words(public_job, hidden, command):
    if command[0] == "report":  # what it imports late may lie where nobody may read
        compose.write_workbook(public_job, public_job.parent / "first.xlsx")
    blobs = [*(public_job / "blobs").iterdir()] if hidden == "blobs" else []
    for path in blobs or [public_job / hidden]:
        path.chmod(0)
    code, words = as_nobody(command[0], public_job, *command[1:])
    for path in blobs or [public_job / hidden]:
        path.chmod(0o755)
    assert code in (2, 4), words
    assert "Permission denied" in words or "missing" in words, words
    assert "Traceback" not in words
    assert "violation" not in words


def in_small_disk(place: Path, *command: str, size: str = "300k") -> subprocess.CompletedProcess[str]:
    """Run in a name space of its own, where `place` is a small file system in memory."""
    need("unshare")
    mount = f"mount -t tmpfs -o size={size} none '{place}'"
    found = subprocess.run(["unshare", "-rm", "sh", "-c", mount], check=False, capture_output=True)
    if found.returncode:
        pytest.skip(f"no file system can be mounted here: {found.stderr.decode().strip()}")
    script = f"{mount} && " + " ".join(command)
    return subprocess.run(
        ["unshare", "-rm", "sh", "-c", script], check=False, capture_output=True, text=True, env=ENVIRONMENT, cwd=ROOT
    )


def test_a_full_disk_is_survived_and_said(tmp_path, figure):
    run = in_small_disk(tmp_path, sys.executable, full_disk_child.__file__, str(tmp_path), size="1m")
    assert run.returncode == 0, run.stderr
    tale = json.loads(run.stdout)
    told = f"1 MB, full after {tale['accepted']} entries, said in {1000 * tale['seconds']:.1f} ms"
    figure(6, f"{told}; six more writers refuse, old files stand, afterwards all goes on")
    assert tale["accepted"] > 10
    assert "No space left on device" in tale["words"]
    assert "Make room" in tale["words"]
    assert tale["seconds"] < 2
    full = tale["full"]
    refused = ("picture", "report", "job", "bundle", "open a bundle", "settings")
    assert all("No space left on device" in full[what] for what in refused), full
    assert full["report_is_old"]
    assert all(full["old_stand"])
    assert full["no_folder"]
    assert full["verified"]
    assert full["temporaries"] == []
    assert tale["after"] == {"verified": True, "same": True, "temporaries": [], "opened": True}


def test_a_disk_for_reading_only(tmp_path, job):
    disk = tmp_path / "disk"
    disk.mkdir()
    python = f"{sys.executable} -m valvebench"
    script = [f"cp -r {job} {disk}/job && mount -o remount,ro {disk} &&", f"({python} judge {disk}/job; echo code $?;"]
    script += [f"{python} verify {disk}/job; echo code $?; {python} record {disk}/job note mine; echo code $?)"]
    run = in_small_disk(disk, *script, size="1m")
    codes = [line for line in run.stdout.splitlines() if line.startswith("code ")]
    assert codes[1:] == ["code 0", "code 2"], run.stdout + run.stderr
    assert codes[0] in ("code 0", "code 1", "code 3")
    assert "Read-only file system" in run.stderr
    assert "Traceback" not in run.stderr


def test_a_blob_that_went_is_said_in_words(job, capsys):
    shutil.rmtree(job / "blobs")
    assert main(["judge", str(job)]) == 2
    assert "the frozen variant file" in capsys.readouterr().err
    assert main(["verify", str(job)]) == 4


@pytest.mark.parametrize("broken", [JOURNAL_NAME, "blobs"])
@pytest.mark.parametrize("command", ["judge", "verify", "record"])
def test_a_disk_that_cannot_be_read_is_said_in_words(job, monkeypatch, capsys, command, broken):
    read_bytes = Path.read_bytes

    def read(path):
        if broken in path.parts:
            raise OSError(errno.EIO, os.strerror(errno.EIO), str(path))
        return read_bytes(path)

    monkeypatch.setattr(Path, "read_bytes", read)
    words = [command, str(job)] + (["note", "mine"] if command == "record" else [])
    assert main(words) in (2, 4)
    out, err = capsys.readouterr()
    assert "Input/output error" in out + err


@pytest.mark.parametrize("name", ["", "x" * 5_000, "nothing-here", "/dev/null", "/"])
@pytest.mark.parametrize("command", ["judge", "verify", "record"])
def test_names_that_are_no_session(name, command, capsys):
    words = [command, name] + (["note", "mine"] if command == "record" else [])
    assert main(words) == 2
    assert capsys.readouterr().err.startswith("valvebench: ")


def created_by(job, name: str, gate) -> int:
    """A process that makes a session as soon as the gate opens: its end by `os._exit`."""
    pid = os.fork()
    if pid == 0:
        gate.wait()
        try:
            compose.create_job(job, {"job": name}).release()
        except BenchError:
            os._exit(2)
        os._exit(0)
    return pid


def test_of_two_who_make_the_same_session_one_does(ram_path):
    for number in range(40):
        job = ram_path / str(number)
        gate = multiprocessing.get_context("fork").Barrier(2)
        pids = [created_by(job, name, gate) for name in ("J1", "J2")]
        codes = [os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in pids]
        assert sorted(codes) == [0, 2], codes
        winner = compose.view_session(job).session.job.job
        assert winner == ("J1" if codes[0] == 0 else "J2")
        assert verify(job).ok
