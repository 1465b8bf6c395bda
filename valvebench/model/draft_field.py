"""What a column of the variant editor is: its table, how it is read and where it stands in the file."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType
from typing import Final


class Part(Enum):
    """A table of the editor; `BODY` and `FLUID` have one row, the others as many as there are."""

    BODY = "body"
    FACES = "faces"
    PINS = "pins"
    DEVICES = "devices"
    PORTS = "ports"
    FEATURES = "features"
    GEARS = "gears"
    FASTENERS = "fasteners"
    FLUID = "fluid"
    CHECKLIST = "checklist"
    PART_NUMBERS = "part_numbers"
    ORDER_WITH = "order_with"
    SELECTOR_CODES = "selector_codes"
    PRESSURE_CODES = "pressure_codes"
    TAPS = "taps"


FORMS: Final = (Part.BODY, Part.FLUID)
"""What is asked in a form: one row, always there."""


CODE_PARTS: Final = (Part.SELECTOR_CODES, Part.PRESSURE_CODES)
"""Tables of positions by switches: their columns are the switches of the draft."""


PART_TITLE: Final = MappingProxyType(
    {
        Part.BODY: "Body",
        Part.FACES: "Connectors",
        Part.PINS: "Pins",
        Part.DEVICES: "Devices",
        Part.PORTS: "Ports",
        Part.FEATURES: "Features",
        Part.GEARS: "Gears",
        Part.FASTENERS: "Fasteners",
        Part.FLUID: "Fluid",
        Part.CHECKLIST: "Checklist",
        Part.PART_NUMBERS: "Part numbers",
        Part.ORDER_WITH: "Order with",
        Part.SELECTOR_CODES: "Selector codes",
        Part.PRESSURE_CODES: "Pressure codes",
        Part.TAPS: "Taps",
    }
)


class Cell(Enum):
    """How the text of a cell is read."""

    TEXT = "text"
    NUMBER = "number"
    OHM = "ohm"
    CELSIUS = "celsius"
    WHOLE = "whole"
    CHOICE = "choice"
    YES = "yes"
    LIST = "list"
    STATES = "states"
    POINTS = "points"
    EXPECT = "expect"
    CODES = "codes"
    REQUIRED = "required"


NUMBER_CELLS: Final = frozenset({Cell.NUMBER, Cell.OHM, Cell.CELSIUS, Cell.WHOLE})


@dataclass(frozen=True, kw_only=True)
class Field:
    """One column: its key, its heading, how it is read and where it stands in the file.

    `choices` are (word in the file, word shown); `also` are other headings that mean this column.
    """

    key: str
    title: str
    path: tuple[str | int, ...]
    cell: Cell = Cell.TEXT
    choices: tuple[tuple[str, str], ...] = ()
    also: tuple[str, ...] = ()
    width_px: float = 96.0


def words_of(enum: type[Enum]) -> tuple[tuple[str, str], ...]:
    """The choices of a closed word: as the file has it, as it is shown."""
    return tuple((str(member.value), str(member.value).replace("_", " ")) for member in enum)
