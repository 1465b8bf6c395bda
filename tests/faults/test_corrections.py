"""A correction keeps the original: each field of each kind changed; old and new are there, with who, when, why."""

from __future__ import annotations

import ast
import json
import types
import typing
from enum import Enum
from pathlib import Path

import msgspec
import pytest

from tests.fakes.writers import LOG, PICTURE, new_job
from tests.faults.test_naughty_text import NEEDED
from valvebench import compose
from valvebench.archive.verify import verify
from valvebench.model.entry import BODY_OF_KIND, DATA_KINDS, Photo, body_from, sha256_of
from valvebench.model.errors import BadInput

PACKAGE = Path(compose.__file__).parent
PLAIN = {
    **NEEDED,
    "connector": {"pins": 12, "rows": 2},
    "photo": msgspec.to_builtins(Photo(sha256=sha256_of(PICTURE), of="plug", file_name="p.png", size_bytes=264)),
}
WORDS = {
    "gauge": "1%+1x1",
    "meter": "1%+2x0.1",
    "volts_meter": "0.5%+2x0.001",
    "sha256": sha256_of(PICTURE),
    "to": "case",
    "port": "P9",
}
# Fields that go only with another way of reading than the plain one: changed on entries of that way.
WAYS = {
    "reading": (
        {"from": "1", "to": "2", "volts_x": 1.0, "volts_check": 2.0, "check_ohm": 5.0, "celsius": 23.0},
        {"from": "1", "to": "2", "repeats_ohm": [5.4, 5.5, 5.6], "celsius": 23.0},
        {"from": "1", "to": "2", "open": True, "range_ohm": 6e7, "celsius": 23.0},
        {"from": "1", "to": "2", "ohm": 5.4, "leads": "subtract", "lead_ohm": 0.2, "celsius": 23.0},
        {
            "from": "1",
            "to": "2",
            "ohm": 5.4,
            "check_ohm": 5.0,
            "check_read_ohm": 5.2,
            "zero_read_ohm": 0.2,
            "celsius": 23.0,
        },
    ),
    "meter-check": ({"check_ohm": 5.0, "read_ohm": 5.2, "leads": "subtract", "lead_ohm": 0.2},),
    "air": ({"port": "P1", "place": "case", "result": "pass"},),
    "solenoid": ({"device": "Heron", "click": True, "heard": 3, "tries": 5},),
    "switch": ({"device": "Reel", "state": "closed", "closed_ohm": 1.0},),
    "leak": ({**{name: value for name, value in PLAIN["leak"].items() if name != "port"}, "device": "Gull"},),
    "flex": ({"from": "1", "to": "2", "ohm": [5.2], "leads": "subtract", "lead_ohm": 0.2},),
}
TOGETHER = {
    "reading": {"open"},  # a value, or open on a range
    "photo": {"sha256"},  # another picture is another entry
    "flex": {"sha256", "file_name", "size_bytes"},  # those of a file, which comes with what was found in it
    "leak": {"sha256", "file_name", "size_bytes", "method"},
}
"""What changes only together with other fields, so that no correction of the one alone is allowed."""


def fields_of(kind: str) -> list[str]:
    return [field.encode_name for field in msgspec.structs.fields(BODY_OF_KIND[kind])]


def others(kind, now: object, name: str) -> list[object]:
    """Values of a field's type that differ from the present one; several, because the rules of a body refuse some."""
    found: list[object] = []
    for part in _parts(kind):
        found += _of_type(part, now, name)
    return [value for value in found if value != now]


def _parts(kind):
    if typing.get_origin(kind) is typing.Annotated:
        return _parts(typing.get_args(kind)[0])
    if typing.get_origin(kind) in (typing.Union, types.UnionType):
        return [part for one in typing.get_args(kind) for part in _parts(one)]
    return [kind]


def _of_type(kind, now, name: str) -> list[object]:
    if isinstance(kind, type) and issubclass(kind, Enum):
        return [member.value for member in kind]
    if kind is bool:
        return [not now]
    if kind in (int, float):
        start = now if isinstance(now, int | float) and not isinstance(now, bool) else 0
        return [kind(start + step) for step in (1, 0.5, 2, 24, 101, 450) if kind is float or step == int(step)]
    if kind is str:
        return [WORDS.get(name, "other"), "8", "other"]
    return []


def corrected_once(desk, n: int, name: str, values: list[object]):
    """The first of these values that the rules of the entry allow; the entry of the correction, or None."""
    for value in values:
        before = desk.session.entries
        try:
            return desk.correct(n, {name: value}, f"why of {name}")
        except BadInput:
            assert desk.session.entries == before
    return None


def changed_fields(desk, kind: str, plain: dict) -> set[str]:
    """Every field changed on an entry of its own; checked each time."""
    changed = set()
    for field in msgspec.structs.fields(BODY_OF_KIND[kind]):
        name = field.encode_name
        first = desk.record(body_from(kind, plain))
        now = msgspec.to_builtins(getattr(first.body, field.name))
        found = corrected_once(desk, first.n, name, others(field.type, now, name))
        if found is not None:
            changed.add(name)
            assert desk.item(first.n).body != first.body
    return changed


@pytest.mark.parametrize("kind", sorted(PLAIN))
def test_every_field_of_every_kind(ram_path, kind, figure):
    job = ram_path / "job"
    desk = new_job(job)
    desk.keep_picture(LOG)
    desk.keep_picture(PICTURE)
    changed = set()
    for plain in (PLAIN[kind], *WAYS.get(kind, ())):
        changed |= changed_fields(desk, kind, plain)
    told = [json.loads(line) for line in (job / "journal.jsonl").read_bytes().splitlines()]
    desk.release()
    corrections = [entry for entry in told if entry["kind"] == "correct"]
    for entry in corrections:
        original = told[entry["body"]["entry"] - 1]
        assert (original["n"], original["kind"]) == (entry["body"]["entry"], kind)
        assert original["body"] != entry["body"]["body"], "the old and the new stand beside each other"
        assert entry["body"]["why"].startswith("why of ")
        assert entry["by"] == "Wren"
        assert original["at"] <= entry["at"]
    left = set(fields_of(kind)) - changed
    told = f"{kind}: {len(changed)} of {len(fields_of(kind))} fields in {len(corrections)} corrections"
    figure(16, f"{told}; only as a group: {', '.join(sorted(left)) or 'none'}")
    assert len(corrections) >= len(changed) > 0
    assert verify(job).ok
    assert {name for name in left if not _is_part(kind, name)} <= TOGETHER.get(kind, set())


def _is_part(kind: str, name: str) -> bool:
    """A list, a table or a group of values: what is found in a file, or typed as a whole."""
    field = next(one for one in msgspec.structs.fields(BODY_OF_KIND[kind]) if one.encode_name == name)
    return not any(part in (int, float, str, bool) or _is_enum(part) for part in _parts(field.type))


def _is_enum(part) -> bool:
    return isinstance(part, type) and issubclass(part, Enum)


def test_every_kind_that_can_be_corrected_is_here():
    assert set(PLAIN) == set(DATA_KINDS)


def test_withdrawing_and_restoring_keep_everything(ram_path):
    desk = new_job(ram_path / "job")
    before = (ram_path / "job" / "journal.jsonl").read_bytes()
    desk.withdraw(2, "slip")
    desk.restore(2)
    desk.release()
    assert (ram_path / "job" / "journal.jsonl").read_bytes().startswith(before)


# What takes something off the disk, and why that is never an entry or a file an entry names.
TAKES_AWAY = {
    "archive/saver.py": "its own temporary file, a first file that is not confirmed; the old file is replaced whole",
    "archive/new_folder.py": "files of a folder it was just making",
    "archive/staged.py": "a folder that never had a name of its own",
    "archive/store_backup.py": "its own unfinished file; an older backup is replaced once the new one is whole",
    "archive/store_export.py": "its own unfinished folder",
    "archive/store_restore.py": "files it was just writing, where the person stopped it",
    "archive/session_folder.py": "half a line that was never accepted, set aside first; temporary files of blobs",
    "archive/kept_file.py": "settings that are damaged, set aside",
    "archive/moving.py": "a file is given another name; nothing is lost",
    "compose.py": "a copy of a sample job that could not be made",
    "ui/trouble.py": "the log of faults turns over",
}
CALLS = {
    "unlink",
    "remove",
    "rmdir",
    "rmtree",
    "truncate",
    "ftruncate",
    "rename",
    "replace",
    "write_bytes",
    "write_text",
}


def calls_on_disk(path: Path) -> set[str]:
    """Names of calls that take away or overwrite: of `os`, `shutil`, or on something that is called a path."""
    found: set[str] = set()
    if not any(f".{name}(" in path.read_text("utf-8") for name in CALLS):
        return found
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in CALLS:
            owner = ast.unparse(node.func.value)
            is_text = node.func.attr in ("replace", "remove") and owner != "os"
            found |= set() if is_text else {node.func.attr}
    return found


def test_nothing_else_in_the_program_takes_anything_away():
    found = {
        str(path.relative_to(PACKAGE)).replace("\\", "/")
        for path in PACKAGE.rglob("*.py")
        if "_data" not in path.parts and calls_on_disk(path)
    }
    assert found <= set(TAKES_AWAY), found - set(TAKES_AWAY)


def test_the_scan_sees_what_is_planted(tmp_path):
    (tmp_path / "x.py").write_text("import os\nos.replace(a, b)\npath.unlink()\ntext.replace('a', 'b')\n")
    assert calls_on_disk(tmp_path / "x.py") == {"replace", "unlink"}
