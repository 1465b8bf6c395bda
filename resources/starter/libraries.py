"""The libraries of a Linux system that Qt needs: found missing by trying, installed where that is allowed."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from typing import Final

from starter.console import SetupFailed, run_logged, say
from starter.environment import Environment, child_environment, fingerprint, is_done, lock_file, set_done
from starter.places import base_folder

# The shortest lists whose dependencies cover what the Qt 6.11.3 wheel needs, resolved with dpkg on Debian 12.
OFFSCREEN_PACKAGES: Final = (
    "libegl1",
    "libgl1",
    "libdbus-1-3",
    "libfontconfig1",
    "libxkbcommon0",
    "libglib2.0-0",
    "fonts-dejavu-core",
)
WINDOW_PACKAGES: Final = (
    "libegl1",
    "libgl1",
    "libdbus-1-3",
    "libfontconfig1",
    "libglib2.0-0",
    "libxkbcommon-x11-0",
    "libxcb-cursor0",
    "libxcb-icccm4",
    "libxcb-keysyms1",
    "libxcb-shape0",
    "fonts-dejavu-core",
)
PACKAGES: Final = {"offscreen": OFFSCREEN_PACKAGES, "window": WINDOW_PACKAGES}

PROBE: Final = """
import pathlib, PySide6.QtWidgets
print(pathlib.Path(PySide6.__file__).parent / "Qt" / "plugins" / "platforms" / "libqxcb.so")
"""


def apt_line(packages: Sequence[str]) -> str:
    """The exact line a person types to install packages."""
    return "sudo apt-get install -y " + " ".join(packages)


def may_install() -> bool:
    """Whether this process is root on a system with apt."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None


def apt_install(packages: Sequence[str], environment: Environment) -> None:
    """Install packages of the system and keep what apt says in the log."""
    say("Installing system packages: " + " ".join(packages))
    log = environment.log if environment.folder.is_dir() else base_folder() / ".venv-apt.log"
    env = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    run_logged(["apt-get", "update"], log=log, env=env)
    command = ["apt-get", "install", "-y", "--no-install-recommends", *packages]
    if run_logged(command, log=log, env=env) != 0:
        raise SetupFailed(f"apt-get could not install them; the log is {log}. Try: {apt_line(packages)}")


def venv_ready(environment: Environment) -> None:
    """Make sure that this Python can make virtual environments; Debian ships that part on its own."""
    if importlib.util.find_spec("ensurepip") is not None:
        return
    packages = (f"python{sys.version_info[0]}.{sys.version_info[1]}-venv",)
    if not may_install():
        raise SetupFailed(f"This Python cannot make virtual environments. Type: {apt_line(packages)}")
    apt_install(packages, environment)


def qt_ready(environment: Environment, purpose: str) -> None:
    """Make sure that Qt finds its system libraries, for `offscreen` pictures or for a `window`."""
    if not sys.platform.startswith("linux"):
        return
    step, mark = f"libraries-{purpose}", fingerprint(lock_file("run"), version=environment.base_version)
    if is_done(environment, step, mark):
        return
    missing = missing_library(environment, purpose)
    if missing:
        _mend(environment, purpose=purpose, missing=missing)
    set_done(environment, step, mark)


def _mend(environment: Environment, *, purpose: str, missing: str) -> None:
    packages = PACKAGES[purpose]
    if not may_install():
        raise SetupFailed(f"Qt cannot start ({missing}). Type this line and start again:\n  {apt_line(packages)}")
    apt_install(packages, environment)
    still = missing_library(environment, purpose)
    if still:
        raise SetupFailed(f"Qt still cannot start ({still}) after installing {' '.join(packages)}.")


def missing_library(environment: Environment, purpose: str) -> str:
    """The first thing Qt does not find, in its own words, or an empty text."""
    env = {**child_environment(), "QT_QPA_PLATFORM": "offscreen"}
    probe = subprocess.run([str(environment.python), "-c", PROBE], capture_output=True, text=True, env=env, check=False)
    if probe.returncode != 0:
        return _last_line(probe.stderr).removeprefix("ImportError: ")
    lost = missing_in(_ldd(probe.stdout.strip())) if purpose == "window" else ""
    return f"{lost}: not found" if lost else ""


def missing_in(ldd_answer: str) -> str:
    """The first library that `ldd` calls not found."""
    lost = [line.split()[0] for line in ldd_answer.splitlines() if "not found" in line]
    return lost[0] if lost else ""


def _ldd(library: str) -> str:
    if shutil.which("ldd") is None:
        return ""
    return subprocess.run(["ldd", library], capture_output=True, text=True, check=False).stdout


def _last_line(text: str) -> str:
    lines = text.strip().splitlines()
    return lines[-1] if lines else "one of its libraries"
