"""The connector as drawn: outline, pins as buttons, the case bar and the two test leads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRect, QRectF, QSize, Signal
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.model.words import CASE, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import face_geometry, paint
from valvebench.ui.widgets.face_geometry import Cubic, PinSpot, Plan, plan_face
from valvebench.ui.widgets.face_links import Ground, Link, paint_links
from valvebench.ui.widgets.face_outline import outline
from valvebench.ui.widgets.pin_button import CaseBar, PinButton, Standing
from valvebench.ui.widgets.tab_group import TabGroup

BLACK_LEAD: Final = "black lead"
RED_LEAD: Final = "red lead"

_PITCH_PX: Final = 64
_SMALLEST_PITCH_PX: Final = 32
_DISC_SHARE: Final = 0.37
_TAB_PX: Final = 14
_CASE_PX: Final = 36
_CASE_GAP_PX: Final = 12
_CORNER_PITCHES: Final = 1.2
_LEGEND_PX: Final = 20
_EDGE_PX: Final = 4
_NOTHING: Final = Plan(places={}, width=1.0, height=1.0)
_TYPING_MS: Final = 1200


class FaceDrawing(QWidget):
    """A group of pins that is one tab stop; arrows walk, digits jump, Enter or a click chooses."""

    pin_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._plan, self._turned, self._is_round, self._has_tab = _NOTHING, False, False, True
        self._pins: dict[str, PinButton] = {}
        self._pair: tuple[str, str] | None = None
        self._links: tuple[Link, ...] = ()
        self._outline = QPainterPath()
        self._curve: Cubic | None = None
        self._group = TabGroup(self)
        self._digits, self._typed_ms = "", 0
        fonts.zoom.changed.connect(self._rescale)

    def set_pins(
        self,
        spots: Sequence[PinSpot],
        *,
        aspect: float | None = None,
        is_round: bool = False,
        has_tab: bool = True,
        has_case: bool = True,
    ) -> None:
        """Draw a connector; `aspect` is width over height of the pin field, None for a natural one."""
        self._plan = plan_face(spots, aspect=aspect, is_round=is_round) if spots else _NOTHING
        self._is_round, self._has_tab, self._pair, self._links = is_round, has_tab, None, ()
        self._pins = {spot.name: PinButton(spot.name, self) for spot in spots}
        if has_case:
            self._pins[CASE] = CaseBar(CASE, self)
        for button in self._pins.values():
            self._connect(button)
        self._group.take(self._pins)
        self._lay_out()
        self.updateGeometry()

    def names(self) -> tuple[str, ...]:
        """Every node on the face, the case last."""
        return tuple(self._pins)

    def pin(self, name: str) -> PinButton:
        """The button of one node."""
        return self._pins[name]

    def set_state(self, name: str, verdict: Verdict | None, note: str = "") -> None:
        """Show the verdict of one node; `note` is read out behind its name."""
        self._pins[name].set_state(verdict, note)

    def set_links(self, links: Sequence[Link], standings: Mapping[str, Standing]) -> None:
        """Draw what is wired to what as far as it is known, and what is known of each node."""
        self._links = tuple(links)
        for name, button in self._pins.items():
            button.set_standing(standings.get(name, Standing.KNOWN))
        self.update()

    def set_pair(self, black: str | None, red: str | None) -> None:
        """Clip the two leads onto two nodes, or take them off with None."""
        pair = (black, red) if black in self._pins and red in self._pins and black != red else None
        if pair == self._pair:
            return
        had_one, self._pair = self._pair is not None, pair
        for name, button in self._pins.items():
            button.set_lead(_lead(name, self._pair))
        before = self._lead_box()
        self._lay_lead()
        if had_one == (pair is not None):
            self.update(before.united(self._lead_box()))  # the pins elsewhere need no paint
        else:
            self.update()

    def set_turned(self, turned: bool) -> None:  # noqa: FBT001  a plain setter
        """Show the wire side, mirrored, instead of the mating side."""
        if turned != self._turned:
            self._turned = turned
            self._lay_out()

    @property
    def is_turned(self) -> bool:
        """Whether the wire side is shown."""
        return self._turned

    def focus_pin(self, name: str) -> None:
        """Give one node the keyboard."""
        self._group.focus(name)

    # --- keyboard -------------------------------------------------------------------------

    def _connect(self, button: PinButton) -> None:
        button.clicked.connect(self._chosen)
        button.moved.connect(self._walk)
        button.typed.connect(self._jump)

    def _chosen(self) -> None:
        button = self.sender()
        if isinstance(button, PinButton):
            self.pin_chosen.emit(button.name)

    def _walk(self, name: str, direction: tuple[float, float]) -> None:
        centres = {each: (centre.x(), centre.y()) for each, centre in self._centres().items()}
        if CASE in centres:
            centres[CASE] = (centres[name][0], centres[CASE][1])
        if name == CASE:
            centres[CASE] = (self.width() / 2, centres[CASE][1])
        target = face_geometry.nearest(centres, name, direction=direction)
        if target is not None:
            self.focus_pin(target)

    def _jump(self, digit: str, at_ms: int) -> None:
        is_longer = at_ms - self._typed_ms < _TYPING_MS and self._digits + digit in self._pins
        self._digits = self._digits + digit if is_longer else digit
        self._typed_ms = at_ms
        if self._digits in self._pins:
            self.focus_pin(self._digits)

    # --- places ---------------------------------------------------------------------------

    def sizeHint(self) -> QSize:
        """The face at its drawn pin distance."""
        return self._size_at(_PITCH_PX)

    def minimumSizeHint(self) -> QSize:
        """The face at the smallest pin distance that can still be hit."""
        return self._size_at(_SMALLEST_PITCH_PX)

    def _size_at(self, pitch_px: float) -> QSize:
        width = max(self._plan.width * pitch_px, 200.0) + 2 * _EDGE_PX
        height = self._plan.height * pitch_px + _EDGE_PX + self._above_px() + self._below_px()
        return QSize(fonts.whole_px(width), fonts.whole_px(height))

    def _above_px(self) -> float:
        return _EDGE_PX + (_TAB_PX if self._has_tab else 0)

    def _below_px(self) -> float:
        return _LEGEND_PX + (_CASE_PX + _CASE_GAP_PX if CASE in self._pins else 8)

    def _pitch_px(self) -> float:
        wide = (self.width() - fonts.px(2 * _EDGE_PX)) / self._plan.width
        high = (self.height() - fonts.px(self._above_px() + self._below_px() + _EDGE_PX)) / self._plan.height
        return max(1.0, min(wide, high, fonts.px(_PITCH_PX * 1.25)))

    def _box(self) -> QRectF:
        """The outline without its tab, in the middle of the room there is."""
        pitch = self._pitch_px()
        width, height = self._plan.width * pitch, self._plan.height * pitch
        room = self.height() - fonts.px(self._above_px() + self._below_px()) - height
        return QRectF((self.width() - width) / 2, fonts.px(self._above_px()) + max(0.0, room / 2), width, height)

    def _centres(self) -> dict[str, QPointF]:
        box, pitch = self._box(), self._pitch_px()
        plan = face_geometry.turned(self._plan) if self._turned else self._plan
        centres = {name: box.topLeft() + QPointF(x, y) * pitch for name, (x, y) in plan.places.items()}
        if CASE in self._pins:
            centres[CASE] = self._case_box().center()
        return centres

    def _case_box(self) -> QRectF:
        box = self._box()
        width = min(max(box.width() * 0.92, fonts.px(120)), self.width())
        top = box.bottom() + fonts.px(_CASE_GAP_PX)
        return QRectF((self.width() - width) / 2, top, width, fonts.px(_CASE_PX))

    def _rescale(self) -> None:
        self.updateGeometry()
        self._lay_out()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place every pin anew."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        radius = self._pitch_px() * _DISC_SHARE
        for name, centre in self._centres().items():
            button = self._pins.get(name)
            if isinstance(button, CaseBar):
                button.place_bar(self._case_box())
            elif button is not None:
                button.place(centre, radius)
        self._outline = self._make_outline()
        self._lay_lead()
        self.update()

    def _make_outline(self) -> QPainterPath:
        box, pitch = self._box(), self._pitch_px()
        widest = box.width() / 2 if self._is_round else min(box.width(), box.height()) * 0.3
        corner = widest if self._is_round else min(widest, pitch * _CORNER_PITCHES)
        return outline(box, corner=corner, tab=fonts.px(_TAB_PX) if self._has_tab else 0.0)

    def _lay_lead(self) -> None:
        self._curve = None if self._pair is None else self._lead_between(*self._pair)

    def _lead_box(self) -> QRect:
        """The room of the lead, its width included."""
        if self._curve is None:
            return QRect()
        around = fonts.whole_px(4)
        box = _path(self._curve).boundingRect().toAlignedRect()
        return box.adjusted(-around, -around, around, around)

    def _lead_between(self, black: str, red: str) -> Cubic:
        centres, radius = self._centres(), self._pitch_px() * _DISC_SHARE
        if CASE in {black, red}:
            pin = centres[red if black == CASE else black]
            centres[CASE] = self._where_case_meets(pin, radius)
        ends = [(centres[name].x(), centres[name].y()) for name in (black, red)]
        others = [(at.x(), at.y()) for name, at in centres.items() if name not in (black, red, CASE)]
        curve = face_geometry.lead_curve(*ends, radius=radius, sag=self._pitch_px() * 0.42)
        return face_geometry.clear_of(curve, others, radius=radius, pitch=self._pitch_px())

    def _where_case_meets(self, pin: QPointF, radius: float) -> QPointF:
        """A point of the bar as near to the pin as the bar reaches, so that the curve ends on its upper edge."""
        bar = self._case_box().adjusted(fonts.px(24), fonts.px(4), -fonts.px(24), 0)
        return QPointF(min(max(pin.x(), bar.left()), bar.right()), bar.top() + radius)

    # --- paint ----------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the outline and the leads; the pins draw themselves above them."""
        if not self._plan.places:
            return
        palette = theme.current()
        with paint.start(self) as painter:
            painter.setPen(paint.pen(palette.ink, fonts.px(2)))
            painter.setBrush(theme.colour(palette.soft))
            painter.drawPath(self._outline)
            if self._links:
                paint_links(painter, self._links, self._ground(), palette)
            if self._curve is not None:
                self._paint_lead(painter, palette, self._curve)
                if event.rect().bottom() >= self._legend_y_px():
                    self._paint_legend(painter, palette)

    def _ground(self) -> Ground:
        edge = self._case_box().top() + fonts.px(4) if CASE in self._pins else self._box().bottom()
        return Ground(self._centres(), self._pitch_px(), self._box().center().y(), edge)

    def _paint_lead(self, painter: QPainter, palette: Palette, curve: Cubic) -> None:
        """Solid ink for the black lead, a hollow line for the red one: no hue, which would be a verdict."""
        painter.setBrush(paint.NO_BRUSH)
        painter.setPen(paint.pen(palette.ink, fonts.px(5)))
        painter.drawPath(_path(curve))
        painter.setPen(paint.pen(palette.card, fonts.px(1.75)))
        painter.drawPath(_path(face_geometry.second_half(curve)))

    def _legend_y_px(self) -> float:
        foot = self._case_box() if CASE in self._pins else self._box()
        return foot.bottom() + fonts.px(_LEGEND_PX / 2)

    def _paint_legend(self, painter: QPainter, palette: Palette) -> None:
        y = self._legend_y_px()
        font, gap, line = fonts.font(12), fonts.px(8), fonts.px(24)
        widths = [paint.text_width(words, font) + 1 for words in (BLACK_LEAD, RED_LEAD)]
        x = (self.width() - sum(widths) - 2 * (line + gap) - 2 * gap) / 2
        for words, width, is_hollow in ((BLACK_LEAD, widths[0], False), (RED_LEAD, widths[1], True)):
            self._paint_sample(painter, palette, QLineF(x, y, x + line, y), is_hollow=is_hollow)
            box = QRectF(x + line + gap, y - fonts.px(10), width, fonts.px(20))
            paint.draw_text(painter, box, words, font=font, code=palette.muted)
            x = box.right() + 2 * gap

    @staticmethod
    def _paint_sample(painter: QPainter, palette: Palette, line: QLineF, *, is_hollow: bool) -> None:
        painter.setPen(paint.pen(palette.ink, fonts.px(5)))
        painter.drawLine(line)
        if is_hollow:
            painter.setPen(paint.pen(palette.card, fonts.px(1.75)))
            painter.drawLine(line)


def _lead(name: str, pair: tuple[str, str] | None) -> str:
    if pair is None or name not in pair:
        return ""
    return BLACK_LEAD if name == pair[0] else RED_LEAD


def _path(curve: Cubic) -> QPainterPath:
    start, first, second, end = (QPointF(x, y) for x, y in curve)
    path = QPainterPath(start)
    path.cubicTo(first, second, end)
    return path
