"""The writers of bundles and settings, set up for the fault sweeps, with what must hold afterwards."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any, Final

from tests.fakes.sweep import Say, Trial, Writer
from tests.fakes.writers import OLD, file_writer, new_job, temporaries
from valvebench import compose
from valvebench.archive.bundle import bundle_of
from valvebench.archive.kept_file import KeptFile
from valvebench.archive.lock import LOCK_NAME
from valvebench.archive.verify import verify
from valvebench.model.errors import BenchError


def _close_small(folder: Path) -> None:
    """A closed session with one file beside its journal: every file more only repeats the same calls."""
    desk = new_job(folder)
    desk.close()
    desk.release()


def _prepare_job(folder: Path) -> None:
    _close_small(folder / "job")
    (folder / "file.zip").write_bytes(OLD)


def _act_bundle(folder: Path, say: Say) -> None:
    compose.write_bundle(folder / "job", folder / "file.zip")
    say("kept bundle")


def _check_bundle(trial: Trial) -> list[str]:
    """The old file or the whole new one; what was said to be written is there."""
    raw = (trial.folder / "file.zip").read_bytes()
    wrong = ["temporary file left"] if trial.is_passing and temporaries(trial.folder) else []
    if raw == OLD:
        return [*wrong, "said written, is not"] if trial.kept else wrong
    return wrong if raw == _bundle(trial.folder.parent / "template" / "job") else [*wrong, "torn bundle"]


@cache
def _bundle(job: Path) -> bytes:
    return bundle_of(job)[0]


def _prepare_sent(folder: Path) -> None:
    _close_small(folder / "job")
    compose.write_bundle(folder / "job", folder / "sent.zip")


def _act_open(folder: Path, say: Say) -> None:
    compose.open_bundle(folder / "sent.zip", folder / "back")
    say("kept session")


def _not_again(folder: Path, say: Say) -> None:
    """Whoever opens once more takes up what was left: here nobody does, so that it is seen."""


def _check_opened(trial: Trial) -> list[str]:
    """All of it or nothing; after a run that died the next one takes up what it left."""
    back = trial.folder / "back"
    wrong = ["something left beside it"] if trial.is_passing and temporaries(trial.folder) else []
    if back.exists():
        is_said = trial.kept or trial.died or any("does not confirm" in words for words in trial.refusals)
        wrong += [] if is_said else ["said not opened, is there"]
        return wrong if _is_whole(back, trial.folder / "job") else [*wrong, "a folder that is not whole"]
    if trial.kept:
        wrong.append("said opened, is not")
    try:
        compose.open_bundle(trial.folder / "sent.zip", back)
    except BenchError as error:
        return [*wrong, f"cannot be opened afterwards: {error}"]
    left = temporaries(trial.folder)
    return [*wrong, f"left for ever: {left}"] if left or not _is_whole(back, trial.folder / "job") else wrong


def _is_whole(back: Path, job: Path) -> bool:
    try:
        return verify(back).ok and _files(back) == _files(job)
    except BenchError:
        return False


def _files(folder: Path) -> dict[str, bytes]:
    inside = [path for path in folder.rglob("*") if path.is_file() and path.name != LOCK_NAME]
    return {str(path.relative_to(folder)): path.read_bytes() for path in inside}


def _save_settings(path: Path, raw: bytes, **_: Any) -> None:
    KeptFile(path).write(raw)


BUNDLE: Final = Writer("bundle", _prepare_job, lambda folder: folder, _act_bundle, _act_bundle, _check_bundle)
OPENED: Final = Writer("open a bundle", _prepare_sent, lambda folder: folder, _act_open, _not_again, _check_opened)
SETTINGS: Final = file_writer("settings", old=OLD, save=_save_settings)
