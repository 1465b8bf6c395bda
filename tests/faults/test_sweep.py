"""Every file call of every writer fails, is short or is the last one: nothing torn, nothing lost, no false word."""

from __future__ import annotations

import contextlib
import importlib.util
import os

import pytest

from tests.fakes.bad_savers import FOUND_BY_SWEEP
from tests.fakes.bundle_writers import BUNDLE, OPENED, SETTINGS
from tests.fakes.faulty_os import MODES
from tests.fakes.sweep import sweep
from tests.fakes.writers import FILE_WRITERS, OLD, SESSION_WRITERS, WORKBOOK, file_writer, folder_writer, new_job
from valvebench import compose
from valvebench.archive import new_folder, session_folder
from valvebench.archive.session_folder import SessionFolder
from valvebench.archive.staged import Staged
from valvebench.bench.desk import Desk
from valvebench.model.errors import WorldFailed

BUNDLE_WRITERS = (BUNDLE, OPENED, SETTINGS)


@pytest.mark.parametrize("writer", [*FILE_WRITERS, *SESSION_WRITERS, *BUNDLE_WRITERS], ids=lambda writer: writer.name)
def test_no_fault_at_any_call_does_harm(writer, ram_path, figure):
    swept = sweep(writer, ram_path)
    told = f"{writer.name}: {swept.trials} trials in {len(MODES)} modes, {len(swept.violations)} violations"
    figure(2 if writer in BUNDLE_WRITERS else 1, told)
    assert not swept.violations, "\n".join(swept.violations)
    assert swept.trials >= len(MODES), "the sweep met no calls"


def test_no_fault_at_any_call_harms_a_workbook(ram_path, monkeypatch, figure):
    if importlib.util.find_spec("valvebench.report.workbook") is None:
        pytest.skip("the workbook is not there yet")
    from valvebench.report import workbook

    new_job(ram_path / "job").release()
    compose.write_workbook(ram_path / "job", ram_path / "once.xlsx")
    raw = (ram_path / "once.xlsx").read_bytes()
    # making the bytes touches no disk (the sweep over the whole met the same calls); once is enough
    monkeypatch.setattr(workbook, "workbook_bytes", lambda *_, **__: raw)
    (ram_path / "trials").mkdir()
    swept = sweep(WORKBOOK, ram_path / "trials")
    figure(2, f"workbook: {swept.trials} trials in {len(MODES)} modes, {len(swept.violations)} violations")
    assert not swept.violations, "\n".join(swept.violations)


@pytest.mark.parametrize("fault", FOUND_BY_SWEEP)
def test_a_planted_fault_of_a_saver_is_found(ram_path, fault):
    swept = sweep(file_writer(fault, old=OLD, save=FOUND_BY_SWEEP[fault]), ram_path)
    print(f"\n{fault}: {swept.violations[:2]}")
    assert swept.violations


def _write_in_place(path, raw, **_):
    descriptor = os.open(path, os.O_CREAT | os.O_WRONLY)
    try:
        os.write(descriptor, raw)
    finally:
        os.close(descriptor)


FOLDER_FAULTS = {
    "what was written stays": ("_take_away", lambda *_: None),
    "a file is written in place": ("save", _write_in_place),
}


@pytest.mark.parametrize("fault", FOLDER_FAULTS)
def test_a_planted_fault_of_a_folder_is_found(ram_path, monkeypatch, fault):
    monkeypatch.setattr(new_folder, *FOLDER_FAULTS[fault])
    swept = sweep(folder_writer(fault), ram_path)
    print(f"\n{fault}: {swept.violations[:2]}")
    assert swept.violations


def _accept_before_writing(desk, prepared):
    desk._ledger.take(prepared.entry)


def _write_once(descriptor, raw):
    os.write(descriptor, raw)


def _swallow(store, line):
    with contextlib.suppress(OSError):
        store.real_append(line)


def _take_back_nothing(store, descriptor, error):
    return WorldFailed("not saved")


def _sync_again(store, descriptor, error):
    os.fsync(descriptor)
    return WorldFailed("not saved")


JOURNAL_FAULTS = {
    "accepted without writing": (Desk, "write", _accept_before_writing),
    "a short write is ignored": (session_folder, "write_all", _write_once),
    "an error is swallowed": (SessionFolder, "append", _swallow),
    "a half line stays": (SessionFolder, "_taken_back", _take_back_nothing),
    "an unaccepted line stays": (SessionFolder, "_stopped", _take_back_nothing),
    "a sync is tried again": (SessionFolder, "_stopped", _sync_again),
}


@pytest.mark.parametrize("fault", JOURNAL_FAULTS)
def test_a_planted_fault_of_the_journal_is_found(ram_path, monkeypatch, fault):
    place, name, broken = JOURNAL_FAULTS[fault]
    append = next(writer for writer in SESSION_WRITERS if writer.name == "append")
    monkeypatch.setattr(SessionFolder, "real_append", SessionFolder.append, raising=False)

    def begin(folder):
        monkeypatch.setattr(place, name, broken)  # in the child only: the parent checks with the real one
        # Looking at the file's length before each write would cover the fault: one defence is tried at a time.
        monkeypatch.setattr(SessionFolder, "_check_untouched", lambda *_: None)
        return append.begin(folder)

    swept = sweep(append._replace(begin=begin), ram_path)
    print(f"\n{fault}: {swept.violations[:2]}")
    assert swept.violations


def _place_early(staged, name, raw):
    """Under its own name from the first file on."""
    if not staged.target.exists():
        staged.target.symlink_to(staged.folder)
    staged.real_write(name, raw)


def _place_unsure(staged, error):
    """What may not last is left where it is, and said not to be there."""


STAGED_FAULTS = {
    "what was written stays": ("_give_up", lambda staged: staged._release()),
    "named before it is whole": ("write", _place_early),
    "not taken back": ("_take_back", _place_unsure),
    "what a dead run left is in the way": ("_empty", lambda _: None),
}


@pytest.mark.parametrize("fault", STAGED_FAULTS)
def test_a_planted_fault_of_opening_a_bundle_is_found(ram_path, monkeypatch, fault):
    name, broken = STAGED_FAULTS[fault]
    monkeypatch.setattr(Staged, "real_write", Staged.write, raising=False)
    if name == "_empty":  # then also whoever opens next is the broken one
        monkeypatch.setattr(Staged, name, broken)

    def begin(folder):
        monkeypatch.setattr(Staged, name, broken)
        return folder

    modes = ("EIO", "die-after") if name in ("_empty", "write") else ("EIO",)
    swept = sweep(OPENED._replace(begin=begin), ram_path, modes)
    print(f"\n{fault}: {swept.violations[:2]}")
    assert swept.violations
