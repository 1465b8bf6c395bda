"""The rail of pages, in the order of the work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QKeySequence, QPainter, QPaintEvent, QShortcut
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import ENTER_KEYS

_STEPS: Final = {
    Qt.Key.Key_Up: -1,
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Down: 1,
    Qt.Key.Key_Right: 1,
}
_ROW_PX: Final = 46
_PAD_PX: Final = 12
_WORD_PX: Final = 15
_MOST_KEYS: Final = 9


class RailItem(paint.PaintedButton):
    """One page: its word, and its progress at the right."""

    stepped = Signal(int)

    def __init__(self, word: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.word, self.progress, self.is_current = word, "", False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.read_out()

    def read_out(self) -> None:
        """Tell the reader word, progress and whether the page is shown."""
        parts = (self.word, self.progress, "current page" if self.is_current else "")
        self.setAccessibleName(", ".join(part for part in parts if part))
        self.updateGeometry()
        self.update()

    def sizeHint(self) -> QSize:
        """Word, gap and progress."""
        width = paint.text_width(self.word, _word_font()) + paint.text_width(self.progress, _progress_font())
        return QSize(round(width + fonts.px(2 * _PAD_PX + 8)) + 1, fonts.whole_px(_ROW_PX))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows walk, Enter opens."""
        step = _STEPS.get(Qt.Key(event.key()))
        if step is not None:
            self.stepped.emit(step)
        elif event.key() in ENTER_KEYS:
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, two words
        """Draw the row, in solid ink when its page is shown."""
        palette = theme.current()
        with paint.start(self) as painter:
            self._paint_box(painter, palette)
            self._paint_words(painter, palette)

    def _paint_box(self, painter: QPainter, palette: Palette) -> None:
        box, radius = QRectF(self.rect()), fonts.px(8)
        if self.is_current:
            paint.draw_box(painter, box, radius_px=radius, fill=palette.ink)
        elif self.underMouse():
            edge = palette.ink if palette.is_hatched else None
            paint.draw_box(painter, box, radius_px=radius, fill=palette.soft, edge=edge, edge_px=palette.line_px)
        if self.hasFocus():
            inset = fonts.px(3) if self.is_current else 0.0
            code = palette.card if self.is_current else palette.ink
            ring = box.adjusted(inset, inset, -inset, -inset)
            paint.draw_focus(painter, ring, radius_px=radius - inset, code=code)

    def _paint_words(self, painter: QPainter, palette: Palette) -> None:
        inner = QRectF(self.rect()).adjusted(fonts.px(_PAD_PX), 0, -fonts.px(_PAD_PX), 0)
        word = palette.card if self.is_current else palette.ink
        font = _word_font(is_current=self.is_current)
        paint.draw_text(painter, inner, self.word, font=font, code=word)
        progress = palette.card if self.is_current else palette.muted
        paint.draw_text(painter, inner, self.progress, font=_progress_font(), code=progress, align=paint.RIGHT)


class Rail(QWidget):
    """One tab stop; arrows walk between pages, Ctrl and a digit opens one from anywhere."""

    page_chosen = Signal(str)

    def __init__(self, pages: Sequence[str], *, foot: Sequence[str] = (), parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._items: dict[str, RailItem] = {}
        self._rows = QVBoxLayout(self)
        self._current = ""
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Pages")
        self._fill(pages, foot)
        self._add_shortcuts()
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.set_current(next(iter(self._items), ""))

    def _fill(self, pages: Sequence[str], foot: Sequence[str]) -> None:
        for word in pages:
            self._rows.addWidget(self._item(word))
        self._rows.addStretch(1)
        for word in foot:
            self._rows.addWidget(self._item(word))

    def _item(self, word: str) -> RailItem:
        item = RailItem(word, self)
        item.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        item.clicked.connect(self._clicked)
        item.stepped.connect(self._step)
        self._items[word] = item
        return item

    def _add_shortcuts(self) -> None:
        for place, item in enumerate(list(self._items.values())[:_MOST_KEYS], start=1):
            shortcut = QShortcut(QKeySequence(f"Ctrl+{place}"), self)
            shortcut.setWhatsThis(f"Page {item.word}")
            shortcut.activated.connect(item.click)
            paint.set_tip(item, f"{item.word}, Ctrl+{place}")

    def pages(self) -> tuple[str, ...]:
        """The words of all pages."""
        return tuple(self._items)

    def item(self, word: str) -> RailItem:
        """The row of one page."""
        return self._items[word]

    def current(self) -> str:
        """The word of the page shown."""
        return self._current

    def set_current(self, word: str) -> None:
        """Mark the page that is shown; tells nobody."""
        self._current = word
        for each, item in self._items.items():
            item.is_current = each == word
            item.setFocusPolicy(Qt.FocusPolicy.StrongFocus if each == word else Qt.FocusPolicy.ClickFocus)
            item.read_out()

    def set_progress(self, word: str, progress: str) -> None:
        """Show how far a page is: done, 11/20."""
        item = self._items[word]
        if item.progress != progress:
            item.progress = progress
            item.read_out()

    def _clicked(self) -> None:
        item = self.sender()
        if isinstance(item, RailItem):
            self._open(item.word)

    def _open(self, word: str) -> None:
        if word != self._current:
            self.set_current(word)
            self.page_chosen.emit(word)

    def _step(self, step: int) -> None:
        words = list(self._items)
        place = words.index(self._current) + step
        if 0 <= place < len(words):
            self._open(words[place])
            self._items[words[place]].setFocus(Qt.FocusReason.OtherFocusReason)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        margin = fonts.whole_px(12)
        self._rows.setContentsMargins(margin, fonts.whole_px(20), margin, fonts.whole_px(20))
        self._rows.setSpacing(fonts.whole_px(4))

    def sizeHint(self) -> QSize:
        """As wide as drawn, or as the longest page needs."""
        inner = max((item.sizeHint().width() for item in self._items.values()), default=0)
        return QSize(max(fonts.whole_px(136), inner + fonts.whole_px(24)), super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """The same width; every row in sight."""
        return QSize(self.sizeHint().width(), super().minimumSizeHint().height())


def _word_font(*, is_current: bool = True) -> QFont:
    return fonts.font(_WORD_PX, fonts.SEMIBOLD if is_current else fonts.MEDIUM)


def _progress_font() -> QFont:
    return fonts.font(12)
