"""`valvebench tag SESSION --pdf F --png F`: what is handed over with a closed session."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from valvebench.cli.options import DONE, Parser, answer
from valvebench.cli.papers import add_files, files_of, written_lines
from valvebench.cli.services import MakeServices


def run(words: Sequence[str], services: MakeServices) -> int:
    """Write the tag, and print the words of an e-mail with the head."""
    from valvebench.bench.handing import hand_over
    from valvebench.bench.papers import Paper

    parser = Parser("tag", "Write the tag of a closed session, and print an e-mail with its head.")
    parser.add_argument("session", type=Path, help="the session folder")
    add_files(parser, Paper.TAG)
    arguments = parser.read(words)
    files = files_of(arguments, Paper.TAG, may_be_none=True)
    world = services()
    view = world.view_session(arguments.session)
    handed = hand_over(view.session, view.variant)
    for path in files.values():
        world.write_paper(arguments.session, Paper.TAG, path)
    data = {"head": handed.tag.head, "code": handed.code, "mail": handed.mail}
    names = {name: str(path) for name, path in files.items()}
    answer(arguments.json, data | names, "\n".join([*written_lines("tag", files), handed.mail.rstrip("\n")]))
    return DONE
