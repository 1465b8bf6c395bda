"""The card of what was found: fluid and debris, what was done about the cooler, notes, photos."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt, Signal
from PySide6.QtGui import QImageReader, QPixmap
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.job.found import (
    COOLER,
    COOLER_WORDS,
    FLUID,
    FLUID_PART,
    LIST_PART,
    NOTE_PART,
    PHOTO_OF,
    PHOTO_PART,
    FoundLine,
)
from valvebench.ui.start.new_card import ask_for_file
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.controls import TextArea
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.pick import PickField
from valvebench.ui.widgets.text import Text

_THUMBNAIL_PX: Final = 96
NOTHING_FOUND: Final = "No fluid, no note and no photo were kept."
PICTURE_FILES: Final = "Pictures (*.png *.jpg *.jpeg)"


def thumbnail(raw: bytes, side_px: int) -> QPixmap:
    """A small picture from the bytes of a file; empty where they are none."""
    data = QByteArray(raw)
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    size = reader.size()
    if size.isValid():
        reader.setScaledSize(size.scaled(QSize(side_px, side_px), Qt.AspectRatioMode.KeepAspectRatio))
    return QPixmap.fromImage(reader.read())


class Thumbnail(QLabel):
    """A small picture, or the words that there is none."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setAccessibleName(name)
        self.setFixedSize(fonts.whole_px(_THUMBNAIL_PX), fonts.whole_px(_THUMBNAIL_PX))
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setWordWrap(True)

    def show_picture(self, raw: bytes | None) -> None:
        """Draw it as large as the room is."""
        small = thumbnail(raw, self.width()) if raw is not None else QPixmap()
        if small.isNull():
            self.setText("not readable" if raw is not None else "missing")
        else:
            self.setPixmap(small)


class FoundCard(Card):
    """What is typed of it, and what was kept."""

    fluid_typed = Signal(object)
    note_typed = Signal(str)
    photo_typed = Signal(str, str)
    photo_named = Signal(object)
    taken_back = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("As found", parent=parent)
        self.fluid = {name: PickField(label, words) for name, label, words in FLUID}
        self.cooler = ChoiceField("Cooler", list(COOLER_WORDS.items()))
        self.note = TextArea("Note", hint="What is to be remembered", lines=2)
        self.path = LineField("Picture file", hint="choose, drop or type it")
        self.of = PickField("What it shows", PHOTO_OF)
        self.keep_fluid, self.keep_note, self.keep_photo = (
            Button("Keep fluid"),
            Button("Keep note"),
            Button("Keep photo"),
        )
        self.browse = Button("Choose \u2026")
        self.ask_for_file = ask_for_file
        self.last_folder = ""
        self.said = {part: MessageLine() for part in (FLUID_PART, NOTE_PART, PHOTO_PART, LIST_PART)}
        self._grid, self._photo_grid, self._list = QGridLayout(), QGridLayout(), QVBoxLayout()
        self._inputs: list[QWidget] = []
        self._thumbnails: dict[int, Thumbnail] = {}
        self._pictures: dict[int, bytes | None] = {}
        self._lines: tuple[FoundLine, ...] = ()
        self._is_closed = False
        self._build()
        self._connect()

    def _build(self) -> None:
        for place, field in enumerate((*self.fluid.values(), self.cooler)):
            self._grid.addWidget(field, place // 2, place % 2, Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(self._grid)
        self._add_row(FLUID_PART, self.keep_fluid)
        self.body.addWidget(self.note)
        self._add_row(NOTE_PART, self.keep_note)
        self._photo_grid.addWidget(self.path, 0, 0, Qt.AlignmentFlag.AlignTop)
        self._photo_grid.addWidget(self.of, 0, 1, Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(self._photo_grid)
        self._add_row(PHOTO_PART, self.browse, self.keep_photo)
        self.body.addLayout(self._list)
        self.body.addWidget(self.said[LIST_PART])
        self._inputs += [*self.fluid.values(), self.cooler, self.note, self.path, self.of]
        self.rescale()

    def _add_row(self, part: str, *buttons: Button) -> None:
        row = QHBoxLayout()
        row.addWidget(self.said[part], 1)
        for button in buttons:
            row.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        self._inputs += [self.said[part], *buttons]
        self.body.addLayout(row)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_list"):
            for grid in (self._grid, self._photo_grid):
                grid.setHorizontalSpacing(fonts.whole_px(16))
                grid.setVerticalSpacing(fonts.whole_px(12))
            self._list.setSpacing(fonts.whole_px(8))
            self._lay_out_lines()

    def _connect(self) -> None:
        self.keep_fluid.clicked.connect(self._tell_fluid)
        self.keep_note.clicked.connect(self._tell_note)
        self.keep_photo.clicked.connect(self._tell_photo)
        self.browse.clicked.connect(self._choose)
        for field in self.fluid.values():
            field.confirmed.connect(self._tell_fluid)
        for entry in (self.path, self.of):
            entry.confirmed.connect(self._tell_photo)

    def _tell_fluid(self) -> None:
        typed = {name: field.text() for name, field in self.fluid.items()}
        self.fluid_typed.emit(typed | {COOLER: self.cooler.word()})

    def _tell_note(self) -> None:
        self.note_typed.emit(self.note.toPlainText().strip())

    def _tell_photo(self) -> None:
        self.photo_typed.emit(self.path.text(), self.of.text())

    def _choose(self) -> None:
        chosen = self.ask_for_file(self, "Choose a picture", self.last_folder, PICTURE_FILES)
        if chosen:
            self.photo_named.emit(Path(chosen))

    def _take_back(self) -> None:
        self.taken_back.emit(int(self.sender().property("entry")))

    # -- what the presenter asks -----------------------------------------------------------

    def show_lines(self, lines: Sequence[FoundLine], *, is_closed: bool) -> None:
        """Everything kept; a closed session takes nothing more."""
        self._lines = tuple(lines)
        self._pictures = {line.n: self._pictures[line.n] for line in lines if line.n in self._pictures}
        for field in self._inputs:
            field.setEnabled(not is_closed)
            field.setVisible(not is_closed)
        self._is_closed = is_closed
        self.said[LIST_PART].setVisible(not is_closed or bool(self.said[LIST_PART].words()))
        self._lay_out_lines()

    def _lay_out_lines(self) -> None:
        while (item := self._list.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._thumbnails = {}
        for line in self._lines:
            self._list.addWidget(self._row(line))
        if self._is_closed and not self._lines:
            self._list.addWidget(Text(NOTHING_FOUND, muted=True, wraps=True))

    def _row(self, line: FoundLine) -> QWidget:
        row = QWidget()
        across, words = QHBoxLayout(row), QVBoxLayout()
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(fonts.whole_px(12))
        words.setSpacing(0)
        if line.is_photo:
            across.addWidget(self._thumbnail(line), 0, Qt.AlignmentFlag.AlignTop)
        words.addWidget(Text(f"{line.what}: {line.words}", wraps=True))
        words.addWidget(Text(line.aside, size_px=13, muted=True, wraps=True))
        words.addStretch(1)
        across.addLayout(words, 1)
        across.addWidget(self._back_button(line), 0, Qt.AlignmentFlag.AlignTop)
        return row

    def _thumbnail(self, line: FoundLine) -> Thumbnail:
        made = self._thumbnails[line.n] = Thumbnail(f"Photo: {line.words}")
        if line.n in self._pictures:
            made.show_picture(self._pictures[line.n])
        return made

    def _back_button(self, line: FoundLine) -> Button:
        button = Button("Take back")
        button.setAccessibleName(f"Take back entry {line.n}, {line.what.lower()}")
        button.setProperty("entry", line.n)
        if not self.keep_note.isEnabled():
            button.hide()
        button.clicked.connect(self._take_back)
        return button

    def show_picture(self, n: int, raw: bytes | None) -> None:
        """The bytes of a photo's file; None where they are missing or changed."""
        self._pictures[n] = raw
        if n in self._thumbnails:
            self._thumbnails[n].show_picture(raw)

    def show_path(self, path: str) -> None:
        """A picture that was chosen or dropped."""
        self.path.set_text(path)
        self.of.setFocus(Qt.FocusReason.OtherFocusReason)

    def clear(self, part: str) -> None:
        """What was typed is kept: make room for the next."""
        if part == FLUID_PART:
            for field in self.fluid.values():
                field.set_text("")
            self.cooler.set_word("")
        elif part == NOTE_PART:
            self.note.clear()
        else:
            self.path.set_text("")
            self.of.set_text("")

    def say(self, part: str, words: str, *, is_problem: bool = False) -> None:
        """What became of one part, beside it."""
        self.said[part].show_message(words, icon="problem" if is_problem else "kept")
        if words:
            self.said[part].show()
