"""The connector and the ports drawn live; what is dragged is told in the units of the table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QApplication, QWidget

from valvebench.model.draft_places import RING, Placed
from valvebench.model.words import CASE, Place
from valvebench.ui import fonts
from valvebench.ui.editor.mover import Mover, Point
from valvebench.ui.widgets.board_layout import PortSpot
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import ROW_PITCH, PinSpot
from valvebench.ui.widgets.pin_button import PinButton
from valvebench.ui.widgets.port_board import PortBoard

_DISC_SHARE: Final = 0.37
"""Radius of a disc in units of the pin distance, as the drawing has it."""


class FaceBoard(Face):
    """Shows pins, and tells where one was put."""

    pin_moved = Signal(str, float, float)
    pin_stepped = Signal(str, float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Connector", parent)
        self._shown: tuple[tuple[Placed, ...], str] = ((), "")
        self._keep_small()
        fonts.zoom.changed.connect(self._keep_small)
        self._mover = Mover(self._pitch_px, self)
        self._mover.dropped.connect(self.pin_moved)
        self._mover.stepped.connect(self.pin_stepped)

    def _keep_small(self) -> None:
        """Two pins that are close while they are being typed do not blow up the page."""
        self.drawing.setMinimumSize(fonts.whole_px(240), fonts.whole_px(200))

    def show_pins(self, pins: Sequence[Placed], *, title: str, layout: str) -> None:
        """Draw other pins; the pin with the keyboard keeps it."""
        self.set_title(title)
        if (tuple(pins), layout) == self._shown:
            return
        name = _name_with_keyboard(self)
        self._shown = (tuple(pins), layout)
        once = {pin.name: (pin.x, pin.y) for pin in pins if pin.name != CASE}
        spots = [PinSpot(name=each, x=x, y=y) for each, (x, y) in once.items()]
        self.drawing.set_pins(spots, is_round=layout == RING, has_case=bool(once))
        self._mover.watch({each: self.drawing.pin(each) for each in once}, once)
        if name in once:
            self.drawing.focus_pin(name)

    def _pitch_px(self, pin: PinButton) -> Point:
        pitch = pin.radius_px / _DISC_SHARE
        return (-pitch if self.drawing.is_turned else pitch, ROW_PITCH * pitch)


class PortPlacer(PortBoard):
    """Shows ports, and tells where one was put as fractions of the picture."""

    port_moved = Signal(str, float, float)
    port_stepped = Signal(str, float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._spots: Mapping[Place, Sequence[PortSpot]] = {}
        self._read_out: Mapping[str, str] = {}
        self._movers = {
            place: Mover(partial(self._whole_px, place), self, origin_px=partial(self._origin_px, place))
            for place in Place
        }
        for mover in self._movers.values():
            mover.dropped.connect(self.port_moved)
            mover.stepped.connect(self.port_stepped)

    def show_ports(self, spots: Mapping[Place, Sequence[PortSpot]], notes: Mapping[str, str]) -> None:
        """Draw other ports; the port with the keyboard keeps it."""
        if (spots, notes) == (self._spots, self._read_out):
            return
        name = _name_with_keyboard(self)
        self._spots, self._read_out = spots, notes
        self.set_ports(spots, notes)
        for place, mover in self._movers.items():
            here = spots.get(place, ())
            stated = {spot.name: (spot.x, spot.y) for spot in here if spot.x is not None and spot.y is not None}
            mover.watch({spot.name: self.port(spot.name) for spot in here}, stated)
        if name in self.names():
            self.port(name).setFocus()

    def place_at_hand(self) -> Place | None:
        """Where the port with the keyboard is, else the only place that has ports."""
        name = _name_with_keyboard(self)
        filled = {place: [spot.name for spot in spots] for place, spots in self._spots.items() if spots}
        meant = [place for place, names in filled.items() if name in names] or list(filled)
        return meant[0] if len(meant) == 1 else None

    def _whole_px(self, place: Place, _: PinButton) -> Point:
        """One is the whole width and height of the picture; a plain board is as large as all of them."""
        rect = self.photo_rect(place)
        width, height = (rect.width(), rect.height()) if rect is not None else (self.width(), self.height())
        return (float(max(1, width)), float(max(1, height)))

    def _origin_px(self, place: Place) -> Point | None:
        rect = self.photo_rect(place)
        return (rect.left(), rect.top()) if rect is not None else None


def _name_with_keyboard(board: QWidget) -> str:
    focused = QApplication.focusWidget()
    return focused.name if isinstance(focused, PinButton) and board.isAncestorOf(focused) else ""
