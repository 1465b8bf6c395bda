"""A photo drawn as large as its room allows, whole and never stretched; words where there is none."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, QSizeF, Qt
from PySide6.QtGui import QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint

_WORDS_PX = 14


class Shot(paint.Painted):
    """One photo, `high_px` high where nothing gives it more room."""

    def __init__(
        self,
        parent: QWidget | None = None,
        *,
        high_px: float = 140,
        wide_px: float = 120,
        at_left: bool = False,
    ) -> None:
        super().__init__(parent)
        self._at_left = at_left
        self._image, self._words = QImage(), ""
        self._high_px, self._wide_px = high_px, wide_px

    def show_image(self, image: QImage | None, sentence: str, words: str = "") -> None:
        """Another photo and the sentence that is read out; `words` stand where there is no photo."""
        self._image = image if image is not None else QImage()
        self._words = "" if image is not None else words
        self.say(sentence)

    @property
    def has_image(self) -> bool:
        """Whether a photo is shown."""
        return not self._image.isNull()

    def sizeHint(self) -> QSize:
        """As asked for when it was made."""
        return QSize(fonts.whole_px(self._wide_px), fonts.whole_px(self._high_px))

    def drawn_box(self) -> QRectF:
        """Where the photo lies in the room there is."""
        room = QRectF(self.rect())
        size = QSizeF(self._image.size()).scaled(room.size(), Qt.AspectRatioMode.KeepAspectRatio)
        box = QRectF(0, 0, size.width(), size.height())
        box.moveCenter(room.center())
        if self._at_left:
            box.moveLeft(room.left())
        return box

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one picture
        """Draw the photo, or the words."""
        with paint.start(self) as painter:
            if self.has_image:
                painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
                painter.drawImage(self.drawn_box(), self._image)
            elif self._words:
                room, font = QRectF(self.rect()), fonts.font(_WORDS_PX)
                paint.draw_text(painter, room, self._words, font=font, code=theme.current().muted, align=paint.WRAPPED)
