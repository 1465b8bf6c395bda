"""A value on its ruler: limits as posts, guard zones, and the reading as its mark with a whisker."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize
from PySide6.QtGui import QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.mark import paint_mark
from valvebench.ui.widgets.ruler_scale import Scale, scale_for
from valvebench.ui.widgets.ticks import nice_ticks, tick_texts

EMPTY_TEXT: Final = "Nothing measured yet"

_SIDE_PX: Final = 20
_LABEL_PX: Final = 20
_POST_PX: Final = 40
_BAND_PX: Final = 36
_TICK_PX: Final = 4
_FOOT_PX: Final = 24
_MARK_PX: Final = 11


@dataclass(frozen=True, kw_only=True)
class RulerState:
    """What a ruler shows; numbers in `unit`, limit words already rounded inward by the caller."""

    unit: str = ""
    low: float | None = None
    high: float | None = None
    low_text: str = ""
    high_text: str = ""
    guard: float = 0.0
    value: float | None = None
    expanded: float | None = None
    verdict: Verdict = Verdict.NOT_TAKEN
    value_text: str = ""
    open_above: float | None = None
    empty_text: str = EMPTY_TEXT

    def values(self) -> tuple[float, ...]:
        """Every number that wants to be seen."""
        reach = self.expanded or 0.0
        ends = () if self.value is None else (self.value - reach, self.value + reach)
        return ends if self.open_above is None else (*ends, self.open_above)

    def scale(self) -> Scale | None:
        """The numbers at the two ends."""
        return scale_for(self.low, self.high, self.values())

    def sentence(self) -> str:
        """What the ruler says, for the reader."""
        parts = [self._limits_words(), self._reading_words()]
        return ", ".join(part for part in parts if part)

    def _limits_words(self) -> str:
        low, high = self.low_text or _plain(self.low), self.high_text or _plain(self.high)
        if low and high:
            return f"limits {low} to {high} {self.unit}".rstrip()
        if low or high:
            return f"{'at least' if low else 'at most'} {low or high} {self.unit}".rstrip()
        return "no limits"

    def _reading_words(self) -> str:
        word = VERDICT_TEXT[self.verdict]
        if self.open_above is not None:
            return f"open above {self.value_text or f'{_plain(self.open_above)} {self.unit}'.rstrip()}, {word}"
        if self.value is None:
            return self.empty_text
        doubt = "" if self.expanded is None else f" \N{PLUS-MINUS SIGN} {self.expanded:.2g}"
        shown = self.value_text or f"{_plain(self.value)}{doubt} {self.unit}".rstrip()
        return f"reading {shown}, {word}"


class Ruler(paint.Painted):
    """The one drawing of a value with its doubt, the same on every page."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = RulerState()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.say(self._state.sentence())

    def set_unit(self, unit: str) -> None:
        """Name the unit; it is read out, the number beside the ruler shows it."""
        self._show(replace(self._state, unit=unit))

    def set_limits(self, low: float | None, high: float | None, *, low_text: str = "", high_text: str = "") -> None:
        """Place the posts; None leaves a side open. The words are rounded inward by the caller."""
        self._show(replace(self._state, low=low, high=high, low_text=low_text, high_text=high_text))

    def set_guard(self, width: float) -> None:
        """Darken this width inside each limit, where a reading would be too close to tell."""
        self._show(replace(self._state, guard=max(0.0, width)))

    def set_reading(self, value: float, expanded: float | None, verdict: Verdict, *, text: str = "") -> None:
        """Show a reading with its expanded uncertainty and verdict; `text` is how it is read out."""
        self._show(
            replace(self._state, value=value, expanded=expanded, verdict=verdict, value_text=text, open_above=None)
        )

    def set_open(self, above: float, verdict: Verdict, *, text: str = "") -> None:
        """Show an open circuit, known only to lie above the end of the range."""
        self._show(replace(self._state, value=None, expanded=None, verdict=verdict, value_text=text, open_above=above))

    def clear_reading(self, empty_text: str = EMPTY_TEXT) -> None:
        """Show the limits alone."""
        self._show(
            replace(
                self._state,
                value=None,
                expanded=None,
                open_above=None,
                verdict=Verdict.NOT_TAKEN,
                value_text="",
                empty_text=empty_text,
            )
        )

    def _show(self, state: RulerState) -> None:
        if state != self._state:
            self._state = state
            self.say(state.sentence())

    def sizeHint(self) -> QSize:
        """Wide; as high as labels, posts and ticks need."""
        return QSize(fonts.whole_px(480), self._height_px())

    def minimumSizeHint(self) -> QSize:
        """As narrow as four ticks allow."""
        return QSize(fonts.whole_px(220), self._height_px())

    def _height_px(self) -> int:
        return fonts.whole_px(_LABEL_PX + _POST_PX + _TICK_PX + _FOOT_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one drawing
        """Draw band, axis and reading, in this order."""
        with paint.start(self) as painter:
            _Drawing(painter, self._state, self.width()).run()


class _Drawing:
    """One painting of a ruler."""

    def __init__(self, painter: QPainter, state: RulerState, width_px: float) -> None:
        self._painter, self._state = painter, state
        self._palette: Palette = theme.current()
        self._scale = state.scale()
        self._left, self._right = fonts.px(_SIDE_PX), width_px - fonts.px(_SIDE_PX)
        self._axis_y = round(fonts.px(_LABEL_PX + _POST_PX)) + 0.5
        self._mid_y = self._axis_y - fonts.px(_BAND_PX) / 2
        self._heavy = fonts.px(1.5) if self._palette.line_px <= 1 else fonts.px(2)

    def run(self) -> None:
        if self._scale is None:
            self._axis()
            self._empty_words()
            return
        self._band(self._scale)
        self._axis()
        self._ticks(self._scale)
        self._posts(self._scale)
        self._reading(self._scale)

    def _x(self, scale: Scale, value: float) -> float:
        return self._left + scale.share(value) * (self._right - self._left)

    def _axis(self) -> None:
        self._painter.setPen(paint.pen(self._palette.ink, self._heavy))
        self._painter.drawLine(QLineF(self._left, self._axis_y, self._right, self._axis_y))

    def _band(self, scale: Scale) -> None:
        low, high = self._state.low, self._state.high
        if low is None and high is None:
            return
        left = self._left if low is None else self._x(scale, low)
        right = self._right if high is None else self._x(scale, high)
        self._fill(left, right, is_guard=False)
        guard = min(self._state.guard, (high - low) / 2) if low is not None and high is not None else self._state.guard
        if guard > 0 and low is not None:
            self._fill(left, self._x(scale, low + guard), is_guard=True)
        if guard > 0 and high is not None:
            self._fill(self._x(scale, high - guard), right, is_guard=True)

    def _fill(self, left: float, right: float, *, is_guard: bool) -> None:
        top = self._axis_y - fonts.px(_BAND_PX)
        brush = theme.guard_brush(self._palette) if is_guard else theme.band_brush(self._palette)
        box = QRectF(left, top, right - left, self._axis_y - top)
        if self._palette.is_hatched:
            self._painter.fillRect(box, theme.colour(self._palette.card))
        self._painter.fillRect(box, brush)

    def _ticks(self, scale: Scale) -> None:
        most = max(2, int((self._right - self._left) / fonts.px(56)))
        ticks = nice_ticks(scale.low, scale.high, most)
        line = paint.pen(self._palette.muted, self._palette.line_px * max(1, fonts.px(1)))
        for tick, words in zip(ticks, tick_texts(ticks), strict=True):
            x = round(self._x(scale, tick)) + 0.5
            self._painter.setPen(line)
            self._painter.drawLine(QLineF(x, self._axis_y, x, self._axis_y + fonts.px(_TICK_PX)))
            self._tick_words(x, words)

    def _tick_words(self, x: float, words: str) -> None:
        wide = paint.text_width(words, _tick_font()) + 2
        left = min(max(x - wide / 2, 0.0), self._right + fonts.px(_SIDE_PX) - wide)
        box = QRectF(left, self._axis_y + fonts.px(_TICK_PX), wide, fonts.px(_FOOT_PX))
        paint.draw_text(self._painter, box, words, font=_tick_font(), code=self._palette.muted, align=paint.CENTRE)

    def _posts(self, scale: Scale) -> None:
        state = self._state
        posts = [
            (limit, words or _plain(limit))
            for limit, words in ((state.low, state.low_text), (state.high, state.high_text))
            if limit is not None
        ]
        boxes = self._label_boxes([(self._x(scale, limit), words) for limit, words in posts])
        for (limit, words), box in zip(posts, boxes, strict=True):
            x = round(self._x(scale, limit))
            self._painter.setPen(paint.pen(self._palette.ink, fonts.px(2)))
            self._painter.drawLine(QLineF(x, self._axis_y - fonts.px(_POST_PX), x, self._axis_y))
            paint.draw_text(self._painter, box, words, font=_limit_font(), code=self._palette.ink, align=paint.CENTRE)

    def _label_boxes(self, posts: list[tuple[float, str]]) -> list[QRectF]:
        """Label boxes centred on their posts, pushed apart when they would touch."""
        widths = [paint.text_width(words, _limit_font()) + 2 for _, words in posts]
        lefts = [x - width / 2 for (x, _), width in zip(posts, widths, strict=True)]
        if len(lefts) == 2:
            overlap = lefts[0] + widths[0] + fonts.px(8) - lefts[1]
            if overlap > 0:
                lefts = [lefts[0] - overlap / 2, lefts[1] + overlap / 2]
        whole = self._right + fonts.px(_SIDE_PX)
        return [
            QRectF(min(max(left, 0.0), whole - width), 0, width, fonts.px(_LABEL_PX - 2))
            for left, width in zip(lefts, widths, strict=True)
        ]

    def _reading(self, scale: Scale) -> None:
        state = self._state
        if state.open_above is not None:
            self._open_arrow(scale, state.open_above)
        elif state.value is not None:
            self._whisker(scale, state.value, state.expanded)
            self._mark(scale, state.value)
        elif state.low is None and state.high is None:
            self._empty_words()

    def _whisker(self, scale: Scale, value: float, expanded: float | None) -> None:
        if expanded is None or not (scale.holds(value - expanded) or scale.holds(value + expanded)):
            return
        left, right = self._x(scale, value - expanded), self._x(scale, value + expanded)
        cap = fonts.px(8)
        lines = [QLineF(left, self._mid_y, right, self._mid_y)]
        lines += [
            QLineF(x, self._mid_y - cap, x, self._mid_y + cap)
            for x, end in ((left, value - expanded), (right, value + expanded))
            if scale.holds(end)
        ]
        self._strokes(lines)

    def _mark(self, scale: Scale, value: float) -> None:
        x = self._x(scale, value)
        if not scale.holds(value):
            self._edge_arrow(is_right=value > scale.high)
            x += fonts.px(-20 if value > scale.high else 20)
        centre = paint.snapped(QPointF(x, self._mid_y))
        paint_mark(self._painter, self._state.verdict, centre, fonts.px(_MARK_PX), self._palette)

    def _open_arrow(self, scale: Scale, above: float) -> None:
        """From the end of the meter's range to the right edge, and on."""
        start = min(self._x(scale, above), self._right - fonts.px(48))
        cap = fonts.px(8)
        self._strokes(
            [
                QLineF(start, self._mid_y, self._right + fonts.px(8), self._mid_y),
                QLineF(start, self._mid_y - cap, start, self._mid_y + cap),
            ]
        )
        self._edge_arrow(is_right=True)
        centre = paint.snapped(QPointF((start + self._right) / 2, self._mid_y))
        paint_mark(self._painter, self._state.verdict, centre, fonts.px(_MARK_PX), self._palette)

    def _edge_arrow(self, *, is_right: bool) -> None:
        tip = self._right + fonts.px(12) if is_right else self._left - fonts.px(12)
        back = fonts.px(-8 if is_right else 8)
        self._strokes(
            [
                QLineF(tip, self._mid_y, tip + back, self._mid_y - fonts.px(6)),
                QLineF(tip, self._mid_y, tip + back, self._mid_y + fonts.px(6)),
            ]
        )

    def _strokes(self, lines: list[QLineF]) -> None:
        if self._palette.is_hatched:
            self._painter.setPen(paint.pen(self._palette.card, fonts.px(7), paint.ROUND))
            self._painter.drawLines(lines)
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(2.5)))
        self._painter.drawLines(lines)

    def _empty_words(self) -> None:
        box = QRectF(self._left, 0, self._right - self._left, self._axis_y - fonts.px(4))
        paint.draw_elided(
            self._painter,
            box,
            self._state.empty_text,
            font=fonts.font(13),
            code=self._palette.muted,
            align=paint.CENTRE,
        )


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"


def _tick_font() -> QFont:
    return fonts.font(12)


def _limit_font() -> QFont:
    return fonts.font(13, fonts.SEMIBOLD)
