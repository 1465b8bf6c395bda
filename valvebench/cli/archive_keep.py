"""Words of `valvebench archive` that keep, copy and check: add, export, backup, restore, rebuild, verify."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import Any

from valvebench.bench.archived import Added, Change, Checked, Counted
from valvebench.cli.archive import Call, archive_parser, folder_of, progress
from valvebench.cli.options import BAD_INPUT, DONE, NOT_VERIFIED, answer
from valvebench.model.errors import BenchError, EvidenceBroken

_CHANGE_TEXT = {
    Change.ADDED: "kept",
    Change.TAIL: "kept: what came after closing",
    Change.NOTHING: "was kept already, nothing changed",
    Change.OPEN: "is open: listed, and kept once it is closed",
}


def run_add(call: Call) -> int:
    """Keep sessions; one that is refused does not keep the others out."""
    parser = archive_parser("add", "Keep closed sessions; an open one is listed.")
    parser.add_argument("session", type=Path, nargs="+", help="session folders")
    parser.add_argument("--no-anchor", action="store_true", help="write nothing into the session itself")
    arguments = parser.read(call.given)
    archives = call.archives()
    found: list[tuple[Path, Added]] = []
    refused: list[tuple[Path, BenchError]] = []
    with closing(archives.open(folder_of(arguments.at))) as archive:
        for folder in arguments.session:
            try:
                added = archive.add(folder) if arguments.no_anchor else archives.keep(archive, folder)
                found.append((folder, added))
            except BenchError as error:
                refused.append((folder, error))
    data = {
        "added": [_added(folder, one) for folder, one in found],
        "problems": [{"path": str(folder), "what": str(error)} for folder, error in refused],
    }
    lines = [line for _, one in found for line in (f"job {one.job} {_CHANGE_TEXT[one.change]}", *_indented(one.notes))]
    answer(arguments.json, data, "\n".join([*lines, *(f"refused: {error}" for _, error in refused)]))
    if any(isinstance(error, EvidenceBroken) for _, error in refused):
        return NOT_VERIFIED
    return BAD_INPUT if refused else DONE


def _added(folder: Path, one: Added) -> dict[str, Any]:
    return {"path": str(folder), "id": one.id, "job": one.job, "change": one.change, "notes": one.notes}


def _indented(notes: tuple[str, ...]) -> list[str]:
    return [f"  {note}" for note in notes]


def run_export(call: Call) -> int:
    """Tables as CSV files."""
    parser = archive_parser("export", "Write sessions.csv and readings.csv into a new folder.")
    parser.add_argument("folder", type=Path, help="the new folder")
    arguments = parser.read(call.given)
    with closing(call.opened(arguments.at)) as archive:
        counted = archive.export(arguments.folder, step=progress("export"))
    data = {"folder": str(arguments.folder), **_counted(counted)}
    answer(arguments.json, data, f"{counted.sessions} sessions written to {arguments.folder}")
    return DONE


def _counted(counted: Counted) -> dict[str, Any]:
    return {"sessions": counted.sessions, "files": counted.files, "notes": counted.notes}


def run_backup(call: Call) -> int:
    """The whole archive in one file."""
    parser = archive_parser("backup", "Write the whole archive, files included, into one file.")
    parser.add_argument("file", type=Path, help="the backup; an older one is replaced once the new one is whole")
    arguments = parser.read(call.given)
    with closing(call.opened(arguments.at)) as archive:
        counted = archive.backup(arguments.file, step=progress("pages"))
    lines = [f"backup of {counted.sessions} sessions written to {arguments.file}", *_indented(counted.notes)]
    answer(arguments.json, {"file": str(arguments.file), **_counted(counted)}, "\n".join(lines))
    return NOT_VERIFIED if counted.notes else DONE


def run_restore(call: Call) -> int:
    """An archive from its backup, then checked as a whole."""
    parser = archive_parser("restore", "Put an archive back from its backup, where there is none, and check it.")
    parser.add_argument("file", type=Path, help="the backup")
    arguments = parser.read(call.given)
    archives = call.archives()
    folder = folder_of(arguments.at) or archives.default
    counted = archives.restore(arguments.file, folder, step=progress("pages"))
    with closing(archives.open(folder, may_make=False)) as archive:
        checked = archive.verify(step=progress("checked"))
    data = {"folder": str(folder), **_counted(counted), **_checked(checked)}
    head = f"{counted.sessions} sessions restored to {folder}"
    answer(arguments.json, data, "\n".join([head, *_indented(counted.notes), _checked_text(checked)]))
    return DONE if checked.ok and not counted.notes else NOT_VERIFIED


def run_rebuild(call: Call) -> int:
    """What is looked up, made anew from the journals."""
    parser = archive_parser("rebuild", "Make what is looked up anew from the journals; the evidence stays as it is.")
    arguments = parser.read(call.given)
    with closing(call.opened(arguments.at)) as archive:
        counted = archive.rebuild(step=progress("sessions"))
    lines = [f"{counted.sessions} sessions looked through, index made anew", *_indented(counted.notes)]
    answer(arguments.json, _counted(counted), "\n".join(lines))
    return NOT_VERIFIED if counted.notes else DONE


def run_verify(call: Call) -> int:
    """Every chain, head and file of the archive."""
    parser = archive_parser("verify", "Check every chain, head and file of the archive, and its index.")
    arguments = parser.read(call.given)
    with closing(call.opened(arguments.at)) as archive:
        checked = archive.verify(step=progress("sessions"))
    answer(arguments.json, _checked(checked), _checked_text(checked))
    return DONE if checked.ok else NOT_VERIFIED


def _checked(checked: Checked) -> dict[str, Any]:
    return {
        "ok": checked.ok,
        "sessions": checked.sessions,
        "files": checked.files,
        "problems": [one._asdict() for one in checked.problems],
        "notes": checked.notes,
    }


def _checked_text(checked: Checked) -> str:
    count = f"{checked.sessions} sessions, {checked.files} files"
    lines = [f"As it was written: {count}." if checked.ok else f"NOT as it was written: {count} looked at."]
    for one in checked.problems:
        where = f"job {one.job} ({one.id[:8]}): " if one.id is not None else ""
        lines.append(f"  {where}{one.what}")
    return "\n".join([*lines, *_indented(checked.notes)])
