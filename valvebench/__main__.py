"""The way in: `valvebench`, `python -m valvebench`, and the window's own command."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

from valvebench.cli.main import main as run_command

if TYPE_CHECKING:
    from valvebench.cli.services import Services


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; the exit code is its answer."""
    return run_command(sys.argv[1:] if argv is None else argv, _services)


def window() -> int:
    """Open the window (for starters without a console)."""
    return main(["window", *sys.argv[1:]])


def _services() -> Services:
    """Built when a command first needs the world, so that a reading starts the sooner."""
    services: Services = importlib.import_module("valvebench.compose").Program()
    return services


if __name__ == "__main__":
    sys.exit(main())
