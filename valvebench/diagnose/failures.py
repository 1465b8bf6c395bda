"""What fails most: counts of sessions by variant, device, supplier or batch, each share with how sure it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum
from typing import Final, NamedTuple

from valvebench.physics.outliers import share_interval

FEW_READ: Final = 10
_CONFIDENCE: Final = 0.95


class By(Enum):
    """What failures are counted by."""

    VARIANT = "variant"
    DEVICE = "device"
    SUPPLIER = "supplier"
    BATCH = "batch"


class Cell(NamedTuple):
    """Sessions alike in everything that can be asked for; `device` is empty where whole sessions are counted."""

    variant: str
    device: str
    supplier: str
    batch: str
    sessions: int
    failed: int


class Cells(NamedTuple):
    """Sessions in which a device was read, by the device's own verdict; and whole sessions, by theirs."""

    devices: tuple[Cell, ...]
    sessions: tuple[Cell, ...]


class Count(NamedTuple):
    """One line: how many sessions of `name`, how many of them failed, and the 95 % interval of that share (0 to 1).

    `of` is the variant of a device, the supplier of a batch; `name` is empty where it was not told.
    """

    of: str
    name: str
    sessions: int
    failed: int
    low: float
    high: float


def counted(cells: Cells, by: By) -> tuple[Count, ...]:
    """Counts, what surely fails most first: by the low end of the interval, so that one of one does not lead.

    Source
    ------
    Clopper and Pearson's interval of a share, which is exact: see `physics.outliers`.
    """
    sums: dict[tuple[str, str], list[int]] = {}
    for cell in cells.devices if by is By.DEVICE else cells.sessions:
        total = sums.setdefault(_key(cell, by), [0, 0])
        total[0] += cell.sessions
        total[1] += cell.failed
    lines = [
        Count(*key, n, failed, *share_interval(failed, n, confidence=_CONFIDENCE)) for key, (n, failed) in sums.items()
    ]
    return tuple(sorted(lines, key=lambda one: (-one.low, -one.failed, one.of, one.name)))


def _key(cell: Cell, by: By) -> tuple[str, str]:
    keys = {
        By.VARIANT: ("", cell.variant),
        By.DEVICE: (cell.variant, cell.device),
        By.SUPPLIER: ("", cell.supplier),
        By.BATCH: (cell.supplier, cell.batch),
    }
    return keys[by]


def warnings_of(counts: Sequence[Count]) -> tuple[str, ...]:
    """What a person has to know before a supplier is blamed."""
    said = ["Sessions are those somebody brought to the bench, mostly for a complaint: a share here is not one of all."]
    few = sum(one.sessions < FEW_READ for one in counts)
    if few:
        said.append(f"{few} of {len(counts)} lines rest on fewer than {FEW_READ} sessions: look at the interval.")
    return tuple(said)


def total_of(counts: Iterable[Count]) -> tuple[int, int]:
    """All sessions counted, and how many failed."""
    lines = tuple(counts)
    return sum(one.sessions for one in lines), sum(one.failed for one in lines)
