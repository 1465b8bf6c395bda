"""A power cut at any moment: every state the disk may show is the old one or the new one."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.fakes.bad_savers import FOUND_BY_ORDER
from tests.fakes.bundles import closed_job
from tests.fakes.crash_states import State, crash_states, lay_out
from tests.fakes.faulty_os import RecordingOs, Step
from tests.fakes.writers import LOG, NEW, OLD, PICTURE, READING, RUN, TORN, VARIANT, new_job
from valvebench import compose
from valvebench.archive import saver, staged
from valvebench.archive.bundle import bundle_of
from valvebench.archive.kept_file import KeptFile
from valvebench.archive.session_folder import JOURNAL_NAME, SessionFolder, add_blob, read_session
from valvebench.archive.verify import verify
from valvebench.model.entry import Note, sha256_of


class Counted(NamedTuple):
    states: int
    neither: int
    absent: int


def told(what: str, found: Counted) -> str:
    states = f"{found.states} states of the disk, {found.neither} neither old nor new"
    return f"{what}: {states}, {found.absent} said and absent"


def recorded(start: Path, act: Callable[[], object]) -> tuple[list[State], int]:
    """Crash states of what `act` does under a folder, and the number of its calls."""
    copy = start.parent / "copy"
    shutil.copytree(start, copy)
    with RecordingOs() as recording:
        act()
    steps = [moved(step, start, copy) for step in recording.steps]
    return crash_states(copy, steps), len(steps)


def moved(step: Step, start: Path, copy: Path) -> Step:
    there = [str(copy) + path.removeprefix(str(start)) if path else "" for path in (step.path, step.other)]
    return step._replace(path=there[0], other=there[1])


def counted(states: list[State], calls: int, kind: Callable[[State], str]) -> Counted:
    kinds = [(state.after, kind(state)) for state in states]
    neither = sum(found not in ("old", "new") for _, found in kinds)
    absent = sum(found != "new" for after, found in kinds if after == calls)
    return Counted(len(states), neither, absent)


@pytest.fixture
def start(ram_path):
    folder = (ram_path / "start").resolve()
    folder.mkdir()
    return folder


def file_kind(state: State) -> str:
    found = next((raw for path, raw in state.files.items() if path.endswith("/file")), None)
    return {OLD: "old", NEW: "new"}.get(found, "torn") if found is not None else "old"


def order_of_save(save, start: Path, *, old: bytes | None, **given) -> Counted:
    if old is not None:
        (start / "file").write_bytes(old)
    states, calls = recorded(start, lambda: save(start / "file", NEW, **given))
    return counted(states, calls, file_kind)


@pytest.mark.parametrize(("old", "replace"), [(None, True), (OLD, True), (None, False)], ids=["new", "over", "first"])
def test_a_saved_file_survives_a_power_cut(start, old, replace, figure):
    found = order_of_save(saver.save, start, old=old, replace=replace)
    figure(3, told("save", found))
    assert found.states >= 20
    assert (found.neither, found.absent) == (0, 0)


@pytest.mark.parametrize("fault", FOUND_BY_ORDER)
def test_a_planted_fault_of_order_is_found(start, fault):
    found = order_of_save(FOUND_BY_ORDER[fault], start, old=OLD)
    print(f"\n{fault}: {found}")
    assert found.neither or found.absent


def test_the_calls_of_a_save_come_in_this_order(start):
    with RecordingOs() as recording:
        saver.save(start / "file", NEW)
    assert [step.call for step in recording.steps] == ["create", "write", "sync", "rename", "sync-folder"]
    created, _, synced, renamed, folder = recording.steps
    assert created.path == synced.path == renamed.path
    assert folder.path == str(start)


class Reopened:
    """Lays each state out, opens the session in it and says which entries are there."""

    def __init__(self, ram_path: Path, *, before: int) -> None:
        self.place, self.before = ram_path / "state", before
        self.entries: list[int] = []

    def __call__(self, state: State) -> str:
        lay_out(state, start=self.place.parent / "copy", target=self.place)
        try:
            return self._kind(self.place / "job")
        except Exception as error:
            return f"{type(error).__name__}: {error}"
        finally:
            shutil.rmtree(self.place)

    def _kind(self, folder: Path) -> str:
        if not (folder / JOURNAL_NAME).exists():
            return "old" if self.before == 0 else "lost"
        desk = compose.open_desk(folder)
        count = len(desk.session.entries)
        if not desk.session.is_closed:
            desk.record(Note(text="goes on"))
        desk.release()
        whole = verify(folder).ok
        return {self.before: "old", self.before + 1: "new"}.get(count, "lost") if whole else "does not verify"


def session_order(ram_path, start, act, *, before: int = 3) -> Counted:
    if before:
        new_job(start / "job").release()
    states, calls = recorded(start, lambda: act(start / "job"))
    return counted(states, calls, Reopened(ram_path, before=before))


def record(folder: Path) -> None:
    desk = compose.open_desk(folder)
    desk.record(READING)
    desk.release()


def close(folder: Path) -> None:
    desk = compose.open_desk(folder)
    desk.close()
    desk.release()


def photo(folder: Path) -> None:
    desk = compose.open_desk(folder)
    desk.add_photo(PICTURE, file_name="p.png", of="plug")
    desk.release()


def heat_run(folder: Path) -> None:
    desk = compose.open_desk(folder)
    desk.record_with(LOG, RUN)
    desk.release()


@pytest.mark.parametrize("act", [record, close, photo, heat_run])
def test_an_accepted_entry_survives_a_power_cut(ram_path, start, act, figure):
    found = session_order(ram_path, start, act)
    figure(3, told(act.__name__, found))
    assert (found.neither, found.absent) == (0, 0)


def test_a_new_job_survives_a_power_cut(ram_path, start, figure):
    def create(folder: Path) -> None:
        compose.create_job(folder, {"job": "J1"}, variant_raw=VARIANT, by="Wren").release()

    found = session_order(ram_path, start, create, before=0)
    figure(3, told("create", found))
    assert (found.neither, found.absent) == (0, 0)


def test_a_new_job_in_new_folders_survives_a_power_cut(start):
    def create() -> None:
        compose.create_job(start / "shop" / "year" / "job", {"job": "J1"}, by="Wren").release()

    states, calls = recorded(start, create)
    found = counted(states, calls, lambda s: "new" if any(p.endswith(JOURNAL_NAME) for p in s.files) else "old")
    assert found.absent == 0


def test_a_bundle_survives_a_power_cut(start, figure):
    closed_job(start / "job")
    (start / "file.zip").write_bytes(OLD)
    whole = bundle_of(start / "job")[0]

    def kind(state: State) -> str:
        raw = next(raw for path, raw in state.files.items() if path.endswith("/file.zip"))
        return {OLD: "old", whole: "new"}.get(raw, "torn")

    states, calls = recorded(start, lambda: compose.write_bundle(start / "job", start / "file.zip"))
    found = counted(states, calls, kind)
    figure(3, told("bundle", found))
    assert found.states >= 20
    assert (found.neither, found.absent) == (0, 0)


def test_settings_survive_a_power_cut(start, figure):
    (start / "file").write_bytes(OLD)
    states, calls = recorded(start, lambda: KeptFile(start / "file").write(NEW))
    found = counted(states, calls, file_kind)
    figure(3, told("settings", found))
    assert (found.neither, found.absent) == (0, 0)


def _files_below(job: Path) -> list[Path]:
    return [path for path in job.rglob("*") if path.is_file() and path.name != "lock"]


def opened_order(start: Path, *, fill: Callable[[Path], object]) -> Counted:
    """Of a session opened from a bundle: there is none, or the whole of it."""
    fill(start / "job")
    compose.write_bundle(start / "job", start / "sent.zip")
    whole = {str(path.relative_to(start / "job")): path.read_bytes() for path in _files_below(start / "job")}
    back = str(start.parent / "copy" / "back")

    def kind(state: State) -> str:
        found = {path.removeprefix(f"{back}/"): raw for path, raw in state.files.items() if path.startswith(f"{back}/")}
        if back not in state.folders:
            return "old"
        return "new" if {name: raw for name, raw in found.items() if name != "lock"} == whole else "torn"

    states, calls = recorded(start, lambda: compose.open_bundle(start / "sent.zip", start / "back"))
    return counted(states, calls, kind)


def test_a_bundle_opened_survives_a_power_cut(start, figure):
    found = opened_order(start, fill=closed_job)
    figure(3, told("open a bundle", found))
    assert found.states >= 20
    assert (found.neither, found.absent) == (0, 0)


def _write_unsynced(path: Path, raw: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT)
    saver.write_all(descriptor, raw)
    os.close(descriptor)


OPENING_FAULTS = {
    "its files are not synced": ("write_new", _write_unsynced),
    "its folders are not synced": ("sync_folder", lambda _: None),
}


@pytest.mark.parametrize("fault", OPENING_FAULTS)
def test_a_planted_fault_of_opening_is_found(start, monkeypatch, fault):
    name, broken = OPENING_FAULTS[fault]
    monkeypatch.setattr(staged, name, broken)
    # with fewer files, because every one more that is not synced multiplies the states
    found = opened_order(start, fill=lambda job: compose.create_job(job, {"job": "J1"}, by="Wren").release())
    print(f"\n{fault}: {found}")
    assert found.neither or found.absent


def test_a_torn_line_is_set_aside_and_not_lost(ram_path, start, figure):
    job = start / "job"
    new_job(job).release()
    with (job / JOURNAL_NAME).open("ab") as journal:
        journal.write(TORN)

    def kind(state: State) -> str:
        aside = any(path.rpartition("/")[2].startswith("torn-") and raw == TORN for path, raw in state.files.items())
        at_the_end = any(path.endswith(JOURNAL_NAME) and raw.endswith(TORN) for path, raw in state.files.items())
        if not (aside or at_the_end):
            return "the torn bytes are lost"
        return Reopened(ram_path, before=2)(state)

    states, calls = recorded(start, lambda: compose.open_desk(job).release())
    found = counted(states, calls, kind)
    figure(3, told("set aside", found))
    assert (found.neither, found.absent) == (0, 0)


def test_what_a_dead_run_left_unsynced_is_synced_before_it_counts(start):
    """A line that was written but never synced is shown after opening: then it must last."""
    job = start / "job"
    new_job(job).release()
    whole = (job / JOURNAL_NAME).read_bytes()
    head, last = whole.rstrip(b"\n").rsplit(b"\n", 1)
    (job / JOURNAL_NAME).write_bytes(head + b"\n")
    path = str(start.parent / "copy" / "job" / JOURNAL_NAME)

    def act() -> None:
        (job / JOURNAL_NAME).write_bytes(whole)  # the dead run; no call of `os` that is watched
        assert len(compose.open_desk(job).session.entries) == 3

    copy = start.parent / "copy"
    shutil.copytree(start, copy)
    with RecordingOs() as recording:
        act()
    dead = Step("write", path, raw=last + b"\n", offset=len(head) + 1)
    states = crash_states(copy, [dead, *(moved(step, start, copy) for step in recording.steps)])
    final = [state for state in states if state.after == 1 + len(recording.steps)]
    assert final
    assert all(state.files[path] == whole for state in final)


def test_a_blob_left_by_a_dead_run_is_made_sure_of(start):
    job = start / "job"
    new_job(job).release()
    (job / "blobs" / sha256_of(PICTURE)).write_bytes(PICTURE)
    with RecordingOs() as recording:
        add_blob(job, PICTURE)
    assert Step("sync-folder", str(job / "blobs")) in recording.steps


def test_a_journal_without_sync_is_found(ram_path, start, monkeypatch):
    monkeypatch.setattr(SessionFolder, "append", lambda store, line: saver.write_all(store._descriptor, line + b"\n"))
    found = session_order(ram_path, start, record)
    assert found.absent


def test_reading_a_session_writes_nothing(start):
    new_job(start / "job").release()
    with RecordingOs() as recording:
        read_session(start / "job")
        verify(start / "job")
        compose.view_session(start / "job")
    assert recording.steps == []
