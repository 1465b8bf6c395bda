"""What it is, as far as that can be said: headline, bars, what holds it back, what speaks against each variant."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.identify.shown import PointShown, VerdictShown
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.chance_bars import ChanceBars, ChanceRow
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text


class Lines(QWidget):
    """Sentences below each other under a small title; hidden where there is none."""

    def __init__(self, title: str = "", *, icon: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title, self._icon = Text(title, size_px=13, weight=fonts.SEMIBOLD, wraps=True), icon
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.addWidget(self._title)
        self._title.setVisible(bool(title))
        self._lines: list[QWidget] = []
        self._shown: tuple[str, ...] = ()
        self.hide()
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(4))

    def words(self) -> tuple[str, ...]:
        """The sentences shown."""
        return self._shown

    def show_lines(self, lines: Sequence[str]) -> None:
        """Other sentences; the same again cost nothing."""
        if tuple(lines) == self._shown:
            return
        self._shown = tuple(lines)
        for widget in self._lines:
            self._rows.removeWidget(widget)
            widget.hide()
            widget.deleteLater()
        self._lines = [
            MessageLine(line, icon=self._icon) if self._icon else Text(line, size_px=14, wraps=True) for line in lines
        ]
        for widget in self._lines:
            self._rows.addWidget(widget)
        self.setVisible(bool(lines))


class VerdictCard(Card):
    """The headline first, then the bars; reasons below."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Which one is it", parent=parent)
        self.headline = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.bars = ChanceBars()
        self.more = Text(size_px=13, muted=True, wraps=True)
        self.against, self.holds = Lines("What speaks against it", icon="problem"), Lines("Why it is not confirmed")
        self.alike, self.lost = Lines("Nothing separates"), Lines("Why the others are behind")
        self.not_checked = Text(size_px=14, muted=True, wraps=True)
        self.left_out = Lines()
        for part in (self.headline, self.bars, self.more, self.against, self.holds):
            self.body.addWidget(part)
        for part in (self.alike, self.lost, self.not_checked, self.left_out):
            self.body.addWidget(part)
        self.body.addStretch(1)

    def show_verdict(self, shown: VerdictShown) -> None:
        """What was concluded."""
        self.headline.setText(shown.head)
        self.bars.show_rows([ChanceRow(*one) for one in shown.bars])
        self.more.setText(shown.more)
        self.more.setVisible(bool(shown.more))
        self.against.show_lines(shown.against)
        self.holds.show_lines(shown.holds)
        self.alike.show_lines(shown.alike)
        self.lost.show_lines(shown.lost)
        self.not_checked.setText(shown.not_checked)
        self.not_checked.setVisible(bool(shown.not_checked))
        self.left_out.show_lines(shown.left_out)

    def words(self) -> str:
        """The headline."""
        return self.headline.text()


class PointsCard(Card):
    """The must-match points of old and new part side by side."""

    HEADS = ("Must match", "Needed", "Part at hand", "New part")

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Old and new part side by side", parent=parent)
        self._empty = Text(
            "The points that must match stand here once one variant leads.", size_px=14, muted=True, wraps=True
        )
        self._of = Text(size_px=13, muted=True, wraps=True)
        self._grid = QGridLayout()
        self._cells: list[Text] = []
        self._shown: tuple[str, tuple[PointShown, ...]] | None = None
        self.body.addWidget(self._empty)
        self.body.addWidget(self._of)
        self.body.addLayout(self._grid)
        for column, share in enumerate((3, 2, 4, 4)):
            self._grid.setColumnStretch(column, share)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_grid"):
            self._grid.setHorizontalSpacing(fonts.whole_px(12))
            self._grid.setVerticalSpacing(fonts.whole_px(8))

    def show_points(self, title: str, points: Sequence[PointShown]) -> None:
        """The points of the leading variant."""
        if self._shown == (title, tuple(points)):
            return
        self._shown = (title, tuple(points))
        for cell in self._cells:
            self._grid.removeWidget(cell)
            cell.hide()
            cell.deleteLater()
        self._cells = []
        self._of.setText(f"As {title} needs them." if title else "")
        self._of.setVisible(bool(title))
        self._empty.setVisible(not points)
        for row, words in enumerate([self.HEADS, *points] if points else ()):
            for column, text in enumerate(words):
                cell = Text(text, size_px=13, muted=row == 0, weight=_weight(row, column), wraps=True)
                self._cells.append(cell)
                self._grid.addWidget(cell, row, column)

    def rows(self) -> tuple[PointShown, ...]:
        """The points shown."""
        return self._shown[1] if self._shown is not None else ()


def _weight(row: int, column: int) -> int:
    return fonts.SEMIBOLD if row and not column else fonts.REGULAR
