"""The card at the left: the connector drawn live, the ports as they will be asked, or a feature's photo."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Final

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QGridLayout, QStackedWidget, QVBoxLayout, QWidget

from valvebench.model.draft_cells import Unread, is_on, read_cell
from valvebench.model.draft_field import Part
from valvebench.model.draft_fields import LAYOUTS, field_of
from valvebench.model.draft_photos import PhotoOf
from valvebench.model.draft_places import layout_of, placed, rows_on
from valvebench.model.variant_draft import Draft, texts_of
from valvebench.model.words import Place
from valvebench.ui import fonts
from valvebench.ui.editor.body_form import STOP_WORDS, TWO_LINES_PX
from valvebench.ui.editor.face_board import FaceBoard, PortPlacer
from valvebench.ui.editor.feature_card import FeatureCard
from valvebench.ui.editor.photo_row import BoardPhotoRow
from valvebench.ui.widgets.board_layout import PortSpot
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

_HOW: Final = {
    "grid": "Drag a pin, or press Shift and an arrow key: it changes places.",
    "ring": "Drag a pin, or press Shift and an arrow key: it changes places.",
    "free": "Drag a pin, or press Shift and an arrow key.",
}

_HOW_PORTS: Final = "Drag a port, or press Shift and an arrow key; x and y are fractions of the picture."

EMPTY_WORDS: Final = "No pins yet. Type how many below, or paste a table of devices."


class EmptyWords(Text):
    """Words in place of a drawing: they take the room there is and ask for none."""

    def hasHeightForWidth(self) -> bool:
        """Else the page would want to be higher while nothing is drawn."""
        return False

    def minimumSizeHint(self) -> QSize:
        """A few words wide, two lines high."""
        return QSize(fonts.whole_px(160), fonts.whole_px(TWO_LINES_PX))


class FaceCard(Card):
    """Drawing and layout of one connector."""

    pin_count_typed = Signal(str)
    layout_typed = Signal(object)
    face_chosen = Signal(int)
    photo_asked = Signal(object)
    photo_removed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.face, self.ports = FaceBoard(), PortPlacer()
        self.faces = ChoiceField("Connector", [])
        self.layout_word = ChoiceField("Layout", LAYOUTS)
        self.count, self.rows, self.columns = LineField("Pins"), LineField("Rows"), LineField("Columns")
        self.stop, self._how = MessageLine(STOP_WORDS, icon="problem", grows=False), MessageLine(grows=False)
        self._how_ports = MessageLine(_HOW_PORTS, grows=False)
        self.photo_rows = {place: BoardPhotoRow(place) for place in (Place.BODY, Place.CASE)}
        self.feature = FeatureCard()
        self._photo_said, self._below_ports, self._port_side = MessageLine(), QWidget(), QVBoxLayout()
        self._empty = EmptyWords(EMPTY_WORDS, size_px=14, muted=True, wraps=True)
        self._drawings, self._form, self._fields = QStackedWidget(), QGridLayout(), QWidget()
        self._part, self._has_pins = Part.BODY, False
        self._known_faces: tuple[str, ...] = ()
        self._build()
        self._connect()
        self.rescale()

    def _build(self) -> None:
        self._form.setContentsMargins(0, 0, 0, 0)
        for place, field in enumerate((self.layout_word, self.count, self.rows, self.columns, self.faces)):
            self._form.addWidget(field, place // 2, place % 2, Qt.AlignmentFlag.AlignTop)
            self._form.setColumnStretch(place % 2, 1)
        self._fields.setLayout(self._form)
        self._drawings.addWidget(self.face)
        self._drawings.addWidget(self.ports)
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._drawings.addWidget(self._empty)
        self._drawings.addWidget(self.feature)
        self._below_ports.setLayout(self._port_side)
        self._port_side.setContentsMargins(0, 0, 0, 0)
        for line in (self._photo_said, *self.photo_rows.values()):
            self._port_side.addWidget(line)
        self._photo_said.hide()
        self.body.addWidget(self.stop)
        self.body.addWidget(self._drawings, 1)
        self.body.addWidget(self._how)
        self.body.addWidget(self._how_ports)
        self.body.addWidget(self._below_ports)
        self._how_ports.hide()
        self._below_ports.hide()
        self.body.addWidget(self._fields)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_form"):
            for line in (self.stop, self._how, self._how_ports):
                line.setFixedHeight(fonts.whole_px(TWO_LINES_PX))
            self._form.setHorizontalSpacing(fonts.whole_px(12))
            self._form.setVerticalSpacing(fonts.whole_px(8))
            self._port_side.setSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        for line in (self.count, self.rows, self.columns):
            line.entry.editingFinished.connect(self._finished)
            line.entry.installEventFilter(self)
        self.layout_word.chosen.connect(self._layout_chosen)
        self.faces.box.activated.connect(self.face_chosen)
        for row in self.photo_rows.values():
            row.wanted.connect(partial(self.photo_asked.emit, row.place))
            row.unwanted.connect(partial(self.photo_removed.emit, row.place))
        self.feature.wanted.connect(self.photo_asked)
        self.feature.unwanted.connect(self.photo_removed)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A number is there to be replaced."""
        if event.type() == QEvent.Type.FocusIn:
            for line in (self.count, self.rows, self.columns):
                if line.entry is watched:
                    line.entry.selectAll()
        return super().eventFilter(watched, event)

    def _finished(self) -> None:
        line = next(line for line in (self.count, self.rows, self.columns) if line.entry is self.sender())
        if not line.entry.isModified():
            return
        line.entry.setModified(False)
        if line is self.count:
            self.pin_count_typed.emit(line.text())
        else:
            self.layout_typed.emit({"rows" if line is self.rows else "columns": line.text()})

    def _layout_chosen(self) -> None:
        self.layout_typed.emit({"layout": self.layout_word.word()})

    # -- what is shown ---------------------------------------------------------------------

    def show_draft(self, draft: Draft, *, face: int) -> None:
        """Draw the connector and the ports of a draft."""
        names = draft.texts(Part.FACES, "name")
        layout = layout_of(draft, face)
        title = f"Connector {names[face]}" if face < len(names) and names[face] else "Connector"
        self.face.show_pins(placed(draft, face), title=title, layout=layout)
        self._show_faces(names, face)
        self._show_fields(draft, face, layout)
        self.ports.show_ports(_spots(draft), _notes(draft))
        self._has_pins = bool(rows_on(draft, face))
        for place, line in self.photo_rows.items():
            line.show_board(draft.body(f"picture_{place.value}"))
        self._show_drawing()
        self.stop.setVisible(is_on(draft.body("electronics")))

    def show_photos(self, images: Mapping[Place, QImage], words: str) -> None:
        """Photos behind the ports, and words for one that is missing."""
        self.ports.set_photos(images)
        self._photo_said.show_message(words, icon="problem")
        self._photo_said.setVisible(bool(words))

    def go_to_photo(self, place: Place) -> None:
        """The button that chooses a photo has the keyboard."""
        self.photo_rows[place].begin()

    def photo_at_hand(self) -> PhotoOf | None:
        """The feature in front; the board with the keyboard, else the only one with ports; None where it is open."""
        if self._part is Part.FEATURES:
            return self.feature.row if self.feature.row >= 0 else None
        focused = [place for place, row in self.photo_rows.items() if _has_keyboard(row)]
        return focused[0] if focused else self.ports.place_at_hand()

    def _show_faces(self, names: tuple[str, ...], face: int) -> None:
        if names != self._known_faces:
            self._known_faces = names
            self.faces.box.clear()
            for name in names:
                self.faces.add(name, name or "(no name)")
        self.faces.box.setCurrentIndex(face)
        self.faces.setVisible(len(names) > 1)

    def _show_fields(self, draft: Draft, face: int, layout: str) -> None:
        row = texts_of(Part.FACES, draft.rows(Part.FACES)[face]) if draft.rows(Part.FACES) else {}
        count = len(rows_on(draft, face))
        texts = (
            (self.count, str(count or "")),
            (self.rows, row.get("rows", "")),
            (self.columns, row.get("columns", "")),
        )
        for line, text in texts:
            if not line.entry.isModified() and line.entry.text() != text:
                line.set_text(text)
        self.layout_word.set_word(layout)
        self._how.show_message(_HOW[layout] if count else "")
        for line in (self.rows, self.columns):
            line.setVisible(layout == "grid")

    def show_count_problem(self, words: str) -> None:
        """What is wrong with the number of pins; it stays as it is."""
        self.count.set_problem(words)

    def show_part(self, part: Part) -> None:
        """The ports, or the photo of a feature, instead of the connector while their table is in front."""
        self._part = part
        self._show_drawing()
        is_ports, is_connector = part is Part.PORTS, part not in (Part.PORTS, Part.FEATURES)
        self._fields.setVisible(is_connector)
        self._how.setVisible(is_connector)
        self._how_ports.setVisible(is_ports)
        self._below_ports.setVisible(is_ports)

    def _show_drawing(self) -> None:
        drawing = self.face if self._has_pins else self._empty
        instead: dict[Part, QWidget] = {Part.PORTS: self.ports, Part.FEATURES: self.feature}
        self._drawings.setCurrentWidget(instead.get(self._part, drawing))


def _has_keyboard(line: QWidget) -> bool:
    focused = QApplication.focusWidget()
    return focused is not None and line.isAncestorOf(focused)


def _spots(draft: Draft) -> dict[Place, list[PortSpot]]:
    spots: dict[Place, list[PortSpot]] = {Place.CASE: [], Place.BODY: []}
    for row in draft.rows(Part.PORTS):
        texts = texts_of(Part.PORTS, row)
        place = Place.CASE if texts["place"].strip().lower() == Place.CASE.value else Place.BODY
        if texts["name"] and all(spot.name != texts["name"] for each in spots.values() for spot in each):
            spots[place].append(PortSpot(name=texts["name"], x=_share(texts["x"]), y=_share(texts["y"])))
    return spots


def _share(text: str) -> float | None:
    """A fraction of the picture, None where the text is none."""
    try:
        value = float(read_cell(field_of(Part.PORTS, "x"), text)) if text else None
    except Unread:
        return None
    return value if value is not None and 0 <= value <= 1 else None


def _notes(draft: Draft) -> dict[str, str]:
    rows = [texts_of(Part.PORTS, row) for row in draft.rows(Part.PORTS)]
    return {row["name"]: f"feeds {row['feeds']}" for row in rows if row["feeds"]}
