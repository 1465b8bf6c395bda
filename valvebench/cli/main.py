"""`valvebench COMMAND ...`: choose the command, turn errors into one message and an exit code."""

from __future__ import annotations

import contextlib
import importlib
import io
import sys
from collections.abc import Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from valvebench import __version__
from valvebench.cli.options import BAD_INPUT, NOT_VERIFIED
from valvebench.model.errors import BenchError, EvidenceBroken, WorldFailed, bad, nearest

if TYPE_CHECKING:
    from valvebench.cli.services import MakeServices

# Only the module of the command that was asked for is imported: a reading answers at once.
COMMANDS: Final = MappingProxyType(
    {
        "reading": ("reading", "judge one reading, no session"),
        "open-job": ("open_job", "make a session folder for a job"),
        "record": ("record", "add to a session"),
        "judge": ("judge", "judge a session"),
        "verify": ("verify", "check that a session is as it was written"),
        "report": ("report", "write the workbook of a session, or its report as PDF"),
        "claim": ("claim", "write the claim page of a closed session"),
        "order": ("order", "write the order sheet for the counter"),
        "tag": ("tag", "what is handed over with a closed session: tag, code, e-mail"),
        "bundle": ("bundle", "write a session as one file for sending"),
        "open-bundle": ("open_bundle", "open a session that was sent as one file"),
        "expect": ("expect", "what a variant's circuit lets one expect between two nodes"),
        "wire": ("wire", "what is wired to what, from readings alone"),
        "heat": ("heat", "a warmed part against copper"),
        "explain": ("explain", "what explains the readings of a session, and what to measure next"),
        "suspects": ("suspects", "what changes in a shift, and what to test first for a complaint"),
        "identify": ("identify", "which variant a part is, and what to look at next"),
        "leak": ("leak", "how much air leaks, as a number"),
        "sweep": ("sweep", "pressure against current: hysteresis, linearity, dead band"),
        "band": ("band", "a band learned from bodies that did well, and the odd ones among them"),
        "archive": ("archive", "closed sessions, kept for years: add, find, show, trend and more"),
        "compare": ("compare", "two sessions pair by pair, without limits"),
        "variants": ("variants", "the variant library, and what two variants do not have in common"),
        "demo": ("demo", "make the demo jobs (invented)"),
        "doctor": ("doctor", "look whether everything the program needs is there"),
        "schema": ("schema", "print the JSON Schema of variant files or of entries"),
        "window": ("window", "open the window, on a session if one is named"),
    }
)


def main(argv: Sequence[str], services: MakeServices) -> int:
    """Run one command; the exit code is the answer (0 done, 1 fail, 2 bad input, 3 not decided, 4 not verified)."""
    _make_printable(sys.stdout, sys.stderr)
    try:
        code = _run(_readable(list(argv)), services)
        sys.stdout.flush()
        return code
    except EvidenceBroken as error:
        _say(error)
        return NOT_VERIFIED
    except BenchError as error:
        _say(error)
        return BAD_INPUT
    except BrokenPipeError:
        # Whoever read our answer has gone; there is nobody left to tell.
        _drop_answer()
        return BAD_INPUT
    except OSError as error:
        # A name too long, a full disk under standard output: nothing of ours, but no reason for a traceback.
        _say(WorldFailed(f"{error.filename or 'the answer'}: the system refused ({error.strerror or error})."))
        _drop_answer()
        return BAD_INPUT
    except KeyboardInterrupt:
        return 130


def _run(words: list[str], services: MakeServices) -> int:
    if words and words[0] in ("-h", "--help", "help"):
        print(overview())
        return 0
    if words == ["--version"]:
        print(f"valvebench {__version__}")
        return 0
    name = words[0] if words else "window"
    if name not in COMMANDS:
        raise bad("command", repr(name), f"one of {', '.join(COMMANDS)}", nearest(name, COMMANDS))
    module = importlib.import_module(f"valvebench.cli.{COMMANDS[name][0]}")
    code: int = module.run(words[1:], services)
    return code


def overview() -> str:
    """All commands in one line each."""
    lines = [f"  {name:<11} {words}" for name, (_, words) in COMMANDS.items()]
    head = "valvebench [COMMAND ...]   without a command the window opens"
    return "\n".join(
        [head, "", *lines, "", "valvebench COMMAND --help tells more; --json answers with one JSON object."]
    )


def _make_printable(*streams: object) -> None:
    """Answer also where the console has no sign for ohm: it comes out escaped."""
    for stream in streams:
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _drop_answer() -> None:
    """Close standard output where it is what refused, or Python would try it again at exit."""
    try:
        sys.stdout.flush()
    except OSError:
        with contextlib.suppress(OSError):
            sys.stdout.close()


def _readable(words: list[str]) -> list[str]:
    """Refuse bytes that are no UTF-8: they could be neither kept in a journal nor printed."""
    for number, word in enumerate(words, 1):
        if not word.isascii() and any("\ud800" <= sign <= "\udfff" for sign in word):
            raise bad(f"word {number}", ascii(word), "text in UTF-8", "Type it again, or rename the file.")
    return words


def _say(error: BenchError) -> None:
    print(f"valvebench: {error}", file=sys.stderr)
