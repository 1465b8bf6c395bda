"""The program's own virtual environment: made once, stamped last, rebuilt when it is not whole."""

from __future__ import annotations

import contextlib
import hashlib
import os
import platform
import shutil
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Final

from starter.console import SetupFailed, run_logged, say
from starter.places import CHECKOUT, LOCKS

FORMAT: Final = "1"
"""Changes when an environment made by an older starter must be made again."""

COVERS: Final = MappingProxyType({"run": ("run",), "test": ("run", "test")})
"""Which locks are satisfied once one of them is installed; a test of the house holds the locks to it."""

PIP_INSTALL: Final = (
    "install",
    "--require-hashes",
    "--only-binary",
    ":all:",
    "--no-input",
    "--disable-pip-version-check",
    "--retries",
    "10",
)
OWN_MARK: Final = "made-by-valvebench"
GLIBC_NEEDED: Final = (2, 34)


@dataclass(frozen=True, kw_only=True)
class Environment:
    """One virtual environment and the interpreter it is made with."""

    folder: Path
    base_python: Path = Path(sys.executable)
    base_version: str = sys.version

    @property
    def python(self) -> Path:
        """The interpreter inside the environment."""
        inside = "Scripts/python.exe" if sys.platform == "win32" else "bin/python"
        return self.folder / inside

    @property
    def log(self) -> Path:
        """The log of setting up."""
        return self.folder / "start.log"

    def stamp(self, name: str) -> Path:
        """The file that says a step was finished."""
        return self.folder / f"done-{name}"


def own_folder(base: Path, name: str = ".venv") -> Path:
    """The folder for the environment; one that somebody else made there is left alone."""
    folder = base / name
    is_foreign = folder.exists() and not (folder / OWN_MARK).exists()
    return base / f"{name}-valvebench" if is_foreign else folder


def lock_file(name: str) -> Path:
    """The lock of the packages for `run` or for `test`."""
    return LOCKS / ("requirements.txt" if name == "run" else f"requirements-{name}.txt")


def fingerprint(lock: Path, *, version: str) -> str:
    """What a finished step must have been made from: lock, interpreter, machine and format of the starter."""
    digest = hashlib.sha256(lock.read_bytes())
    digest.update(f"{version}\n{platform.machine()}\n{sys.platform}\n{FORMAT}".encode())
    return digest.hexdigest()


def is_done(environment: Environment, name: str, mark: str) -> bool:
    """Whether a step was finished for exactly this mark, and the interpreter still starts from there."""
    stamp = environment.stamp(name)
    return stamp.is_file() and stamp.read_text(encoding="ascii").strip() == mark and environment.python.exists()


def set_done(environment: Environment, name: str, mark: str) -> None:
    """Write a stamp in one move, so that half a stamp never exists."""
    part = environment.folder / f"part-{name}"
    part.write_text(mark + "\n", encoding="ascii")
    part.replace(environment.stamp(name))


def ready(environment: Environment, name: str, *, repair: bool = False) -> None:
    """Make sure that the packages of a lock are installed; quick when they already are."""
    if not repair and _is_ready(environment, name):
        return
    with only_one_at_a_time(environment.folder):
        if repair or not _is_ready(environment, name):
            _check_system()
            _install(environment, name=name, afresh=repair or not _can_be_kept(environment))


def _is_ready(environment: Environment, name: str) -> bool:
    return is_done(environment, name, fingerprint(lock_file(name), version=environment.base_version))


def _install(environment: Environment, *, name: str, afresh: bool) -> None:
    if afresh:
        _make(environment)
    _forget_all(environment)
    lock = lock_file(name)
    say(f"Installing the packages of {lock.name} (about 150 MB are downloaded the first time) ...")
    command = [str(environment.python), "-m", "pip", *PIP_INSTALL, "-r", str(lock)]
    if run_logged(command, log=environment.log) != 0:
        raise SetupFailed(
            f"The packages could not be installed; the log is {environment.log}. "
            "Check the network (or the proxy settings of pip) and start again; nothing else was changed."
        )
    for covered in COVERS[name]:
        set_done(environment, covered, fingerprint(lock_file(covered), version=environment.base_version))


def _forget_all(environment: Environment) -> None:
    """Without stamps an interrupted installation is seen as such and made afresh."""
    for stamp in environment.folder.glob("done-*"):
        stamp.unlink()


def _can_be_kept(environment: Environment) -> bool:
    """An environment is kept when an installation was finished in it by the same interpreter."""
    finished = any(environment.folder.glob("done-*")) and environment.python.exists()
    made_by = environment.folder / "interpreter"
    return finished and made_by.is_file() and made_by.read_text(encoding="utf-8") == _interpreter(environment)


def _interpreter(environment: Environment) -> str:
    return f"{environment.base_python}\n{environment.base_version}\n{FORMAT}\n"


def _make(environment: Environment) -> None:
    say(f"Making the program's own Python environment in {environment.folder} ...")
    shutil.rmtree(environment.folder, ignore_errors=True)
    environment.folder.mkdir(parents=True)
    (environment.folder / OWN_MARK).touch()
    command = [str(environment.base_python), "-m", "venv", str(environment.folder)]
    if run_logged(command, log=environment.log, shown=lambda _line: False) != 0:
        raise SetupFailed(f"The environment could not be made; the log is {environment.log}.")
    (environment.folder / "interpreter").write_text(_interpreter(environment), encoding="utf-8")


def _check_system() -> None:
    if sys.maxsize < 2**32:
        raise SetupFailed("valvebench needs a 64-bit Python; this one has 32 bits. Install the 64-bit one.")
    name, version = platform.libc_ver()
    if name == "glibc" and tuple(int(part) for part in version.split(".")[:2]) < GLIBC_NEEDED:
        raise SetupFailed(f"valvebench needs Debian 12, Ubuntu 22.04 or newer (glibc 2.34); here is glibc {version}.")


@contextlib.contextmanager
def only_one_at_a_time(folder: Path) -> Iterator[None]:
    """Let one starter set up while others wait; the system gives the lock free when its holder dies."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with (folder.parent / f"{folder.name}.lock").open("a+b") as file:
        _lock(file.fileno())
        yield


if sys.platform == "win32":
    import msvcrt

    def _lock(number: int) -> None:
        msvcrt.locking(number, msvcrt.LK_LOCK, 1)

else:
    import fcntl

    def _lock(number: int) -> None:
        fcntl.flock(number, fcntl.LOCK_EX)


def child_environment(checkout: Path = CHECKOUT) -> dict[str, str]:
    """The environment variables of the program: it runs from the checkout, nothing is built."""
    kept = {name: value for name, value in os.environ.items() if name not in {"PYTHONHOME", "VIRTUAL_ENV"}}
    paths = [str(checkout), os.environ.get("PYTHONPATH", "")]
    return {**kept, "PYTHONPATH": os.pathsep.join(path for path in paths if path), "PYTHONUTF8": "1"}
