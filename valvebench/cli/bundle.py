"""`valvebench bundle SESSION --to FILE`: a session as one file for sending."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.cli.options import DONE, Parser, answer
from valvebench.cli.services import MakeServices


def run(words: Sequence[str], services: MakeServices) -> int:
    """Pack the session; the same session always makes the same file."""
    parser = Parser("bundle", "Write a session as one file for sending.")
    parser.add_argument("session", type=Path, help="the session folder")
    parser.add_argument("--to", type=Path, required=True, help="the file to write, ending in .zip")
    arguments = parser.read(words)
    made = services().write_bundle(arguments.session, arguments.to)
    if made is None:
        raise TypeError("nobody could have stopped it")
    data = {
        "bundle": str(made.path),
        "bytes": made.size_bytes,
        "sha256": made.sha256,
        "files": made.files,
        "entries": made.entries,
        "head": made.head,
    }
    text = f"bundle written to {made.path}: {made.entries} entries, {made.size_bytes} bytes\nhead {made.head}"
    answer(arguments.json, data, text)
    return DONE
