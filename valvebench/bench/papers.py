"""What can be printed of a session beside its workbook."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import Final

from valvebench.model.errors import bad

Step = Callable[[str], bool]
"""Hears what comes next, and says whether to go on."""


class Paper(Enum):
    """A report, a claim page, an order sheet, a tag."""

    REPORT = "report"
    CLAIM = "claim"
    ORDER = "order"
    TAG = "tag"


ENDINGS: Final = MappingProxyType(
    {
        Paper.REPORT: (".pdf",),
        Paper.CLAIM: (".xlsx", ".pdf"),
        Paper.ORDER: (".xlsx", ".pdf"),
        Paper.TAG: (".pdf", ".png"),
    }
)
"""The endings each can have; the first is the usual one."""
WITH_QT: Final = (".pdf", ".png")
"""Endings that need something to draw with."""


def check_target(paper: Paper, target: Path) -> str:
    """The ending of a file to be written (raises BadInput: it is none for this paper, or there is no folder)."""
    ending = target.suffix.lower()
    if ending not in ENDINGS[paper]:
        raise bad(f"file of the {paper.value}", str(target), f"a file name that ends in {' or '.join(ENDINGS[paper])}")
    if not target.parent.is_dir():
        raise bad(f"file of the {paper.value}", str(target.parent), "a folder that is there")
    return ending
