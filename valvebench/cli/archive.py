"""`valvebench archive [--at FOLDER] WORD ...`: closed sessions, kept for years."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple, NoReturn

from valvebench.bench.ports import Archive, Archives
from valvebench.cli.options import Parser
from valvebench.cli.services import MakeServices
from valvebench.model.errors import bad, nearest

# Only the module of the word that was asked for is imported.
WORDS: Final = MappingProxyType(
    {
        "add": ("archive_keep", "keep closed sessions; an open one is listed"),
        "find": ("archive_find", "look for sessions, the newest first"),
        "show": ("archive_find", "everything about one session, and its folder if one is named"),
        "trend": ("archive_judged", "values of one device over time"),
        "learn": ("archive_learn", "a band of one device from bodies that did well"),
        "drift": ("archive_learn", "whether meters drift, or a supplier"),
        "failures": ("archive_learn", "what fails most"),
        "rejudge": ("archive_judged", "judge sessions anew, beside what they were closed with"),
        "claim": ("archive_claim", "the claim page of one session"),
        "export": ("archive_keep", "tables as CSV files"),
        "backup": ("archive_keep", "the whole archive in one file"),
        "restore": ("archive_keep", "put an archive back from its backup"),
        "rebuild": ("archive_keep", "make what is looked up anew from the journals"),
        "verify": ("archive_keep", "check that everything is as it was written"),
    }
)
_SHARED: Final = ("push", "init-server")
_PROGRESS_STEPS: Final = 20


class Call(NamedTuple):
    """What a word of the archive is given: what was typed after it, and the way to archives."""

    given: list[str]
    services: MakeServices

    def archives(self) -> Archives:
        """The way to archives."""
        return self.services().archives()

    def opened(self, at: str | None) -> Archive:
        """The archive that is meant (raises BadInput where there is none)."""
        return self.archives().open(folder_of(at), may_make=False)


def run(words: Sequence[str], services: MakeServices) -> int:
    """Find the word among options that stand before it, and let its module do the rest."""
    before, word, after = _split(list(words))
    if word is None:
        return _overview(before)
    if word in _SHARED:
        _not_shared(word)
    if word not in WORDS:
        raise bad("archive", repr(word), f"one of {', '.join(WORDS)}", nearest(word, WORDS))
    module = importlib.import_module(f"valvebench.cli.{WORDS[word][0]}")
    act: Callable[[Call], int] = getattr(module, f"run_{word}")
    return act(Call([*before, *after], services))


def _split(words: list[str]) -> tuple[list[str], str | None, list[str]]:
    """Options before the word, the word, and what follows it."""
    place = 0
    while place < len(words) and words[place].startswith("-"):
        place += 2 if words[place] == "--at" else 1
    word = words[place] if place < len(words) else None
    return words[:place], word, words[place + 1 :]


def _overview(before: Sequence[str]) -> int:
    lines = [f"  {name:<8} {text}" for name, (_, text) in WORDS.items()]
    parser = archive_parser("", "Closed sessions, kept for years:\n" + "\n".join(lines))
    parser.read(before)
    raise bad("archive", "no word", f"one of {', '.join(WORDS)}")


def _not_shared(word: str) -> NoReturn:
    advice = "To take an archive to another computer, use 'valvebench archive backup' and 'restore'."
    raise bad("archive", repr(word), "a word for an archive in a folder: none is shared over a server", advice)


def archive_parser(word: str, text: str) -> Parser:
    """The parser of one word; every one takes `--at`."""
    import argparse

    parser = Parser(f"archive {word}".rstrip(), text)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("--at", help="folder of the archive (default: the one of this computer)")
    return parser


def folder_of(at: str | None) -> Path | None:
    """The folder that `--at` names (raises BadInput); None for the archive of this computer."""
    if at is not None and "://" in at:
        raise bad("--at", repr(at), "a folder: none is shared over a server")
    return Path(at) if at is not None else None


def progress(what: str) -> Callable[[int, int], bool]:
    """Says on a terminal how far long work is; a script hears nothing."""
    shown = -1

    def step(done: int, of: int) -> bool:
        nonlocal shown
        part = _PROGRESS_STEPS * done // max(of, 1)
        if part != shown and sys.stderr.isatty():
            shown = part
            print(f"\r{what}: {done} of {of}", end="\n" if done >= of else "", file=sys.stderr, flush=True)
        return True

    return step
