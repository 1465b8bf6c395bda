"""What the commands that write papers share: an option for each ending, all checked before the first is written."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from valvebench.bench.papers import ENDINGS, Paper, check_target
from valvebench.cli.options import Parser, answer
from valvebench.model.errors import bad

_HELP = {".xlsx": "the workbook to write", ".pdf": "the PDF to write", ".png": "the picture to write"}


def add_files(parser: Parser, paper: Paper) -> None:
    """An option for each ending a paper can have."""
    for ending in ENDINGS[paper]:
        parser.add_argument(f"--{ending[1:]}", type=Path, help=_HELP[ending])


def files_of(arguments: Any, paper: Paper, *, may_be_none: bool = False) -> dict[str, Path]:
    """The files that were named, by their ending without its dot (raises BadInput)."""
    names = [ending[1:] for ending in ENDINGS[paper]]
    files = {name: path for name in names if (path := getattr(arguments, name)) is not None}
    if not files and not may_be_none:
        options = [f"--{name}" for name in names]
        found = f"neither {options[0]} nor {options[1]}"
        raise bad(paper.value, found, "the name of a file for one of them, or for both")
    for name, path in files.items():
        if path.suffix.lower() != f".{name}":
            raise bad(f"--{name}", str(path), f"a file name that ends in .{name}")
        check_target(paper, path)
    return files


def answer_written(arguments: Any, noun: str, files: Mapping[str, Path]) -> None:
    """Say where they are."""
    data = {name: str(path) for name, path in files.items()}
    answer(arguments.json, data, "\n".join(written_lines(noun, files)))


def written_lines(noun: str, files: Mapping[str, Path]) -> list[str]:
    """A line for each file."""
    return [f"{noun} written to {path}" for path in files.values()]
