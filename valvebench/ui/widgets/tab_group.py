"""Discs of a drawing that are one stop of Tab together: the one last walked to."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from valvebench.ui.widgets.pin_button import PinButton


class TabGroup:
    """Keeps the keyboard's place among the discs of one drawing."""

    def __init__(self, drawing: QWidget) -> None:
        self._drawing = drawing
        self._discs: dict[str, PinButton] = {}
        self.stop = ""

    def take(self, discs: Mapping[str, PinButton]) -> None:
        """Show other discs in place of those before; the first is the stop."""
        for disc in self._discs.values():
            disc.setParent(None)
            disc.deleteLater()
        self._discs = dict(discs)
        for disc in self._discs.values():
            disc.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
            disc.focused.connect(self.make_stop)
            disc.show()
        self._join_tab_chain()
        self.make_stop(next(iter(self._discs), ""))

    def make_stop(self, name: str) -> None:
        """Let Tab come to one disc only."""
        if self.stop in self._discs:
            self._discs[self.stop].setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.stop = name
        if name in self._discs:
            self._discs[name].setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self._drawing.setFocusProxy(self._discs[name])

    def focus(self, name: str) -> None:
        """Give one disc the keyboard."""
        self.make_stop(name)
        self._discs[name].setFocus(Qt.FocusReason.OtherFocusReason)

    def _join_tab_chain(self) -> None:
        """Put discs made late where the drawing stands in the order of Tab, not at its end."""
        drawing = self._drawing
        drawing.setFocusProxy(None)  # type: ignore[arg-type]  # the stubs forget that None is allowed
        # TRAP: setTabOrder passes over a widget that takes no focus; the proxy set later takes it again.
        drawing.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        for before, after in pairwise([drawing, *self._discs.values()]):
            QWidget.setTabOrder(before, after)
        drawing.setFocusPolicy(Qt.FocusPolicy.NoFocus)
