"""The connector drawn live; its pins can be dragged, or moved by Shift and the arrow keys."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QApplication, QWidget

from valvebench.model.draft_places import RING, Placed
from valvebench.model.words import CASE
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import ROW_PITCH, PinSpot
from valvebench.ui.widgets.pin_button import ARROWS, PinButton

_DISC_SHARE: Final = 0.37
"""Radius of a disc in units of the pin distance, as the drawing has it."""
_SHIFT: Final = Qt.KeyboardModifier.ShiftModifier
_LEFT: Final = Qt.MouseButton.LeftButton


class FaceBoard(Face):
    """Shows pins, and tells where one was put, in the units of the table."""

    pin_moved = Signal(str, float, float)
    pin_stepped = Signal(str, float, float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Connector", parent)
        self._pins: tuple[Placed, ...] = ()
        self._layout = ""
        self._grabbed: QPoint | None = None
        self._is_dragged = False
        self._centres: dict[str, QPoint] = {}

    def show_pins(self, pins: Sequence[Placed], *, title: str, layout: str) -> None:
        """Draw other pins; the pin with the keyboard keeps it."""
        self.set_title(title)
        if (tuple(pins), layout) == (self._pins, self._layout):
            return
        focused = QApplication.focusWidget()
        name = focused.name if isinstance(focused, PinButton) and self.isAncestorOf(focused) else ""
        self._pins, self._layout = tuple(pins), layout
        once = {pin.name: PinSpot(name=pin.name, x=pin.x, y=pin.y) for pin in pins if pin.name != CASE}
        self.drawing.set_pins(list(once.values()), is_round=layout == RING, has_case=bool(once))
        for each in once:
            self.drawing.pin(each).installEventFilter(self)
        if name in once:
            self.drawing.focus_pin(name)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Dragging and moving keys of the pins."""
        if isinstance(watched, PinButton) and isinstance(event, QMouseEvent):
            return self._mouse(watched, event)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and isinstance(watched, PinButton):
            return self._key(watched, event)
        return super().eventFilter(watched, event)

    def _key(self, pin: PinButton, event: QKeyEvent) -> bool:
        if event.key() not in ARROWS or not event.modifiers() & _SHIFT:
            return False
        dx, dy = ARROWS[Qt.Key(event.key())]
        self.pin_stepped.emit(pin.name, -dx if self.drawing.is_turned else dx, dy)
        return True

    def _mouse(self, pin: PinButton, event: QMouseEvent) -> bool:
        if event.type() == QEvent.Type.MouseButtonPress and event.button() == _LEFT:
            self._grabbed, self._is_dragged = event.position().toPoint(), False
            self._centres = {each.name: self.drawing.pin(each.name).geometry().center() for each in self._pins}
        elif event.type() == QEvent.Type.MouseMove and self._grabbed is not None:
            return self._drag(pin, event.position().toPoint() - self._grabbed)
        elif event.type() == QEvent.Type.MouseButtonRelease and self._grabbed is not None:
            return self._drop(pin)
        return False

    def _drag(self, pin: PinButton, by: QPoint) -> bool:
        self._is_dragged = self._is_dragged or by.manhattanLength() >= QApplication.startDragDistance()
        if self._is_dragged:
            pin.move(pin.pos() + by)
            pin.raise_()
        return self._is_dragged

    def _drop(self, pin: PinButton) -> bool:
        self._grabbed = None
        if self._is_dragged:
            pin.setDown(False)
            at = pin.geometry().center()
            back = self._centres[pin.name] - pin.rect().center()
            pin.move(back)
            self.pin_moved.emit(pin.name, *self._place_at(at, pin))
        return self._is_dragged

    def _place_at(self, at: QPoint, pin: PinButton) -> tuple[float, float]:
        """Pixels into the units of the table, by the pins that stand farthest apart."""
        pitch = pin.radius_px / _DISC_SHARE
        sign = -1.0 if self.drawing.is_turned else 1.0
        x = self._along(at.x(), lambda p: p.x, lambda c: c.x(), sign * pitch)
        y = self._along(at.y(), lambda p: p.y, lambda c: c.y(), ROW_PITCH * pitch)
        return x, y

    def _along(
        self, px: int, value: Callable[[Placed], float], centre: Callable[[QPoint], int], one_step_px: float
    ) -> float:
        low, high = min(self._pins, key=value), max(self._pins, key=value)
        low_px, high_px = centre(self._centres[low.name]), centre(self._centres[high.name])
        apart = value(high) - value(low)
        scale = (high_px - low_px) / apart if apart > 0 else one_step_px
        return value(low) + (px - low_px) / scale if scale else value(low)
