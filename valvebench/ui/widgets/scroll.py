"""A quiet scroll bar: a rounded thumb, no arrows."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPoint, QRectF, QSize, Qt, QTimer
from PySide6.QtGui import QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractScrollArea, QScrollArea, QScrollBar, QStyle, QStyleOptionSlider, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint

_WIDTH_PX: Final = 12
_VERTICAL: Final = Qt.Orientation.Vertical


class ScrollBar(QScrollBar):
    """Drawn in muted ink, darker under the pointer."""

    def __init__(self, orientation: Qt.Orientation, *, is_on_card: bool, parent: QWidget) -> None:
        super().__init__(orientation, parent)
        self._is_on_card = is_on_card

    def sizeHint(self) -> QSize:
        """As thin as a thumb that can still be caught."""
        thin = fonts.whole_px(_WIDTH_PX)
        return QSize(thin, 3 * thin) if self.orientation() == _VERTICAL else QSize(3 * thin, thin)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one thumb
        """Draw ground and thumb."""
        palette = theme.current()
        option = QStyleOptionSlider()
        self.initStyleOption(option)
        thumb = self.style().subControlRect(
            QStyle.ComplexControl.CC_ScrollBar, option, QStyle.SubControl.SC_ScrollBarSlider, self
        )
        inset = fonts.px(3)
        box = QRectF(thumb).adjusted(inset, inset, -inset, -inset)
        code = palette.ink if self.underMouse() or self.isSliderDown() else palette.muted
        with paint.start(self) as painter:
            painter.fillRect(self.rect(), theme.colour(palette.card if self._is_on_card else palette.ground))
            if self.maximum() > self.minimum():
                paint.draw_box(painter, box, radius_px=min(box.width(), box.height()) / 2, fill=code)


def use_quiet_bars(area: QAbstractScrollArea, *, is_on_card: bool) -> None:
    """Give a scrolling widget these bars."""
    area.setVerticalScrollBar(ScrollBar(_VERTICAL, is_on_card=is_on_card, parent=area))
    area.setHorizontalScrollBar(ScrollBar(Qt.Orientation.Horizontal, is_on_card=is_on_card, parent=area))


def forget_widths(*widgets: QWidget) -> None:
    """Let these work out anew how narrow they can be.

    TRAP: a hidden card that was laid out otherwise tells nobody, and the page keeps the width it had wanted.
    """
    for widget in widgets:
        if (layout := widget.layout()) is not None:
            layout.invalidate()


def bring_into_sight(widget: QWidget) -> None:
    """Scroll the page until a card stands on top, once everything is laid out."""
    QTimer.singleShot(0, widget, lambda: _into_sight(widget))


def _into_sight(widget: QWidget) -> None:
    area = widget.parentWidget()
    while area is not None and not isinstance(area, QScrollArea):
        area = area.parentWidget()
    page = area.widget() if isinstance(area, QScrollArea) else None
    if isinstance(area, QScrollArea) and page is not None:
        top_px = widget.mapTo(page, QPoint(0, 0)).y()
        area.verticalScrollBar().setValue(top_px - fonts.whole_px(16))


class Page(QWidget):
    """What stands in a `ScrollPage`; it can lay itself out for the room there is."""

    def fit_width(self, room_px: float) -> None:
        """Lay out for this width in drawn px, so that nobody has to scroll sideways."""


class ScrollPage(QScrollArea):
    """A page that scrolls when the window is smaller than it needs."""

    def __init__(self, content: QWidget, *, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._content = content
        use_quiet_bars(self, is_on_card=False)
        self.setAccessibleName(name)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(content)
        fonts.zoom.changed.connect(self._fit)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the page lay itself out for the new room."""
        self._fit()
        super().resizeEvent(event)

    def _fit(self) -> None:
        # The bar is always counted, so that its coming does not change the layout and send it away again.
        if isinstance(self._content, Page):
            self._content.fit_width((self.width() - fonts.px(_WIDTH_PX)) / fonts.zoom.factor)
