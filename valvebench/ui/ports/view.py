"""The Ports page: board, the question at hand, results, gauge and note."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import QEvent, QModelIndex, QObject, QSize, Qt, Signal
from PySide6.QtGui import QImage, QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QGridLayout, QStackedLayout, QStackedWidget, QVBoxLayout, QWidget

from valvebench.model.words import Place, Verdict
from valvebench.ui import fonts
from valvebench.ui.editor.tabs import TabRow
from valvebench.ui.ports.fields import FieldsCard
from valvebench.ui.ports.groups import ORDER, Group
from valvebench.ui.ports.heard import HeardShown, SolenoidShown
from valvebench.ui.ports.question_card import LEAK_KEY, QuestionCard
from valvebench.ui.ports.set_up import Moves
from valvebench.ui.ports.shown import AIR_SAFETY, PortShown, QuestionShown
from valvebench.ui.ports.table_model import COLUMNS, SOLENOID_COLUMNS, HeardModel, SolenoidModel
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.board_layout import PortSpot
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.entry_table import EntryTable
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.port_board import PortBoard
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.text import Text

START_PAGE: Final = "Start"


class PortsPage(QWidget):
    """Shows what the presenter says; tells it in plain words what the person did."""

    answered = Signal(object)
    previous_asked = Signal()
    skip_asked = Signal()
    port_chosen = Signal(str)
    cover_turned = Signal()
    out_at_asked = Signal()
    pick_left = Signal()
    clicks_heard = Signal(int)
    group_stepped = Signal(int)
    group_chosen = Signal(object)
    solenoid_chosen = Signal(int)
    gauge_typed = Signal(str, str)
    undo_asked = Signal()
    redo_asked = Signal()
    withdrawn = Signal(int)
    go_to = Signal(str, str)
    came_to_front = Signal()
    leak_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.board, self.question = PortBoard(), QuestionCard()
        self.model = HeardModel(self)
        self.table = EntryTable(COLUMNS, name="What was heard")
        self.tabs = TabRow([group.value for group in ORDER], name="What is tested", count_words=_count_words)
        self.solenoid_model = SolenoidModel(self)
        self.solenoids = Table(SOLENOID_COLUMNS, name="Solenoids by function")
        self.fields = FieldsCard()
        self.gauge, self.gauge_id, self.note = self.fields.gauge, self.fields.gauge_id, self.fields.note
        self.moves = self.fields.moves
        self.new_job = Button("Start another job", is_primary=True)
        self._empty_words = Text(size_px=17, wraps=True)
        self._notes: dict[str, str] = {}
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self.table.setModel(self.model)
        self.results_card = Card("What was heard", is_outdented=True)
        self.results_card.body.addWidget(self.table, 1)
        self.board_card = Card()
        self.solenoids.setModel(self.solenoid_model)
        self._beside = QStackedWidget()
        for part in (self.board, self.solenoids):
            self._beside.addWidget(part)
        self.board_card.body.addWidget(self.tabs)
        self._photo_said = MessageLine()
        self._photo_said.hide()
        self.board_card.body.addWidget(self._beside, 1)
        self.board_card.body.addWidget(self._photo_said)
        work, self._grid = QWidget(), QGridLayout()
        work.setLayout(self._grid)
        self._is_wide: bool | None = None
        self._arrange(is_wide=True)
        self._pages = QStackedLayout(self)
        self._pages.addWidget(work)
        self._pages.addWidget(self._empty_page())
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _arrange(self, *, is_wide: bool) -> None:
        """Two columns, or one with the question on top where the page is narrow."""
        if is_wide is self._is_wide:
            return
        self._is_wide = is_wide
        wide = (self.board_card, self.question, self.results_card, self.fields)
        narrow = (self.question, self.fields, self.board_card, self.results_card)
        columns = 2 if is_wide else 1
        for place, card in enumerate(wide if is_wide else narrow):
            self._grid.removeWidget(card)
            self._grid.addWidget(card, place // columns, place % columns)
        for column, share in enumerate((46, 54) if is_wide else (1, 0)):
            self._grid.setColumnStretch(column, share)
        for row, share in enumerate((10, 5, 0, 0) if is_wide else (0, 0, 3, 2)):
            self._grid.setRowStretch(row, share)

    def _widths(self) -> tuple[int, int]:
        """The least width with one column and with two [px]."""
        left, right = (
            max(one.minimumSizeHint().width(), other.minimumSizeHint().width())
            for one, other in ((self.board_card, self.results_card), (self.question, self.fields))
        )
        margins = self._grid.contentsMargins()
        sides = margins.left() + margins.right()
        return max(left, right) + sides, left + right + self._grid.spacing() + sides

    def minimumSizeHint(self) -> QSize:
        """One column wide; as high as it stands now."""
        layout = self._grid if self._pages.currentIndex() == 0 else self._empty
        return QSize(self._widths()[0], layout.totalMinimumSize().height())

    def heightForWidth(self, width: int) -> int:
        """As low as the parts can be, so that the page scrolls only where it must."""
        layout = self._grid if self._pages.currentIndex() == 0 else self._empty
        return layout.totalMinimumHeightForWidth(width)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take as many columns as there is room for."""
        self._arrange(is_wide=self.width() >= self._widths()[1])
        super().resizeEvent(event)

    def _empty_page(self) -> QWidget:
        page, self._empty = QWidget(), QVBoxLayout()
        page.setLayout(self._empty)
        card = Card("Ports by ear")
        card.body.addWidget(self._empty_words)
        card.body.addWidget(self.new_job, 0, Qt.AlignmentFlag.AlignLeft)
        card.body.addWidget(MessageLine(AIR_SAFETY, icon="air"))
        self._empty.addWidget(card)
        self._empty.addStretch(1)
        return page

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        for layout in (self._grid, self._empty):
            layout.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
            layout.setSpacing(gap)
        if self.isVisible():
            self._arrange(is_wide=self.width() >= self._widths()[1])

    def _connect(self) -> None:
        card = self.question
        card.answered.connect(self.answered)
        card.previous_asked.connect(self.previous_asked)
        card.skip_asked.connect(self.skip_asked)
        card.note_asked.connect(self.fields.to_note)
        card.gauge_asked.connect(self.fields.to_gauge)
        card.cover_turned.connect(self.cover_turned)
        card.out_at_asked.connect(self.out_at_asked)
        card.turn_asked.connect(self._turn)
        card.moves_asked.connect(self.fields.to_moves)
        card.clicks_heard.connect(self.clicks_heard)
        card.group_stepped.connect(self.group_stepped)
        card.leak_asked.connect(self.leak_asked)
        self.tabs.chosen.connect(self._tab_chosen)
        self.solenoids.activated.connect(self._solenoid_activated)
        self.board.port_chosen.connect(self._port_chosen)
        self.fields.left.connect(self.begin)
        self.fields.gauge_typed.connect(self.gauge_typed)
        self.new_job.clicked.connect(self._ask_new_job)
        self.table.withdrawn.connect(self.withdrawn)
        self.table.installEventFilter(self)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            (LEAK_KEY, self.leak_asked, "Measure the leak of the port or seat that is asked"),
        )

    def _port_chosen(self, name: str) -> None:
        self.port_chosen.emit(name)
        self.begin()

    def _tab_chosen(self, place: int) -> None:
        self.group_chosen.emit(ORDER[place])

    def _solenoid_activated(self, index: QModelIndex) -> None:
        self.solenoid_chosen.emit(self.solenoid_model.row(index.row()).number)
        self.begin()

    def _turn(self) -> None:
        """The body lies the other way round on the bench: its board is drawn mirrored, and says so."""
        self.board.set_turned(not self.board.is_turned)
        self.question.set_turned(self.board.is_turned)
        announce(self.board, self.board.body_title())

    def pick_port(self) -> None:
        """The next port is chosen on the board."""
        self.board.setFocus(Qt.FocusReason.OtherFocusReason)

    def _ask_new_job(self) -> None:
        self.go_to.emit(START_PAGE, "")

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys that the board or a button did not want answer the question; those of a text field never do."""
        if event.key() == Qt.Key.Key_Escape:
            self.pick_left.emit()
            self.begin()
            return
        if not self.question.take_from_page(self, event):
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """In the table the arrows walk; other keys answer the question there too."""
        if watched is self.table and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self.question.take_from_table(event)
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """The page comes to the front: another page may have changed the session."""
        super().showEvent(event)
        self.came_to_front.emit()

    # -- what the presenter asks -----------------------------------------------------------

    def show_question(self, question: QuestionShown) -> None:
        """The question at hand."""
        self._pages.setCurrentIndex(0)
        self.question.show_question(question)

    def show_empty(self, words: str) -> None:
        """Nothing to ask, and why."""
        self._empty_words.setText(words)
        self._pages.setCurrentIndex(1)

    def show_ports(self, ports: Sequence[PortShown]) -> None:
        """Draw the boards."""
        self._notes = {port.name: port.note for port in ports}
        spots = {place: [PortSpot(name=p.name, x=p.x, y=p.y) for p in ports if p.place is place] for place in Place}
        self.board.set_ports(spots, self._notes)

    def show_photos(self, images: Mapping[Place, QImage], words: str) -> None:
        """Photos behind the ports, and words for one that is missing."""
        self.board.set_photos(images)
        self._photo_said.show_message(words)
        self._photo_said.setVisible(bool(words))

    def show_marks(self, marks: Mapping[str, Verdict | None], current: str) -> None:
        """Marks on the boards, and the port that is asked now."""
        for name, verdict in marks.items():
            self.board.set_verdict(name, verdict, self._notes.get(name, ""))
        self.board.set_current(current)

    def show_rows(self, rows: Sequence[HeardShown]) -> None:
        """Other lines."""
        self.model.set_rows(rows)
        self.table.scrollToBottom()

    def put_row(self, row: HeardShown) -> None:
        """One line new or changed."""
        self.table.scrollTo(self.model.index(self.model.put(row), 0))

    def drop_row(self, number: int) -> None:
        """One line gone."""
        self.model.drop(number)

    def show_groups(self, group: Group, counts: Mapping[Group, tuple[int, int]]) -> None:
        """The tab in front, and how far each of them is."""
        for place, each in enumerate(ORDER):
            done, of = counts[each]
            self.tabs.set_count(place, f"{done}/{of}" if of else "")
        self.tabs.set_current(ORDER.index(group))
        self.fields.show_moves(is_shown=group is Group.SWITCHES)
        self._beside.setCurrentWidget(self.solenoids if group is Group.SOLENOIDS else self.board)

    def show_solenoids(self, rows: Sequence[SolenoidShown]) -> None:
        """The list of solenoids."""
        self.solenoid_model.set_rows(rows)

    def show_progress(self, done: int, of: int) -> None:
        """How far the page is."""
        self.results_card.set_aside(f"{done} of {of} answered" if of else "")

    def show_gauge(self, kpa_gauge: str, gauge_id: str) -> None:
        """Fill the gauge's fields."""
        self.gauge.set_text(kpa_gauge)
        self.gauge_id.set_text(gauge_id)

    def show_gauge_problem(self, words: str) -> None:
        """What is wrong with the pressure."""
        self.gauge.set_problem(words)

    def take_note(self) -> str:
        """The note, which goes with one answer only."""
        note = self.note.text()
        self.note.set_text("")
        return note

    def set_note(self, note: str) -> None:
        """Give a note back that was not kept."""
        self.note.set_text(note)

    def take_moves(self) -> Moves:
        """What was typed of a switch, which goes with one answer only."""
        return self.fields.take_moves()

    def set_moves(self, moves: Moves) -> None:
        """Give back what was not kept."""
        self.fields.set_moves(moves)

    def set_enabled(self, is_enabled: bool) -> None:  # noqa: FBT001  a plain setter
        """Whether answers are taken."""
        self.question.set_open(is_enabled)
        self.fields.set_open(is_enabled)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the keys."""
        self.question.said.show_message(words, icon="problem" if is_problem else "kept")
        if words:
            announce(self.question, words)

    def begin(self) -> None:
        """The question has the keyboard, or what fills the empty page."""
        target = self.question if self._pages.currentIndex() == 0 else self.new_job
        target.setFocus(Qt.FocusReason.OtherFocusReason)


def _count_words(count: str) -> str:
    return f"{count.replace('/', ' of ')} answered" if count else "nothing to ask"
