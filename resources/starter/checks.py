"""The whole normal suite in one run: lint, format, types, arrows, then the tests, whose summary comes last."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Sequence
from typing import Final

from starter.console import say
from starter.environment import Environment, child_environment
from starter.places import CHECKOUT

IMPORTS: Final = "import sys; from importlinter.cli import lint_imports_command; sys.exit(lint_imports_command())"

LINTS: Final = (
    ("lint", ("-m", "ruff", "check", ".")),
    ("format", ("-m", "ruff", "format", "--check", ".")),
    ("types", ("-m", "mypy")),
    ("arrows", ("-c", IMPORTS)),
)
MOST_WORKERS: Final = 4


def run_suite(environment: Environment, arguments: Sequence[str]) -> int:
    """Run everything, also after a failure, and return 0 only when all of it passed."""
    failed = [name for name, words in LINTS if _python(environment, words) != 0]
    say("Lint, format, types and arrows: " + (f"FAILED: {', '.join(failed)}" if failed else "all passed"))
    tests = _python(environment, ("-m", "pytest", *worker_options(arguments), *arguments))
    return tests or int(bool(failed))


def worker_options(arguments: Sequence[str], *, processors: int | None = None) -> tuple[str, ...]:
    """Share the tests among the processors, unless the person says otherwise."""
    chosen = any(word.startswith(("-n", "--pdb")) or word == "no:xdist" for word in arguments)
    count = min(MOST_WORKERS, processors or os.cpu_count() or 1)
    return () if chosen or count == 1 else ("-n", str(count), "--dist", "loadfile")


def _python(environment: Environment, words: Sequence[str]) -> int:
    command = [str(environment.python), *words]
    return subprocess.run(command, cwd=CHECKOUT, env=child_environment(), check=False).returncode
