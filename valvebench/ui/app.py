"""Start the program's window."""

from __future__ import annotations

import gc
import sys
from pathlib import Path

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QApplication

from valvebench.ui import fonts, theme
from valvebench.ui.main_window import MainWindow
from valvebench.ui.services import WindowServices
from valvebench.ui.trouble import Log, Trouble
from valvebench.ui.window_memory import WindowMemory


def application() -> QApplication:
    """The one application object, dressed."""
    found = QApplication.instance()
    app = found if isinstance(found, QApplication) else QApplication(sys.argv[:1])
    app.setApplicationName("valvebench")
    theme.apply(app, "light")
    app.setFont(fonts.font(14))
    return app


def make_window(services: WindowServices, folder: Path | None = None) -> MainWindow:
    """The window, with a session or with the ways in."""
    window = MainWindow(services)
    if folder is None:
        window.show_start()
    else:
        window.open_once_painted(folder)
    return window


def run_window(services: WindowServices, folder: Path | None = None) -> int:
    """Open the window; returns when it is closed."""
    app = application()
    trouble = Trouble(Log(services.log_folder))
    trouble.install()
    window = make_window(services, folder)
    trouble.happened.connect(window.show_trouble)
    window.asides.apply()
    WindowMemory(window, window.settings, log=trouble.log.write).restore()
    window.show()
    # What lives now lives to the end, as does what the first session brings in: the collector need not look again.
    QTimer.singleShot(0, gc.freeze)
    window.session_opened.connect(gc.freeze, Qt.ConnectionType.SingleShotConnection)
    try:
        return app.exec()
    finally:
        window.runner.wait()
        trouble.remove()
