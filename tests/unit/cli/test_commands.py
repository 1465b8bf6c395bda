"""The commands as a whole: overview, doctor, schema, consoles, and processes that end well."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from valvebench import __version__

ROOT = Path(__file__).parents[3]
COMMANDS = ("reading", "open-job", "record", "judge", "verify", "report", "demo", "doctor", "schema")


def process(*words, encoding="utf-8", **more):
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": encoding, **more.pop("environment", {})}
    command = [sys.executable, "-m", "valvebench", *words]
    return subprocess.run(command, env=environment, check=False, timeout=60, **({"capture_output": True} | more))


@pytest.mark.parametrize("word", ["--help", "-h", "help"])
def test_overview_names_every_command(run, word):
    answer = run(word)
    assert answer.code == 0
    assert [name for name in COMMANDS if f"\n  {name} " not in answer.out] == []


def test_version(run):
    assert run("--version").out == f"valvebench {__version__}\n"


@pytest.mark.parametrize("name", COMMANDS)
def test_help_of_every_command(run, name):
    answer = run(name, "--help")
    assert answer.code == 0
    assert answer.err == ""


def test_unknown_command(run):
    answer = run("raeding")
    assert (answer.code, answer.out) == (2, "")
    assert "Did you mean reading?" in answer.err


def test_doctor(run):
    answer = run("doctor", "--json")
    assert answer.data["version"] == __version__
    assert {one["name"] for one in answer.data["found"]} >= {"Python", "numpy", "resources", "window"}
    assert answer.code == (0 if answer.data["ok"] else 2)


@pytest.mark.parametrize("what", ["variant", "entry"])
def test_schema(run, what):
    plain, as_json = run("schema", what), run("schema", what, "--json")
    assert json.loads(plain.out) == as_json.data
    assert as_json.data["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_schema_of_what(run):
    assert run("schema").code == 2
    assert run("schema", "job").code == 2


def test_a_process_answers_with_one_object():
    found = process("reading", "--ohm", "5,2", "--celsius", "-2,5", "--json")
    assert (found.returncode, found.stderr) == (0, b"")
    assert json.loads(found.stdout)["ohm"] == pytest.approx(5.1)


def test_a_process_refuses_with_one_message():
    found = process("reading", "--ohm", "five", "--json")
    assert (found.returncode, found.stdout) == (2, b"")
    assert found.stderr.startswith(b"valvebench: --ohm: found 'five'")


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-16"])
@pytest.mark.parametrize("words", [(), ("--json",)])
def test_a_console_without_the_sign_for_ohm(encoding, words):
    found = process("reading", "--ohm", "5", "--celsius", "20", "--low", "5", "--high", "6", *words, encoding=encoding)
    assert (found.returncode, found.stderr) == (3, b"")
    if words:
        assert json.loads(found.stdout.decode(encoding))["verdict"] == "cant_tell"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_full_disk_under_the_answer(unbuffered):
    with Path("/dev/full").open("wb") as full:
        found = process(
            "reading",
            "--ohm",
            "5",
            "--celsius",
            "20",
            capture_output=False,
            stdout=full,
            stderr=subprocess.PIPE,
            environment={"PYTHONUNBUFFERED": unbuffered},
        )
    assert found.returncode == 2
    assert b"No space left" in found.stderr
    assert b"Traceback" not in found.stderr


@pytest.mark.skipif(os.name == "nt", reason="pipes break in another way there")
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_nobody_listens(unbuffered):
    read_end, write_end = os.pipe()
    os.close(read_end)
    try:
        found = process(
            "reading",
            "--ohm",
            "5",
            "--celsius",
            "20",
            capture_output=False,
            stdout=write_end,
            stderr=subprocess.PIPE,
            environment={"PYTHONUNBUFFERED": unbuffered},
        )
    finally:
        os.close(write_end)
    assert b"Traceback" not in found.stderr
    assert found.returncode == 2


@pytest.mark.skipif(os.name == "nt", reason="bytes that are no text cannot be passed there")
def test_bytes_that_are_no_text(tmp_path):
    found = process("open-job", os.fsencode(tmp_path) + b"/\xff", "--job", "1")
    assert (found.returncode, found.stdout) == (2, b"")
    assert b"UTF-8" in found.stderr
    assert list(tmp_path.iterdir()) == []


HEAVY = ("numpy", "scipy", "pandas", "openpyxl", "PySide6", "pyqtgraph")


@pytest.mark.parametrize(
    "words",
    [
        ["reading", "--ohm", "5.1", "--celsius", "20", "--low", "5", "--high", "6"],
        ["schema", "entry"],
        ["verify", "none"],
        ["judge", "none"],
        ["record", "none", "note", "x"],
    ],
)
def test_light_commands_import_nothing_heavy(words):
    code = (
        "import sys; from valvebench.__main__ import main; main(sys.argv[1:]);"
        f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    found = subprocess.run(
        [sys.executable, "-c", code, *words], env=environment, check=False, timeout=60, capture_output=True, text=True
    )
    assert found.stderr.splitlines()[-1] == "[]"


def test_a_t_quantile_brings_no_library():
    code = (
        "import sys; from valvebench.__main__ import main; main(sys.argv[1:]);"
        "print([name for name in ('numpy', 'scipy') if name in sys.modules], file=sys.stderr)"
    )
    words = ["reading", "--repeats", "6.1 6.2 6.3 6.4 6.5", "--celsius", "20", "--u-ohm", "0.001", "--u-celsius", "0"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    found = subprocess.run(
        [sys.executable, "-c", code, *words], env=environment, check=False, timeout=60, capture_output=True, text=True
    )
    assert found.stderr.splitlines()[-1] == "[]"
