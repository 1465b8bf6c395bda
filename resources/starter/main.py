"""What the words behind `start.py` mean, and the order in which things are made ready."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Sequence
from dataclasses import dataclass

from starter.checks import run_suite
from starter.console import SetupFailed, say
from starter.demo import has_display, show_demo
from starter.environment import Environment, own_folder, ready
from starter.interpreters import run_on_others
from starter.libraries import qt_ready, venv_ready
from starter.places import base_folder

HELP = """\
valvebench: set up and start

  python3 resources/start.py           set everything up, build the demo, open the window on it
                                       (without a display: run the demo and say where its files are)
  python3 resources/start.py test      set everything up and run the normal suite
      --study                          also the long studies
      --interpreters                   instead: unit tests and a Qt smoke test on each other Python found
      anything else                    goes to pytest: test tests/unit -k limits
  --repair                             make the environment afresh
  --help                               this text

On Windows type   py resources\\start.py   after installing Python 3.11 to 3.14 from python.org.
On macOS type     python3 resources/start.py   after installing Python 3.11 to 3.14 from python.org.
On Linux it needs Debian 12, Ubuntu 22.04 or newer; missing system packages are installed when you
are root, otherwise the exact line to type is printed.
"""


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What the person asked for."""

    action: str = "run"
    repair: bool = False
    pytest_arguments: tuple[str, ...] = ()


def read_words(words: Sequence[str]) -> Wish:
    """Turn the words of the command line into a wish."""
    if {"--help", "-h"} & set(words[:2]):
        return Wish(action="help")
    repair = "--repair" in words
    rest = [word for word in words if word != "--repair"]
    if not rest:
        return Wish(repair=repair)
    if rest[0] != "test":
        raise SetupFailed(f"{rest[0]} is not known here; expected nothing, test, --repair or --help.")
    if "--interpreters" in rest:
        return Wish(action="interpreters", repair=repair)
    return Wish(action="test", repair=repair, pytest_arguments=tuple(rest[1:]))


def main(words: Sequence[str]) -> int:
    """Do what the words ask for and return the exit code."""
    try:
        return _do(read_words(words))
    except SetupFailed as failure:
        print(failure, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Stopped. Start again at any time; what was half made is made afresh.", file=sys.stderr)
        return 130


def _do(wish: Wish) -> int:
    if wish.action == "help":
        say(HELP)
        return 0
    environment = Environment(folder=own_folder(base_folder()))
    venv_ready(environment)
    ready(environment, "run" if wish.action == "run" else "test", repair=wish.repair)
    qt_ready(environment, _purpose(wish))
    return _finish(wish, environment)


def _purpose(wish: Wish) -> str:
    """Tests open real windows too wherever a virtual display is installed."""
    has_virtual = wish.action != "run" and shutil.which("Xvfb") is not None
    return "window" if has_virtual or has_display(platform=sys.platform, env=os.environ) else "offscreen"


def _finish(wish: Wish, environment: Environment) -> int:
    if wish.action == "test":
        return run_suite(environment, wish.pytest_arguments)
    if wish.action == "interpreters":
        return run_on_others(environment)
    return show_demo(environment)
