"""Puts a window where it stood and keeps where it is left."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec
from PySide6.QtCore import QEvent, QObject, QRect, Qt
from PySide6.QtGui import QGuiApplication, QScreen
from PySide6.QtWidgets import QWidget

from valvebench.ui.settings import SettingsHolder
from valvebench.ui.window_place import Rectangle, SavedWindow, placed, read_saved

_STATES: Final = {
    "ordinary": Qt.WindowState.WindowNoState,
    "maximised": Qt.WindowState.WindowMaximized,
    "full_screen": Qt.WindowState.WindowFullScreen,
}


class WindowMemory(QObject):
    """Keeps the place of one window in the settings, each time it is closed."""

    def __init__(self, window: QWidget, settings: SettingsHolder, *, log: Callable[[str], None]) -> None:
        super().__init__(window)
        self._window, self._settings, self._log = window, settings, log
        window.installEventFilter(self)

    def restore(self) -> None:
        """Put the window where it stood; to be called before it is shown."""
        saved, problem = read_saved(self._settings.now.window)
        if problem:
            self._log(problem)
        self._window.setGeometry(QRect(*placed(saved, _screens())))
        if saved is not None:
            self._window.setWindowState(_STATES[saved.shown])

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A window that goes out of sight for good was in sight before: hidden ones keep nothing."""
        if watched is self._window and event.type() == QEvent.Type.Hide and not event.spontaneous():
            self._keep()
        return super().eventFilter(watched, event)

    def _keep(self) -> None:
        left = msgspec.to_builtins(_left(self._window))
        if left != self._settings.now.window:
            self._settings.change(window=left)


def _left(window: QWidget) -> SavedWindow:
    ordinary = window.normalGeometry()
    is_full, is_large = window.isFullScreen(), window.isMaximized()
    return SavedWindow(
        x=ordinary.x(),
        y=ordinary.y(),
        width=ordinary.width(),
        height=ordinary.height(),
        above=max(0, window.geometry().y() - window.frameGeometry().y()),
        shown="full_screen" if is_full else "maximised" if is_large else "ordinary",
    )


def _screens() -> list[Rectangle]:
    """The main screen first."""
    main = QGuiApplication.primaryScreen()
    return [_free(main), *(_free(screen) for screen in QGuiApplication.screens() if screen is not main)]


def _free(screen: QScreen) -> Rectangle:
    free = screen.availableGeometry()
    return Rectangle(free.x(), free.y(), free.width(), free.height())
