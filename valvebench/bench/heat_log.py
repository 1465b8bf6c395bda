"""What a logger's file holds: the runs of one device or of several, and how it is written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol

from valvebench.model.errors import BenchError

if TYPE_CHECKING:  # arrays would make the room slow to open
    from valvebench.diagnose.heat_data import HeatRun

Step = Callable[[int], bool]
"""Hears how many lines were read, and says whether to go on."""


class Stopped(BenchError):
    """Nobody wants the answer any more."""


class LogColumn(NamedTuple):
    """One column as it is understood: its heading, and `time`, `probe`, `ohm`, `device` or `other`."""

    heading: str
    holds: str
    device: str = ""
    unit: str = ""


class LogHead(NamedTuple):
    """How a file is written: its separator and decimal sign, its time, its columns and its first lines."""

    separator: str
    decimal_sign: str
    time: str
    columns: tuple[LogColumn, ...]
    lines: tuple[tuple[str, ...], ...]
    passed_over: int = 0


class HeatLog(NamedTuple):
    """Runs by device, in the order of the file; a single run without a name stands under an empty text.

    `has_shared_lines`: the devices were read line by line together.  `not_used` are columns
    nobody asked for.
    """

    runs: Mapping[str, HeatRun]
    has_shared_lines: bool
    not_used: tuple[str, ...] = ()

    @property
    def is_single(self) -> bool:
        """Whether the file names no device."""
        return set(self.runs) == {""}


class HeatFiles(Protocol):
    """Reads the files of loggers."""

    def bytes_of(self, path: Path) -> bytes:
        """The bytes of a file the person named (raises WorldFailed)."""
        ...

    def head_of(self, raw: bytes, *, source: str) -> LogHead:
        """How the file is written (raises BadInput)."""
        ...

    def log_of(self, raw: bytes, *, source: str, is_rounds: bool, step: Step | None = None) -> HeatLog:
        """The runs in it (raises BadInput, Stopped)."""
        ...
