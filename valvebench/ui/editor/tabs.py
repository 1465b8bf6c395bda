"""The names of tables or groups side by side: one tab stop, arrows walk, the one in front is solid ink."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import ENTER_KEYS

_HEIGHT_PX: Final = 32
_PAD_PX: Final = 10
_STEPS: Final = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}


class Tab(paint.PaintedButton):
    """One table: its word and how many rows it has."""

    stepped = Signal(int)

    def __init__(self, word: str, parent: QWidget, count_words: Callable[[str], str]) -> None:
        super().__init__(parent)
        self._count_words = count_words
        self.word, self.count, self.is_current, self.is_counted = word, "", False, True
        self.read_out()

    def read_out(self) -> None:
        """Tell the reader word, rows and whether it is in front."""
        parts = (self.word, self._count_words(self.count), "in front" if self.is_current else "")
        self.setAccessibleName(", ".join(part for part in parts if part))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Word and number."""
        return QSize(
            round(paint.text_width(self._words(), _font()) + fonts.px(2 * _PAD_PX)) + 1, fonts.whole_px(_HEIGHT_PX)
        )

    def _words(self) -> str:
        return f"{self.word}  {self.count}" if self.count and self.is_counted else self.word

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows walk, Enter opens."""
        step = _STEPS.get(Qt.Key(event.key()))
        if step is not None:
            self.stepped.emit(step)
        elif event.key() in ENTER_KEYS:
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, a few words
        """Draw ground, words and focus ring."""
        palette = theme.current()
        box, radius = QRectF(self.rect()), fonts.px(8)
        ground = palette.ink if self.is_current else palette.soft if self.underMouse() else None
        code = palette.card if self.is_current else palette.ink
        with paint.start(self) as painter:
            paint.draw_box(painter, box, radius_px=radius, fill=ground)
            paint.draw_text(painter, box, self._words(), font=_font(), code=code, align=paint.CENTRE)
            if self.hasFocus():
                inset = fonts.px(3) if self.is_current else 0.0
                ring = box.adjusted(inset, inset, -inset, -inset)
                paint.draw_focus(painter, ring, radius_px=radius - inset, code=code)


class TabRow(QWidget):
    """A row of tabs, two where there is no room for one."""

    chosen = Signal(int)

    def __init__(
        self,
        words: Sequence[str],
        parent: QWidget | None = None,
        *,
        name: str = "Tables",
        count_words: Callable[[str], str] | None = None,
    ) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.tabs = tuple(Tab(word, self, count_words or _rows_words) for word in words)
        self._current = 0
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        for tab in self.tabs:
            tab.clicked.connect(self._clicked)
            tab.stepped.connect(self._step)
        fonts.zoom.changed.connect(self.rescale)
        self.set_current(0)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._lay_out()

    def minimumSizeHint(self) -> QSize:
        """As wide as the widest tab; as high as the tabs stand now."""
        return QSize(max(tab.sizeHint().width() for tab in self.tabs), self.minimumHeight())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """As many tabs in a row as there is room for."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        gap, left, top = fonts.whole_px(2), 0, 0
        high = self.tabs[0].sizeHint().height()
        for tab in self.tabs:
            wide = tab.sizeHint().width()
            if left and left + wide > self.width():
                left, top = 0, top + high + gap
            tab.setGeometry(left, top, wide, high)
            left += wide + gap
        if self.minimumHeight() != top + high:
            self.setFixedHeight(top + high)

    def set_current(self, place: int) -> None:
        """Mark the one in front; tells nobody."""
        self._current = place
        for i, tab in enumerate(self.tabs):
            tab.is_current = i == place
            tab.setFocusPolicy(Qt.FocusPolicy.StrongFocus if tab.is_current else Qt.FocusPolicy.ClickFocus)
            tab.read_out()
        self._lay_out()

    def set_count(self, place: int, count: str) -> None:
        """How many rows a table has."""
        if self.tabs[place].count != count:
            self.tabs[place].count = count
            self.tabs[place].read_out()
            self._lay_out()

    def set_counted(self, *, is_counted: bool) -> None:
        """Leave the numbers of rows away where there is no room."""
        for tab in self.tabs:
            tab.is_counted = is_counted
            tab.read_out()
        self._lay_out()

    def _clicked(self) -> None:
        tab = self.sender()
        if isinstance(tab, Tab):
            self.chosen.emit(self.tabs.index(tab))

    def _step(self, step: int) -> None:
        place = self._current + step
        if 0 <= place < len(self.tabs):
            self.chosen.emit(place)
            self.tabs[place].setFocus(Qt.FocusReason.OtherFocusReason)


def _rows_words(count: str) -> str:
    return "" if not count else "1 row" if count == "1" else f"{count} rows"


def _font() -> QFont:
    return fonts.font(14, fonts.MEDIUM)
