"""Every error this program raises on purpose.

A message says where, what was found, what was expected and what to do next.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


class BenchError(Exception):
    """Base of every error this program raises on purpose."""


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing that is wrong with what was given: a field, an option or a place in a file."""

    where: str
    found: str
    expected: str
    what_to_do: str = ""
    line: int | None = None

    def text(self) -> str:
        """The problem as one readable sentence."""
        line = f"line {self.line}, " if self.line is not None else ""
        advice = f" {self.what_to_do}" if self.what_to_do else ""
        return f"{line}{self.where}: found {self.found}, expected {self.expected}.{advice}"


class BadInput(BenchError, ValueError):
    """Something given cannot be used; every problem found is listed."""

    def __init__(self, problems: Sequence[Problem], *, source: str = "") -> None:
        self.problems = tuple(problems)
        self.source = source
        lead = f"{source}: " if source else ""
        super().__init__("\n".join(f"{lead}{problem.text()}" for problem in self.problems))


class BadReading(BadInput):
    """A reading cannot be used as it stands."""


class WorldFailed(BenchError, OSError):
    """The disk, a lock or another part of the world refused; nothing is lost, the person is told."""


class EvidenceBroken(BenchError):
    """A journal is not as it was written; nothing is added to it."""


def bad(where: str, found: object, expected: str, what_to_do: str = "", *, source: str = "") -> BadInput:
    """A `BadInput` with one problem."""
    problem = Problem(where=where, found=_shown(found), expected=expected, what_to_do=what_to_do)
    return BadInput([problem], source=source)


def nearest(word: str, choices: Iterable[str]) -> str:
    """Advice that names the closest known word, or an empty text."""
    import difflib  # only for those who mistype

    match = difflib.get_close_matches(word, list(choices), n=1)
    return f"Did you mean {match[0]}?" if match else ""


def _shown(found: object) -> str:
    text = found if isinstance(found, str) else repr(found)
    return text if len(text) <= 80 else text[:77] + "..."
