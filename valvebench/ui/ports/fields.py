"""The card of fields at the bench: gauge, what is typed of a switch, and the note to the next answer."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.ports.set_up import NOTHING_TYPED, Moves
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField

_OTHER: Final = Qt.FocusReason.OtherFocusReason


class FieldsCard(Card):
    """Fields beside the question; Enter leads back to it."""

    gauge_typed = Signal(str, str)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("At the bench", parent=parent)
        self.gauge = LineField("Gauge pressure, kPa", hint="as the gauge shows it")
        self.gauge_id = LineField("Which gauge", hint="its name, if there are several")
        self.moves = (
            LineField("Changed going up, kPa", hint="with a gauge"),
            LineField("Changed back, kPa", hint="coming down"),
            LineField("Closed contact, ohm", hint="as the meter shows"),
        )
        self.note = LineField("Note to the next answer", hint="Enter goes back")
        self._moves_row = QWidget()
        self._rows = (QHBoxLayout(), QHBoxLayout())
        self._fill()
        self._connect()
        self.rescale()

    def _fill(self) -> None:
        gauges, moves = self._rows
        for row, own in ((gauges, (self.gauge, self.gauge_id)), (moves, self.moves)):
            for field in own:
                row.addWidget(field, 1, Qt.AlignmentFlag.AlignTop)
        self._moves_row.setLayout(moves)
        moves.setContentsMargins(0, 0, 0, 0)
        self._moves_row.hide()
        self.body.addLayout(gauges)
        self.body.addWidget(self._moves_row)
        self.body.addWidget(self.note)
        self.body.addStretch(1)

    def _connect(self) -> None:
        self.note.confirmed.connect(self.left)
        for field in (self.gauge, self.gauge_id):
            field.confirmed.connect(self._gauge_confirmed)
            field.entry.editingFinished.connect(self._tell_gauge)
        for field in self.moves:
            field.confirmed.connect(self._next_move)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        for row in getattr(self, "_rows", ()):
            row.setSpacing(fonts.whole_px(16))

    def show_moves(self, *, is_shown: bool) -> None:
        """The fields of a switch, where one is asked."""
        self._moves_row.setVisible(is_shown)

    def take_moves(self) -> Moves:
        """What was typed of a switch; the fields are empty after it."""
        up_kpa, down_kpa, closed_ohm = (field.text() for field in self.moves)
        self.set_moves(NOTHING_TYPED)
        return Moves(up_kpa=up_kpa, down_kpa=down_kpa, closed_ohm=closed_ohm)

    def set_moves(self, moves: Moves) -> None:
        """Fill the fields of a switch."""
        for field, text in zip(self.moves, (moves.up_kpa, moves.down_kpa, moves.closed_ohm), strict=True):
            field.set_text(text)

    def set_open(self, is_open: bool) -> None:  # noqa: FBT001  a plain setter
        """Whether anything is taken."""
        for field in (self.gauge, self.gauge_id, self.note, *self.moves):
            field.setEnabled(is_open)

    def to_note(self) -> None:
        """The keyboard to the note."""
        self.note.entry.setFocus(_OTHER)

    def to_gauge(self) -> None:
        """The keyboard to the pressure."""
        self._to(self.gauge)

    def to_moves(self) -> None:
        """The keyboard to the first field of a switch."""
        self._to(self.moves[0])

    @staticmethod
    def _to(field: LineField) -> None:
        field.entry.setFocus(_OTHER)
        field.entry.selectAll()

    def _tell_gauge(self) -> None:
        self.gauge_typed.emit(self.gauge.text(), self.gauge_id.text())

    def _gauge_confirmed(self) -> None:
        """Back to the question; a pressure that cannot be used keeps the keyboard."""
        self._tell_gauge()
        if not self.gauge.entry.accessibleDescription():
            self.left.emit()

    def _next_move(self) -> None:
        """Enter goes from field to field, then back to the question."""
        at = next((place for place, field in enumerate(self.moves) if field.entry.hasFocus()), len(self.moves) - 1)
        if at + 1 < len(self.moves):
            self._to(self.moves[at + 1])
        else:
            self.left.emit()
