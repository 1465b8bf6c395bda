"""What a screen reader meets on every page, as text: `python -m tests.access_tree` writes the snapshots anew.

One line per thing: role, name, what more is said, state.  Look through the difference before it is committed:
each line that changed is something a person will hear otherwise.
"""

from __future__ import annotations

import argparse
import difflib
import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QPlainTextEdit,
    QTextEdit,
    QWidget,
)

from tests.every_page import (
    StoppedProgram,
    job_names,
    open_on,
    pages_of_job,
    pages_without_job,
)
from valvebench.ui.main_window import MainWindow

FOLDER: Final = Path(__file__).parent / "data" / "access"
STATES: Final = ("disabled", "checked", "readOnly", "expanded", "collapsed", "hasPopup", "invalid")
LONGEST: Final = 400
MOST_ROWS: Final = 5
_LEAVES: Final = (QAbstractItemView, QComboBox, QTextEdit, QPlainTextEdit)
_NAME, _MORE, _VALUE = QAccessible.Text.Name, QAccessible.Text.Description, QAccessible.Text.Value


def tree_of(root: QWidget, folder: Path) -> str:
    """The accessible things below a widget, one a line, deeper ones further in."""
    lines = [line.replace(str(folder), "(folder)") for line in _lines(root, 0)]
    return "\n".join(lines) + "\n"


def _lines(widget: QWidget, depth: int) -> Iterator[str]:
    line = line_of(widget)
    if line:
        yield "  " * depth + line
        depth += 1
    if isinstance(widget, QAbstractItemView):
        yield from ("  " * depth + row for row in _rows(widget))
    if isinstance(widget, _LEAVES):
        return
    for child in _children(widget):
        yield from _lines(child, depth)


def _children(widget: QWidget) -> list[QWidget]:
    """In the order of the screen, top to bottom: the order of making says nothing to a reader of the file."""
    children = [child for child in widget.children() if isinstance(child, QWidget) and child.isVisible()]
    inside = [child for child in children if not child.isWindow()]
    return sorted(inside, key=lambda child: (child.y(), child.x()))


def line_of(widget: QWidget) -> str:
    """Role, name, more and state; nothing for a box that only holds others."""
    interface = QAccessible.queryAccessibleInterface(widget)
    name, more = interface.text(_NAME), interface.text(_MORE)
    takes_keys = widget.focusPolicy() != Qt.FocusPolicy.NoFocus
    if not name and not takes_keys:
        return ""
    state = interface.state()
    value = interface.text(_VALUE) if isinstance(widget, QComboBox | QPlainTextEdit | QTextEdit) else _value(widget)
    parts = [interface.role().name, f'"{_short(name)}"']
    parts += [f'= "{_short(value)}"'] if value and value != name else []
    parts += [f'("{_short(more)}")'] if more and more != name else []
    parts += [f"[{', '.join(on)}]"] if (on := [each for each in STATES if getattr(state, each)]) else []
    return " ".join(parts)


def _value(widget: QWidget) -> str:
    interface = QAccessible.queryAccessibleInterface(widget)
    return interface.text(_VALUE) if interface.role() == QAccessible.Role.EditableText else ""


def _short(words: str) -> str:
    line = " ".join(words.split())
    return line if len(line) <= LONGEST else f"{line[:LONGEST]} \N{HORIZONTAL ELLIPSIS}"


def _rows(table: QAbstractItemView) -> Iterator[str]:
    """Headings and the first rows, read from the model: a table has a child for each cell."""
    model = table.model()
    if model is None:
        return
    columns, rows = range(model.columnCount()), model.rowCount()
    heads = [model.headerData(place, Qt.Orientation.Horizontal) for place in columns]
    yield f"columns {' | '.join(str(head or '-') for head in heads)}"
    for row in range(min(rows, MOST_ROWS)):
        cells = (model.index(row, place) for place in columns)
        yield f"row {' | '.join(_cell(index) for index in cells)}"
    if rows > MOST_ROWS:
        yield f"and {rows - MOST_ROWS} more rows"


def _cell(index) -> str:
    role = Qt.ItemDataRole
    return str(index.data(role.AccessibleTextRole) or index.data(role.DisplayRole) or "-")


def frame_of(window: MainWindow) -> QWidget:
    """What surrounds the pages."""
    return window.rail


def every_tree(folder: Path) -> Iterator[tuple[str, str]]:
    """Name and tree of every page."""
    program = StoppedProgram(folder)
    with open_on(program, None) as window:
        for shown in pages_without_job(window):
            yield shown.name, tree_of(shown.page, folder)
    for job in job_names():
        with open_on(program, job) as window:
            yield f"{job}-frame", tree_of(window.strip, folder) + tree_of(window.rail, folder)
            for shown in pages_of_job(window):
                yield f"{job}-{shown.name}", tree_of(shown.page, folder)


def difference(name: str, tree: str) -> str:
    """What differs from the snapshot on file, as a readable difference; empty where nothing does."""
    path = FOLDER / f"{name}.txt"
    before = path.read_text("utf-8").splitlines() if path.is_file() else []
    where = (f"{path.name} on file", f"{path.name} now")
    return "\n".join(difflib.unified_diff(before, tree.splitlines(), *where, lineterm="", n=2))


def main(arguments: list[str] | None = None) -> int:
    """Write every snapshot anew and take away those whose page is gone."""
    argparse.ArgumentParser(description="Write what a screen reader meets on every page").parse_args(arguments)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from valvebench.ui.app import application

    app = application()
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        trees = dict(every_tree(Path(folder)))
    for path in FOLDER.glob("*.txt"):
        if path.stem not in trees:
            path.unlink()
    for name, tree in trees.items():
        (FOLDER / f"{name}.txt").write_text(tree, "utf-8")
    print(f"{len(trees)} snapshots in {FOLDER}")
    app.quit()
    return 0


if __name__ == "__main__":
    sys.exit(main())
