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
        self._held: list[tuple[Callable[[], Any], Callable[[Any], None], Callable[[Exception], None]]] = []

    def run(self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        if self.is_held:
            self._held.append((work, done, failed))
        else:
            InlineRunner().run(work, done=done, failed=failed)

    def step(self) -> None:
        """Do what waits now; what it asks for in turn waits again."""
        held, self._held = self._held, []
        for work, done, failed in held:
            InlineRunner().run(work, done=done, failed=failed)

    def release(self) -> None:
        """Do everything that waits; what it asks for in turn is done at once."""
        self.is_held = False
        self.step()

    def forget(self) -> None:
        """Do everything that waits and tell nobody, as where the window is left."""
        held, self._held = self._held, []
        for work, _, _ in held:
            InlineRunner().run(work, done=_leave_it, failed=_leave_it)


def _leave_it(_: object) -> None:
    """Nobody waits for this answer any more."""
