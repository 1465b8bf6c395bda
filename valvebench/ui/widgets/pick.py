"""A field with a pick-list that takes free words as well."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QPointF, QRectF, QSignalBlocker, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPaintEvent, QPalette, QPolygonF
from PySide6.QtWidgets import QComboBox, QLineEdit, QSizePolicy, QVBoxLayout, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.controls import HEIGHT_PX, paint_field
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

_PAD_PX: Final = 12
_ARROW_PX: Final = 32


class Pick(QComboBox):
    """Type words, or walk the list with Down and Up."""

    confirmed = Signal()

    def __init__(self, name: str, words: Sequence[str], *, hint: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._has_problem = False
        self._line = QLineEdit(self)
        self.setLineEdit(self._line)
        self.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.setCompleter(None)  # type: ignore[arg-type]  # Qt takes None: free words are never completed
        self.addItems(list(words))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._dress(name, hint)
        self.setCurrentIndex(-1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _dress(self, name: str, hint: str) -> None:
        line = self._line
        self.setAccessibleName(name)
        line.setAccessibleName(name)
        line.setMaxLength(1000)
        line.setPlaceholderText(hint)
        line.setFrame(False)
        self._clear_ground()

    def set_words(self, words: Sequence[str]) -> None:
        """Another list, nothing picked; tells nobody.

        TRAP: a list without words lets Qt dress the line anew, as a field within the field.
        """
        blocker = QSignalBlocker(self)
        self.clear()
        self.addItems(list(words))
        self.setCurrentIndex(-1)
        blocker.unblock()
        self._clear_ground()

    def set_problem(self, words: str) -> None:
        """Mark the entry as wrong, and say why to the reader."""
        self._has_problem = bool(words)
        self.setAccessibleDescription(words)
        self.update()

    def changeEvent(self, event: QEvent) -> None:
        """Qt gives the line the palette of its list anew with every other one: the ground stays ours."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.PaletteChange and hasattr(self, "_line"):
            self._clear_ground()

    def _clear_ground(self) -> None:
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.Base, Qt.GlobalColor.transparent)
        self._line.setPalette(palette)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.setFont(fonts.font(14))
        self._line.setFont(fonts.font(14))
        self.setFixedHeight(fonts.whole_px(HEIGHT_PX))
        self._place_line()

    def resizeEvent(self, event: object) -> None:  # noqa: ARG002  the size is asked for
        """Keep the typed words inside the frame."""
        self._place_line()

    def _place_line(self) -> None:
        pad, arrow = fonts.whole_px(_PAD_PX - 2), fonts.whole_px(_ARROW_PX)
        self._line.setGeometry(pad, 1, max(1, self.width() - pad - arrow), self.height() - 2)

    def sizeHint(self) -> QSize:
        """Room for a few words."""
        return QSize(fonts.whole_px(160), fonts.whole_px(HEIGHT_PX))

    def minimumSizeHint(self) -> QSize:
        """A few letters."""
        return QSize(fonts.whole_px(96), fonts.whole_px(HEIGHT_PX))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter confirms; Down walks the list from its first word."""
        if event.key() in ENTER_KEYS:
            self.confirmed.emit()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box and an arrow
        """Draw frame and arrow; the words draw themselves."""
        self._place_line()
        palette = theme.current()
        middle = QPointF(self.width() - fonts.px(_PAD_PX + 6), self.height() / 2)
        wide, high = fonts.px(5), fonts.px(2.5)
        arrow = [middle + QPointF(-wide, -high), middle + QPointF(0, high), middle + QPointF(wide, -high)]
        with paint.start(self) as painter:
            paint_field(painter, self, QRectF(self.rect()), has_problem=self._has_problem)
            painter.setPen(paint.pen(palette.ink if self.isEnabled() else palette.muted, fonts.px(1.5), paint.ROUND))
            painter.setBrush(paint.NO_BRUSH)
            painter.drawPolyline(QPolygonF(arrow))


class PickField(QWidget):
    """A label, a pick-list with free words and, when needed, what is wrong with them."""

    confirmed = Signal()
    changed = Signal()

    def __init__(self, label: str, words: Sequence[str], *, hint: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.entry = Pick(label, words, hint=hint)
        self._problem = MessageLine()
        self._problem.hide()
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._label = Text(label, size_px=13, muted=True)
        self._label.setBuddy(self.entry)
        for part in (self._label, self.entry, self._problem):
            self._rows.addWidget(part)
        self.setFocusProxy(self.entry)
        self.entry.confirmed.connect(self.confirmed)
        self.entry.editTextChanged.connect(self._changed)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _changed(self, _: str) -> None:
        self.changed.emit()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(4))

    def text(self) -> str:
        """What stands in the field, without blanks around it."""
        return self.entry.currentText().strip()

    def set_text(self, text: str) -> None:
        """Put words in, from the list or free ones."""
        self.entry.setCurrentIndex(self.entry.findText(text))
        self.entry.setEditText(text)

    def set_words(self, words: Sequence[str], current: str | None = None) -> None:
        """Another list, and what is picked of it, else what stands in the field stays; tells nobody."""
        text = self.text() if current is None else current
        blockers = QSignalBlocker(self), QSignalBlocker(self.entry)
        self.entry.set_words(words)
        self.set_text(text)
        for blocker in reversed(blockers):
            blocker.unblock()

    def set_problem(self, words: str) -> None:
        """Say what is wrong; the words stay."""
        self._problem.show_message(words, icon="problem")
        self._problem.setVisible(bool(words))
        self.entry.set_problem(words)
