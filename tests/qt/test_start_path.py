"""What the window loads before its first picture, and what is left when it is gone."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication

from valvebench.ui import app as ui_app

HEAVY = ("numpy", "scipy", "pandas", "pyqtgraph", "openpyxl", "PIL", "sqlite3", "sqlalchemy")
PROGRAM = """
import json, sys
from pathlib import Path
from valvebench.compose import Program
from valvebench.ui import app as ui_app
application = ui_app.application()
window = ui_app.make_window(Program(), Path(sys.argv[1]))
window.show()
while window.keeper is None or window.keeper.book is None:
    application.processEvents()
window.grab()
print(json.dumps([sorted({name.partition(".")[0] for name in sys.modules}), len(sys.modules)]))
window.close()
"""


def test_nothing_heavy_is_loaded_before_the_first_picture_of_a_session(sample):
    run = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(sample("in-work"))],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
        cwd=Path(__file__).parents[2],
        env=os.environ | {"QT_QPA_PLATFORM": "offscreen", "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    packages, count = json.loads(run.stdout)
    assert not set(HEAVY) & set(packages)
    assert count < 500


def test_a_closed_window_leaves_no_widget_behind(qtbot, program, sample):
    before = len(QApplication.allWidgets())
    for name in ("in-work", "grows-with-heat"):
        window = ui_app.make_window(program, sample(name))
        with qtbot.waitExposed(window):
            window.show()
        qtbot.waitUntil(lambda window=window: window.keeper is not None and window.keeper.book is not None)
        window.close()
        window.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert len(QApplication.allWidgets()) == before


def test_a_left_session_leaves_no_page_behind(open_window, sample):
    person = open_window(sample("in-work"))
    folder = person.window._services.jobs_folder() / "2217-in-work"
    counts = []
    for _ in range(3):
        person.window.leave_session()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        counts.append(len(QApplication.allWidgets()))
        person.window.open_session(folder)
        person.wait(person.judged)
    assert len(set(counts)) == 1
