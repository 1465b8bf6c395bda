"""A clock that a test sets."""

from __future__ import annotations


class Clock:
    """Ticks one second each time it is asked; invented day."""

    def __init__(self) -> None:
        self._seconds = 0

    def now(self) -> str:
        self._seconds += 1
        return f"2031-05-06T10:{self._seconds // 60:02d}:{self._seconds % 60:02d}.000Z"
