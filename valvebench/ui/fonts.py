"""Type: the upright Inter, its weights drawn by the variable axis, and the zoom of the whole window."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache, lru_cache
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QFont, QFontDatabase

from valvebench.model.errors import WorldFailed

REGULAR: Final = 400
MEDIUM: Final = 500
SEMIBOLD: Final = 600
BOLD: Final = 700

ZOOM_LOWEST: Final = 0.5
ZOOM_HIGHEST: Final = 4.0

_FILE: Final = "Inter[opsz,wght].ttf"
# The optical sizes the font file offers; Qt does not follow the text size by itself.
_OPTICAL_LOWEST: Final = 14.0
_OPTICAL_HIGHEST: Final = 32.0


class Zoom(QObject):
    """How much larger than drawn everything is; tells its listeners when it changes."""

    changed = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.factor = 1.0


zoom: Final = Zoom()


_own_factor: ContextVar[float | None] = ContextVar("own_factor", default=None)


@contextmanager
def as_drawn() -> Iterator[None]:
    """Whatever this thread draws inside has the drawn size, whatever the window's zoom is or becomes."""
    token = _own_factor.set(1.0)
    try:
        yield
    finally:
        _own_factor.reset(token)


def factor() -> float:
    """How much larger than drawn things are here: the window's zoom, unless this thread draws `as_drawn`."""
    own = _own_factor.get()
    return zoom.factor if own is None else own


def set_zoom(wanted: float) -> None:
    """Scale all text and all measures; 1 is the drawn size."""
    wanted = min(max(wanted, ZOOM_LOWEST), ZOOM_HIGHEST)
    if wanted != zoom.factor:
        zoom.factor = wanted
        zoom.changed.emit()


def px(length_px: float) -> float:
    """A drawn length at the zoom in force, in logical pixels."""
    return length_px * factor()


def whole_px(length_px: float) -> int:
    """A drawn length at the zoom in force, in whole logical pixels."""
    return round(length_px * factor())


def font(size_px: float, weight: int = REGULAR, *, tabular: bool = False) -> QFont:
    """Inter at a drawn size and a weight of 400 to 700; shared, so copy it before changing it.

    `tabular` is for number columns only.
    """
    return _font(size_px * factor(), weight, tabular)


@cache
def family() -> str:
    """The family name of the shipped font, loaded at the first call."""
    import fontpkg_inter

    path = Path(fontpkg_inter.ROOT) / "files" / _FILE
    families = QFontDatabase.applicationFontFamilies(QFontDatabase.addApplicationFont(str(path)))
    if not families:
        raise WorldFailed(f"The font file {path} cannot be read. Install the program again.")
    return families[0]


@lru_cache(maxsize=256)
def _font(size_px: float, weight: int, tabular: bool) -> QFont:  # noqa: FBT001  positional for the cache
    made = QFont(family())
    made.setPixelSize(max(1, round(size_px)))
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    # TRAP: setWeight draws no true weight of a variable font, and doubles the axis at 700.
    made.setVariableAxis(QFont.Tag("wght"), float(weight))
    made.setVariableAxis(QFont.Tag("opsz"), min(max(size_px, _OPTICAL_LOWEST), _OPTICAL_HIGHEST))
    if tabular:
        made.setFeature(QFont.Tag("tnum"), 1)
    return made
