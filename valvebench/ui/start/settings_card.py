"""The page of the settings: each takes effect at once."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.errors import BadInput, bad
from valvebench.model.numbers import decimal
from valvebench.ui import fonts
from valvebench.ui.job.numbers import typed_number
from valvebench.ui.settings import Settings, table
from valvebench.ui.widgets.aside_page import AsidePage
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

PALETTE_WORDS: Final = MappingProxyType({"light": "Light", "dark": "Dark", "high_contrast": "High contrast"})
ZOOM_WORDS: Final = MappingProxyType({f"{p / 100:g}": f"{p} %" for p in (80, 90, 100, 110, 125, 150, 175, 200)})
_HINTS: Final = MappingProxyType(
    {
        "by": "the name at this computer",
        "jobs_folder": "among your documents: valvebench jobs",
        "variants_folder": "among your documents: valvebench variants",
        "archive_folder": "beside the program's own data; no folder that is synced or shared",
        "check_ohm": "remembered from the first one you read",
        "check_pct": "0.1",
    }
)
_NUMBERS: Final = frozenset({"check_ohm", "check_pct"})
_FOLDERS: Final = ("jobs_folder", "variants_folder", "archive_folder")


class SettingsPage(AsidePage):
    """Colours, size, name and folders."""

    changed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        texts = {line.name: line.text for line in table()}
        self.palette_field = ChoiceField(texts["palette"], list(PALETTE_WORDS.items()))
        self.zoom_field = ChoiceField(texts["zoom"], list(ZOOM_WORDS.items()))
        self.lines = {name: LineField(texts[name], hint=hint) for name, hint in _HINTS.items()}
        self.browse = {name: Button("Browse \u2026") for name in _FOLDERS}
        self.done = Button("Done", key="Esc", is_primary=True)
        self._said = MessageLine()
        self._page, self._form, self._foot = QVBoxLayout(self), QGridLayout(), QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        card = Card("Settings")
        for row, field in enumerate((self.palette_field, self.zoom_field, *self.lines.values())):
            self._form.addWidget(field, row, 0)
        for name, button in self.browse.items():
            button.setAccessibleName(f"Browse for the {self.lines[name].entry.accessibleName().lower()}")
            row = 2 + list(self.lines).index(name)
            self._form.addWidget(button, row, 1, Qt.AlignmentFlag.AlignBottom)
        self._form.setColumnStretch(0, 1)
        card.body.addLayout(self._form)
        card.body.addWidget(Text("Each takes effect at once and is kept for the next start.", muted=True, wraps=True))
        card.body.addWidget(self._said)
        self._foot.addStretch(1)
        self._foot.addWidget(self.done)
        card.body.addLayout(self._foot)
        self._page.addWidget(card)
        self._page.addStretch(1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side = fonts.whole_px(40)
        self._page.setContentsMargins(side, side, side, fonts.whole_px(16))
        self._form.setVerticalSpacing(fonts.whole_px(12))
        self._form.setHorizontalSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        self.palette_field.chosen.connect(self._palette_chosen)
        self.zoom_field.chosen.connect(self._zoom_chosen)
        for name, line in self.lines.items():
            line.setProperty("setting", name)
            line.confirmed.connect(self._tell_lines)
            line.entry.editingFinished.connect(self._tell_lines)
        for name, button in self.browse.items():
            button.setProperty("setting", name)
            button.clicked.connect(self._browse)
        self.done.clicked.connect(self.left)

    def _palette_chosen(self) -> None:
        self.changed.emit({"palette": self.palette_field.word()})

    def _zoom_chosen(self) -> None:
        self.changed.emit({"zoom": float(self.zoom_field.word())})

    def _tell_lines(self) -> None:
        """All lines that can be read; beside a number that cannot it is said."""
        changes: dict[str, Any] = {}
        for name, line in self.lines.items():
            line.set_problem("")
            try:
                changes[name] = _number(name, line.text()) if name in _NUMBERS else line.text()
            except BadInput as error:
                line.set_problem(error.problems[0].text())
        self.changed.emit(changes)

    def _browse(self) -> None:
        name = self.sender().property("setting")
        chosen = QFileDialog.getExistingDirectory(self, "Choose a folder", self.lines[name].text())
        if chosen:
            self.lines[name].set_text(chosen)
            self._tell_lines()

    def show_settings(self, settings: Settings) -> None:
        """Fill the form; a size set by keys is shown as it is."""
        self.palette_field.set_word(settings.palette)
        self._show_zoom(settings.zoom)
        for name, line in self.lines.items():
            if not line.entry.hasFocus():
                line.set_text(_text(getattr(settings, name)))

    def _show_zoom(self, zoom: float) -> None:
        word: Any = f"{zoom:g}"
        if self.zoom_field.box.findData(word) < 0:
            self.zoom_field.add(word, f"{100 * zoom:.0f} %")
        self.zoom_field.set_word(word)

    def say(self, words: str) -> None:
        """What could not be taken or kept."""
        self._said.show_message(words, icon="problem")

    def begin(self) -> None:
        """The first choice has the keyboard."""
        self.palette_field.setFocus(Qt.FocusReason.OtherFocusReason)


def _number(name: str, text: str) -> float | None:
    """A number of the settings as typed; an empty one is forgotten (raises BadInput)."""
    if not text.strip():
        return None if name == "check_ohm" else Settings().check_pct
    number = typed_number(text) if name == "check_ohm" else decimal(text, where="tolerance")
    if name == "check_ohm" and not number > 0:
        raise bad("resistance", repr(text), "a number above zero, such as 5.00")
    if name == "check_pct" and not number >= 0:
        raise bad("tolerance", repr(text), "a tolerance such as 0.1 percent")
    return number


def _text(value: object) -> str:
    return "" if value is None else f"{value:.10g}" if isinstance(value, float) else str(value)
