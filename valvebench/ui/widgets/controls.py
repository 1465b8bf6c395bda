"""The small controls of a form in the program's look: line, area, choice, tick box and option."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFocusEvent, QFont, QKeyEvent, QPainter, QPaintEvent, QPalette, QPolygonF, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QCheckBox,
    QComboBox,
    QFrame,
    QLineEdit,
    QPlainTextEdit,
    QRadioButton,
    QWidget,
)

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.scroll import use_quiet_bars

HEIGHT_PX: Final = 36
_PAD_PX: Final = 12
_AREA_PAD_PX: Final = 10
_RADIUS_PX: Final = 8
_BOX_PX: Final = 20
_BOX_GAP_PX: Final = 8


def paint_field(painter: QPainter, widget: QWidget, box: QRectF, *, has_problem: bool = False) -> None:
    """The rounded frame of anything that takes an entry; heavier with the keyboard or with a problem."""
    palette = theme.current()
    is_strong = widget.hasFocus() or has_problem
    paint.draw_box(
        painter,
        box,
        radius_px=fonts.px(_RADIUS_PX),
        fill=palette.ground if widget.isEnabled() else palette.soft,
        edge=(palette.ink if is_strong else palette.muted) if widget.isEnabled() else None,
        edge_px=fonts.px(2.0 if is_strong else 1.0) * palette.line_px**0.5,
    )


class LineEntry(QLineEdit):
    """One line of free text."""

    def __init__(self, name: str, *, hint: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._has_problem = False
        self.setAccessibleName(name)
        self.setPlaceholderText(hint)
        self.setFrame(False)
        _clear_base(self)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def event(self, event: QEvent) -> bool:
        """Ctrl+E opens the editor from here too.

        TRAP: on X11 a line of text takes that key for "end of the line", and no shortcut hears of it.
        """
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            is_editor_key = event.key() == Qt.Key.Key_E and event.modifiers() == Qt.KeyboardModifier.ControlModifier
            if is_editor_key:
                event.ignore()
                return False
        return super().event(event)

    def set_problem(self, words: str) -> None:
        """Mark the entry as wrong, and say why to the reader; a message line beside it says it to the eye."""
        self._has_problem = bool(words)
        self.setAccessibleDescription(words)
        self.update()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.setFont(_font())
        pad = fonts.whole_px(_PAD_PX) - 2
        self.setTextMargins(pad, 0, pad, 0)
        self.setFixedHeight(fonts.whole_px(HEIGHT_PX))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the frame, then the text."""
        with paint.start(self) as painter:
            paint_field(painter, self, QRectF(self.rect()), has_problem=self._has_problem)
        super().paintEvent(event)


class TextArea(QPlainTextEdit):
    """Several lines of free text; Tab leaves it."""

    def __init__(self, name: str, *, hint: str = "", lines: int = 3, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines = lines
        self.setAccessibleName(name)
        self.setPlaceholderText(hint)
        self.setTabChangesFocus(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        use_quiet_bars(self, is_on_card=True)
        _clear_base(self)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.setFont(_font())
        self.document().setDocumentMargin(fonts.px(_AREA_PAD_PX))
        self.setFixedHeight(round(self._lines * paint.line_height(_font()) + 2 * fonts.px(_AREA_PAD_PX)))

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the frame of the keyboard."""
        super().focusInEvent(event)
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show the frame at rest."""
        super().focusOutEvent(event)
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the frame, then the text."""
        painter = paint.start(self.viewport())
        paint_field(painter, self, QRectF(self.viewport().rect()))
        painter.end()
        super().paintEvent(event)


class Choice(QComboBox):
    """One of a few words."""

    def __init__(self, name: str, words: Sequence[str] = (), *, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.addItems(list(words))
        self.currentTextChanged.connect(self._set_tip)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.setFont(_font())
        self.setFixedHeight(fonts.whole_px(HEIGHT_PX))
        self.updateGeometry()
        self._set_tip()

    def sizeHint(self) -> QSize:
        """The longest word and the arrow."""
        widest = max((paint.text_width(self.itemText(n), _font()) for n in range(self.count())), default=0.0)
        return QSize(round(widest + fonts.px(2 * _PAD_PX + 24)), fonts.whole_px(HEIGHT_PX))

    def minimumSizeHint(self) -> QSize:
        """A few letters; the rest is cut."""
        return QSize(fonts.whole_px(96), fonts.whole_px(HEIGHT_PX))

    def room_px(self) -> float:
        """The room of the word, between the frame and the arrow."""
        return self.width() - fonts.px(2 * _PAD_PX + 20)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Offer the full words where they are cut."""
        super().resizeEvent(event)
        self._set_tip()

    def _set_tip(self) -> None:
        words = self.currentText()
        paint.set_tip(self, words if paint.text_width(words, _font()) > self.room_px() + 0.5 else "")

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, one word
        """Draw frame, word and arrow."""
        palette = theme.current()
        code = palette.ink if self.isEnabled() else palette.muted
        inner = QRectF(fonts.px(_PAD_PX), 0, self.room_px(), self.height())
        with paint.start(self) as painter:
            paint_field(painter, self, QRectF(self.rect()))
            paint.draw_elided(painter, inner, self.currentText(), font=_font(), code=code)
            self._paint_arrow(painter, code)

    def _paint_arrow(self, painter: QPainter, code: str) -> None:
        middle = QPointF(self.width() - fonts.px(_PAD_PX + 6), self.height() / 2)
        wide, high = fonts.px(5), fonts.px(2.5)
        painter.setPen(paint.pen(code, fonts.px(1.5), paint.ROUND))
        painter.setBrush(paint.NO_BRUSH)
        painter.drawPolyline(
            QPolygonF([middle + QPointF(-wide, -high), middle + QPointF(0, high), middle + QPointF(wide, -high)])
        )


class TickBox(QCheckBox):
    """A statement that holds or does not."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        _name_button(self, words)

    def set_words(self, words: str) -> None:
        """State something else."""
        self.setAccessibleName(words)
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Box and words."""
        return _button_size(self)

    def hitButton(self, pos: object) -> bool:  # noqa: ARG002  the whole row answers
        """Take a press anywhere."""
        return True

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, a few words
        """Draw box, tick and words."""
        palette = theme.current()
        with paint.start(self) as painter:
            box = _paint_button(painter, self, palette, radius_px=fonts.px(4))
            if self.isChecked():
                _paint_tick(painter, box, palette)


class Option(QRadioButton):
    """One of a few statements."""

    def __init__(self, words: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        _name_button(self, words)

    def sizeHint(self) -> QSize:
        """Ring and words."""
        return _button_size(self)

    def hitButton(self, pos: object) -> bool:  # noqa: ARG002  the whole row answers
        """Take a press anywhere."""
        return True

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one ring, a few words
        """Draw ring, dot and words."""
        palette = theme.current()
        with paint.start(self) as painter:
            box = _paint_button(painter, self, palette, radius_px=fonts.px(_BOX_PX / 2))
            if self.isChecked():
                painter.setPen(paint.NO_PEN)
                painter.setBrush(theme.colour(palette.card))
                painter.drawEllipse(box.center(), fonts.px(4), fonts.px(4))


def _name_button(button: QAbstractButton, words: str) -> None:
    button.setAccessibleName(words)
    fonts.zoom.changed.connect(button.updateGeometry)


def _button_size(button: QAbstractButton) -> QSize:
    width = fonts.px(_BOX_PX + _BOX_GAP_PX + 4) + paint.text_width(button.accessibleName(), _font())
    return QSize(round(width) + 2, fonts.whole_px(28))


def _paint_button(painter: QPainter, button: QAbstractButton, palette: Palette, *, radius_px: float) -> QRectF:
    """Box and words of a button that is on or off; returns where the box stands."""
    side = fonts.px(_BOX_PX)
    box = QRectF(fonts.px(2), (button.height() - side) / 2, side, side)
    paint.draw_box(
        painter,
        box,
        radius_px=radius_px,
        fill=palette.ink if button.isChecked() else palette.ground,
        edge=palette.ink,
        edge_px=fonts.px(1.25) * palette.line_px**0.5,
    )
    words = QRectF(button.rect()).adjusted(box.right() + fonts.px(_BOX_GAP_PX), 0, 0, 0)
    code = palette.ink if button.isEnabled() else palette.muted
    paint.draw_elided(painter, words, button.accessibleName(), font=_font(), code=code)
    if button.hasFocus():
        paint.draw_focus(painter, QRectF(button.rect()), radius_px=fonts.px(6), code=palette.ink)
    return box


def _paint_tick(painter: QPainter, box: QRectF, palette: Palette) -> None:
    painter.setPen(paint.pen(palette.card, fonts.px(2), paint.ROUND))
    painter.setBrush(paint.NO_BRUSH)
    unit = box.width() / 20
    points = [box.topLeft() + QPointF(x, y) * unit for x, y in ((5.5, 10.5), (8.75, 13.75), (14.5, 6.75))]
    painter.drawPolyline(QPolygonF(points))


def _clear_base(widget: QWidget) -> None:
    """Let the painted frame show through."""
    palette = QPalette()
    palette.setColor(QPalette.ColorRole.Base, Qt.GlobalColor.transparent)
    widget.setPalette(palette)


def _font() -> QFont:
    return fonts.font(14)
