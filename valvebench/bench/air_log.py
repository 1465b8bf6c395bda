"""What a file of an air test holds: pressures of the steady, vacuum or decay test, or a sweep of a solenoid."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol

if TYPE_CHECKING:  # arrays would make the room slow to open
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class SteadyLog(NamedTuple):
    """Two gauges at rest, line by line, as they were read [kPa]; `is_gauge` of supply and port."""

    supply_kpa: Array
    port_kpa: Array
    is_gauge: tuple[bool, bool]
    unit_kpa: float = 1.0
    not_used: tuple[str, ...] = ()


class VacuumLog(NamedTuple):
    """A vacuum held by a pump, line by line, below ambient and positive [kPa]."""

    vacuum_kpa: Array
    unit_kpa: float = 1.0
    not_used: tuple[str, ...] = ()


class DecayLog(NamedTuple):
    """Time [s], pressure as the gauge shows it [kPa] and the temperature beside it [degC], where there is one."""

    t_s: Array
    kpa: Array
    is_gauge: bool
    celsius: Array | None = None
    unit_kpa: float = 1.0
    unit: str = "kpa"
    not_used: tuple[str, ...] = ()


class SweepLog(NamedTuple):
    """Current up and down: ampere, pressure [kPa] and whether the current rises, each (n,)."""

    ampere: Array
    kpa: Array
    is_up: Array
    unit_kpa: float = 1.0
    not_used: tuple[str, ...] = ()


class AirFiles(Protocol):
    """Reads the files of air tests."""

    def bytes_of(self, path: Path) -> bytes:
        """The bytes of a file the person named (raises WorldFailed)."""
        ...

    def steady_of(self, raw: bytes, *, source: str) -> SteadyLog:
        """Two gauges of a steady test (raises BadInput)."""
        ...

    def vacuum_of(self, raw: bytes, *, source: str) -> VacuumLog:
        """The vacuum held on a bore (raises BadInput)."""
        ...

    def decay_of(self, raw: bytes, *, source: str) -> DecayLog:
        """A falling pressure (raises BadInput)."""
        ...

    def sweep_of(self, raw: bytes, *, source: str) -> SweepLog:
        """Pressure against current, up and down (raises BadInput)."""
        ...
