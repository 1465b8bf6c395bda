"""The card of a new job: its kind, the data that kind needs, the rest behind "more"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QWidget

from valvebench.model.words import JobKind
from valvebench.ui import fonts
from valvebench.ui.services import Listed
from valvebench.ui.start.kinds import FIELDS, KIND_WORDS
from valvebench.ui.start.presenter import JobTyped
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.controls import Option, TickBox
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.pick import PickField
from valvebench.ui.widgets.text import Text

_COLUMNS: Final = 2
HINT: Final = "A body or a question came in: it gets a folder that keeps every reading."
_TOP: Final = Qt.AlignmentFlag.AlignTop


def ask_for_file(parent: QWidget, title: str, folder: str, names: str) -> str:
    """The file a person chooses; empty for none."""
    return QFileDialog.getOpenFileName(parent, title, folder, names)[0]


class NewCard(Card):
    """What is typed of a new job."""

    kind_chosen = Signal(object)
    asked = Signal(object)
    variant_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("New job", parent=parent)
        self.kinds = {kind: Option(words) for kind, words in KIND_WORDS.items()}
        self.fields: dict[str, LineField | PickField] = {
            f.name: PickField(f.label, f.picks, hint=f.hint) if f.picks else LineField(f.label, hint=f.hint)
            for f in FIELDS
        }
        self.variant = ChoiceField("Variant", [("", "No variant file")])
        self.air = TickBox("Air tests of every port are asked for")
        self.more = Button("More \u2026")
        self.file = Button("Variant file \u2026")
        self.go = Button("Open the job", is_primary=True)
        self.ask_for_file = ask_for_file
        self.last_folder = ""
        self._first: tuple[str, ...] = ()
        self._more: tuple[str, ...] = ()
        self._is_more = False
        self._form, self._buttons = QGridLayout(), QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.body.addWidget(Text(HINT, size_px=14, muted=True, wraps=True))
        for option in self.kinds.values():
            self.body.addWidget(option)
        self.kinds[JobKind.COMPLAINT].setChecked(True)
        for column in range(_COLUMNS):
            self._form.setColumnStretch(column, 1)
        self._place(["job", "variant", *list(self.fields)[1:]])
        self.body.addLayout(self._form)
        self.body.addWidget(self.air)
        for button in (self.more, self.file):
            self._buttons.addWidget(button)
        self._buttons.addStretch(1)
        self._buttons.addWidget(self.go)
        self.body.addLayout(self._buttons)
        self.body.addStretch(1)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_form"):
            self._form.setHorizontalSpacing(fonts.whole_px(16))
            self._form.setVerticalSpacing(fonts.whole_px(12))
            self._form.setContentsMargins(0, fonts.whole_px(8), 0, fonts.whole_px(4))
            self._buttons.setSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        for option in self.kinds.values():
            option.clicked.connect(self._tell_kind)
        for field in self.fields.values():
            field.confirmed.connect(self._ask)
        self.go.clicked.connect(self._ask)
        self.more.clicked.connect(self._turn_more)
        self.file.clicked.connect(self._choose_file)

    def kind(self) -> JobKind:
        """The kind that is chosen."""
        return next(kind for kind, option in self.kinds.items() if option.isChecked())

    def typed(self) -> JobTyped:
        """The form as it stands."""
        return JobTyped(
            kind=self.kind(),
            fields={name: field.text() for name, field in self.fields.items()},
            variant=self.variant.word(),
            is_air_required=self.air.isChecked(),
        )

    def _tell_kind(self) -> None:
        self.kind_chosen.emit(self.kind())

    def _ask(self) -> None:
        self.asked.emit(self.typed())

    def _turn_more(self) -> None:
        self._is_more = not self._is_more
        self._lay_out()

    def _choose_file(self) -> None:
        chosen = self.ask_for_file(self, "Choose a variant file", self.last_folder, "Variant files (*.json)")
        if chosen:
            self.variant_chosen.emit(Path(chosen))

    # -- what the presenter asks -----------------------------------------------------------

    def show_fields(self, first: Sequence[str], more: Sequence[str]) -> None:
        """Ask for these at once, for those behind "more"."""
        self._first, self._more = tuple(first), tuple(more)
        self._lay_out()

    def _lay_out(self) -> None:
        shown = [*self._first, *(self._more if self._is_more else ())]
        place = 1 if self._first[:1] == ("job",) else 0
        shown.insert(place, "variant")
        for name, field in self._all().items():
            field.setVisible(name in shown)
        self._place(shown)
        self.more.set_word("Less" if self._is_more else "More \u2026")

    def _all(self) -> dict[str, QWidget]:
        return {**self.fields, "variant": self.variant}

    def _place(self, names: Sequence[str]) -> None:
        fields = self._all()
        for field in fields.values():
            self._form.removeWidget(field)
        for place, name in enumerate(names):
            self._form.addWidget(fields[name], place // _COLUMNS, place % _COLUMNS, _TOP)

    def show_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong, beside each field; the first wrong one has the keyboard."""
        for name, field in self.fields.items():
            field.set_problem(problems.get(name, ""))
        if any(name in self._more for name in problems) and not self._is_more:
            self._turn_more()
        if problems:
            self.fields[next(iter(problems))].setFocus(Qt.FocusReason.OtherFocusReason)

    def show_variants(self, variants: Sequence[Listed]) -> None:
        """More variant files to choose from."""
        for one in variants:
            self.variant.add(str(one.path), one.title)

    def show_own_variants(self, variants: Sequence[Listed], *, folder: Path) -> None:
        """The user's own as they lie in their folder now: new ones come, those that are gone go."""
        there = {str(one.path) for one in variants}
        box = self.variant.box
        for place in reversed(range(box.count())):
            path = str(box.itemData(place))
            if path and Path(path).parent == folder and path not in there:
                box.removeItem(place)
        for one in variants:
            if box.findData(str(one.path)) < 0:
                self.variant.add(str(one.path), one.title)

    def choose_variant(self, path: Path, title: str) -> None:
        """Choose a file, added where it is new."""
        if self.variant.box.findData(str(path)) < 0:
            self.variant.add(str(path), title)
        self.variant.set_word(str(path))

    def forget(self) -> None:
        """Empty what was typed for one job; kind, variant and air stay, as the shop works."""
        for field in self.fields.values():
            field.set_text("")

    def fill(self, fields: Mapping[str, str]) -> None:
        """Put in what is known beforehand, all of it in sight."""
        for name, field in self.fields.items():
            field.set_text(fields.get(name, ""))
        if not self._is_more:
            self._turn_more()

    def begin(self) -> None:
        """The first field has the keyboard."""
        field = self.fields["job"] if "job" in self._first else self.variant
        field.setFocus(Qt.FocusReason.OtherFocusReason)
