"""Colours: the three palettes, and the one table from verdict to colour, shape and glyph."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QBrush, QColor, QPalette
from PySide6.QtWidgets import QApplication

from valvebench.model.words import Verdict


@dataclass(frozen=True, kw_only=True)
class Palette:
    """Every colour a widget may use, as #RRGGBB, and how lines and bands are drawn."""

    name: str
    ground: str
    card: str
    ink: str
    muted: str
    line: str
    soft: str
    band: str
    guard: str
    line_px: float = 1.0
    is_hatched: bool = False
    hint: str = ""
    """Of the words in an empty field, where muted words look like typed ones."""

    def __hash__(self) -> int:
        """By its name alone: kept pictures are looked up by their palette at every paint."""
        return hash(self.name)

    def inverted(self) -> Palette:
        """The same palette for things drawn upon solid ink."""
        return replace(
            self,
            name=f"{self.name}-on-ink",
            ground=self.ink,
            card=self.ink,
            ink=self.card,
            muted=self.soft,
            line=self.card,
        )


LIGHT: Final = Palette(
    name="light",
    ground="#F3F4F1",
    card="#FFFFFF",
    ink="#17201D",
    muted="#5A6762",
    line="#D5DAD6",
    soft="#E9ECE8",
    band="#DCE8F0",
    guard="#C9D6DE",
)
DARK: Final = Palette(
    name="dark",
    ground="#141816",
    card="#1C2220",
    ink="#E9EEEB",
    muted="#9AA8A2",
    line="#323A37",
    soft="#262D2A",
    band="#1F3442",
    guard="#2C4656",
)
HIGH_CONTRAST: Final = Palette(
    name="high_contrast",
    ground="#FFFFFF",
    card="#FFFFFF",
    ink="#000000",
    muted="#000000",
    line="#000000",
    soft="#FFFFFF",
    band="#FFFFFF",
    guard="#FFFFFF",
    line_px=2.0,
    is_hatched=True,
    hint="#595959",
)
THEMES: Final = MappingProxyType({palette.name: palette for palette in (LIGHT, DARK, HIGH_CONTRAST)})


class Shape(Enum):
    """The outline of a verdict mark; it differs for every verdict."""

    DISC = "disc"
    SQUARE = "square"
    TRIANGLE = "triangle"
    DIAMOND = "diamond"
    RING = "ring"
    HALF_RING = "half_ring"
    DOT = "dot"


class Glyph(Enum):
    """What is drawn inside a verdict mark."""

    TICK = "tick"
    CROSS = "cross"
    BAR_AND_DOT = "bar_and_dot"
    DASH = "dash"
    NONE = "none"


@dataclass(frozen=True, kw_only=True)
class Look:
    """How one verdict is drawn; a fill of None leaves the mark hollow or in plain ink."""

    shape: Shape
    glyph: Glyph = Glyph.NONE
    fill: str | None = None
    glyph_colour: str = "#17201D"


# Fills: the colour set of Okabe and Ito, "Color Universal Design", which stays apart
# for the common kinds of colour-blindness.
VERDICT_LOOK: Final = MappingProxyType(
    {
        Verdict.PASS: Look(shape=Shape.DISC, glyph=Glyph.TICK, fill="#0072B2", glyph_colour="#FFFFFF"),
        Verdict.FAIL: Look(shape=Shape.SQUARE, glyph=Glyph.CROSS, fill="#D55E00", glyph_colour="#000000"),
        Verdict.CANT_TELL: Look(shape=Shape.TRIANGLE, glyph=Glyph.BAR_AND_DOT, fill="#F0E442"),
        Verdict.NOT_USABLE: Look(shape=Shape.DIAMOND, glyph=Glyph.DASH, fill="#CC79A7", glyph_colour="#000000"),
        Verdict.NOT_TAKEN: Look(shape=Shape.RING),
        Verdict.NOT_FINISHED: Look(shape=Shape.HALF_RING),
        Verdict.NO_LIMIT: Look(shape=Shape.DOT),
    }
)


class _Current:
    palette: Palette = LIGHT
    hint: str = ""


def current() -> Palette:
    """The palette in force; widgets ask at every paint, so a change needs no message."""
    return _Current.palette


@lru_cache(maxsize=128)
def colour(code: str) -> QColor:
    """The colour object of one #RRGGBB code."""
    return QColor(code)


def apply(app: QApplication, name: str) -> None:
    """Dress the whole program in one of `THEMES`; every widget repaints by itself."""
    _Current.palette = THEMES[name]
    if app.style().name().lower() != "fusion":
        app.setStyle("Fusion")
    app.setPalette(_qt_palette(_Current.palette))
    _dress_hints(app, _Current.palette.hint)


def _dress_hints(app: QApplication, hint: str) -> None:
    """The words in empty fields; while they look as muted words do nothing is asked of Qt, it would paint all anew."""
    if hint == _Current.hint:
        return
    _Current.hint, own = hint, QPalette()
    if hint:
        own = _qt_palette(_Current.palette)
        own.setColor(QPalette.ColorRole.PlaceholderText, colour(hint))
    for kind in ("QLineEdit", "QPlainTextEdit"):
        app.setPalette(own, kind)  # type: ignore[arg-type]  # bytes in the stubs, text in truth


def apply_next() -> None:
    """The next of `THEMES`: light, dark, high contrast, and light again."""
    names = list(THEMES)
    app = QApplication.instance()
    if isinstance(app, QApplication):
        place = next(place for place, name in enumerate(names) if THEMES[name] is current())
        apply(app, names[(place + 1) % len(names)])


def band_brush(palette: Palette) -> QBrush:
    """The fill of the band between two limits."""
    if palette.is_hatched:
        return QBrush(colour(palette.ink), Qt.BrushStyle.BDiagPattern)
    return QBrush(colour(palette.band))


def guard_brush(palette: Palette) -> QBrush:
    """The fill of the guard zone at either end of a band."""
    if palette.is_hatched:
        return QBrush(colour(palette.ink), Qt.BrushStyle.DiagCrossPattern)
    return QBrush(colour(palette.guard))


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    brighter, darker = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def _luminance(code: str) -> float:
    red, green, blue = (_linear(int(code[start : start + 2], 16) / 255) for start in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def _qt_palette(palette: Palette) -> QPalette:
    role = QPalette.ColorRole
    made = QPalette()
    for code, roles in (
        (palette.ground, (role.Window,)),
        (palette.card, (role.Base, role.ToolTipBase, role.Light, role.HighlightedText)),
        (palette.soft, (role.AlternateBase, role.Button, role.Midlight)),
        (palette.line, (role.Mid, role.Dark)),
        (palette.muted, (role.PlaceholderText,)),
        (
            palette.ink,
            (
                role.WindowText,
                role.Text,
                role.ButtonText,
                role.BrightText,
                role.ToolTipText,
                role.Highlight,
                role.Accent,
                role.Link,
                role.LinkVisited,
                role.Shadow,
            ),
        ),
    ):
        for each in roles:
            made.setColor(each, colour(code))
    for each in (role.WindowText, role.Text, role.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, each, colour(palette.muted))
    return made
