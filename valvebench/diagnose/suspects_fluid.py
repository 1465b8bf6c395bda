"""What fluid and debris as found say: words of the trade, common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from valvebench.diagnose.suspected import Finding, Mark
from valvebench.diagnose.suspects_weights import Cause
from valvebench.model.entry import FluidFound

_RIGHT: Final = frozenset({"right", "on the mark", "ok", "good", "correct", "full"})
_WRONG_LEVEL: Final = re.compile(r"\b(?:low|high|none left|empty|overfilled|underfilled)\b")
_BAD: Final = {
    "colour": re.compile(r"\b(?:brown|black|milky)\b"),
    "smell": re.compile(r"\b(?:burnt|varnish|fuel|coolant)\b"),
    "debris": re.compile(r"\b(?:flakes|chips|plastic|splinters)\b"),
}
_GOOD: Final = {
    "colour": frozenset({"clear red", "red", "amber", "clear"}),
    "smell": frozenset({"none", "no"}),
    "debris": frozenset({"none", "no", "fine grey paste on the magnets"}),
}
_NOT: Final = re.compile(r"\b(?:no|not|nor|without)\b")
"""Free words that deny something are shown, never weighed."""


def fluid_findings(found: Iterable[tuple[int, FluidFound]]) -> list[tuple[Cause, Finding]]:
    """What the newest word on each part says; each is an entry's number with its body."""
    newest: dict[str, tuple[int, str]] = {}
    for number, body in found:
        for name in ("level", "colour", "smell", "debris"):
            text = getattr(body, name)
            if text:
                newest[name] = (number, text)
    result = []
    if "level" in newest:
        result.append((Cause.FLUID_LEVEL, _level(*newest.pop("level"))))
    told = [_condition(name, *one) for name, one in newest.items()]
    if told and all(one.mark is Mark.GOOD for one in told) and len(told) < len(_GOOD):
        told = [one._replace(mark=Mark.PARTLY) for one in told]
    return [*result, *((Cause.FLUID_CONDITION, one) for one in told)]


def _plain(text: str) -> str:
    return " ".join(text.lower().split())


def _level(number: int, text: str) -> Finding:
    plain = _plain(text)
    mark = Mark.UNSURE
    if plain in _RIGHT:
        mark = Mark.GOOD
    elif _WRONG_LEVEL.search(plain) and not _NOT.search(plain):
        mark = Mark.POINTS
    return Finding(mark, f"Level as found: {text}.", (number,))


def _condition(name: str, number: int, text: str) -> Finding:
    plain = _plain(text)
    mark = Mark.UNSURE
    if plain in _GOOD[name]:
        mark = Mark.GOOD
    elif _BAD[name].search(plain) and not _NOT.search(plain):
        mark = Mark.POINTS
    return Finding(mark, f"{name.capitalize()} as found: {text}.", (number,))
