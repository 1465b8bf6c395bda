"""Everything about the chosen session, what belongs to it, and where it leads."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.words import VERDICT_TEXT
from valvebench.ui import fonts
from valvebench.ui.archive.shown import Link, SessionTold, Told
from valvebench.ui.editor.lacks_table import WrapTable
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind
from valvebench.ui.widgets.text import Text

COMEBACK_KEY, OUTCOME_KEY = "Ctrl+B", "Ctrl+U"
NOTHING: Final = "Choose a closed session: what the archive knows of it stands here."
_COLUMNS: Final = (Column(kind=Kind.KEY, width_px=112), Column(kind=Kind.TEXT))
_ONE_ROW_PX: Final = 640


def _cells(line: Told) -> tuple[str, ...]:
    return tuple(line)


def _nothing(_: Told) -> str:
    return ""


class ToldCard(Card):
    """Shows what its presenter says; tells it in plain words what the person did."""

    open_asked = Signal()
    comeback_asked = Signal()
    outcome_asked = Signal()
    linked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.setAccessibleName("The chosen session")
        self.mark, self.name = MarkLabel(), Text(NOTHING, size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.problem = MessageLine()
        self.model: RowsModel[Told] = RowsModel(("About", "What"), _cells, _nothing, self)
        self.table = WrapTable(_COLUMNS, (0, 1), name="About this session")
        self.open = Button("Open", key="Enter", is_primary=True)
        self.comeback = Button("It came back: new job", key=COMEBACK_KEY)
        self.outcome = Button("Say what became of it", key=OUTCOME_KEY)
        self.links: list[Button] = []
        self._title, self._buttons, self._link_rows = QHBoxLayout(), QGridLayout(), QVBoxLayout()
        self._build()
        self.open.clicked.connect(self.open_asked)
        self.comeback.clicked.connect(self.comeback_asked)
        self.outcome.clicked.connect(self.outcome_asked)

    def _build(self) -> None:
        self.table.setModel(self.model)
        self._title.addWidget(self.mark)
        self._title.addWidget(self.name, 1)
        self.body.addLayout(self._title)
        self.body.addWidget(self.problem)
        self.body.addWidget(self.table, 1)
        self.body.addStretch(0)
        self.body.addLayout(self._link_rows)
        self.body.addLayout(self._buttons)
        self.mark.hide()
        self.problem.hide()
        self._place(is_one_row=False)
        self.show_told(None)
        self.rescale()

    def _place(self, *, is_one_row: bool) -> None:
        left = Qt.AlignmentFlag.AlignLeft
        for place, button in enumerate((self.open, self.comeback, self.outcome)):
            self._buttons.addWidget(button, *((0, place) if is_one_row else (place, 0)), left)
        self._buttons.setColumnStretch(3, 1)

    def fit(self, room_px: float) -> None:
        """The buttons beside each other where there is room."""
        self._place(is_one_row=room_px >= _ONE_ROW_PX)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_link_rows"):
            self._title.setSpacing(fonts.whole_px(8))
            self._buttons.setSpacing(fonts.whole_px(8))
            self._link_rows.setSpacing(fonts.whole_px(4))

    def show_told(self, told: SessionTold | None, words: str = NOTHING, *, can_open: bool = False) -> None:
        """One session; None for none in the archive, with words in its place and whether it can be opened."""
        is_there = told is not None
        self.body.setStretch(3, 0 if is_there else 1)
        for part in (self.table, self.comeback, self.outcome):
            part.setVisible(is_there)
        self.open.setVisible(is_there or can_open)
        self.mark.setVisible(is_there)
        self.name.setText(f"{told.title}: {VERDICT_TEXT[told.verdict]}" if told is not None else words)
        if told is not None:
            self.mark.set_verdict(told.verdict)
        self.problem.show_message(told.problem if told is not None else "", icon="problem")
        self.problem.setVisible(told is not None and bool(told.problem))
        self.model.set_rows(told.lines if told is not None else ())
        self._show_links(told.links if told is not None else ())

    def _show_links(self, links: tuple[Link, ...]) -> None:
        for button in self.links:
            self._link_rows.removeWidget(button)
            button.hide()
            button.deleteLater()
        self.links = [Button(link.words) for link in links]
        for button, link in zip(self.links, links, strict=True):
            button.setProperty("session", link.id)
            button.clicked.connect(self._link_pressed)
            self._link_rows.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)

    def _link_pressed(self) -> None:
        self.linked.emit(str(self.sender().property("session")))
