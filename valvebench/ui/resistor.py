"""The check resistor that lies on the bench, remembered from one job to the next.  No Qt."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from valvebench.model.entry import AnyBody, MeterCheck, Reading
from valvebench.model.meter import Check
from valvebench.model.session import Item
from valvebench.ui.keeper import Keeper
from valvebench.ui.settings import Settings


class Remembers(Protocol):
    """What is remembered, and how it is changed."""

    now: Settings

    def change(self, *, check_ohm: float, check_pct: float) -> Settings:
        """Take and keep new values."""
        ...


class ResistorMemory:
    """A default that is asked about, never taken for granted: another job may have another resistor."""

    def __init__(self, settings: Remembers) -> None:
        self._settings = settings

    def now(self) -> Check | None:
        """The one used last in any job, or typed among the settings."""
        ohm = self._settings.now.check_ohm
        return None if ohm is None else Check(ohm=ohm, read_ohm=ohm, pct=self._settings.now.check_pct)

    def watch(self, keeper: Keeper) -> None:
        """Remember each resistor that is read in this session from now on."""
        keeper.listen(lambda: self._look(keeper))

    def _look(self, keeper: Keeper) -> None:
        used, known = check_in(keeper.desk.last_entry.body), self.now()
        if used is not None and (known is None or (used.ohm, used.pct) != (known.ohm, known.pct)):
            self._settings.change(check_ohm=used.ohm, check_pct=used.pct)


def check_in(body: AnyBody) -> Check | None:
    """The resistor of an entry, as it is stated on it; None where the entry has none."""
    if isinstance(body, MeterCheck) or (isinstance(body, Reading) and body.check_ohm is not None):
        return Check(ohm=body.check_ohm or 0.0, read_ohm=body.check_ohm or 0.0, pct=body.check_pct)
    return None


def known_resistor(items: Iterable[Item]) -> Check | None:
    """The check resistor read or used last in this session."""
    return next((found for item in reversed(tuple(items)) if (found := check_in(item.body)) is not None), None)


def nothing_remembered() -> None:
    """No check resistor was read in any job yet."""
