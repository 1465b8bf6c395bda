"""One picture as it is drawn: words from the top down, a drawing, a foot; two dots for each drawn pixel.

Everything here may run beside the window: it paints on a picture in memory, never on a widget.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QImageWriter, QPainter

from valvebench.model.errors import WorldFailed
from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.pictures.facts import About
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.mark import paint_mark

SCALE: Final = 2
WIDTH_PX: Final = 1200.0
MARGIN_PX: Final = 40.0
PALETTE: Final = theme.LIGHT
_DOTS_PER_METRE: Final = round(96 * SCALE / 0.0254)
_FLAGS: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap
_MARK_PX: Final = 9.0

Act = Callable[[QPainter], None]


class Sheet:
    """Collects what is drawn, so that the picture becomes as high as its words need."""

    def __init__(self) -> None:
        self.y_px = MARGIN_PX
        self._acts: list[Act] = []

    def draw(self, act: Act) -> None:
        """Something drawn where it stands already."""
        self._acts.append(act)

    def gap(self, height_px: float) -> None:
        """Leave room."""
        self.y_px += height_px

    def room(self, height_px: float) -> QRectF:
        """The whole width for a drawing."""
        box = QRectF(MARGIN_PX, self.y_px, WIDTH_PX - 2 * MARGIN_PX, height_px)
        self.y_px += height_px
        return box

    def words(
        self, text: str, *, font: QFont, code: str, left_px: float = MARGIN_PX, right_px: float = WIDTH_PX - MARGIN_PX
    ) -> None:
        """Wrapped words, and down by their height."""
        room = QRectF(left_px, self.y_px, right_px - left_px, 10_000)
        height = QFontMetricsF(font).boundingRect(room, int(_FLAGS), text).height() + 2
        box = QRectF(left_px, self.y_px, right_px - left_px, height)
        self.draw(lambda painter: paint.draw_text(painter, box, text, font=font, code=code, align=_FLAGS))
        self.y_px += height

    def head(self, title: str, about: About) -> None:
        """Title, job and day, and whether the data is invented."""
        self.words(title, font=fonts.font(24, fonts.BOLD), code=PALETTE.ink)
        self.gap(4)
        self.words(about.job, font=fonts.font(15), code=PALETTE.muted)
        if about.invented:
            self.gap(4)
            self.words(about.invented, font=fonts.font(15, fonts.SEMIBOLD), code=PALETTE.ink)
        self.gap(16)

    def marked(self, verdict: Verdict, words: str, *, left_px: float = MARGIN_PX, is_heading: bool = False) -> None:
        """A mark and words beside it."""
        centre = QPointF(left_px + _MARK_PX + 2, self.y_px + 11)
        self.draw(lambda painter: paint_mark(painter, verdict, centre, _MARK_PX, PALETTE))
        font = fonts.font(17 if is_heading else 14, fonts.SEMIBOLD if is_heading else fonts.MEDIUM)
        self.words(words, font=font, code=PALETTE.ink, left_px=left_px + 3 * _MARK_PX + 4)

    def foot(self, told: tuple[str, ...], verdicts: set[Verdict], footer: str) -> None:
        """What has to be known to read it, and what the marks mean."""
        for words in told:
            self.words(words, font=fonts.font(14), code=PALETTE.ink)
            self.gap(4)
        self.gap(8)
        self._legend([verdict for verdict in VERDICT_TEXT if verdict in verdicts])
        self.gap(12)
        self.words(footer, font=fonts.font(12), code=PALETTE.muted)

    def _legend(self, verdicts: list[Verdict]) -> None:
        font, left, middle = fonts.font(13), MARGIN_PX, self.y_px + 12
        for verdict in verdicts:
            self._legend_entry(verdict, QPointF(left + _MARK_PX, middle), font)
            left += paint.text_width(VERDICT_TEXT[verdict], font) + 3 * _MARK_PX + 28
        self.gap(24)

    def _legend_entry(self, verdict: Verdict, centre: QPointF, font: QFont) -> None:
        box = QRectF(centre.x() + _MARK_PX + 7, centre.y() - 10, 200, 20)
        self.draw(lambda painter: paint_mark(painter, verdict, centre, _MARK_PX - 1, PALETTE))
        words = VERDICT_TEXT[verdict]
        self.draw(lambda painter: paint.draw_text(painter, box, words, font=font, code=PALETTE.ink))

    def png(self, title: str) -> bytes:
        """The picture as a file's bytes (raises WorldFailed where there is no memory for it)."""
        height = round(self.y_px + MARGIN_PX)
        picture = QImage(round(WIDTH_PX) * SCALE, height * SCALE, QImage.Format.Format_RGB32)
        if picture.isNull():
            raise WorldFailed(f"{title}: no memory for the picture. Close other programs and export again.")
        picture.fill(theme.colour(PALETTE.card))
        with QPainter(picture) as painter:
            painter.setRenderHints(paint.SMOOTH | QPainter.RenderHint.TextAntialiasing)
            painter.scale(SCALE, SCALE)
            for act in self._acts:
                act(painter)
        return _bytes(picture, title)


def _bytes(picture: QImage, title: str) -> bytes:
    picture.setDotsPerMeterX(_DOTS_PER_METRE)
    picture.setDotsPerMeterY(_DOTS_PER_METRE)
    picture.setText("Title", title)
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"png"))
    if not writer.write(picture):
        raise WorldFailed(f"{title}: no picture could be made of it ({writer.errorString()}). Export again.")
    return bytes(buffer.data().data())
