"""Start one window, say when its first frame was painted, and end: `ours FOLDER` or `bare`."""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path
from typing import Any

MOMENTS: dict[str, dict[str, float]] = {}


def note(name: str) -> None:
    """The clock that parent and child share, and the time this process has used [s]."""
    MOMENTS[name] = {"clock": time.monotonic(), "cpu": time.process_time()}


def finish() -> None:
    print(json.dumps(MOMENTS), flush=True)
    os._exit(0)


def bare() -> tuple[Any, Any, Any]:
    """Application, window, and the widget whose paint fills the frame: the plot leaves nothing to the window."""
    import pyqtgraph
    from PySide6.QtWidgets import QApplication, QMainWindow

    app, window = QApplication([]), QMainWindow()
    plot = pyqtgraph.PlotWidget()
    plot.plot([20.0, 60.0, 110.0], [5.2, 6.0, 7.0])
    window.setCentralWidget(plot)
    window.resize(1280, 800)
    return app, window, plot.viewport()


def ours(folder: Path) -> tuple[Any, Any, Any]:
    from valvebench.compose import Program
    from valvebench.ui.app import application, make_window

    app = application()
    window = make_window(Program(), folder)
    return app, window, window


def main() -> None:
    name, *more = sys.argv[1:]
    app, window, watched = ours(Path(more[0])) if more else bare()
    from PySide6.QtCore import QEvent, QObject, QTimer

    class FirstPaint(QObject):
        """The frame stands when the event loop comes round after the first paint."""

        def eventFilter(self, _: QObject, event: QEvent) -> bool:  # noqa: N802  Qt's name
            if event.type() == QEvent.Type.Paint and "frame" not in MOMENTS:
                MOMENTS["frame"] = {}
                QTimer.singleShot(0, painted)
            return False

    def painted() -> None:
        note("frame")
        if name == "bare":
            finish()
        poll.start(2)

    def look_for_rows() -> None:
        page = window.pins_page
        if page is not None and "page" not in MOMENTS:
            window.show_page("Pins")
            window.repaint()
            note("page")
        if page is not None and page.model.rowCount() > 0 and page.model.row(0).verdict is not None:
            poll.stop()
            page.table.viewport().repaint()
            note("rows")
            finish()

    poll = QTimer()
    poll.timeout.connect(look_for_rows)
    watcher = FirstPaint()
    watched.installEventFilter(watcher)
    window.show()
    app.exec()


if __name__ == "__main__":
    main()
