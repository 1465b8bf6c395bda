"""The small cards of the Identify page: a photo of the feature, the order sheet, a job begun from it."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.identify.starting import StartTyped
from valvebench.ui.job.export_card import ExportCard
from valvebench.ui.job.found_card import PICTURE_FILES
from valvebench.ui.start.new_card import ask_for_file
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

ORDER_KEY, START_KEY = "F6", "F5"
_OTHER = Qt.FocusReason.OtherFocusReason


class PhotoCard(Card):
    """Where a picture lies; it is kept with the feature that is asked."""

    picture_typed = Signal(str)
    photo_named = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Photo of this feature", parent=parent)
        self.path = LineField("Picture file", hint="choose, drop or type it")
        self.browse, self.keep = Button("Choose \u2026"), Button("Keep photo")
        self.ask_for_file = ask_for_file
        self._row = QHBoxLayout()
        self._row.addStretch(1)
        for part in (self.browse, self.keep):
            self._row.addWidget(part)
        self.body.addWidget(self.path)
        self.body.addLayout(self._row)
        self.browse.clicked.connect(self._browse)
        self.keep.clicked.connect(self._tell)
        self.path.confirmed.connect(self._tell)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_row"):
            self._row.setSpacing(fonts.whole_px(8))

    def _browse(self) -> None:
        chosen = self.ask_for_file(self, "Choose a picture", "", PICTURE_FILES)
        if chosen:
            self.photo_named.emit(Path(chosen))

    def _tell(self) -> None:
        self.picture_typed.emit(self.path.text())

    def set_open(self, *, is_open: bool) -> None:
        """Whether photos are taken."""
        for part in (self.path, self.browse, self.keep):
            part.setEnabled(is_open)

    def begin(self) -> None:
        """The field has the keyboard."""
        self.path.setFocus(_OTHER)


class OrderCard(ExportCard):
    """The sheet for the counter."""

    order_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Order sheet", parent=parent)
        words = "What was checked, how it was seen, and what was not; as workbook and as PDF beside the session."
        self.order_button = Button("Write the order sheet", key=ORDER_KEY)
        self.body.addWidget(Text(words, size_px=14, muted=True, wraps=True))
        self.add_row(self.order_button)
        self.add_row(self.cancel_button, self.folder_button)
        self.set_writers(self.order_button)
        self.body.addWidget(self._said)
        self.order_button.clicked.connect(self.order_asked)
        self.rescale()


class StartCard(Card):
    """A new job from what was seen."""

    start_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Start a job from this", parent=parent)
        self._words = Text(size_px=14, muted=True, wraps=True)
        self.job, self.customer = LineField("Job number"), LineField("Customer")
        self.vehicle = LineField("Vehicle", hint="none: a bench check")
        self.start = Button("Start the job")
        self._said = MessageLine()
        self._grid = QGridLayout()
        self._grid.addWidget(self.job, 0, 0)
        self._grid.addWidget(self.customer, 0, 1)
        self._grid.addWidget(self.vehicle, 1, 0)
        self._grid.addWidget(self.start, 1, 1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        self.body.addWidget(self._words)
        self.body.addLayout(self._grid)
        self.body.addWidget(self._said)
        self.start.clicked.connect(self._tell)
        for field in (self.job, self.customer, self.vehicle):
            field.confirmed.connect(self._tell)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_grid"):
            self._grid.setHorizontalSpacing(fonts.whole_px(16))
            self._grid.setVerticalSpacing(fonts.whole_px(12))

    def form(self) -> StartTyped:
        """The fields as they stand."""
        return StartTyped(self.job.text(), self.customer.text(), self.vehicle.text())

    def _tell(self) -> None:
        self.start_asked.emit(self.form())

    def begin(self) -> None:
        """The number has the keyboard."""
        (self.job if self.job.isEnabled() else self).setFocus(_OTHER)

    # -- what the presenter asks -----------------------------------------------------------

    def show_can(self, words: str, *, can: bool) -> None:
        """What a job begun now would have, or why none can be begun."""
        self._words.setText(words)
        for part in (self.job, self.customer, self.vehicle, self.start):
            part.setEnabled(can)

    def say_start(self, words: str, *, is_problem: bool = False) -> None:
        """What became of it."""
        self._said.show_message(words, icon="problem" if is_problem else "clock")

    def words(self) -> str:
        """What was said last."""
        return self._said.words()
