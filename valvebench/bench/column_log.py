"""One column of numbers from a file, for statistics."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:  # arrays would make the room slow to open
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class ColumnLog(NamedTuple):
    """Numbers (n,) as the file has them, the line each stands on, and the heading above them."""

    values: Array
    lines: tuple[int, ...]
    heading: str
