"""From facts to the bytes of a PNG; may run beside the window."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from valvebench.model.words import Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.pictures.facts import FacePicture, Picture, PlotPicture
from valvebench.ui.pictures.sheet import MARGIN_PX, PALETTE, WIDTH_PX, Sheet
from valvebench.ui.widgets import face_geometry, paint
from valvebench.ui.widgets.face_outline import outline
from valvebench.ui.widgets.mark import paint_mark
from valvebench.ui.widgets.pin_button import mark_radius_px, name_font
from valvebench.ui.widgets.temperature_plot import PlotDrawing

_PLOT_PX: Final = 480.0
_FACE_PX: Final = 560.0
_LARGEST_PITCH_PX: Final = 88.0
_DISC_SHARE: Final = 0.37
_TAB_PX: Final = 14.0
_CORNER_PITCHES: Final = 1.2
_LIST_LEFT_PX: Final = MARGIN_PX + _FACE_PX + 40
_MARK_REACH: Final = 0.78
"""From the middle of a disc to its mark, each way, in radii."""


def png_of(picture: Picture) -> bytes:
    """Draw one picture in the light palette at its drawn size, whatever the window looks like."""
    with fonts.as_drawn():
        sheet = Sheet()
        sheet.head(picture.title, picture.about)
        verdicts = _face(sheet, picture) if isinstance(picture, FacePicture) else _plot(sheet, picture)
        sheet.gap(16)
        sheet.foot(picture.told, verdicts, picture.about.footer)
        return sheet.png(picture.title)


def _plot(sheet: Sheet, picture: PlotPicture) -> set[Verdict]:
    sheet.marked(picture.verdict, picture.verdict_words, is_heading=True)
    sheet.gap(8)
    shown, room = picture.plot, sheet.room(_PLOT_PX)

    def act(painter: QPainter) -> None:
        drawing = PlotDrawing(painter, room, shown.band, shown.marks, PALETTE)
        drawing.run(here=None, empty=shown.empty, unit=shown.unit)

    sheet.draw(act)
    return {picture.verdict, *(mark[3] for mark in shown.marks)}


def _face(sheet: Sheet, picture: FacePicture) -> set[Verdict]:
    """The connector at the left, its devices in words at the right."""
    top = sheet.y_px
    drawing = _FaceDrawing(picture, top)
    sheet.draw(drawing.paint)
    for line in picture.lines:
        sheet.marked(line.verdict, line.words, left_px=_LIST_LEFT_PX)
        left = _LIST_LEFT_PX + 31
        sheet.words(line.limits, font=fonts.font(13), code=PALETTE.muted, left_px=left, right_px=WIDTH_PX - MARGIN_PX)
        sheet.gap(8)
    sheet.y_px = max(sheet.y_px, top + drawing.height_px)
    return {verdict for verdict in picture.marks.values() if verdict} | {line.verdict for line in picture.lines}


class _FaceDrawing:
    """The outline, the pins with their names, and the live marks."""

    def __init__(self, picture: FacePicture, top_px: float) -> None:
        plan = face_geometry.plan_face(picture.spots, is_round=picture.is_round)
        self._plan = face_geometry.turned(plan) if picture.is_turned else plan
        self._picture = picture
        self._pitch = min(_FACE_PX / plan.width, _LARGEST_PITCH_PX)
        width, height = plan.width * self._pitch, plan.height * self._pitch
        left = MARGIN_PX + (_FACE_PX - width) / 2
        self._box = QRectF(left, top_px + _TAB_PX + 4, width, height)
        self.height_px = height + _TAB_PX + 8

    def paint(self, painter: QPainter) -> None:
        """Everything, from the ground up."""
        painter.setPen(paint.pen(PALETTE.ink, 2.0))
        painter.setBrush(theme.colour(PALETTE.soft))
        painter.drawPath(outline(self._box, corner=self._corner(), tab=_TAB_PX))
        for name, (x, y) in self._plan.places.items():
            self._pin(painter, name, self._box.topLeft() + QPointF(x, y) * self._pitch)

    def _corner(self) -> float:
        if self._picture.is_round:
            return self._box.width() / 2
        return min(self._box.width() * 0.3, self._box.height() * 0.3, self._pitch * _CORNER_PITCHES)

    def _pin(self, painter: QPainter, name: str, centre: QPointF) -> None:
        radius = self._pitch * _DISC_SHARE
        painter.setPen(paint.pen(PALETTE.ink, 1.5))
        painter.setBrush(theme.colour(PALETTE.card))
        painter.drawEllipse(centre, radius, radius)
        box = QRectF(centre.x() - radius, centre.y() - radius, 2 * radius, 2 * radius)
        paint.draw_text(painter, box, name, font=name_font(name, radius), code=PALETTE.ink, align=paint.CENTRE)
        verdict = self._picture.marks.get(name)
        if verdict is not None:
            at = centre + QPointF(radius * _MARK_REACH, -radius * _MARK_REACH)
            paint_mark(painter, verdict, at, mark_radius_px(radius), PALETTE)
