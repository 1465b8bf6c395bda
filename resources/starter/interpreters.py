"""The other Python versions: run on those found here, ask for wheels only where one is missing."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from starter.checks import worker_options
from starter.console import run_logged, say
from starter.environment import Environment, child_environment, lock_file, own_folder, ready
from starter.places import CHECKOUT, base_folder, home_folder

SUPPORTED: Final = ((3, 11), (3, 12), (3, 13), (3, 14))
_ONCE: Final = ("house", "report", "ui")
"""What reads pages and sources, fills workbooks or shows words is the same under every interpreter: one is enough."""
SMOKE: Final = ("tests/unit", *(f"--ignore=tests/unit/{room}" for room in _ONCE), "tests/qt/test_canary.py")

NETWORK_TRIES: Final = 3  # an index that does not answer says nothing about wheels
ASK_VERSION: Final = "import sys; print(sys.version_info[0], sys.version_info[1], sys.executable); print(sys.version)"


def run_on_others(environment: Environment) -> int:
    """Unit tests and a Qt smoke test on each other interpreter; returns how many of them failed."""
    here = sys.version_info[:2]
    found = {version: python for version, python in find_interpreters().items() if version != here}
    results = {version: _run_on(version, *python) for version, python in found.items()}
    wheels = {version: _has_wheels(environment, version) for version in SUPPORTED if version not in (*found, here)}
    say("Other interpreters:")
    for version, code in results.items():
        say(f"  Python {_text(version)}: unit tests and Qt smoke test " + ("passed" if code == 0 else "FAILED"))
    for version, has_wheels in wheels.items():
        say(f"  Python {_text(version)}: not found here; wheels only: " + ("all resolved" if has_wheels else "FAILED"))
    return sum(code != 0 for code in results.values()) + sum(not has_wheels for has_wheels in wheels.values())


def find_interpreters() -> dict[tuple[int, int], tuple[Path, str]]:
    """The supported interpreters of this machine that can make an environment, one a version: path and full version."""
    found: dict[tuple[int, int], tuple[Path, str]] = {}
    for candidate in _candidates():
        answer = _ask(candidate)
        if answer and answer[0] in SUPPORTED:
            found.setdefault(answer[0], answer[1:])
    return found


def _candidates() -> Iterator[Path]:
    for major, minor in SUPPORTED:
        name = shutil.which(f"python{major}.{minor}")
        yield from [Path(name)] if name else []
    pyenv = Path(os.environ.get("PYENV_ROOT") or home_folder() / ".pyenv") / "versions"
    for folder in (pyenv, Path(sys.base_prefix).parent):  # the second: neighbours of this interpreter
        yield from sorted(folder.glob("*/bin/python3"))


def _ask(python: Path) -> tuple[tuple[int, int], Path, str] | None:
    command = [str(python), "-c", "import ensurepip, venv; " + ASK_VERSION]
    answer = subprocess.run(command, capture_output=True, text=True, check=False)
    parts = re.fullmatch(r"(\d+) (\d+) (.+)\n([\s\S]+)", answer.stdout)
    if answer.returncode != 0 or not parts:
        return None
    return (int(parts[1]), int(parts[2])), Path(parts[3]), parts[4].strip()


def _run_on(version: tuple[int, int], python: Path, full_version: str) -> int:
    say(f"Python {_text(version)}: {python}")
    folder = own_folder(base_folder(), f".venv-{_text(version)}")
    environment = Environment(folder=folder, base_python=python, base_version=full_version)
    ready(environment, "test")
    targets = [target for target in SMOKE if target.startswith("-") or (CHECKOUT / target).exists()]
    env = {**child_environment(), "QT_QPA_PLATFORM": "offscreen"}
    command = [str(environment.python), "-m", "pytest", "-q", "-p", "no:cacheprovider", *worker_options(()), *targets]
    return subprocess.run(command, cwd=CHECKOUT, env=env, check=False).returncode


def _has_wheels(environment: Environment, version: tuple[int, int]) -> bool:
    words = ("-m", "uv", "pip", "compile", "--quiet", "--only-binary", ":all:", "--python-version", _text(version))
    command = [str(environment.python), *words, "--output-file", os.devnull, str(lock_file("run"))]
    return any(_answers(command, environment) for _ in range(NETWORK_TRIES))


def _answers(command: Sequence[str], environment: Environment) -> bool:
    return run_logged(command, log=environment.log, shown=lambda line: "error" in line.lower()) == 0


def _text(version: tuple[int, int]) -> str:
    return f"{version[0]}.{version[1]}"
