"""A second fault while the first is being mended: the end is the same."""

from __future__ import annotations

import contextlib
import shutil

import pytest

from tests.fakes.bundle_writers import OPENED
from tests.fakes.faulty_os import DIED, FaultyOs
from tests.fakes.sweep import SAID_DONE, SAID_FAILED, Trial, in_child
from tests.fakes.writers import TORN, hashes_of, new_job
from valvebench import compose
from valvebench.archive.saver import TEMPORARY_PREFIX
from valvebench.archive.session_folder import JOURNAL_NAME
from valvebench.archive.verify import verify
from valvebench.model.entry import Note
from valvebench.model.errors import BenchError, EvidenceBroken


@pytest.fixture
def torn_job(ram_path):
    """A session that a crash left with half a line."""
    job = ram_path / "template"
    new_job(job).release()
    with (job / JOURNAL_NAME).open("ab") as journal:
        journal.write(TORN)
    return job


def opened_under(job, k: int, mode: str) -> tuple[int, bool]:
    """Open and close in a fork that meets a fault at its k-th call: its end, and whether there were that many calls."""

    def work(say) -> int:
        faulty = FaultyOs(k, mode)
        faulty.arm()
        try:
            compose.open_desk(job).release()
        except BenchError:
            return SAID_FAILED
        if faulty.calls < k:
            say("past the last call")
        return SAID_DONE

    code, told = in_child(work)
    assert code in (SAID_DONE, SAID_FAILED, DIED), told
    return code, "past the last call" not in told


def is_mended(job, before: list[str]) -> bool:
    """The state that an undisturbed opening leaves."""
    desk = compose.open_desk(job)
    is_same = [entry.sha256 for entry in desk.session.entries] == before
    desk.record(Note(text="goes on"))
    desk.release()
    aside = [path.read_bytes() for path in job.glob("torn-*.bin")]
    return is_same and aside == [TORN] and verify(job).ok


def pairs(torn_job, first_mode: str, second_mode: str):
    """Every first fault, and after each every second one."""
    place = torn_job.parent
    k, first_comes = 0, True
    while first_comes:
        k += 1
        job = place / "first"
        shutil.copytree(torn_job, job)
        _, first_comes = opened_under(job, k, first_mode)
        yield from _seconds(job, place / "second", second_mode, k) if first_comes else ()
        shutil.rmtree(job)


def _seconds(first, job, mode: str, k: int):
    i, comes = 0, True
    while comes:
        i += 1
        shutil.copytree(first, job)
        _, comes = opened_under(job, i, mode)
        if comes:
            yield job, (k, i)
        shutil.rmtree(job)


@pytest.mark.parametrize(
    ("first", "second"),
    [("die-after", "EIO"), pytest.param("EIO", "die-after", marks=pytest.mark.study)],
)
def test_two_faults_while_mending_leave_the_same_end(torn_job, first, second, figure):
    before = hashes_of(torn_job)
    trials = 0
    for job, calls in pairs(torn_job, first, second):
        assert is_mended(job, before), calls
        trials += 1
    figure(5, f"{first}, then {second}: {trials} pairs, the same end each time")
    assert trials >= 50


def test_what_a_killed_run_left_of_a_blob_is_taken_away(ram_path):
    job = ram_path / "job"
    new_job(job).release()
    leftover = job / "blobs" / f"{TEMPORARY_PREFIX}abc"
    leftover.write_bytes(b"half a picture")
    compose.open_desk(job).release()
    assert not leftover.exists()
    assert verify(job).ok


def test_a_journal_that_does_not_verify_is_left_as_it_is(torn_job):
    journal = torn_job / JOURNAL_NAME
    journal.write_bytes(journal.read_bytes().replace(b"5.4", b"5.5"))
    before = {path: path.read_bytes() for path in torn_job.rglob("*") if path.is_file()}
    with pytest.raises(EvidenceBroken):
        compose.open_desk(torn_job)
    assert {path: path.read_bytes() for path in torn_job.rglob("*") if path.is_file()} == before


def opened_bundle_under(folder, k: int, mode: str) -> bool:
    """Open a bundle in a fork that meets a fault at its k-th call: whether there were that many calls."""

    def work(say) -> int:
        faulty = FaultyOs(k, mode)
        faulty.arm()
        with contextlib.suppress(BenchError):
            OPENED.act(folder, lambda _: None)
        if faulty.calls < k:
            say("past the last call")
        return SAID_DONE

    code, told = in_child(work)
    assert code in (SAID_DONE, DIED), told
    return "past the last call" not in told


@pytest.mark.parametrize("every", [9, pytest.param(1, marks=pytest.mark.study)], ids=["every ninth", "all"])
def test_a_second_fault_while_opening_a_bundle_again_leaves_the_same_end(ram_path, every, figure):
    template = ram_path / "template"
    template.mkdir()
    OPENED.prepare(template)
    trials, k, is_met = 0, 1, True
    while is_met:
        folder = ram_path / "first"
        shutil.copytree(template, folder)
        is_met = opened_bundle_under(folder, k, "die-after")
        for second, i in pairs_of_opening(folder, ram_path / "second", every) if is_met else ():
            trials += 1
            assert OPENED.check(Trial(second, i, "die-after", DIED, ())) == [], (k, i)
        shutil.rmtree(folder)
        k += every
    figure(5, f"opening a bundle: killed, then EIO while opening it again: {trials} pairs, opened whole afterwards")
    assert trials > 5


def pairs_of_opening(first, folder, every: int):
    """After the first fault every second one; where the session stands already there is nothing to open."""
    i, is_met = 1, not (first / "back").exists()
    while is_met:
        shutil.copytree(first, folder)
        is_met = opened_bundle_under(folder, i, "EIO")
        yield folder, i
        shutil.rmtree(folder)
        i += every
