"""The card with both drawings of a run.  What draws is brought in late: until then the card says what comes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QEvent, QObject, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QStackedLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.text import Text

if TYPE_CHECKING:
    from valvebench.ui.heat.loading import Plots

TIME_WORDS: Final = "Against time. Above the probe, dashed the coil as worked out; below the resistance."
PROBE_WORDS: Final = "Against time. Above the probe; where the coil was is not known. Below the resistance."
ROUNDS_WORDS: Final = "Round by round. Above the temperature, below the resistance."
HEAT_WORDS: Final = (
    "Against temperature. Pointing up: warming, filled and pointing down: cooling. The line is what was found, "
    "dashed is copper alone; the mark stands where the limits hold."
)
PROBE_HEAT_WORDS: Final = (
    "Against the probe's temperature: where the coil was is not known, so no line is drawn. Pointing up: warming, "
    "filled and pointing down: cooling. The mark stands where the limits hold."
)
REACH_WORDS: Final = " Whiskers: how far the meter may be off."
_PAN: Final = 0.15
_ZOOM: Final = 1.4
_RING_PX: Final = 6
_TIME_PX, _HEAT_PX = 250, 260
_MOVES: Final = {
    Qt.Key.Key_Left: (-_PAN, 0.0),
    Qt.Key.Key_Right: (_PAN, 0.0),
    Qt.Key.Key_Up: (0.0, _PAN),
    Qt.Key.Key_Down: (0.0, -_PAN),
}
_SIDEWAYS: Final = frozenset({Qt.Key.Key_Left, Qt.Key.Key_Right})
_LARGER: Final = frozenset({Qt.Key.Key_Plus, Qt.Key.Key_Equal})
_RESET: Final = frozenset({Qt.Key.Key_0, Qt.Key.Key_Home})


class PlotPane(paint.Painted):
    """Holds one drawing; it takes the keyboard and moves the drawing, which itself never does."""

    got_keyboard = Signal(object)

    def __init__(self, height_px: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.drawing: Any = None
        self._height_px = height_px
        self._room = QVBoxLayout(self)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.rescale()

    def hold(self, drawing: Any) -> None:
        """Take a drawing in."""
        self.drawing = drawing
        self._room.addWidget(drawing)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        ring = fonts.whole_px(_RING_PX)
        self._room.setContentsMargins(ring, ring, ring, ring)
        super().rescale()

    def sizeHint(self) -> QSize:
        """As high as said."""
        return QSize(fonts.whole_px(480), fonts.whole_px(self._height_px))

    def minimumSizeHint(self) -> QSize:
        """A few ticks wide."""
        return QSize(fonts.whole_px(280), fonts.whole_px(self._height_px))

    def take_key(self, event: QKeyEvent, *, is_sideways_only: bool = False) -> bool:
        """Move, enlarge or reset by a key; whether it was one of these."""
        if self.drawing is None or event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier & ~_SHIFT:
            return False
        key = Qt.Key(event.key())
        if key in _MOVES and (key in _SIDEWAYS or not is_sideways_only):
            self.drawing.pan(*_MOVES[key])
        elif key in _LARGER:
            self.drawing.enlarge(_ZOOM)
        elif key == Qt.Key.Key_Minus:
            self.drawing.enlarge(1 / _ZOOM)
        elif key in _RESET:
            self.drawing.reset()
        else:
            return False
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Arrows move, plus and minus enlarge, 0 shows the whole run."""
        if not self.take_key(event):
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """The keys of the card are for this drawing now."""
        super().focusInEvent(event)
        self.got_keyboard.emit(self)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """The ring goes."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one ring
        """Draw the ring of the keyboard."""
        if self.hasFocus():
            with paint.start(self) as painter:
                box, palette = self.rect().toRectF(), theme.current()
                paint.draw_focus(painter, box, radius_px=fonts.px(6), code=palette.ink)


_SHIFT: Final = Qt.KeyboardModifier.ShiftModifier


class PlotCard(Card):
    """Words until a run is drawn, then both drawings and the keys that move them."""

    stop_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("The run", parent=parent)
        self.waiting = Text(size_px=15, muted=True, wraps=True)
        self.time_pane, self.heat_pane = PlotPane(_TIME_PX), PlotPane(_HEAT_PX)
        self._time_words, self._heat_words = (Text(size_px=13, muted=True, wraps=True) for _ in range(2))
        self.caps = {
            Qt.Key.Key_Left: KeyCap("\u2190", "Back"),
            Qt.Key.Key_Right: KeyCap("\u2192", "On"),
            Qt.Key.Key_Plus: KeyCap("+", "Larger"),
            Qt.Key.Key_Minus: KeyCap("\u2212", "Smaller"),
            Qt.Key.Key_0: KeyCap("0", "Whole run"),
        }
        self._at_hand = self.time_pane
        self._sought: tuple[Plots, str] | None = None
        self._caps = QHBoxLayout()
        self._build()

    def _build(self) -> None:
        drawn, rows = QWidget(), QVBoxLayout()
        drawn.setLayout(rows)
        rows.setContentsMargins(0, 0, 0, 0)
        self._rows = rows
        for words, pane, share in (
            (self._heat_words, self.heat_pane, 52),
            (self._time_words, self.time_pane, 48),
        )[::-1]:
            rows.addWidget(words)
            rows.addWidget(pane, share)
            pane.got_keyboard.connect(self._pane_at_hand)
        for key, cap in self.caps.items():
            cap.clicked.connect(lambda *_, key=key: self._press(key))
            self._caps.addWidget(cap)
        self._caps.addStretch(1)
        rows.addLayout(self._caps)
        self._pages = QStackedLayout()
        self.body.addLayout(self._pages, 1)  # before its pages: without a place it would show the first as a window
        self._pages.addWidget(self.waiting)
        self._pages.addWidget(drawn)
        self.waiting.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.rescale_parts()
        fonts.zoom.changed.connect(self.rescale_parts)

    def rescale_parts(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(4))
        self._caps.setSpacing(fonts.whole_px(16))

    def _pane_at_hand(self, pane: PlotPane) -> None:
        self._at_hand = pane

    def _press(self, key: Qt.Key) -> None:
        self._at_hand.take_key(QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier))

    def take_key(self, event: QKeyEvent) -> bool:
        """A key from elsewhere on the page that is for the drawing at hand; up and down walk the list."""
        is_drawn = self._pages.currentIndex() == 1
        return is_drawn and self._at_hand.take_key(event, is_sideways_only=True)

    def tab_stops(self) -> tuple[QWidget, ...]:
        """What takes the keyboard, in order."""
        return self.time_pane, self.heat_pane

    def show_waiting(self, words: str) -> None:
        """Say what comes, or why nothing does."""
        self._sought = None
        self.waiting.setText(words)
        self._pages.setCurrentIndex(0)

    def show_plots(self, plots: Plots, sentence: str) -> None:
        """Draw a run; each drawing is made in a turn of its own, so that no key waits for both."""
        self._sought = (plots, sentence)
        self._next()

    def _next(self) -> None:
        if self._sought is None:
            return
        plots, sentence = self._sought
        missing = next((pane for pane in (self.time_pane, self.heat_pane) if pane.drawing is None), None)
        if missing is not None:
            from valvebench.ui.heat.plots import HeatDrawing, TimeDrawing

            missing.hold(TimeDrawing() if missing is self.time_pane else HeatDrawing())
            missing.drawing.installEventFilter(self)
            QTimer.singleShot(0, self, self._next)
            return
        self._sought = None
        self._show(plots, sentence)

    def _show(self, plots: Plots, sentence: str) -> None:
        words = ROUNDS_WORDS if not plots.time_unit else TIME_WORDS if plots.coil is not None else PROBE_WORDS
        self._time_words.setText(words)
        heat_words = HEAT_WORDS if plots.is_coil_known else PROBE_HEAT_WORDS
        heat_words += REACH_WORDS if plots.reach is not None else ""
        self._heat_words.setText(heat_words)
        for pane, lead in ((self.time_pane, words), (self.heat_pane, heat_words)):
            pane.say(f"{sentence} {lead}")
            pane.drawing.setAccessibleName(f"{sentence} {lead}")
            pane.drawing.show_run(plots)
        self._pages.setCurrentIndex(1)

    def changeEvent(self, event: QEvent) -> None:
        """Another palette: what draws does not follow it by itself."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self.retheme()

    def retheme(self) -> None:
        """Take up the palette in force."""
        for pane in (self.time_pane, self.heat_pane):
            if pane.drawing is not None:
                pane.drawing.retheme()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """A press on a drawing gives its pane the keyboard."""
        if event.type() == QEvent.Type.MouseButtonPress:
            pane = watched.parent()
            if isinstance(pane, PlotPane):
                pane.setFocus(Qt.FocusReason.MouseFocusReason)
        return super().eventFilter(watched, event)
