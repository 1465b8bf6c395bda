"""The wheel installs and runs from any folder, with its data."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
FOLDERS_OF_DATA = ("resources", "sample_sessions")

pytest.importorskip("hatchling")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel house")
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    return next(folder.glob("*.whl"))


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    folder = tmp_path_factory.mktemp("in stalled")
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--target", str(folder)]
    subprocess.run([*command, str(wheel)], check=True, capture_output=True)
    return folder


def tracked(top):
    command = ["git", "ls-files", "-z", top]
    answer = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return [name for name in answer.stdout.split("\0") if name]


@pytest.mark.parametrize("top", FOLDERS_OF_DATA)
def test_every_file_of_the_data_is_inside(wheel, top):
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {f"valvebench/_data/{name}" for name in tracked(top)} <= names


def test_every_module_is_inside_and_no_test(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {name for name in tracked("valvebench") if name.endswith(".py")} <= names
    assert not [name for name in names if name.startswith("tests/")]


def test_both_commands_are_declared(wheel):
    archive = zipfile.ZipFile(wheel)
    entry_points = next(name for name in archive.namelist() if name.endswith("entry_points.txt"))
    text = archive.read(entry_points).decode()
    assert "[console_scripts]\nvalvebench = valvebench.__main__:main" in text
    assert "[gui_scripts]\nvalvebench-window = valvebench.__main__:window" in text


def test_it_runs_from_another_folder(installed, tmp_path):
    env = {**os.environ, "PYTHONPATH": str(installed)}
    command = [sys.executable, "-m", "valvebench", "--version"]
    answer = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stderr
    assert version() in answer.stdout


def test_its_data_are_found_from_another_folder(installed, tmp_path):
    code = "from valvebench.compose import data_folder; print(data_folder())"
    env = {**os.environ, "PYTHONPATH": str(installed)}
    answer = subprocess.run(
        [sys.executable, "-c", code], cwd=tmp_path, env=env, capture_output=True, text=True, check=False
    )
    assert answer.returncode == 0, answer.stderr
    assert Path(answer.stdout.strip()).resolve() == (installed / "valvebench" / "_data").resolve()


def version():
    text = (ROOT / "valvebench" / "__init__.py").read_text(encoding="utf-8")
    return text.split('__version__ = "')[1].split('"')[0]
