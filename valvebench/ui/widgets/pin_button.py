"""One node of a connector face that can be chosen: a pin, or the case as a bar."""

from __future__ import annotations

from enum import Enum
from typing import Final

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFont, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from valvebench.model.words import CASE, VERDICT_TEXT, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.mark import draw_mark

ARROWS: Final = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, -1.0),
    Qt.Key.Key_Down: (0.0, 1.0),
}
_UNUSED_SHARE: Final = 0.72
"""A pin nothing hangs on is drawn smaller, so that it is told apart without tints too."""
ROOM: Final = 1.42
"""Half the side of a pin's button in units of its disc's radius: disc, mark and focus ring."""


def name_font(name: str, radius_px: float) -> QFont:
    """As large as the disc allows, down to 8 px."""
    drawn = radius_px / fonts.factor()
    wide = max(1.0, len(name) / 2.2)
    return fonts.font(max(8.0, min(18.0, drawn * 0.74 / wide)), fonts.SEMIBOLD)


def mark_radius_px(radius_px: float) -> float:
    """A little over a third of the disc, within what stays crisp and what hides no name."""
    return min(max(radius_px * 0.37, fonts.px(6.5)), fonts.px(9.5))


class Standing(Enum):
    """What is known of a pin while the wiring is being found."""

    KNOWN = "known"
    UNSETTLED = "unsettled"
    COMMON = "common"
    UNUSED = "unused"


class PinButton(paint.PaintedButton):
    """A disc with the pin's name and the live mark of its verdict."""

    moved = Signal(str, object)
    typed = Signal(str, int)
    focused = Signal(str)

    def __init__(self, name: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.name, self.radius_px = name, 24.0
        self._verdict: Verdict | None = None
        self._standing = Standing.KNOWN
        self._note, self._lead = "", ""
        self._read_out()

    @property
    def verdict(self) -> Verdict | None:
        """The verdict shown, or None while there is no mark."""
        return self._verdict

    def set_state(self, verdict: Verdict | None, note: str = "") -> None:
        """Show a verdict; `note` is what is read out behind it, such as the device."""
        if (verdict, note) != (self._verdict, self._note):
            self._verdict, self._note = verdict, note
            self._read_out()
            self.update()

    @property
    def standing(self) -> Standing:
        """What is known of the pin."""
        return self._standing

    def set_standing(self, standing: Standing) -> None:
        """Draw it hollow while unsettled, with a second ring as a common, faint where nothing hangs on it."""
        if standing is not self._standing:
            self._standing = standing
            self.update()

    def set_lead(self, lead: str) -> None:
        """Say which lead is clipped here; empty for none."""
        if lead != self._lead:
            self._lead = lead
            self._read_out()
            self.update()

    def place(self, centre: QPointF, radius_px: float) -> None:
        """Stand at a point of the face."""
        self.radius_px = radius_px
        half = radius_px * ROOM
        self.setGeometry(QRectF(centre.x() - half, centre.y() - half, 2 * half, 2 * half).toAlignedRect())
        self.update()

    def _read_out(self) -> None:
        noun = "Case" if self.name == CASE else f"Pin {self.name}"
        word = "" if self._verdict is None else VERDICT_TEXT[self._verdict].lower()
        self._say(noun, self._note, "" if self._note.endswith(word) else word)

    def _say(self, *parts: str) -> None:
        """Name and tooltip alike, the lead last."""
        self.setAccessibleName(", ".join(part for part in (*parts, self._lead) if part))
        paint.set_tip(self, self.accessibleName())

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Become the face's tab stop."""
        super().focusInEvent(event)
        self.focused.emit(self.name)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows walk, digits jump, Enter chooses."""
        if event.key() in ARROWS:
            self.moved.emit(self.name, ARROWS[Qt.Key(event.key())])
        elif event.key() in ENTER_KEYS:
            self.click()
        elif event.text().isdecimal():
            self.typed.emit(event.text(), event.timestamp())
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one node
        """Draw the disc, its name and its mark."""
        palette = theme.current()
        with paint.start(self) as painter:
            self._paint_ground(painter, palette)
            self._paint_name(painter, palette)
            if self._verdict is not None:
                self._paint_mark(painter, self._verdict, palette)

    def _middle(self) -> QPointF:
        return QPointF(self.width() / 2, self.height() / 2)

    def _paint_ground(self, painter: QPainter, palette: Palette) -> None:
        chosen = bool(self._lead)
        radius = self.radius_px * (1.06 if chosen else _UNUSED_SHARE if self._is_unused else 1.0)
        painter.setPen(self._ring(palette))
        painter.setBrush(theme.colour(palette.ink if chosen else self._fill(palette)))
        painter.drawEllipse(self._middle(), radius, radius)
        if self._standing is Standing.COMMON:
            inner = radius - fonts.px(4)
            painter.setPen(paint.pen(palette.card if chosen else palette.ink, fonts.px(1.5)))
            painter.setBrush(paint.NO_BRUSH)
            painter.drawEllipse(self._middle(), inner, inner)
        if self.hasFocus():
            self._paint_focus(painter, palette, radius)

    def _ring(self, palette: Palette) -> QPen:
        hot = self.underMouse() and self.isEnabled()
        code = palette.muted if self._is_unused else palette.ink
        pen = QPen(paint.pen(code, fonts.px(2.25 if hot else 1.5) * palette.line_px**0.5))  # a copy: pens are shared
        if self._standing is Standing.UNSETTLED and not self._lead:
            pen.setDashPattern([3.0, 3.0])
        return pen

    @property
    def _is_unused(self) -> bool:
        return self._standing is Standing.UNUSED

    def _fill(self, palette: Palette) -> str:
        is_hollow = self._standing in (Standing.UNSETTLED, Standing.UNUSED)
        return palette.soft if is_hollow else palette.card

    def _paint_focus(self, painter: QPainter, palette: Palette, radius: float) -> None:
        painter.setBrush(paint.NO_BRUSH)
        painter.setPen(paint.pen(palette.ink, fonts.px(2)))
        painter.drawEllipse(self._middle(), radius + fonts.px(4), radius + fonts.px(4))

    def _paint_name(self, painter: QPainter, palette: Palette) -> None:
        code = palette.card if self._lead else palette.muted if self._is_unused else palette.ink
        paint.draw_text(painter, QRectF(self.rect()), self.name, font=self._name_font(), code=code, align=paint.CENTRE)

    def _name_font(self) -> QFont:
        return name_font(self.name, self.radius_px)

    def _paint_mark(self, painter: QPainter, verdict: Verdict, palette: Palette) -> None:
        draw_mark(painter, verdict, *self.mark_place(), palette)

    def mark_place(self) -> tuple[QPointF, float]:
        """Centre and radius of the mark, at the upper right of the disc."""
        middle, radius = self._middle(), self.mark_radius_px()
        reach = min(self.radius_px * 0.78, self.width() / 2 - radius * 1.1)
        return paint.snapped(QPointF(middle.x() + reach, middle.y() - reach)), radius

    def mark_radius_px(self) -> float:
        """As large as the disc asks for."""
        return mark_radius_px(self.radius_px)


class CaseBar(PinButton):
    """The casting as a bar below the connector."""

    def place_bar(self, box: QRectF) -> None:
        """Stand in a box."""
        self.setGeometry(box.toAlignedRect())

    def _paint_ground(self, painter: QPainter, palette: Palette) -> None:
        box = QRectF(self.rect()).adjusted(fonts.px(4), fonts.px(4), -fonts.px(4), -fonts.px(4))
        painter.setPen(self._ring(palette))
        painter.setBrush(theme.colour(palette.ink if self._lead else self._fill(palette)))
        half = self._ring(palette).widthF() / 2
        painter.drawRoundedRect(box.adjusted(half, half, -half, -half), fonts.px(4), fonts.px(4))
        if self.hasFocus():
            paint.draw_focus(painter, QRectF(self.rect()), radius_px=fonts.px(7), code=palette.ink)

    def _name_font(self) -> QFont:
        return fonts.font(13, fonts.SEMIBOLD)

    def _paint_mark(self, painter: QPainter, verdict: Verdict, palette: Palette) -> None:
        centre = paint.snapped(QPointF(self.width() - fonts.px(20), self.height() / 2))
        draw_mark(painter, verdict, centre, fonts.px(8.5), palette.inverted() if self._lead else palette)
