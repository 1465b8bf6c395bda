"""Ports on plain boards or on photos, clutch circuits of the case and ports of the body told apart; one tab stop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QImage, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.model.words import VERDICT_TEXT, Place, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import face_geometry, paint
from valvebench.ui.widgets.board_layout import Board, PortSpot, plan_board
from valvebench.ui.widgets.board_photo import BoardPhoto
from valvebench.ui.widgets.pin_button import PinButton
from valvebench.ui.widgets.tab_group import TabGroup

TITLES: Final = {Place.CASE: "In the case: clutch circuits", Place.BODY: "Valve body"}
SHORT_TITLES: Final = {Place.CASE: "Case", Place.BODY: "Valve body"}
CURRENT: Final = "asked now"
TURNED: Final = "turned over, mirrored"
SHORT_TURNED: Final = "Body turned over"
EMPTY_TEXT: Final = "No ports named"

_RADIUS_PX: Final = 24
_SMALLEST_PX: Final = 14
_TITLE_PX: Final = 28
_GAP_PX: Final = 16
_PAD_PX: Final = 12
_PHOTO_COLUMNS: Final = 6.0
_PHOTO_ROWS: Final = 5
"""Room a photo wants, in discs side by side and below each other."""
_SPACING: Final = 2.6
"""Centre to centre of two discs side by side, in radii."""


class PortButton(PinButton):
    """A port as a disc with its name and the live mark of its verdict."""

    is_on_photo = False

    def _paint_ground(self, painter: QPainter, palette: Palette) -> None:
        """On a photo a ring of card stands round the disc: neither its edge nor the focus drowns in the picture."""
        if self.is_on_photo:
            reach = fonts.px(7 if self.hasFocus() else 3)
            self._paint_halo(painter, palette, self._middle(), self.radius_px + reach)
        super()._paint_ground(painter, palette)

    def _paint_mark(self, painter: QPainter, verdict: Verdict, palette: Palette) -> None:
        if self.is_on_photo:
            centre, radius = self.mark_place()
            self._paint_halo(painter, palette, centre, radius * 1.3)
        super()._paint_mark(painter, verdict, palette)

    @staticmethod
    def _paint_halo(painter: QPainter, palette: Palette, centre: QPointF, radius: float) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(theme.colour(palette.card))
        painter.drawEllipse(centre, radius, radius)

    def _read_out(self) -> None:
        word = "not heard yet" if self._verdict is None else VERDICT_TEXT[self._verdict].lower()
        self._say(f"Port {self.name}", self._note, "" if self._note.endswith(word) else word)


class PortBoard(QWidget):
    """All ports of a variant; arrows walk, digits jump, Enter or a click chooses."""

    port_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Ports")
        self._boards: dict[Place, Board] = {}
        self._images: Mapping[Place, QImage] = {}
        self._photos: dict[Place, BoardPhoto] = {}
        self._at: Mapping[Place, Sequence[PortSpot]] = {}
        self._ports: dict[str, PortButton] = {}
        self._group = TabGroup(self)
        self._current, self.is_turned = "", False
        fonts.zoom.changed.connect(self._rescale)

    def set_ports(self, spots: Mapping[Place, Sequence[PortSpot]], notes: Mapping[str, str]) -> None:
        """Draw other ports; `notes` is read out behind each name, such as what it feeds."""
        self._at = dict(spots)
        self._boards = {place: plan_board(spots[place]) for place in Place if spots.get(place)}
        names = [name for board in self._boards.values() for name in board.places]
        self._ports = {name: self._button(name, notes.get(name, "")) for name in names}
        self._current = ""
        self._group.take(self._ports)
        self._take_photos()

    def set_turned(self, is_turned: bool) -> None:  # noqa: FBT001  a plain setter
        """Draw the valve body as it lies turned over, left and right swapped; the case stays where it is."""
        self.is_turned = is_turned
        self._take_photos()

    def body_title(self) -> str:
        """What stands above the valve body, which way it lies included."""
        return f"{TITLES[Place.BODY]}, {TURNED}" if self.is_turned else TITLES[Place.BODY]

    def _is_mirrored(self, place: Place) -> bool:
        return self.is_turned and place is Place.BODY

    def set_photos(self, images: Mapping[Place, QImage]) -> None:
        """Put photos behind the ports; a place without one has its plain board."""
        self._images = dict(images)
        self._take_photos()

    def has_photo(self, place: Place) -> bool:
        """Whether the ports of a place stand on a photo."""
        return place in self._photos

    def _take_photos(self) -> None:
        self._photos = {place: self._photo(place) for place in self._boards if place in self._images}
        for place in self._boards:
            for spot in self._at[place]:
                self._ports[spot.name].is_on_photo = place in self._photos
        self._lay_out()
        self.updateGeometry()

    def _photo(self, place: Place) -> BoardPhoto:
        image, spots = self._images[place], self._at[place]
        if self._is_mirrored(place):
            image = image.flipped(Qt.Orientation.Horizontal)
            spots = [replace(spot, x=None if spot.x is None else 1 - spot.x) for spot in spots]
        return BoardPhoto(image, spots)

    def photo_rect(self, place: Place) -> QRectF | None:
        """Where the photo of a place lies; None where there is none."""
        return self._photos[place].rect if place in self._photos else None

    def _button(self, name: str, note: str) -> PortButton:
        button = PortButton(name, self)
        button.set_state(None, note)
        button.clicked.connect(self._chosen)
        button.moved.connect(self._walk)
        button.typed.connect(self._jump)
        return button

    def names(self) -> tuple[str, ...]:
        """Every port, those of the case first."""
        return tuple(self._ports)

    def port(self, name: str) -> PortButton:
        """The button of one port."""
        return self._ports[name]

    def set_verdict(self, name: str, verdict: Verdict | None, note: str) -> None:
        """Show what stands for a port."""
        self._ports[name].set_state(verdict, note)

    def set_current(self, name: str) -> None:
        """Fill the port that is asked now with solid ink; empty for none."""
        for each in {self._current, name} & self._ports.keys():
            self._ports[each].set_lead(CURRENT if each == name else "")
        self._current = name
        if name in self._ports and not self._has_keyboard():
            self._group.make_stop(name)

    def _has_keyboard(self) -> bool:
        return any(button.hasFocus() for button in self._ports.values())

    # --- keyboard -------------------------------------------------------------------------

    def _chosen(self) -> None:
        button = self.sender()
        if isinstance(button, PortButton):
            self.port_chosen.emit(button.name)

    def _walk(self, name: str, direction: tuple[float, float]) -> None:
        centres = {each: (centre.x(), centre.y()) for each, centre in self._centres().items()}
        target = face_geometry.nearest(centres, name, direction=direction)
        if target is not None:
            self._group.focus(target)

    def _jump(self, digit: str, _: int) -> None:
        """To the next port whose name ends in this digit."""
        names = list(self._ports)
        here = names.index(self._group.stop) if self._group.stop in names else 0
        for name in names[here + 1 :] + names[: here + 1]:
            if name.endswith(digit):
                self._group.focus(name)
                return

    # --- places ---------------------------------------------------------------------------

    def sizeHint(self) -> QSize:
        """The boards with discs of the drawn size."""
        return self._size_at(_RADIUS_PX)

    def minimumSizeHint(self) -> QSize:
        """The boards with the smallest discs that can still be hit."""
        return self._size_at(_SMALLEST_PX)

    def _size_at(self, radius_px: float) -> QSize:
        boards = list(self._boards.values())
        pitch = radius_px * _SPACING
        width = sum(max(board.columns * pitch, 64.0) + 2 * _PAD_PX for board in boards)
        width += _GAP_PX * max(0, len(boards) - 1)
        rows = max((board.rows for board in boards), default=1)
        if self._photos:
            rows, width = max(rows, _PHOTO_ROWS), max(width, _PHOTO_ROWS * pitch * len(boards))
        return QSize(fonts.whole_px(max(width, 160.0)), fonts.whole_px(rows * pitch + _TITLE_PX + 2 * _PAD_PX))

    def _boxes(self) -> dict[Place, QRectF]:
        """The outline of each board, side by side, wider where more ports stand in a row."""
        gap, top = fonts.px(_GAP_PX), fonts.px(_TITLE_PX)
        shares = {place: self._share(place) for place in self._boards}
        room = self.width() - gap * max(0, len(shares) - 1)
        boxes, left = {}, 0.0
        for place, share in shares.items():
            width = room * share / sum(shares.values())
            boxes[place] = QRectF(left, top, width, self.height() - top)
            left += width + gap
        return boxes

    def _share(self, place: Place) -> float:
        """How much of the width a board wants: a photo as its shape says, a plain one as its ports need."""
        plain = max(self._boards[place].columns, 2.0)
        return max(plain, _PHOTO_COLUMNS * self._photos[place].shape) if place in self._photos else plain

    def _radius_px(self) -> float:
        """The largest disc up to the drawn one that leaves a gap to its neighbours on every board."""
        fits = [fonts.px(_RADIUS_PX)]
        for place, box in self._boxes().items():
            if place in self._photos:
                fits.append(self._fitted(place, box).radius_px(largest_px=fits[0], smallest_px=fonts.px(_SMALLEST_PX)))
                continue
            board, pad = self._boards[place], 2 * fonts.px(_PAD_PX)
            fits += [(box.width() - pad) / (board.columns * _SPACING), (box.height() - pad) / (board.rows * _SPACING)]
        return max(8.0, min(fits))

    def _fitted(self, place: Place, box: QRectF) -> BoardPhoto:
        pad = fonts.px(_PAD_PX)
        self._photos[place].fit(box.adjusted(pad, pad, -pad, -pad), smallest_px=fonts.px(_SMALLEST_PX))
        return self._photos[place]

    def _centres(self) -> dict[str, QPointF]:
        edge = fonts.px(_PAD_PX) + self._radius_px() * _SPACING / 2
        centres: dict[str, QPointF] = {}
        for place, box in self._boxes().items():
            if place in self._photos:
                centres |= self._fitted(place, box).centres(smallest_px=fonts.px(_SMALLEST_PX))
                continue
            inner = box.adjusted(edge, edge, -edge, -edge)
            for name, (x, y) in self._boards[place].places.items():
                across = 1 - x if self._is_mirrored(place) else x
                centres[name] = inner.topLeft() + QPointF(across * inner.width(), y * inner.height())
        return centres

    def _rescale(self) -> None:
        self.updateGeometry()
        self._lay_out()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Place every port anew."""
        super().resizeEvent(event)
        self._lay_out()

    def _lay_out(self) -> None:
        radius = self._radius_px()
        for name, centre in self._centres().items():
            self._ports[name].place(centre, radius)
        self.update()

    # --- paint ----------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  two boxes, two words
        """Draw the boards; the ports draw themselves above them."""
        palette = theme.current()
        with paint.start(self) as painter:
            for place, box in self._boxes().items():
                self._paint_board(painter, palette, place, box)
                if place in self._photos:
                    self._photos[place].paint(painter)
            if not self._boards:
                whole = QRectF(self.rect())
                paint.draw_elided(
                    painter, whole, EMPTY_TEXT, font=fonts.font(13), code=palette.muted, align=paint.CENTRE
                )

    def _paint_board(self, painter: QPainter, palette: Palette, place: Place, box: QRectF) -> None:
        """The body is a solid plate with rounded corners, the case an open frame with square ones."""
        is_body = place is Place.BODY
        paint.draw_box(
            painter,
            box,
            radius_px=fonts.px(20 if is_body else 4),
            fill=palette.soft if is_body else None,
            edge=palette.ink,
            edge_px=fonts.px(2),
        )
        title = QRectF(box.left(), 0, box.width(), fonts.px(_TITLE_PX - 6))
        font = fonts.font(13, fonts.SEMIBOLD)
        whole = self.body_title() if place is Place.BODY else TITLES[place]
        fits = paint.text_width(whole, font) <= title.width()
        words = whole if fits else SHORT_TURNED if self._is_mirrored(place) else SHORT_TITLES[place]
        paint.draw_elided(painter, title, words, font=font, code=palette.ink)
