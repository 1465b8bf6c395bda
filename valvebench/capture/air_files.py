"""The files of air tests as a session keeps them: bytes, and what stands in them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from valvebench.capture.air_log import decay_log, steady_log, sweep_log, vacuum_log


class AirLogFiles:
    """Reads logs of air tests; `read` brings the bytes of a file."""

    steady_of = staticmethod(steady_log)
    vacuum_of = staticmethod(vacuum_log)
    decay_of = staticmethod(decay_log)
    sweep_of = staticmethod(sweep_log)

    def __init__(self, read: Callable[[Path], bytes]) -> None:
        self._read = read

    def bytes_of(self, path: Path) -> bytes:
        """The bytes of a file the person named (raises WorldFailed)."""
        return self._read(path)
