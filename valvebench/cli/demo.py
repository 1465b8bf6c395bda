"""`valvebench demo --out DIR`: the invented jobs, their workbooks and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.cli.options import DONE, Parser, answer
from valvebench.cli.services import MakeServices


def run(words: Sequence[str], services: MakeServices) -> int:
    """Make the demo jobs in a folder."""
    parser = Parser("demo", "Make the demo jobs (invented data) with their workbooks.")
    parser.add_argument("--out", type=Path, required=True, help="folder for the demo jobs")
    arguments = parser.read(words)
    made = services().write_demo(arguments.out)
    lines = [f"{session.name}: {session}" for session in made.sessions]
    lines += [f"workbook: {workbook}" for workbook in made.workbooks]
    data = {"sessions": [str(path) for path in made.sessions], "workbooks": [str(path) for path in made.workbooks]}
    answer(arguments.json, data, "\n".join(["Demo jobs (invented data):", *lines]))
    return DONE
