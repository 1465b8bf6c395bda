"""Whether the Qt found here can run the window on this Python."""

from __future__ import annotations

from typing import Final

LEAKING: Final = (6, 12, 0)
"""This release gives back one reference to None too many in nearly every call (measured on Python 3.11)."""

IMMORTAL_NONE: Final = (3, 12)
"""From here on None cannot be given back too often (PEP 683)."""

INSTALL: Final = 'Install a good one with: python -m pip install "PySide6-Essentials>=6.11.3,<6.12"'


def check_qt(version: str, python: tuple[int, int]) -> str | None:
    """A plain message when this Qt binding (empty text: none found) would crash or is missing, else None."""
    if not version:
        return f"The window needs PySide6 (Qt), which is not installed for this Python. {INSTALL}"
    if _numbers(version)[:3] == LEAKING and python < IMMORTAL_NONE:
        return (
            f"PySide6 {version} stops the program within seconds on Python {python[0]}.{python[1]}. "
            f"{INSTALL}, or use Python 3.12 or newer."
        )
    return None


def _numbers(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in version.split(".") if part.isdigit())
