"""The question that can stand in the field: which of two values, or open on which range.  No Qt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

_CHOICES: Final = frozenset({"1", "2"})


@dataclass(frozen=True)
class Asking:
    """A question that stands in the field."""

    choices: tuple[float, ...] = ()
    wants_range: bool = False

    def choice(self, text: str) -> float | None:
        """The value [ohm] that a typed 1 or 2 stands for."""
        return self.choices[int(text) - 1] if self.choices and text.strip() in _CHOICES else None

    def stands_with(self, text: str) -> bool:
        """Whether what is typed can be an answer; any other text is a new reading."""
        return self.wants_range or (bool(self.choices) and (not text.strip() or self.choice(text) is not None))
