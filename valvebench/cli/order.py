"""`valvebench order SESSION --xlsx F --pdf F`: the order sheet for the counter."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from valvebench.cli.options import DONE, Parser
from valvebench.cli.papers import add_files, answer_written, files_of
from valvebench.cli.services import MakeServices, Services
from valvebench.model.errors import bad

if TYPE_CHECKING:
    from valvebench.bench.ordering import Which


def run(words: Sequence[str], services: MakeServices) -> int:
    """Write the sheet as workbook, as PDF, or as both."""
    from valvebench.bench.papers import Paper

    parser = Parser("order", "Write the order sheet of a job or an enquiry.")
    parser.add_argument("session", type=Path, help="the session folder of the old part, or of the enquiry")
    parser.add_argument("--new", type=Path, help="the session folder of the new part, for its must-match points")
    parser.add_argument("--variants", help="folder of variant files the part could be: it is identified among them")
    add_files(parser, Paper.ORDER)
    arguments = parser.read(words)
    if arguments.new is not None and arguments.new.resolve() == arguments.session.resolve():
        raise bad("--new", "the session itself", "the session folder of the new part")
    files = files_of(arguments, Paper.ORDER)
    world = services()
    which = _identified(world, arguments.session, arguments.variants) if arguments.variants is not None else None
    for path in files.values():
        world.write_paper(arguments.session, Paper.ORDER, path, new=arguments.new, which=which)
    answer_written(arguments, "order sheet", files)
    return DONE


def _identified(world: Services, session: Path, folder: str) -> Which:
    """What the features and readings of the session say among these variants."""
    from valvebench.bench.ordering import which_of
    from valvebench.cli.identify import library_in, said_in

    identifier, faults = library_in(world, folder)
    looks, said = said_in(world, str(session), identifier.questions, faults)
    return which_of(identifier.identify(looks, said), identifier.variants)
