"""Word of `valvebench archive` that prints: the claim page of one session."""

from __future__ import annotations

import tempfile
from contextlib import closing
from pathlib import Path
from typing import Final

from valvebench.cli.archive import Call, archive_parser
from valvebench.cli.options import DONE, Option, fields, one_of
from valvebench.cli.papers import add_files, answer_written, files_of
from valvebench.model.errors import EvidenceBroken
from valvebench.model.words import Rule

_RULE: Final = Option("--rule", "rule", one_of(Rule), "overrule the rule of the readings")


def run_claim(call: Call) -> int:
    """The page from what is kept; nothing is printed of evidence that does not verify."""
    from valvebench.bench.papers import Paper

    parser = archive_parser("claim", "The claim page of one session.")
    parser.add_argument("id", help="its identity as find prints it, or the beginning of it")
    add_files(parser, Paper.CLAIM)
    _RULE.add_to(parser)
    arguments = parser.read(call.given)
    found = fields(arguments, (_RULE,))
    rule = Rule(found["rule"]) if "rule" in found else None
    files = files_of(arguments, Paper.CLAIM)
    with tempfile.TemporaryDirectory(prefix="valvebench-") as room:
        folder = _laid_out(call, arguments.at, arguments.id, Path(room))
        for path in files.values():
            call.services().write_paper(folder, Paper.CLAIM, path, rule=rule)
    answer_written(arguments, "claim page", files)
    return DONE


def _laid_out(call: Call, at: str | None, ident: str, room: Path) -> Path:
    """The session's folder as it was added (raises BadInput, EvidenceBroken)."""
    with closing(call.opened(at)) as archive:
        problems = archive.show(ident).problems
        if problems:
            what = f"archived session {ident}: not as it was written: {problems[0].what}. No claim page was printed."
            raise EvidenceBroken(what)
        return archive.write_folder(ident, room / "session")
