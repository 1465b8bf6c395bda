"""What a logger's file of a flex test holds."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol

if TYPE_CHECKING:  # arrays would make the room slow to open
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class FlexLog(NamedTuple):
    """Readings (n,) [ohm], open is infinite; times [s] (n,) where the file has them; the column, columns not used."""

    ohm: Array
    t_s: Array | None
    column: str
    not_used: tuple[str, ...] = ()


class FlexFiles(Protocol):
    """Reads the files of loggers."""

    def bytes_of(self, path: Path) -> bytes:
        """The bytes of a file the person named (raises WorldFailed)."""
        ...

    def flex_of(self, raw: bytes, *, source: str, column: str | None = None) -> FlexLog:
        """The readings in it (raises BadInput); `column` names one of several."""
        ...
