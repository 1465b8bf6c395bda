"""Runners without threads: one answers at once, one holds the work back until it is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


class InlineRunner:
    """Does the work where it stands."""

    def run(self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        try:
            result = work()
        except Exception as error:
            failed(error)
            return
        done(result)


class HeldRunner:
    """Keeps what is asked for, as a slow disk does, until `release`."""

    def __init__(self) -> None:
        self.is_held = False
        self._held: list[Callable[[], None]] = []

    def run(self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        def act() -> None:
            InlineRunner().run(work, done=done, failed=failed)

        if self.is_held:
            self._held.append(act)
        else:
            act()

    def step(self) -> None:
        """Do what waits now; what it asks for in turn waits again."""
        held, self._held = self._held, []
        for act in held:
            act()

    def release(self) -> None:
        """Do everything that waits; what it asks for in turn is done at once."""
        self.is_held = False
        held, self._held = self._held, []
        for act in held:
            act()
