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
    options = (*worker_options(arguments), *patience_options(arguments))
    tests = _python(environment, ("-m", "pytest", *options, *arguments))
    return tests or int(bool(failed))


def worker_options(arguments: Sequence[str], *, processors: int | None = None) -> tuple[str, ...]:
    """Share the tests among the processors, unless the person says otherwise."""
    chosen = any(word.startswith(("-n", "--pdb")) or word == "no:xdist" for word in arguments)
    count = min(MOST_WORKERS, processors or os.cpu_count() or 1)
    return () if chosen or count == 1 else ("-n", str(count), "--dist", "loadfile")


def patience_options(arguments: Sequence[str]) -> tuple[str, ...]:
    """A long study is not taken for a test that hangs."""
    return ("-o", "faulthandler_timeout=1800") if "--study" in arguments else ()


def _python(environment: Environment, words: Sequence[str]) -> int:
    command = [str(environment.python), *words]
    return subprocess.run(command, cwd=CHECKOUT, env=child_environment(), check=False).returncode
