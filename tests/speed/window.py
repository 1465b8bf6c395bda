"""The window: from process start to the first painted frame, and from Enter to the painted verdict."""

from __future__ import annotations

import itertools
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from tests.speed.measure import Figures, Row, interleaved, row

ROOT = Path(__file__).parents[2]
READINGS = 10_000
STARTS = 10
SLOW_DISK_S = 0.05
MOVES = 32
MOVE_LIMIT = 30.0
PAIRS_OF_PINS = (("1", "2"), ("3", "11"), ("4", "5"), ("7", "11"), ("8", "case"), ("2", "11"))
VARIANT = ROOT / "resources" / "variants" / "tern-body-2.json"


def make_job(folder: Path, readings: int) -> Path:
    """A session folder with so many invented readings, written straight to the file."""
    from valvebench.compose import create_job
    from valvebench.model.entry import Reading, encode_line, sha256_of

    desk = create_job(folder, {"job": "S-1"}, variant_raw=VARIANT.read_bytes(), by="Ann")
    desk.release()
    journal = folder / "journal.jsonl"
    lines = journal.read_bytes().splitlines()
    for number in range(2, readings + 2):
        red, black = PAIRS_OF_PINS[number % len(PAIRS_OF_PINS)]
        body = Reading(from_node=red, to_node=black, ohm=5.1 + number % 7 / 50, celsius=20.0 + number % 36 * 2.5)
        at = f"2031-05-06T{number // 3600:02d}:{number // 60 % 60:02d}:{number % 60:02d}Z"
        lines.append(encode_line(n=number, at=at, by="Ann", body=body, prev=sha256_of(lines[-1])))
    journal.write_bytes(b"".join(line + b"\n" for line in lines))
    return folder


def started(*words: str, moment: str) -> Callable[[], Figures]:
    """Start a window in a process of its own; the time to one of its moments."""
    environment = {"QT_QPA_PLATFORM": "offscreen", **os.environ, "PYTHONPATH": str(ROOT)}
    # as on a machine of its own: compiled once, by the first pair, which does not count
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    environment["PYTHONPYCACHEPREFIX"] = tempfile.gettempdir() + "/valvebench-speed-compiled"

    def run() -> Figures:
        begin = time.monotonic()
        command = [sys.executable, "-m", "tests.speed.window_child", *words]
        said = subprocess.run(command, env=environment, capture_output=True, check=True, text=True, timeout=120).stdout
        seen = json.loads(said.splitlines()[-1])[moment]
        return {"cpu": seen["cpu"], "wall": seen["clock"] - begin}

    return run


def start_rows(job: Path) -> list[Row]:
    found = []
    for name, moment in (
        ("start to first frame, last readings in it unjudged", "frame"),
        (f"start to the page, {READINGS} readings read", "page"),
        (f"start to {READINGS} readings judged", "rows"),
    ):
        pairs = interleaved(started("ours", str(job), moment=moment), started("bare", moment="frame"), pairs=STARTS)
        limit = {"frame": 0.7, "page": None, "rows": 1.3}[moment]
        found += [row(f"{name} / bare pyqtgraph", pairs, figure=figure, limit=limit) for figure in ("cpu", "wall")]
    return found


class Painted:
    """Counts the paints of a widget."""

    def __init__(self, widget: Any) -> None:
        from PySide6.QtCore import QEvent, QObject

        class Filter(QObject):
            def eventFilter(_self, watched: Any, event: Any) -> bool:  # noqa: N802, N805  Qt's name
                self.count += event.type() == QEvent.Type.Paint
                return False

        self.count, self._filter = 0, Filter()
        widget.installEventFilter(self._filter)


def key_to_paint(press: Callable[[], None], painted: Painted) -> Figures:
    """From the key to the moment when that widget has been painted; waiting costs no processor time."""
    from PySide6.QtCore import QEventLoop
    from PySide6.QtWidgets import QApplication

    painted.count = 0
    wall, cpu = time.perf_counter(), time.thread_time()
    press()
    while not painted.count:
        QApplication.processEvents(QEventLoop.ProcessEventsFlag.WaitForMoreEvents)
    return {"cpu": time.thread_time() - cpu, "wall": time.perf_counter() - wall}


def bare_enter() -> tuple[Any, Callable[[], Figures]]:
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget

    window, field, label = QWidget(), QLineEdit(), QLabel("-")
    layout = QVBoxLayout(window)
    layout.addWidget(field)
    layout.addWidget(label)
    field.returnPressed.connect(lambda: (label.setText(f"{float(field.text()):.3f} ohm"), field.clear()))
    window.resize(1280, 800)
    window.show()
    settle()
    painted = Painted(label)

    def enter() -> Figures:
        field.setText(next_ohm())
        settle()
        return key_to_paint(lambda: QTest.keyClick(field, Qt.Key.Key_Return), painted)

    return window, enter


def our_enter(job: Path, *, is_typed: bool = True, watched: str = "field") -> tuple[Any, Callable[[], Figures]]:
    """Enter on a reading typed key by key (its verdict stands already), or put in at once as from a meter."""
    from PySide6.QtCore import Qt
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QLineEdit

    from valvebench.compose import Program
    from valvebench.ui.app import make_window

    window = make_window(Program(), job)
    window.show()
    settle(lambda: window.pins_page is not None and window.pins_page.field.isEnabled())
    window.show_page("Pins")
    settle()
    page = window.pins_page
    field = page.field.findChild(QLineEdit)
    painted = Painted({"field": field, "ruler": page.ruler, "table": page.table.viewport()}[watched])

    def enter() -> Figures:
        field.clear()
        if is_typed:
            QTest.keyClicks(field, next_ohm())
        else:
            field.setText(next_ohm())
        settle()
        found = key_to_paint(lambda: QTest.keyClick(field, Qt.Key.Key_Return), painted)
        settle(lambda: window.pins._writing is None)
        return found

    return window, enter


def next_ohm() -> str:
    next_ohm.count += 1
    return f"{5 + next_ohm.count % 40 / 100:.2f}"


next_ohm.count = 0


def settle(is_ready: Callable[[], bool] = lambda: True) -> None:
    """Let the window do what it has to do."""
    from PySide6.QtWidgets import QApplication

    end = time.monotonic() + 60
    for _ in range(5):
        QApplication.processEvents()
    while not is_ready():
        if time.monotonic() > end:
            raise TimeoutError("the window did not become ready")
        QApplication.processEvents()
        time.sleep(0.001)
    for _ in range(5):
        QApplication.processEvents()


def enter_rows(many: Path, few: Path) -> list[Row]:
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    os.environ.setdefault("QT_LOGGING_RULES", "default.warning=false")  # what the offscreen platform cannot do
    from valvebench.ui.app import application

    app = application()
    bare_window, bare = bare_enter()
    found = []
    medians = []
    for name, job, is_typed, watched, limit in (
        (f"Enter to painted verdict, {READINGS} readings", many, True, "field", 1.5),
        ("Enter to painted verdict, 10 readings", few, True, "field", 1.5),
        ("the same, put in at once as from a meter", many, False, "ruler", 1.5),
        ("Enter to the whole page painted, its row on disk", many, True, "table", 8.0),
    ):
        # A copy for each: readings of an earlier row would pile up as repeats of the same pairs.
        window, ours = our_enter(Path(shutil.copytree(job, f"{job}-{len(found)}")), is_typed=is_typed, watched=watched)
        pairs = interleaved(ours, bare, pairs=60)
        found.append(row(f"{name} / bare field and label", pairs, figure="cpu", limit=limit, note=tail_of(pairs)))
        found.append(row(f"{name} / bare field and label", pairs, figure="wall"))
        medians.append(found[-2].ours_ms)
        window.close()
    found.append(
        Row("Enter, 10,000 readings / 10 readings (cpu)", medians[0], medians[1], medians[0] / medians[1], 1.15)
    )
    found += slow_disk_rows(many, medians[0])
    found += other_moves(many, bare)
    bare_window.close()
    app.processEvents()
    return found


def tail_of(pairs: list[tuple[Figures, Figures]]) -> str:
    """The slowest in a hundred, of the thread's own time."""
    ours = sorted(1000 * one["cpu"] for one, _ in pairs)
    return f"p99 {ours[round(0.99 * (len(ours) - 1))]:.1f} ms"


def slow_disk_rows(job: Path, quick_ms: float) -> list[Row]:
    """The verdict does not wait for a disk that takes 50 ms for each write."""
    from valvebench.bench.desk import Desk

    plain_write = Desk.write

    def slow_write(desk: Desk, prepared: Any) -> None:
        time.sleep(SLOW_DISK_S)
        plain_write(desk, prepared)

    Desk.write = slow_write
    try:
        window, ours = our_enter(job)
        took = sorted(1000 * ours()["wall"] for _ in range(30))
        window.close()
    finally:
        Desk.write = plain_write
    median = took[len(took) // 2]
    return [Row("Enter on a 50 ms disk (wall) / on this disk (cpu)", median, quick_ms, median / quick_ms, 1.5)]


def other_moves(job: Path, bare: Callable[[], Figures]) -> list[Row]:
    """Theme, page and size of a window with that session, each painted whole, by turns with the bare repaint."""
    from PySide6.QtWidgets import QApplication

    from valvebench.compose import Program
    from valvebench.ui import theme
    from valvebench.ui.app import make_window

    window = make_window(Program(), job)
    window.show()
    settle(lambda: window.pins_page is not None and window.pins_page.field.isEnabled())
    widths = itertools.cycle(range(1200, 1280, 8))
    found = []
    for name, moves in (
        ("theme switch", (theme.apply_next,)),
        ("page switch", (lambda: window.show_page("Job"), lambda: window.show_page("Pins"))),
        ("resize step", (lambda: window.resize(next(widths), 800),)),
    ):
        pairs = interleaved(moved(moves), bare, pairs=MOVES)
        for figure, limit in (("cpu", MOVE_LIMIT), ("wall", None)):
            found.append(row(f"{name}, painted / bare field and label", pairs, figure=figure, limit=limit))
    theme.apply(QApplication.instance(), "light")
    window.close()
    return found


def moved(moves: Sequence[Callable[[], object]]) -> Callable[[], Figures]:
    """One move after the other, round and round, each with all the paint it asks for."""
    from PySide6.QtWidgets import QApplication

    ahead = itertools.cycle(moves)

    def move() -> Figures:
        wall, cpu = time.perf_counter(), time.thread_time()
        next(ahead)()
        for _ in range(3):
            QApplication.processEvents()
        return {"cpu": time.thread_time() - cpu, "wall": time.perf_counter() - wall}

    return move


def rows() -> list[Row]:
    with tempfile.TemporaryDirectory() as place:
        many, few = make_job(Path(place, "many"), READINGS), make_job(Path(place, "few"), 10)
        return [*start_rows(many), *enter_rows(many, few)]
