"""`valvebench open-bundle FILE --to FOLDER`: a session that was sent, as a folder of one's own."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.cli.options import DONE, Parser, answer
from valvebench.cli.services import MakeServices


def run(words: Sequence[str], services: MakeServices) -> int:
    """Open it where every byte is as it was written; else nothing is made."""
    parser = Parser("open-bundle", "Open a session that was sent as one file.")
    parser.add_argument("file", type=Path, help="the bundle")
    parser.add_argument("--to", type=Path, required=True, help="the session folder to make")
    parser.add_argument("--head", default=None, help="N:HEX that was given beside it, at least 16 digits")
    arguments = parser.read(words)
    found = services().open_bundle(arguments.file, arguments.to, head=arguments.head)
    data = {
        "folder": str(arguments.to),
        "entries": found.entries,
        "head": found.head,
        "tail": found.tail,
        "closed": found.is_closed,
        "anchors": found.anchors,
        "notes": found.notes,
    }
    state = "closed" if found.is_closed else "open"
    first = f"bundle opened in {arguments.to}: as it was packed, {found.entries} entries, {state}"
    lines = [first, f"head {found.head}, {found.tail} entries after it", *(f"  {note}" for note in found.notes)]
    answer(arguments.json, data, "\n".join(lines))
    return DONE
