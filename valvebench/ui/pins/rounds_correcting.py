"""Corrects the temperature of a whole round: one entry after the other, each a correction of its own.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from valvebench.model.errors import BadInput
from valvebench.model.words import TemperatureSource
from valvebench.ui.keeper import Failed, Keeper
from valvebench.ui.pins.rounds import Kept


class Correcting:
    """The corrections of one round; what was kept before a fault stays corrected."""

    def __init__(self, keeper: Keeper) -> None:
        self._keeper = keeper
        self.is_under_way = False

    def begin(
        self,
        number: int,
        readings: Sequence[Kept],
        celsius: float,
        how: TemperatureSource,
        *,
        done: Callable[[], None],
        failed: Failed,
    ) -> None:
        """Give these readings of a round another temperature [degC], or another way to know it."""
        changes = {"celsius": celsius, "temperature": how.value, "celsius_accuracy": None, "u_celsius": None}
        self.is_under_way = True

        def end(error: Exception) -> None:
            self.is_under_way = False
            failed(error)

        def next_of(left: Sequence[Kept]) -> None:
            if left:
                self._keep(left[0], changes, number, kept=lambda: next_of(left[1:]), failed=end)
                return
            self.is_under_way = False
            done()

        next_of(readings)

    def _keep(
        self, one: Kept, changes: dict[str, Any], number: int, *, kept: Callable[[], None], failed: Failed
    ) -> None:
        try:
            body = self._keeper.desk.corrected(one.n, changes, f"temperature of round {number}")
        except BadInput as error:
            failed(error)
            return
        self._keeper.keep(body, kept=lambda *_: kept(), failed=failed)
