"""What stands on the page for each port and method: readings that are not kept yet are never thrown away.  No Qt."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from valvebench.bench.heat_find import LogFile
from valvebench.bench.leak_take import Taken
from valvebench.judge.leak import is_look, next_look_s
from valvebench.model.leak import LeakMethod
from valvebench.ui.leak.readings import Readings
from valvebench.ui.leak.set_up import Said

_ONE_LOOK: Final = 1


@dataclass
class Sheet:
    """Readings of one port by one method, or the file in their place."""

    readings: Readings
    file: LogFile | None = None

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to look at."""
        return self.file is None and not self.readings.of_port

    @property
    def _fewest(self) -> int:
        """Of a falling pressure one reading says nothing."""
        return 2 if self.readings.method is LeakMethod.DECAY else 1

    def taken(self, hole: Mapping[str, str], said: Said, limit_ml_min: float | None) -> Taken | None:
        """Everything as an entry spells it, `hole` being what is tested; None where there is nothing to look at yet."""
        if self.is_empty or (self.file is None and len(self.readings.of_port) < self._fewest):
            return None
        own = self.readings.fields()
        if self.file is not None:
            own = {name: own[name] for name in ("blank_kpa", "known_kpa") if name in own}
        fields: dict[str, Any] = {**hole, **said.fields, **own}
        if limit_ml_min is not None:
            fields["max_ml_min"] = limit_ml_min
        if said.note:
            fields["note"] = said.note
        return Taken(fields, self.file, is_watched=self._looks() > _ONE_LOOK)

    def _times(self) -> list[float]:
        """Of a falling pressure, since its first reading [s]."""
        if self.readings.method is not LeakMethod.DECAY or self.file is not None:
            return []
        return [row[0] - self.readings.rows[0][0] for row in self.readings.rows]

    def _looks(self) -> int:
        """At how many doubling times the verdict was shown."""
        times = self._times()
        return sum(is_look(before, now) for before, now in itertools.pairwise(times))

    def look_words(self) -> str:
        """When the verdict comes; empty where it is due now."""
        times = self._times()
        if len(times) < 2 or is_look(times[-2], times[-1]):
            return ""
        return f"The verdict comes at {next_look_s(times[-1]):g} s."

    def send(self) -> Sent:
        """What stands here is on its way to the disk; the sheet is ready for more."""
        sent = Sent(self, tuple(self.readings.of_port), self.file)
        self.clear()
        return sent

    def clear(self) -> None:
        """Ready for the next test."""
        self.readings.clear()
        self.file = None


class Sent(NamedTuple):
    """What was on a sheet when it was sent."""

    sheet: Sheet
    rows: tuple[tuple[float, ...], ...]
    file: LogFile | None

    def give_back(self) -> None:
        """It is not on disk: before whatever was typed since."""
        self.sheet.readings.put_back(self.rows)
        self.sheet.file = self.sheet.file or self.file


class Sheets:
    """One sheet for each port and method; the pump as it was read serves the next port too."""

    def __init__(self) -> None:
        self._sheets: dict[tuple[str, LeakMethod], Sheet] = {}
        self._pump: Readings | None = None

    def of(self, hole: str, method: LeakMethod) -> Sheet:
        """The sheet of a port or seat, by its key, made at its first visit."""
        made = self._sheets.get((hole, method))
        if made is None:
            made = self._sheets[hole, method] = Sheet(Readings(method))
        if method is LeakMethod.VACUUM:
            if self._pump is not None and self._pump is not made.readings and not made.readings.of_port:
                made.readings.rows = list(self._pump.rows)
                made.readings.clear()
            self._pump = made.readings
        return made
