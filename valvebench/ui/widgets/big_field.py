"""The huge entry field: the unit at its right, what is wrong with the entry below it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from PySide6.QtCore import QEvent, QKeyCombination, QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QPaintEvent, QPalette
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QProxyStyle,
    QSizePolicy,
    QStyle,
    QStyleOption,
    QVBoxLayout,
    QWidget,
)

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

UP: Final = "Up"
DOWN: Final = "Down"

_FRAME_PX: Final = 68
_TEXT_PX: Final = 40
_UNIT_PX: Final = 28
_MESSAGE_PX: Final = 36
_WALK: Final = {Qt.Key.Key_Up: UP, Qt.Key.Key_Down: DOWN}
_OVERRIDE: Final = QEvent.Type.ShortcutOverride
_FOCUS_IN: Final = QEvent.Type.FocusIn
_FOCUS_OUT: Final = QEvent.Type.FocusOut
_UNDOING: Final = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)
_REDO_TOO: Final = QKeyCombination(Qt.KeyboardModifier.ControlModifier, Qt.Key.Key_Y)
_CARET = QStyle.PixelMetric.PM_TextCursorWidth
_OF_NUMBERS: Final = frozenset("0123456789.,+-*/")


class _CaretStyle(QProxyStyle):
    """Fusion with a caret as wide as the huge type asks for."""

    def pixelMetric(
        self, metric: QStyle.PixelMetric, option: QStyleOption | None = None, widget: QWidget | None = None
    ) -> int:
        if metric is _CARET:
            return max(2, fonts.whole_px(2))
        return super().pixelMetric(metric, option, widget)


class _Entry(QLineEdit):
    """A line edit that hands command keys on instead of typing them."""

    kept = Signal(str)
    command = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.commands: frozenset[str] = frozenset()
        self.setFrame(False)
        self.setMaxLength(64)
        self._style = _CaretStyle("fusion")
        self.setStyle(self._style)

    def undoes_nothing(self, event: QKeyEvent) -> bool:
        """With nothing typed, undo and redo are not about the typing: they go on to the page."""
        is_undo = any(event.matches(keys) for keys in _UNDOING) or event.keyCombination() == _REDO_TOO
        return is_undo and not self.text()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in ENTER_KEYS:
            self.kept.emit(self.text())
            return
        if event.modifiers() & Qt.KeyboardModifier.AltModifier and event.text() in _OF_NUMBERS:
            event.ignore()  # a shortcut of some other program, from habit: it must not slip into a reading
            return
        word = _WALK.get(Qt.Key(event.key()), event.text())
        if word and word in self.commands:
            self.command.emit(word)
            return
        super().keyPressEvent(event)


class _Frame(QFrame):
    """The rounded frame around the entry and its unit."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.has_problem = False

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box
        palette = theme.current()
        is_focused = self.focusWidget() is not None and self.focusWidget().hasFocus()
        width = 2.5 if self.has_problem else 2.0 if is_focused else 1.5
        with paint.start(self) as painter:
            paint.draw_box(
                painter,
                QRectF(self.rect()),
                radius_px=fonts.px(10),
                fill=palette.ground,
                edge=palette.ink if is_focused or self.has_problem else palette.muted,
                edge_px=fonts.px(width) * palette.line_px**0.5,
            )


class BigField(QWidget):
    """Takes one value; says what is wrong beside it and never erases what was typed."""

    text_edited = Signal(str)
    kept = Signal(str)
    command = Signal(str)

    def __init__(self, name: str, *, unit: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._frame = _Frame(self)
        self.entry = _Entry(self._frame)
        self._unit = Text(unit, size_px=_UNIT_PX, muted=True, parent=self._frame)
        self._message = MessageLine(grows=False, parent=self)
        self._inner, self._outer = QHBoxLayout(self._frame), QVBoxLayout(self)
        self._build()
        self.set_name(name)
        self._wire()
        self.rescale()

    def _build(self) -> None:
        self._inner.addWidget(self.entry, 1)
        self._inner.addWidget(self._unit)
        self._outer.setContentsMargins(0, 0, 0, 0)
        self._outer.addWidget(self._frame)
        self._outer.addWidget(self._message)
        self._unit.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Preferred)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFocusProxy(self.entry)
        self._clear_base()

    def _wire(self) -> None:
        self.entry.textEdited.connect(self.text_edited)
        self.entry.kept.connect(self.kept)
        self.entry.command.connect(self.command)
        self.entry.installEventFilter(self)
        fonts.zoom.changed.connect(self.rescale)

    def _clear_base(self) -> None:
        """The frame's ground shows through the entry."""
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.Base, Qt.GlobalColor.transparent)
        self.entry.setPalette(palette)

    def set_name(self, name: str) -> None:
        """Name the field for the reader."""
        self._name = name
        self._read_out()

    def set_unit(self, unit: str) -> None:
        """Show the unit at the right."""
        self._unit.setText(unit)
        self._read_out()

    def set_commands(self, keys: Iterable[str]) -> None:
        """Hand these keys on as `command` instead of typing them: characters, and `UP` and `DOWN`."""
        self.entry.commands = frozenset(keys)

    def text(self) -> str:
        """What was typed."""
        return self.entry.text()

    def set_text(self, text: str) -> None:
        """Put a value in, as from the meter."""
        self.entry.setText(text)

    def clear(self) -> None:
        """Start the next entry."""
        self.entry.clear()
        self.clear_error()

    def set_error(self, words: str, *, icon: str = "problem") -> None:
        """Say what is wrong; the typed text stays. The icon `ask` suits a question."""
        self._frame.has_problem = bool(words) and icon == "problem"
        self._frame.update()
        self._message.show_message(words, icon=icon)
        paint.set_tip(self._message, words)
        self.entry.setAccessibleDescription(words)

    def clear_error(self) -> None:
        """Nothing is wrong any more."""
        self.set_error("")

    def error(self) -> str:
        """What is said to be wrong."""
        return self._message.words()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002  there is only the entry
        """Redraw the frame when the keyboard comes or goes; let undo go on where there is nothing to undo."""
        kind = event.type()
        if kind is _FOCUS_IN or kind is _FOCUS_OUT:
            self._frame.update()
        elif kind is _OVERRIDE and isinstance(event, QKeyEvent) and self.entry.undoes_nothing(event):
            event.ignore()
            return True
        return False

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side = fonts.whole_px(20)
        self.entry.setFont(fonts.font(_TEXT_PX, fonts.SEMIBOLD, tabular=True))
        self._frame.setFixedHeight(fonts.whole_px(_FRAME_PX))
        self._message.setFixedHeight(fonts.whole_px(_MESSAGE_PX))
        self._inner.setContentsMargins(side - fonts.whole_px(4), 0, side, 0)
        self._outer.setSpacing(fonts.whole_px(4))
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Frame and two lines of message, kept free so that nothing moves."""
        return QSize(fonts.whole_px(284), fonts.whole_px(_FRAME_PX + 4 + _MESSAGE_PX))

    def minimumSizeHint(self) -> QSize:
        """Five digits and a unit."""
        return QSize(fonts.whole_px(220), self.sizeHint().height())

    def _read_out(self) -> None:
        self.entry.setAccessibleName(", ".join(part for part in (self._name, self._unit.text()) if part))
