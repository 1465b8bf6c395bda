"""The tables of what is ordered and what the refit asks for: fasteners, fluid, checklist, part numbers."""

from __future__ import annotations

from typing import Final

from valvebench.model.draft_field import Cell, Field, words_of
from valvebench.model.words import CheckTime

LEVEL_BY: Final = (("overflow", "overflow"), ("dipstick", "dipstick"))
_NOTE: Final = Field(key="note", title="Note", path=("note",), also=("remark", "comment"), width_px=160)

FASTENERS: Final = (
    Field(
        key="name", title="Place", path=("place",), also=("fastener", "bolt", "where", "position", "name"), width_px=160
    ),
    Field(
        key="count", title="Count", path=("count",), cell=Cell.WHOLE, also=("number", "pieces", "quantity"), width_px=68
    ),
    Field(
        key="length",
        title="Length mm",
        path=("length_mm",),
        cell=Cell.NUMBER,
        also=("length", "mm", "long"),
        width_px=92,
    ),
    Field(
        key="torque",
        title="Torque Nm",
        path=("torque_nm",),
        cell=Cell.NUMBER,
        also=("torque", "nm", "n m", "tightening torque"),
        width_px=92,
    ),
    Field(key="order", title="Turn", path=("order",), cell=Cell.WHOLE, also=("order", "sequence", "step"), width_px=64),
    _NOTE,
)

FLUID: Final = (
    Field(key="by", title="Level is checked by", path=("by",), cell=Cell.CHOICE, choices=LEVEL_BY),
    Field(key="low", title="Right from, \u00b0C", path=("low_celsius",), cell=Cell.CELSIUS),
    Field(key="high", title="Right up to, \u00b0C", path=("high_celsius",), cell=Cell.CELSIUS),
    Field(key="kind", title="Fluid", path=("kind",)),
    Field(key="note", title="Note to the fluid", path=("note",)),
)

CHECKLIST: Final = (
    Field(key="name", title="Line", path=("text",), also=("text", "check", "item", "what", "checklist"), width_px=340),
    Field(
        key="required",
        title="Required",
        path=("required",),
        cell=Cell.REQUIRED,
        also=("needed", "must"),
        width_px=92,
    ),
    Field(
        key="when",
        title="When",
        path=("when",),
        cell=Cell.CHOICE,
        choices=words_of(CheckTime),
        also=("stage", "phase", "time"),
        width_px=132,
    ),
)

PART_NUMBERS: Final = (
    Field(key="name", title="Number", path=("number",), also=("part number", "part no", "no", "part"), width_px=180),
    Field(
        key="next",
        title="Superseded by",
        path=("superseded_by",),
        also=("replaced by", "new number", "successor", "supersedes to"),
        width_px=180,
    ),
)

ORDER_WITH: Final = (
    Field(key="name", title="What", path=("text",), also=("part", "name", "text", "item"), width_px=240),
    Field(key="number", title="Part number", path=("number",), also=("number", "part no", "no"), width_px=160),
    _NOTE,
)
