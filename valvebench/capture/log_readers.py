"""The files of loggers by their names; what reads one is brought in with the first of its kind."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from valvebench.bench.air_log import AirFiles, DecayLog, SteadyLog, SweepLog, VacuumLog
from valvebench.bench.column_log import ColumnLog
from valvebench.bench.flex_log import FlexFiles
from valvebench.bench.heat_log import HeatFiles, HeatLog
from valvebench.model.errors import BadInput

if TYPE_CHECKING:
    from valvebench.diagnose.heat_data import HeatRun


class LogReaders:
    """Reads every kind of log; `read_start` gives the first bytes of a file, at most so many."""

    def __init__(self, read_start: Callable[[Path, int], bytes]) -> None:
        self._read_start = read_start

    def read_log_bytes(self, path: Path) -> bytes:
        """The bytes of a logger's file (raises WorldFailed)."""
        from valvebench.capture.lines import LARGEST_BYTES

        # one byte more than may be: an endless file is refused without being read to its end
        return self._read_start(path, LARGEST_BYTES + 1)

    def read_heat_log(self, path: Path, *, is_rounds: bool = False) -> HeatLog:
        """The heat runs in a logger's file (raises BadInput, WorldFailed)."""
        from valvebench.capture.heat_log import heat_log

        return heat_log(self.read_log_bytes(path), source=str(path), is_rounds=is_rounds)

    def read_steady_log(self, path: Path) -> SteadyLog:
        """The two gauges of a steady air test (raises BadInput, WorldFailed)."""
        from valvebench.capture.air_log import steady_log

        return steady_log(self.read_log_bytes(path), source=str(path))

    def read_vacuum_log(self, path: Path) -> VacuumLog:
        """The vacuum held on a bore (raises BadInput, WorldFailed)."""
        from valvebench.capture.air_log import vacuum_log

        return vacuum_log(self.read_log_bytes(path), source=str(path))

    def read_decay_log(self, path: Path) -> DecayLog:
        """A falling pressure (raises BadInput, WorldFailed)."""
        from valvebench.capture.air_log import decay_log

        return decay_log(self.read_log_bytes(path), source=str(path))

    def read_sweep_log(self, path: Path) -> SweepLog:
        """Pressure against current, up and down (raises BadInput, WorldFailed)."""
        from valvebench.capture.air_log import sweep_log

        return sweep_log(self.read_log_bytes(path), source=str(path))

    def read_column_log(self, path: Path, column: str) -> ColumnLog:
        """The numbers below a heading of a file (raises BadInput, WorldFailed)."""
        from valvebench.capture.column_log import column_log

        return column_log(self.read_log_bytes(path), source=str(path), column=column)

    def heat_files(self) -> HeatFiles:
        """Reads the files of loggers for the window."""
        from valvebench.capture.heat_files import LogFiles

        return LogFiles(self.read_log_bytes)

    def flex_files(self) -> FlexFiles:
        """Reads the files of loggers for a flex test."""
        from valvebench.capture.heat_files import LogFiles

        return LogFiles(self.read_log_bytes)

    def air_files(self) -> AirFiles:
        """Reads the files of air tests."""
        from valvebench.capture.air_files import AirLogFiles

        return AirLogFiles(self.read_log_bytes)


def runs_in(raw: bytes | None, name: str, *, is_settled: bool) -> Mapping[str, HeatRun]:
    """The runs of a file that a session keeps; none where it is gone or cannot be read any more."""
    from valvebench.capture.heat_log import heat_log

    try:
        return heat_log(raw, source=name, is_rounds=is_settled).runs if raw is not None else {}
    except BadInput:  # kept by a program that read it otherwise: what was found then stands all the same
        return {}
