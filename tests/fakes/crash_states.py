"""What a power cut may leave of recorded calls: every state that a disk may show afterwards.

Bytes last only once their file is synced, a name only once its folder is; of everything else any
part may be there, in any combination, a write also in half or as noughts.  The model is harsher
than the common file systems.  After: Pillai and others, ALICE, OSDI 2014 (the idea, own code).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from tests.fakes.faulty_os import Step

Files = dict[str, bytes]
"""Path -> content of the files that a crash leaves."""


class State(NamedTuple):
    """Files and folders after a power cut, and how many calls had been made."""

    after: int
    files: Files
    folders: frozenset[str]


class _Change(NamedTuple):
    """One thing that may or may not have reached the disk: of a file's bytes, or of a folder's names."""

    file: int
    folder: str
    step: Step


class Disk:
    """What certainly is on the disk, and what is on its way."""

    def __init__(self, start: Path) -> None:
        inside = sorted(start.rglob("*"))
        self.folders = {str(start), *(str(path) for path in inside if path.is_dir())}
        self.names = {str(path): number for number, path in enumerate(inside) if path.is_file()}
        self.bytes = {number: Path(path).read_bytes() for path, number in self.names.items()}
        self.pending: list[_Change] = []
        self._now = dict(self.names)

    def take(self, step: Step) -> None:
        """Count one call in."""
        if step.call in ("sync", "sync-folder"):
            self._settle(step)
        else:
            self.pending.append(self._change(step))

    def _change(self, step: Step) -> _Change:
        folder = str(Path(step.path).parent)
        if step.call == "create":
            self._now[step.path] = len(self._now) + len(self.pending) + 10_000
            self.bytes[self._now[step.path]] = b""
            return _Change(self._now[step.path], folder, step)
        if step.call == "rename" and step.path not in self._now:  # a folder with all that is in it
            self._now = {_moved(path, step): number for path, number in self._now.items()}
            return _Change(-1, str(Path(step.other).parent), step)
        if step.call == "rename":
            self._now[step.other] = self._now.pop(step.path)
            return _Change(self._now[step.other], str(Path(step.other).parent), step)
        if step.call == "unlink":
            return _Change(self._now.pop(step.path), folder, step)
        if step.call == "mkdir":
            return _Change(-1, folder, step)
        return _Change(self._now[step.path], "", step)

    def _settle(self, step: Step) -> None:
        if step.call == "sync-folder":
            settled = [change for change in self.pending if change.folder == step.path]
        else:
            number = self._now[step.path]
            settled = [change for change in self.pending if not change.folder and change.file == number]
        self.names, self.folders, self.bytes = _applied(self, settled)
        self.pending = [change for change in self.pending if change not in settled]

    def crash_states(self, after: int) -> Iterator[State]:
        """All states: every choice of what was on its way."""
        ways = [_ways(change) for change in self.pending]
        for choice in itertools.product(*ways):
            names, folders, content = _applied(self, [change for change in choice if change is not None])
            files = {path: content[number] for path, number in names.items() if _is_reachable(path, folders)}
            yield State(after, files, frozenset(folder for folder in folders if _is_reachable(folder, folders)))


def _is_reachable(path: str, folders: set[str]) -> bool:
    """Whether every folder above is there, as far down as the recording began."""
    top = min(folders, key=len)
    return all(str(folder) in folders for folder in Path(path).parents if len(str(folder)) >= len(top))


def _ways(change: _Change) -> list[_Change | None]:
    if change.step.call != "write":
        return [None, change]
    raw, step = change.step.raw, change.step
    parts = (raw, raw[: len(raw) // 2], raw[:-1], bytes(len(raw)))
    return [None, *(change._replace(step=step._replace(raw=part)) for part in dict.fromkeys(parts))]


def _applied(disk: Disk, changes: list[_Change]) -> tuple[dict[str, int], set[str], dict[int, bytes]]:
    names, folders, content = dict(disk.names), set(disk.folders), dict(disk.bytes)
    for change in changes:
        step = change.step
        if step.call == "create":
            names[step.path] = change.file
        elif step.call == "rename" and change.file < 0:
            names = {_moved(path, step): number for path, number in names.items()}
            folders = {_moved(path, step) for path in folders}
        elif step.call == "rename":
            names.pop(step.path, None)
            names[step.other] = change.file
        elif step.call == "unlink":
            names.pop(step.path, None)
        elif step.call == "mkdir":
            folders.add(step.path)
        else:
            content[change.file] = _written(content[change.file], step)
    return names, folders, content


def _moved(path: str, step: Step) -> str:
    """Where a path lies once a folder above it has another name."""
    if path != step.path and not path.startswith(step.path + "/"):
        return path
    return step.other + path.removeprefix(step.path)


def _written(old: bytes, step: Step) -> bytes:
    if step.call == "truncate":
        return old[: step.offset].ljust(step.offset, b"\0")
    before = old[: step.offset].ljust(step.offset, b"\0")
    return before + step.raw + old[step.offset + len(step.raw) :]


def crash_states(start: Path, steps: list[Step]) -> list[State]:
    """The states after no call, one call, ... all calls; those after all of them come last."""
    disk = Disk(start)
    states = list(disk.crash_states(0))
    for count, step in enumerate(steps, 1):
        disk.take(step)
        states += disk.crash_states(count)
    return states


def lay_out(state: State, *, start: Path, target: Path) -> None:
    """Put a state on a real disk, under another folder."""
    for folder in sorted(state.folders):
        (target / Path(folder).relative_to(start)).mkdir(parents=True, exist_ok=True)
    for path, raw in state.files.items():
        (target / Path(path).relative_to(start)).write_bytes(raw)
