"""`valvebench report SESSION --xlsx F`: the workbook, saved through the one saver."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.cli.options import DONE, Option, Parser, answer, fields, one_of
from valvebench.cli.services import MakeServices
from valvebench.model.errors import bad
from valvebench.model.words import Rule

_RULE = Option("--rule", "rule", one_of(Rule), "overrule the rule of the readings")


def run(words: Sequence[str], services: MakeServices) -> int:
    """Write the workbook."""
    parser = Parser("report", "Write the workbook of a session.")
    parser.add_argument("session", type=Path, help="the session folder")
    parser.add_argument("--xlsx", type=Path, required=True, help="the workbook to write")
    parser.add_argument("--compare", type=Path, help="another session folder, for the sheet Compare")
    _RULE.add_to(parser)
    arguments = parser.read(words)
    if arguments.compare is not None and arguments.compare.resolve() == arguments.session.resolve():
        raise bad("--compare", "the session itself", "another session folder")
    found = fields(arguments, (_RULE,))
    rule = Rule(found["rule"]) if "rule" in found else None
    services().write_workbook(arguments.session, arguments.xlsx, rule=rule, compare=arguments.compare)
    answer(arguments.json, {"xlsx": str(arguments.xlsx)}, f"workbook written to {arguments.xlsx}")
    return DONE
