"""Every writer of the program, set up for the fault sweep, with what must hold afterwards."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, Final

import msgspec

from tests.data.heat_logs import log_of, nothing
from tests.data.made_up import heat_test
from tests.fakes.sweep import Say, Trial, Writer
from valvebench import compose
from valvebench.archive import new_folder, saver
from valvebench.archive.session_folder import JOURNAL_NAME, add_blob, read_blob, read_session
from valvebench.archive.verify import verify
from valvebench.bench.desk import Desk
from valvebench.model.entry import Note, Reading, sha256_of
from valvebench.model.flex import FlexFound, FlexTest
from valvebench.model.heat import HeatTest

OLD, NEW, AGAIN = b"old " * 50, b"new " * 60, b"again " * 70
VARIANT: Final = (
    b'{"format": 1, "key": "tern-test", "title": "Quillon Tern, invented", "pins": [{"name": "1"}, {"name": "2"}],'
    b' "devices": [{"name": "Heron", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 5, "high_ohm": 6}]}'
)
PICTURE: Final = b"\x89PNG\r\n\x1a\n" + bytes(range(256))
LOG: Final = log_of(ohm=nothing)
FLEX_LOG: Final = FlexTest(
    from_node="3",
    to_node="11",
    sha256=sha256_of(LOG),
    file_name="flex.csv",
    size_bytes=len(LOG),
    found=FlexFound(n=40, middle_ohm=5.25, meter="0.5%+3x0.01", is_enough=True),
)
RUN: Final = msgspec.structs.replace(heat_test("Heron"), sha256=sha256_of(LOG), size_bytes=len(LOG))
READING: Final = Reading(from_node="1", to_node="2", ohm=5.4, celsius=23.0)
Save = Callable[..., None]


def temporaries(folder: Path) -> list[str]:
    """Files a saver left behind."""
    return [str(path.relative_to(folder)) for path in folder.rglob(saver.TEMPORARY_PREFIX + "*")]


def file_writer(name: str, *, old: bytes | None, save: Save | None = None, replace: bool = True) -> Writer:
    """The one saver (or a broken one) on a file that is there or not."""

    def write(path: Path, raw: bytes) -> None:
        # looked up late: a test may have put a broken one in its place
        (save or saver.save)(path, raw, replace=replace)

    def act(state: _Tried, say: Say) -> None:
        write(state.path, NEW)
        state.is_done = True
        say("kept new")

    def again(state: _Tried, say: Say) -> None:
        if not state.is_done and (replace or not state.path.exists()):
            write(state.path, AGAIN)
            say("kept again")

    def prepare(folder: Path) -> None:
        if old is not None:
            (folder / "file").write_bytes(old)

    return Writer(
        name, prepare, lambda folder: _Tried(folder / "file"), act, again, lambda trial: _check_file(trial, old)
    )


class _Tried:
    """A file, and whether it was said to be saved."""

    def __init__(self, path: Path) -> None:
        self.path, self.is_done = path, False


def _check_file(trial: Trial, old: bytes | None) -> list[str]:
    path = trial.folder / "file"
    found = path.read_bytes() if path.exists() else None
    wrong = []
    if found not in (old, NEW, AGAIN):
        wrong.append("torn file")
    last = {"new": NEW, "again": AGAIN}[trial.kept[-1]] if trial.kept else None
    if last is not None and found != last:
        wrong.append("said saved, is not")
    if not trial.kept and not trial.died and found != old and not any("does not confirm" in r for r in trial.refusals):
        wrong.append("said not saved, is there")
    if trial.is_passing and temporaries(trial.folder):
        wrong.append("temporary file left")
    return wrong


FOLDER_FILES: Final = {"face.png": NEW, "plot.png": AGAIN}
SaveFolder = Callable[..., Path | None]


def folder_writer(name: str, *, save_folder: SaveFolder | None = None) -> Writer:
    """What makes a folder of files (or a broken one), as for pictures to hand on."""

    def act(root: Path, say: Say) -> None:
        files = [(file_name, partial(bytes, raw)) for file_name, raw in FOLDER_FILES.items()]
        made = (save_folder or new_folder.save_folder)(root, "pictures", files, step=lambda _: True)
        if made is not None:
            say(f"kept {made.name}")

    return Writer(name, lambda _: None, lambda folder: folder, act, act, _check_folders)


def _check_folders(trial: Trial) -> list[str]:
    """What was said to stand is whole; after one fault nothing else stands, whatever happens no file is torn."""
    wrong = ["temporary file left"] if trial.is_passing and temporaries(trial.folder) else []
    found = {path.name: path for path in trial.folder.iterdir()}
    wrong += [f"said made, is not whole: {name}" for name in trial.kept if not _is_whole(found.get(name))]
    if trial.is_passing:
        wrong += [f"said not made, is there: {name}" for name in found if name not in trial.kept]
    files = [path for folder in found.values() for path in folder.iterdir()]
    readable = [path for path in files if not path.name.startswith(saver.TEMPORARY_PREFIX)]
    return wrong + ["torn file" for path in readable if path.read_bytes() != FOLDER_FILES[path.name]]


def _is_whole(folder: Path | None) -> bool:
    return folder is not None and {path.name: path.read_bytes() for path in folder.iterdir()} == FOLDER_FILES


def new_job(folder: Path) -> Desk:
    """A session with a frozen variant and three entries."""
    desk = compose.create_job(folder, {"job": "J1"}, variant_raw=VARIANT, by="Wren")
    desk.record(READING)
    desk.record(Note(text="first"))
    return desk


def _prepare(folder: Path) -> None:
    new_job(folder / "job").release()


def hashes_of(folder: Path) -> list[str]:
    """Hash of every line in a journal."""
    return list(read_session(folder).line_hashes)


def _keep_note(desk: Desk, say: Say) -> None:
    say(f"kept {desk.record(Note(text='again')).sha256}")


def _session_writer(
    name: str,
    act: Callable[[Any, Say], None],
    *,
    prepare: Callable[[Path], None] = _prepare,
    begin: Callable[[Path], Any] = lambda folder: compose.open_desk(folder / "job"),
    again: Callable[[Any, Say], None] = _keep_note,
    check: Callable[[Trial], list[str]] | None = None,
) -> Writer:
    return Writer(name, prepare, begin, act, again, check or check_session)


def check_session(trial: Trial) -> list[str]:
    """Accepted entries are there, others are not, nothing is torn, and recording goes on."""
    folder = trial.folder / "job"
    before = hashes_of(trial.folder.parent / "template" / "job")
    wrong = ["temporary file left"] if trial.is_passing and temporaries(trial.folder) else []
    try:
        return wrong + _check_entries(trial, folder, before)
    except Exception as error:
        return [*wrong, f"cannot be opened again: {type(error).__name__}: {error}"]


def _check_entries(trial: Trial, folder: Path, before: list[str]) -> list[str]:
    found_before_opening = verify(folder)
    desk = compose.open_desk(folder)
    found = hashes_of(folder)
    wrong = [] if found_before_opening.ok and verify(folder).ok else ["does not verify"]
    if not (folder / JOURNAL_NAME).read_bytes().endswith(b"\n"):
        wrong.append("torn after opening")
    wrong += _compare(trial, found, [*before, *trial.kept])
    if not desk.session.is_closed:
        desk.record(Note(text="goes on"))
    desk.release()
    return wrong if verify(folder).ok else [*wrong, "does not verify after going on"]


def _compare(trial: Trial, found: list[str], promised: list[str]) -> list[str]:
    if [line for line in found if line in set(promised)] != promised:
        return ["an accepted entry is lost"]
    extra = len(found) - len(promised)
    if extra > 1:
        return ["more than one entry that nobody accepted"]
    was_said = any("may stand there" in refusal for refusal in trial.refusals)
    if extra and not trial.died and not was_said:
        return ["an entry that was refused is there"]
    return []


def _act_record(desk: Desk, say: Say) -> None:
    say(f"kept {desk.record(READING).sha256}")


def _act_close(desk: Desk, say: Say) -> None:
    say(f"kept {desk.close().sha256}")


def _close_again(desk: Desk, say: Say) -> None:
    if not desk.session.is_closed:
        say(f"kept {desk.close().sha256}")


def _act_photo(desk: Desk, say: Say) -> None:
    say(f"kept {desk.add_photo(PICTURE, file_name='p.png', of='plug').sha256}")


def _act_heat_run(desk: Desk, say: Say) -> None:
    say(f"kept {desk.record_with(LOG, RUN).sha256}")


def _act_flex_log(desk: Desk, say: Say) -> None:
    say(f"kept {desk.record_with(LOG, FLEX_LOG).sha256}")


def _act_flexed(desk: Desk, say: Say) -> None:
    """Reading after reading, each an entry that is there when it is said."""
    first = desk.record(FlexTest(from_node="3", to_node="11", ohm=(5.25,)))
    say(f"kept {first.sha256}")
    for ohm in (5.5, None):
        say(f"kept {desk.record(FlexTest(from_node='3', to_node='11', ohm=(ohm,), follows=first.n)).sha256}")


def _check_heat_run(trial: Trial) -> list[str]:
    """An entry that stands has its log, whole; a log without an entry does no harm."""
    wrong = check_session(trial)
    folder = trial.folder / "job"
    for entry in read_session(folder).entries:
        if (
            isinstance(entry.body, HeatTest | FlexTest)
            and entry.body.sha256
            and read_blob(folder, entry.body.sha256) != LOG
        ):
            wrong.append("an entry without its log")
    blobs = [path for path in (folder / "blobs").iterdir() if not path.name.startswith(saver.TEMPORARY_PREFIX)]
    return wrong + ["torn log" for path in blobs if path.read_bytes() not in (VARIANT, LOG)]


def _act_command(folder: Path, say: Say) -> None:
    """What `valvebench record` does: open, record, release."""
    desk = compose.open_desk(folder / "job")
    try:
        say(f"kept {desk.record(READING).sha256}")
    finally:
        desk.release()


def _prepare_torn(folder: Path) -> None:
    _prepare(folder)
    with (folder / "job" / JOURNAL_NAME).open("ab") as journal:
        journal.write(TORN)


TORN: Final = b'{"n":4,"at":"2026-01-0'


def _check_torn(trial: Trial) -> list[str]:
    folder = trial.folder / "job"
    wrong = check_session(trial)
    kept_aside = [path.read_bytes() for path in folder.glob("torn-*.bin")]
    return wrong if kept_aside == [TORN] else [*wrong, "what a crash left is not kept aside"]


def _act_create(folder: Path, say: Say) -> None:
    desk = compose.create_job(folder / "shop" / "job", {"job": "J1"}, variant_raw=VARIANT, by="Wren")
    say(f"kept {desk.session.entries[0].sha256}")
    desk.release()


def _create_again(folder: Path, say: Say) -> None:
    if not (folder / "shop" / "job" / JOURNAL_NAME).exists():
        _act_create(folder, say)


def _check_created(trial: Trial) -> list[str]:
    folder = trial.folder / "shop" / "job"
    wrong = ["temporary file left"] if trial.is_passing and temporaries(trial.folder) else []
    if not (folder / JOURNAL_NAME).exists():
        return [*wrong, "said made, is not"] if trial.kept else wrong
    desk = compose.open_desk(folder)
    desk.record(Note(text="goes on"))
    desk.release()
    found = verify(folder)
    if not found.ok:
        wrong.append("does not verify")
    return wrong if set(trial.kept) <= set(hashes_of(folder)) else [*wrong, "another session than was said"]


def _act_blob(folder: Path, say: Say) -> None:
    say(f"kept {add_blob(folder / 'job', PICTURE)}")


def _check_blob(trial: Trial) -> list[str]:
    blobs = trial.folder / "job" / "blobs"
    wrong = ["temporary file left"] if trial.is_passing and temporaries(trial.folder) else []
    wrong += [f"said kept, is not: {sha256}" for sha256 in trial.kept if not (blobs / sha256).is_file()]
    readable = [path for path in blobs.iterdir() if not path.name.startswith(saver.TEMPORARY_PREFIX)]
    return wrong + ["torn blob" for path in readable if path.read_bytes() not in (VARIANT, PICTURE)]


def _act_workbook(folder: Path, say: Say) -> None:
    compose.write_workbook(folder / "job", folder / "file.xlsx")
    say("kept workbook")


def _check_workbook(trial: Trial) -> list[str]:
    import zipfile

    path = trial.folder / "file.xlsx"
    wrong = ["temporary file left"] if trial.is_passing and temporaries(trial.folder) else []
    if path.exists() and (not zipfile.is_zipfile(path) or zipfile.ZipFile(path).testzip() is not None):
        wrong.append("torn workbook")
    return [*wrong, "said written, is not"] if trial.kept and not path.exists() else wrong


FILE_WRITERS: Final = (
    file_writer("save, new file", old=None),
    file_writer("save, over an old file", old=OLD),
    file_writer("save, never over an old file", old=None, replace=False),
    folder_writer("save a folder of files"),
)
SESSION_WRITERS: Final = (
    _session_writer(
        "create a job",
        _act_create,
        prepare=lambda _: None,
        begin=lambda folder: folder,
        again=_create_again,
        check=_check_created,
    ),
    _session_writer("append", _act_record),
    _session_writer("close", _act_close, again=_close_again),
    _session_writer("photo", _act_photo),
    _session_writer("heat run: log, then entry", _act_heat_run, check=_check_heat_run),
    _session_writer("flex test: log, then entry", _act_flex_log, check=_check_heat_run),
    _session_writer("flex test: reading after reading", _act_flexed),
    _session_writer("command: open, record, release", _act_command, begin=lambda f: f, again=_act_command),
    _session_writer(
        "set a torn line aside",
        _act_command,
        prepare=_prepare_torn,
        begin=lambda f: f,
        again=_act_command,
        check=_check_torn,
    ),
    _session_writer("keep a blob", _act_blob, begin=lambda f: f, again=_act_blob, check=_check_blob),
)
WORKBOOK: Final = _session_writer(
    "workbook", _act_workbook, begin=lambda f: f, again=_act_workbook, check=_check_workbook
)
