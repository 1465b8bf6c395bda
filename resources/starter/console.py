"""What the starter says to the person, and the log it keeps beside it."""

from __future__ import annotations

import datetime as dt
import subprocess
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

SHOWN_PIP_WORDS = ("Collecting", "Downloading", "Installing collected", "Successfully installed", "ERROR")


class SetupFailed(Exception):
    """Setting up cannot go on; the message says why and what to do."""


def say(text: str) -> None:
    """Print one line at once, so that progress is seen while it happens."""
    print(text, flush=True)


def is_worth_showing(line: str) -> bool:
    """Whether a line of the installer tells the person anything."""
    return line.strip().startswith(SHOWN_PIP_WORDS)


def short(line: str, *, width: int = 110) -> str:
    """A line cut to the width of a terminal."""
    text = line.strip()
    return text if len(text) <= width else text[: width - 3] + "..."


def log_line(log: Path, text: str) -> None:
    """Append one line with its time to the log."""
    stamp = dt.datetime.now(tz=dt.UTC).isoformat(timespec="seconds")
    with log.open("a", encoding="utf-8") as file:
        file.write(f"{stamp} {text}\n")


def run_logged(
    command: Sequence[str],
    *,
    log: Path,
    env: Mapping[str, str] | None = None,
    shown: Callable[[str], bool] = is_worth_showing,
) -> int:
    """Run a command, keep all it says in the log, show what is worth showing, return its exit code."""
    log_line(log, "run " + " ".join(command))
    with subprocess.Popen(
        list(command),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
        env=None if env is None else dict(env),
    ) as process:
        for line in process.stdout or ():
            log_line(log, line.rstrip())
            if shown(line):
                say("  " + short(line))
    return process.returncode
