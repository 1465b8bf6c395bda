"""Build the demo once for each state of the program, and open it."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from starter.console import SetupFailed, say
from starter.environment import Environment, child_environment
from starter.places import CHECKOUT, base_folder

FINISHED: Final = "finished"
PICTURES: Final = "pictures"


def has_display(*, platform: str, env: Mapping[str, str]) -> bool:
    """Whether a window can be shown: always on Windows and macOS, on Linux where a display is named."""
    if not platform.startswith("linux"):
        return True
    return bool(env.get("DISPLAY") or env.get("WAYLAND_DISPLAY"))


def source_mark(checkout: Path = CHECKOUT) -> str:
    """A short mark of the program's sources and variants; another state of the program gets another demo."""
    digest = hashlib.sha256()
    files = [*(checkout / "valvebench").rglob("*.py"), *(checkout / "resources" / "variants").glob("*")]
    for file in sorted(files):
        digest.update(file.read_bytes())
    return digest.hexdigest()[:12]


def demo_folder() -> Path:
    """Where the demo of this state of the program stands; never one in which somebody already worked."""
    return base_folder() / ".demo" / source_mark()


def build_demo(environment: Environment) -> Path:
    """Build the demo unless it stands already, and return its folder."""
    folder = demo_folder()
    if (folder / FINISHED).exists():
        return folder
    shutil.rmtree(folder, ignore_errors=True)
    folder.parent.mkdir(parents=True, exist_ok=True)
    say("Building the demo ...")
    if _run(environment, "demo", "--out", str(folder)) != 0:
        raise SetupFailed("The demo could not be built; the lines above say why.")
    (folder / FINISHED).touch()
    return folder


def draw_pictures(environment: Environment, folder: Path) -> None:
    """Pictures of the window on the demo jobs, drawn without a display; kept once they are there."""
    pictures = folder / PICTURES
    if pictures.is_dir():
        return
    say("Drawing the pages of the window ...")
    command = [str(environment.python), "-m", "tests.pictures", "--out", str(pictures)]
    env = {**child_environment(), "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run(command, env=env, cwd=CHECKOUT, check=False, capture_output=True)
    if done.returncode != 0:
        say("The pictures could not be drawn; everything else is there.")


def first_session(folder: Path) -> Path:
    """The session of the demo that is opened first: the earliest by name."""
    sessions = sorted(journal.parent for journal in folder.rglob("journal.jsonl"))
    if not sessions:
        raise SetupFailed(f"The demo in {folder} holds no session. Start again with --repair.")
    return sessions[0]


def show_demo(environment: Environment) -> int:
    """Open the window on the demo, or say where its files are when there is no display."""
    folder = build_demo(environment)
    if has_display(platform=sys.platform, env=os.environ):
        say(f"Opening the window on {first_session(folder)}")
        return _become(environment, "window", str(first_session(folder)))
    draw_pictures(environment, folder)
    say("There is no display, so no window. The demo was run without one; its files:")
    for file in sorted([*folder.rglob("*.xlsx"), *folder.rglob("*.png")]):
        say(f"  {file}")
    return 0


def _command(environment: Environment, *words: str) -> list[str]:
    return [str(environment.python), "-m", "valvebench", *words]


def _run(environment: Environment, *words: str) -> int:
    env = child_environment()
    if not has_display(platform=sys.platform, env=os.environ):
        env.setdefault("QT_QPA_PLATFORM", "offscreen")
    return subprocess.run(_command(environment, *words), env=env, check=False).returncode


def _become(environment: Environment, *words: str) -> int:
    command = _command(environment, *words)
    if os.name == "posix":
        os.execve(command[0], command, child_environment())  # noqa: S606  a fixed command, no shell wanted
    return subprocess.run(command, env=child_environment(), check=False).returncode
