"""Where the pins of a face stand.  No Qt."""

from __future__ import annotations

from typing import Final

from valvebench.model.variant import Face, Variant
from valvebench.ui.widgets.face_geometry import PinSpot

_ACROSS: Final = 8
"""Pins in a row where the variant names no places."""


def spots_of(variant: Variant, face: Face | None) -> list[PinSpot]:
    """The pins of a face, those without a place in rows; without a face every pin."""
    pins = [pin for pin in variant.pins if face is None or pin.face in (None, face.name)]
    return [
        PinSpot(
            name=pin.name,
            x=float(i % _ACROSS) if pin.x is None else pin.x,
            y=float(i // _ACROSS) if pin.y is None else pin.y,
        )
        for i, pin in enumerate(pins)
    ]
