"""Drag a drawn node, or push it by Shift and the arrow keys; told in the units of the table, not in pixels."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QApplication

from valvebench.ui.widgets.pin_button import ARROWS, PinButton

_SHIFT: Final = Qt.KeyboardModifier.ShiftModifier
_LEFT: Final = Qt.MouseButton.LeftButton
Point = tuple[float, float]


class Mover(QObject):
    """Watches the buttons of one picture."""

    dropped = Signal(str, float, float)
    stepped = Signal(str, float, float)

    def __init__(
        self,
        step_px: Callable[[PinButton], Point],
        parent: QObject | None = None,
        *,
        origin_px: Callable[[], Point | None] = lambda: None,
    ) -> None:
        """`step_px` says how many pixels one unit is where no two nodes tell; negative where it is mirrored.

        `origin_px` is the point of (0, 0) on a picture whose size is known: there `step_px` alone counts.
        """
        super().__init__(parent)
        self._step_px, self._origin_px = step_px, origin_px
        self._buttons: dict[str, PinButton] = {}
        self._places: dict[str, Point] = {}
        self._grabbed: QPoint | None = None
        self._is_dragged = False
        self._centres: dict[str, QPoint] = {}

    def watch(self, buttons: Mapping[str, PinButton], places: Mapping[str, Point]) -> None:
        """Other nodes, and where those that have a place stand in the units of the table."""
        self._buttons, self._places, self._grabbed = dict(buttons), dict(places), None
        for button in buttons.values():
            button.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Dragging and moving keys."""
        if isinstance(watched, PinButton) and isinstance(event, QMouseEvent):
            return self._mouse(watched, event)
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress and isinstance(watched, PinButton):
            return self._key(watched, event)
        return super().eventFilter(watched, event)

    def _key(self, button: PinButton, event: QKeyEvent) -> bool:
        if event.key() not in ARROWS or not event.modifiers() & _SHIFT:
            return False
        dx, dy = ARROWS[Qt.Key(event.key())]
        self.stepped.emit(button.name, -dx if self._step_px(button)[0] < 0 else dx, dy)
        return True

    def _mouse(self, button: PinButton, event: QMouseEvent) -> bool:
        if event.type() == QEvent.Type.MouseButtonPress and event.button() == _LEFT:
            self._grabbed, self._is_dragged = event.position().toPoint(), False
            self._centres = {name: each.geometry().center() for name, each in self._buttons.items()}
        elif event.type() == QEvent.Type.MouseMove and self._grabbed is not None:
            return self._drag(button, event.position().toPoint() - self._grabbed)
        elif event.type() == QEvent.Type.MouseButtonRelease and self._grabbed is not None:
            return self._drop(button)
        return False

    def _drag(self, button: PinButton, by: QPoint) -> bool:
        self._is_dragged = self._is_dragged or by.manhattanLength() >= QApplication.startDragDistance()
        if self._is_dragged:
            button.move(button.pos() + by)
            button.raise_()
        return self._is_dragged

    def _drop(self, button: PinButton) -> bool:
        """The node goes back to where it was drawn; the draft then says where it stands."""
        self._grabbed = None
        if self._is_dragged:
            button.setDown(False)
            at = button.geometry().center()
            button.move(self._centres[button.name] - button.rect().center())
            x, y = self._along(at, 0, button), self._along(at, 1, button)
            self.dropped.emit(button.name, x, y)
        return self._is_dragged

    def _along(self, at: QPoint, axis: int, button: PinButton) -> float:
        """Pixels into units, on a plain drawing by the two nodes that stand farthest apart."""
        step, origin = self._step_px(button)[axis], self._origin_px()
        if origin is not None:
            return float((at.toTuple()[axis] - origin[axis]) / step)
        if not self._places:
            return at.toTuple()[axis] / abs(step)
        low = min(self._places, key=lambda name: self._places[name][axis])
        high = max(self._places, key=lambda name: self._places[name][axis])
        low_px, high_px = (self._centres[name].toTuple()[axis] for name in (low, high))
        apart = self._places[high][axis] - self._places[low][axis]
        scale = (high_px - low_px) / apart if apart > 0 and high_px != low_px else step
        return float(self._places[low][axis] + (at.toTuple()[axis] - low_px) / scale)
