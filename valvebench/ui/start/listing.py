"""Sessions as rows: a button that opens one, its words, and where it can be pinned a button for that."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QGridLayout

from valvebench.ui import fonts
from valvebench.ui.services import Listed
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.text import ElidedText, Text


class Pressed(NamedTuple):
    """Slots of the buttons of a row, which find the path in `path_of`; without `pin` there is no such button."""

    open: Callable[[], None]
    pin: Callable[[], None] | None = None


def path_of(button: QObject) -> Path:
    """The session that a pressed button stands for."""
    return Path(button.property("path"))


def is_pinned(button: QObject) -> bool:
    """Whether that session is pinned now."""
    return bool(button.property("is_pinned"))


class Listing(QGridLayout):
    """One row for each session."""

    def __init__(self) -> None:
        super().__init__()
        self._buttons: list[Button] = []

    def show(self, listed: Sequence[Listed], pressed: Pressed, *, keys: Mapping[Path, str] | None = None) -> None:
        """Replace what stands there; the keyboard stays at the button of the same name."""
        before = self._leave()
        for place, one in enumerate(listed):
            self._add(Button(one.title, key=(keys or {}).get(one.path, "")), (place, 0), pressed.open, one)
            self._tell(one, place, is_short=pressed.pin is not None)
            if pressed.pin is not None:
                self._add_pin(one, place, pressed.pin)
        self.setColumnStretch(1, 1)
        self._return_to(before)

    def buttons(self) -> tuple[Button, ...]:
        """The buttons, as Tab visits them."""
        return tuple(self._buttons)

    def _leave(self) -> str:
        """Take everything away; the name of the button that had the keyboard."""
        name, self._buttons = "", []
        while (item := self.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                name = widget.accessibleName() if widget.hasFocus() else name
                widget.hide()
                widget.deleteLater()
        return name

    def _add(self, button: Button, place: tuple[int, int], act: Callable[[], None], one: Listed) -> None:
        button.setProperty("path", str(one.path))
        button.setProperty("is_pinned", one.is_pinned)
        button.clicked.connect(act)
        self._buttons.append(button)
        self.addWidget(button, *place, Qt.AlignmentFlag.AlignRight if place[1] else Qt.AlignmentFlag.AlignLeft)

    def _tell(self, one: Listed, row: int, *, is_short: bool) -> None:
        about = ElidedText(one.about, muted=True) if is_short else Text(one.about, size_px=14, muted=True, wraps=True)
        self.addWidget(about, row, 1)

    def _add_pin(self, one: Listed, row: int, pin: Callable[[], None]) -> None:
        button = Button("Unpin" if one.is_pinned else "Pin")
        button.setAccessibleName(f"{'Unpin' if one.is_pinned else 'Pin'} {one.title}")
        self._add(button, (row, 2), pin, one)

    def _return_to(self, name: str) -> None:
        """To the same button, or to the one that takes its pin back."""
        wanted = {name, name.replace("Pin ", "Unpin ", 1), name.replace("Unpin ", "Pin ", 1)} if name else set()
        found = next((button for button in self._buttons if button.accessibleName() in wanted), None)
        if found is not None:
            found.show()  # a layout shows what is new only later, and what is hidden takes no keyboard
            found.setFocus(Qt.FocusReason.OtherFocusReason)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.setVerticalSpacing(fonts.whole_px(8))
        self.setHorizontalSpacing(fonts.whole_px(16))
