"""Keys of the Pins page that its cards, and Findings, name too.  No Qt."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

SET_UP_KEY: Final = "F2"
CHECK_KEY: Final = "F3"
VOLTS_KEY: Final = "F4"
ROUNDS_KEY: Final = "F5"
FLEX_KEY: Final = "F6"
LEVER_KEY: Final = "F7"
CODES_KEY: Final = "F8"
NEXT_KEY: Final = "F9"
"""From Findings to the reading it asks for, and from there back."""
BY_ROUNDS: Final = "rounds"
"""In the place of an item: not one pair is meant, but all of them round by round."""
ROUND_WORDS: Final = MappingProxyType(
    {"keep": "go on", "open": "end", "previous": "earlier", "skip": "later", "turn": "how read"}
)
"""What the keys of a pair do while a temperature is asked for."""
