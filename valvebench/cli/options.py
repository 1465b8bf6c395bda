"""Options as text -> values, all problems at once; answers as text or one JSON object."""

from __future__ import annotations

import argparse
import json
import math
import re
from collections.abc import Callable, Mapping, Sequence
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NoReturn

from valvebench.model.errors import BadInput, Problem, bad, nearest
from valvebench.model.numbers import decimal, decimals
from valvebench.model.words import Verdict

DONE, FAILED, BAD_INPUT, NOT_DECIDED, NOT_VERIFIED = range(5)
EXIT_OF_VERDICT: Final = MappingProxyType(
    {
        Verdict.PASS: DONE,
        Verdict.NO_LIMIT: DONE,
        Verdict.FAIL: FAILED,
        Verdict.CANT_TELL: NOT_DECIDED,
        Verdict.NOT_TAKEN: NOT_DECIDED,
        Verdict.NOT_USABLE: NOT_DECIDED,
        Verdict.NOT_FINISHED: NOT_DECIDED,
    }
)
_NEGATIVE: Final = re.compile(r"-[\d.,]")

Convert = Callable[[str, str], Any]
"""From (text, name of the option) to a value; raises BadInput."""


class Parser(argparse.ArgumentParser):
    """Says what is wrong in one message instead of a usage dump."""

    def __init__(self, prog: str, description: str) -> None:
        super().__init__(prog=f"valvebench {prog}", description=description, allow_abbrev=False)
        self.add_argument("--json", action="store_true", help="answer with one JSON object")

    def error(self, message: str) -> NoReturn:
        """Turn the library's message into ours."""
        found, known = message, [flag for action in self._actions for flag in action.option_strings]
        unknown = re.search(r"unrecognized arguments: (\S+)", message)
        advice = nearest(unknown[1].partition("=")[0], known) if unknown else ""
        raise bad(self.prog.removeprefix("valvebench "), found, "the options that --help lists", advice)

    def read(self, words: Sequence[str]) -> argparse.Namespace:
        """Parse; a negative number with a comma is a value, not an option."""
        return self._mended(self.parse_args(joined_negatives(words)))

    def read_known(self, words: Sequence[str]) -> argparse.Namespace:
        """The same where other options may stand among them."""
        return self._mended(self.parse_known_args(joined_negatives(words))[0])

    def _mended(self, found: argparse.Namespace) -> argparse.Namespace:
        """The library drops the value of `--note=--`; here it is text like any other."""
        for action in self._actions:
            if getattr(found, action.dest, None) == []:
                setattr(found, action.dest, Path("--") if action.type is Path else "--")
        return found


def joined_negatives(words: Sequence[str]) -> list[str]:
    """`--celsius -4,5` -> `--celsius=-4,5`."""
    result: list[str] = []
    for number, word in enumerate(words):
        if word == "--":  # all that follows is text
            return [*result, *words[number:]]
        follows_option = bool(result) and result[-1].startswith("--") and "=" not in result[-1]
        if follows_option and _NEGATIVE.match(word):
            result[-1] = f"{result[-1]}={word}"
        else:
            result.append(word)
    return result


def number(text: str, name: str) -> float:
    """One number, decimal point or comma."""
    return decimal(text, where=name)


def numbers(text: str, name: str) -> tuple[float, ...]:
    """Several numbers, separated by blanks or semicolons."""
    found = decimals(text, where=name)
    if not found:
        raise bad(name, repr(text), "one number or more, separated by blanks or semicolons")
    return found


def share(text: str, name: str) -> float:
    """A share that a band can hold."""
    found = number(text, name)
    if not 0.01 <= found <= 0.9999:
        raise bad(name, repr(text), "0.01 to 0.9999, such as 0.9")
    return found


def words(text: str, name: str) -> str:
    """Any text that says something."""
    if not text.strip():
        raise bad(name, repr(text), "a text")
    return text


def whole(text: str, name: str) -> int:
    """A count from one."""
    if not (text.isascii() and text.isdigit() and 0 < int(text) < 10**9):
        raise bad(name, repr(text), "a whole number from 1")
    return int(text)


def yes_no(text: str, name: str) -> bool:
    """`yes` or `no`."""
    if text not in ("yes", "no"):
        raise bad(name, repr(text), "yes or no")
    return text == "yes"


def one_of(choices: type[Enum]) -> Convert:
    """A word of one of the closed lists."""

    def convert(text: str, name: str) -> str:
        known = [str(member.value) for member in choices]
        if text not in known:
            raise bad(name, repr(text), f"one of {', '.join(known)}", nearest(text, known))
        return text

    return convert


class Option:
    """An option: its flag, the field it fills, how its text becomes a value, one line of help."""

    def __init__(self, flag: str, field: str, convert: Convert | None, text: str) -> None:
        self.flag, self.field, self.convert, self.text = flag, field, convert, text

    def add_to(self, parser: argparse.ArgumentParser) -> None:
        """Tell the parser; an option without conversion is a switch."""
        if self.convert is None:
            parser.add_argument(self.flag, dest=self.field, action="store_true", default=None, help=self.text)
        else:
            parser.add_argument(self.flag, dest=self.field, default=None, metavar=self.field.upper(), help=self.text)


def fields(arguments: argparse.Namespace, options: Sequence[Option]) -> dict[str, Any]:
    """The fields that were given, converted; every problem is reported together (raises BadInput)."""
    result: dict[str, Any] = {}
    problems: list[Problem] = []
    for option in options:
        text = getattr(arguments, option.field)
        if text is None:
            continue
        try:
            result[option.field] = text if option.convert is None else option.convert(text, option.flag)
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return result


def json_value(value: object) -> Any:
    """What an answer holds as JSON: words of enums, no NaN, no infinity."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): json_value(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [json_value(item) for item in value]
    return value


def answer(as_json: bool, data: Mapping[str, Any], text: str) -> None:  # noqa: FBT001  every command's flag
    """Print one JSON object or plain text on standard output."""
    # ASCII: the same object whatever encoding the console or the pipe has
    print(json.dumps(json_value(data), allow_nan=False) if as_json else text)
