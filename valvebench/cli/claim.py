"""`valvebench claim SESSION --xlsx F --pdf F`: the claim page of a closed session."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from valvebench.cli.options import DONE, Option, Parser, fields, one_of
from valvebench.cli.papers import add_files, answer_written, files_of
from valvebench.cli.services import MakeServices
from valvebench.model.words import Rule

_RULE: Final = Option("--rule", "rule", one_of(Rule), "overrule the rule of the readings")


def run(words: Sequence[str], services: MakeServices) -> int:
    """Write the page as workbook, as PDF, or as both."""
    from valvebench.bench.papers import Paper

    parser = Parser("claim", "Write the claim page of a closed session.")
    parser.add_argument("session", type=Path, help="the session folder")
    add_files(parser, Paper.CLAIM)
    _RULE.add_to(parser)
    arguments = parser.read(words)
    found = fields(arguments, (_RULE,))
    rule = Rule(found["rule"]) if "rule" in found else None
    files = files_of(arguments, Paper.CLAIM)
    world = services()
    for path in files.values():
        world.write_paper(arguments.session, Paper.CLAIM, path, rule=rule)
    answer_written(arguments, "claim page", files)
    return DONE
