"""Chance that is the same on every computer and in every year."""

from __future__ import annotations

import random
import zlib


def dice(name: str) -> random.Random:
    """A source of chance that depends on nothing but a name."""
    return random.Random(zlib.crc32(name.encode()))  # noqa: S311  invented readings, no secret
