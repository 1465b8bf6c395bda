"""A value on its ruler: limits as posts, guard zones, and the reading as its mark with a whisker."""

from __future__ import annotations

from typing import Final

import msgspec
from msgspec.structs import replace
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.model.format import OHM
from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.mark import draw_mark
from valvebench.ui.widgets.ruler_ground import (
    BAND_PX,
    FOOT_PX,
    LABEL_PX,
    POST_PX,
    SIDE_PX,
    TICK_PX,
    Ground,
    axis_y,
    fill,
    picture,
    plain,
)
from valvebench.ui.widgets.ruler_scale import Scale, scale_for

EMPTY_TEXT: Final = "Nothing measured yet"

_MARK_PX: Final = 11


class RulerState(msgspec.Struct, frozen=True, kw_only=True):
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
    ghost: tuple[float, float] | None = None
    ghost_text: str = ""
    post: float | None = None
    post_text: str = ""

    def values(self) -> tuple[float, ...]:
        """Every number that wants to be seen; a ghost never changes the scale under the eye."""
        reach = self.expanded or 0.0
        ends = () if self.value is None else (self.value - reach, self.value + reach)
        return tuple(seen for seen in (*ends, self.open_above, self.post) if seen is not None)

    def scale(self) -> Scale | None:
        """The numbers at the two ends."""
        return scale_for(self.low, self.high, self.values())

    def sentence(self) -> str:
        """What the ruler says, for the reader."""
        parts = [self._limits_words(), self._reading_words(), self.ghost_text]
        return ", ".join(part for part in parts if part)

    def _limits_words(self) -> str:
        low, high = self._limit_words(self.low, self.low_text), self._limit_words(self.high, self.high_text)
        if low and high:
            number, _, unit = low.partition(" ")
            return f"limits {number if high.endswith(f' {unit}') else low} to {high}"
        if low or high:
            return f"{'at least' if low else 'at most'} {low or high}"
        return "no limits"

    def _limit_words(self, limit: float | None, text: str) -> str:
        """A limit with its unit; words of the caller bring their own prefix, `2.20 k`."""
        if not text:
            return f"{plain(limit)} {self.unit}".rstrip() if limit is not None else ""
        if not self.unit.endswith(OHM):
            return f"{text} {self.unit}".rstrip()
        number, _, prefix = text.partition(" ")
        return f"{number} {prefix}{OHM}"

    def _reading_words(self) -> str:
        word = VERDICT_TEXT[self.verdict]
        if self.open_above is not None:
            return f"open above {self.value_text or f'{plain(self.open_above)} {self.unit}'.rstrip()}, {word}"
        if self.value is None:
            return self.empty_text
        doubt = "" if self.expanded is None else f" \N{PLUS-MINUS SIGN} {self.expanded:.2g}"
        shown = self.value_text or f"{plain(self.value)}{doubt} {self.unit}".rstrip()
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
        self.show_state(replace(self._state, unit=unit))

    def set_limits(self, low: float | None, high: float | None, *, low_text: str = "", high_text: str = "") -> None:
        """Place the posts; None leaves a side open. The words are rounded inward by the caller."""
        self.show_state(replace(self._state, low=low, high=high, low_text=low_text, high_text=high_text))

    def set_guard(self, width: float) -> None:
        """Darken this width inside each limit, where a reading would be too close to tell."""
        self.show_state(replace(self._state, guard=max(0.0, width)))

    def set_reading(self, value: float, expanded: float | None, verdict: Verdict, *, text: str = "") -> None:
        """Show a reading with its expanded uncertainty and verdict; `text` is how it is read out."""
        self.show_state(
            replace(self._state, value=value, expanded=expanded, verdict=verdict, value_text=text, open_above=None)
        )

    def set_open(self, above: float, verdict: Verdict, *, text: str = "") -> None:
        """Show an open circuit, known only to lie above the end of the range."""
        self.show_state(
            replace(self._state, value=None, expanded=None, verdict=verdict, value_text=text, open_above=above)
        )

    def clear_reading(self, empty_text: str = EMPTY_TEXT) -> None:
        """Show the limits alone."""
        self.show_state(
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

    def set_ghost(self, value: float, expanded: float, *, text: str) -> None:
        """Show, thin and dashed, where the whisker would end if something were done; `text` says what."""
        self.show_state(replace(self._state, ghost=(value, expanded), ghost_text=text))

    def clear_ghost(self) -> None:
        """Show what is measured alone."""
        if self._state.ghost is not None or self._state.ghost_text:
            self.show_state(replace(self._state, ghost=None, ghost_text=""))

    def show_state(self, state: RulerState) -> None:
        """Show everything at once."""
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
        return fonts.whole_px(LABEL_PX + POST_PX + TICK_PX + FOOT_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one drawing
        """Draw band, axis and reading, in this order."""
        with paint.start(self) as painter:
            _Drawing(painter, self._state, self.width()).run()


class _Drawing:
    """One painting of a ruler."""

    def __init__(self, painter: QPainter, state: RulerState, width_px: int) -> None:
        self._painter, self._state, self._width_px = painter, state, width_px
        self._palette: Palette = theme.current()
        self._scale = state.scale()
        self._left, self._right = fonts.px(SIDE_PX), width_px - fonts.px(SIDE_PX)
        self._axis_y = axis_y()
        self._mid_y = self._axis_y - fonts.px(BAND_PX) / 2
        self._heavy = fonts.px(1.5) if self._palette.line_px <= 1 else fonts.px(2)

    def run(self) -> None:
        if self._scale is None:
            self._axis()
            self._empty_words()
            return
        self._painter.drawPixmap(0, 0, picture(self._ground(self._scale)))
        self._guard(self._scale)
        self._axis()
        self._posts(self._scale)
        self._reading(self._scale)
        self._ghost(self._scale)

    def _ground(self, scale: Scale) -> Ground:
        state, ratio = self._state, self._painter.device().devicePixelRatioF()
        return Ground(
            scale,
            state.low,
            state.high,
            state.low_text,
            state.high_text,
            self._width_px,
            fonts.factor(),
            ratio,
            self._palette,
            state.post,
            state.post_text,
        )

    def _x(self, scale: Scale, value: float) -> float:
        return self._left + scale.share(value) * (self._right - self._left)

    def _axis(self) -> None:
        self._painter.setPen(paint.pen(self._palette.ink, self._heavy))
        self._painter.drawLine(QLineF(self._left, self._axis_y, self._right, self._axis_y))

    def _guard(self, scale: Scale) -> None:
        low, high, guard = self._state.low, self._state.high, self._state.guard
        if guard <= 0:
            return
        if low is not None and high is not None:
            guard = min(guard, (high - low) / 2)
        if low is not None:
            fill(self._painter, self._x(scale, low), self._x(scale, low + guard), self._palette, is_guard=True)
        if high is not None:
            fill(self._painter, self._x(scale, high - guard), self._x(scale, high), self._palette, is_guard=True)

    def _posts(self, scale: Scale) -> None:
        top = self._axis_y - fonts.px(POST_PX)
        limits = (self._state.low, self._state.high, self._state.post)
        places = [round(self._x(scale, x)) for x in limits if x is not None]
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(2)))
        self._painter.drawLines([QLineF(x, top, x, self._axis_y) for x in places])

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
        draw_mark(self._painter, self._state.verdict, centre, fonts.px(_MARK_PX), self._palette)

    def _ghost(self, scale: Scale) -> None:
        """Where the whisker would end: tall dashed ends, and a dashed line where nothing covers it."""
        if self._state.ghost is None:
            return
        value, expanded = self._state.ghost
        ends = [value - expanded, value + expanded]
        top = self._axis_y - fonts.px(BAND_PX) + fonts.px(2)
        lines = [QLineF(x, top, x, self._axis_y) for x in (self._x(scale, end) for end in ends if scale.holds(end))]
        if self._state.value is None:
            left, right = (self._x(scale, min(max(end, scale.low), scale.high)) for end in ends)
            lines.append(QLineF(left, self._mid_y, right, self._mid_y))
        dashed = QPen(paint.pen(self._palette.ink, self._heavy))
        dashed.setDashPattern([3, 2])
        self._painter.setPen(dashed)
        self._painter.drawLines(lines)

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
        draw_mark(self._painter, self._state.verdict, centre, fonts.px(_MARK_PX), self._palette)

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
