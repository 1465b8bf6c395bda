"""`valvebench` or `valvebench window [SESSION]`: open the window."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.cli.options import Parser
from valvebench.cli.services import MakeServices


def run(words: Sequence[str], services: MakeServices) -> int:
    """Open the window and return when it is closed."""
    parser = Parser("window", "Open the window.")
    parser.add_argument("session", type=Path, nargs="?", help="session folder to open")
    arguments = parser.read(words)
    return services().open_window(arguments.session)
