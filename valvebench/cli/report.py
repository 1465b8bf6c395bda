"""`valvebench report SESSION --xlsx F --pdf F`: the workbook, the report as PDF, saved through the one saver."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from valvebench.cli.options import DONE, Option, Parser, answer, fields, one_of
from valvebench.cli.services import MakeServices, Services
from valvebench.model.errors import bad
from valvebench.model.words import Rule

_RULE: Final = Option("--rule", "rule", one_of(Rule), "overrule the rule of the readings")


def run(words: Sequence[str], services: MakeServices) -> int:
    """Write the workbook, the PDF, or both."""
    parser = Parser("report", "Write the workbook of a session, or its report as PDF.")
    parser.add_argument("session", type=Path, help="the session folder")
    parser.add_argument("--xlsx", type=Path, help="the workbook to write")
    parser.add_argument("--pdf", type=Path, help="the PDF to write")
    parser.add_argument("--compare", type=Path, help="another session folder, for the sheet Compare")
    _RULE.add_to(parser)
    arguments = parser.read(words)
    if arguments.xlsx is None and arguments.pdf is None:
        raise bad("report", "neither --xlsx nor --pdf", "the name of a file for one of them, or for both")
    if arguments.compare is not None and arguments.compare.resolve() == arguments.session.resolve():
        raise bad("--compare", "the session itself", "another session folder")
    if arguments.compare is not None and arguments.xlsx is None:
        raise bad("--compare", "no --xlsx", "a workbook to put the sheet Compare in")
    found = fields(arguments, (_RULE,))
    _write(services(), arguments, Rule(found["rule"]) if "rule" in found else None)
    written = {name: str(path) for name in ("xlsx", "pdf") if (path := getattr(arguments, name)) is not None}
    nouns = {"xlsx": "workbook", "pdf": "report"}
    answer(arguments.json, written, "\n".join(f"{nouns[name]} written to {path}" for name, path in written.items()))
    return DONE


def _write(world: Services, arguments: Any, rule: Rule | None) -> None:
    from valvebench.bench.papers import Paper, check_target

    if arguments.pdf is not None:
        check_target(Paper.REPORT, arguments.pdf)  # before the workbook is written: both or none
    if arguments.xlsx is not None:
        world.write_workbook(arguments.session, arguments.xlsx, rule=rule, compare=arguments.compare)
    if arguments.pdf is not None:
        world.write_paper(arguments.session, Paper.REPORT, arguments.pdf, rule=rule)
