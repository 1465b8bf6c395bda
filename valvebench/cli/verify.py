"""`valvebench verify PATH`: check that a session is as it was written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.bench.evidence import Verified
from valvebench.cli.options import DONE, NOT_VERIFIED, Parser, answer
from valvebench.cli.services import MakeServices


def run(words: Sequence[str], services: MakeServices) -> int:
    """Check chain, blobs and, where one is given, the head."""
    parser = Parser("verify", "Check that a session is as it was written.")
    parser.add_argument("path", type=Path, help="the session folder, or a bundle")
    parser.add_argument("--head", default=None, help="N:HEX from report or tag, at least 16 digits")
    arguments = parser.read(words)
    found = services().verify(arguments.path, head=arguments.head)
    data = {
        "ok": found.ok,
        "entries": found.entries,
        "head": found.head,
        "tail": found.tail,
        "closed": found.is_closed,
        "anchors": found.anchors,
        "problems": [{"line": problem.line, "what": problem.what} for problem in found.problems],
        "notes": found.notes,
    }
    answer(arguments.json, data, _text(found))
    return DONE if found.ok else NOT_VERIFIED


def _text(found: Verified) -> str:
    state = "closed" if found.is_closed else "open"
    first = f"As it was written: {found.entries} entries, {state}." if found.ok else "NOT as it was written."
    lines = [first, f"head {found.head}, {found.tail} entries after it"]
    lines += [f"  line {problem.line}: {problem.what}" for problem in found.problems]
    return "\n".join([*lines, *(f"  {note}" for note in found.notes)])
