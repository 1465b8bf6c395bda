"""Forms and tags as PDF, and tags as PNG: the one place of this room that draws, and only when it is asked to.

Lengths are in points of 1/72 inch.  Layout first, paint after: the foot of each page says how many there are.
"""

from __future__ import annotations

import re
import sys
import uuid
from collections.abc import Callable, Sequence
from functools import cache, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QPointF, QRectF, QSize, QSizeF, Qt, QUuid
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontDatabase,
    QGuiApplication,
    QImage,
    QImageReader,
    QPageSize,
    QPainter,
    QPdfWriter,
    QPen,
    QTextLayout,
    QTextOption,
)

from valvebench.model.errors import WorldFailed
from valvebench.model.words import Verdict
from valvebench.report.form import Ruler
from valvebench.report.look import BAND, GUARD, INK, LINE, PAPER
from valvebench.report.printable import printable
from valvebench.report.square_code import QUIET_MODULES

Act = Callable[[QPainter], None]
Image = QImage
"""A photo that was read."""
_DOTS_PER_INCH: Final = 1200
_POINTS_PER_INCH: Final = 72.0
_FINE: Final = 20
"""Units of a point in which type is measured: sizes of type are whole numbers there."""
_FONT_FILE: Final = "Inter[opsz,wght].ttf"
_LINE_SEPARATOR: Final = "\u2028"
_STAMP: Final = re.compile(rb"\(D:\d{14}([^)]*)\)")
_NAMESPACE: Final = uuid.UUID("6d0f4d0a-3f0e-5d5e-9d0c-2f6f5f0f7a11")
_XMP: Final = (
    '<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>'
    '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"></rdf:RDF><?xpacket end="r"?>'
)
"""No dates and names of its own: those of the writer's clock would change from call to call."""


class Type(NamedTuple):
    """How text is set: size in points, weight of 400 to 700, colour."""

    size_pt: float
    weight: int = 400
    code: str = INK

    def scaled(self, factor: float) -> Type:
        """The same, smaller or larger."""
        return self._replace(size_pt=self.size_pt * factor)


@cache
def _application() -> QGuiApplication:
    """The window's own, or one without a screen."""
    running = QGuiApplication.instance()
    if isinstance(running, QGuiApplication):
        return running
    return QGuiApplication([sys.argv[0] or "valvebench", "-platform", "offscreen"])


@cache
def _family() -> str:
    import fontpkg_inter

    _application()
    path = Path(fontpkg_inter.ROOT) / "files" / _FONT_FILE
    families = QFontDatabase.applicationFontFamilies(QFontDatabase.addApplicationFont(str(path)))
    if not families:
        raise WorldFailed(f"The font file {path} cannot be read. Install the program again.")
    return families[0]


@lru_cache(maxsize=64)
def _font(size: int, weight: int) -> QFont:
    made = QFont(_family())
    made.setPixelSize(max(size, 1))
    made.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    made.setVariableAxis(QFont.Tag("wght"), float(weight))
    made.setVariableAxis(QFont.Tag("opsz"), 14.0)
    # TRAP: a plus-minus sign swapped for its other form between digits is lost to whoever searches or copies the text
    made.setFeature(QFont.Tag("calt"), 0)
    return made


class Text:
    """A text set in a width; its lines can be drawn one by one, so that it may go on over a page."""

    def __init__(self, text: str, width_pt: float, kind: Type, *, is_centred: bool = False) -> None:
        _family()
        words = printable(text).replace("\n", _LINE_SEPARATOR)
        self._layout = QTextLayout(words, _font(round(kind.size_pt * _FINE), kind.weight))
        self._code = kind.code
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        self._layout.setTextOption(option)
        self._set(max(width_pt, 1.0) * _FINE, is_centred=is_centred)

    def _set(self, width: float, *, is_centred: bool) -> None:
        self.tops_pt: list[float] = []
        top = 0.0
        self._layout.beginLayout()
        while (line := self._layout.createLine()).isValid():
            line.setLineWidth(width)
            left = max((width - line.naturalTextWidth()) / 2, 0.0) if is_centred else 0.0
            line.setPosition(QPointF(left, top))
            self.tops_pt.append(top / _FINE)
            top += line.height()
        self._layout.endLayout()
        self.tops_pt.append(top / _FINE)

    @property
    def count(self) -> int:
        """How many lines."""
        return len(self.tops_pt) - 1

    @property
    def height_pt(self) -> float:
        """All lines together."""
        return self.tops_pt[-1]

    @property
    def width_pt(self) -> float:
        """The longest line."""
        return max((self._layout.lineAt(n).naturalTextWidth() for n in range(self.count)), default=0.0) / _FINE

    def drawn(self, left_pt: float, top_pt: float, *, first: int = 0, last: int | None = None) -> Act:
        """Draws the lines from `first` up to `last`, the first of them at `top_pt`."""
        stop = self.count if last is None else min(last, self.count)

        def act(painter: QPainter) -> None:
            painter.save()
            painter.scale(1 / _FINE, 1 / _FINE)
            painter.setPen(QColor(f"#{self._code}"))
            at = QPointF(left_pt, top_pt - self.tops_pt[min(first, self.count)]) * _FINE
            for number in range(first, stop):
                self._layout.lineAt(number).draw(painter, at)
            painter.restore()

        return act


def rule(left_pt: float, right_pt: float, y_pt: float, *, code: str = LINE) -> Act:
    """A thin line across."""
    return box(left_pt, y_pt - 0.25, right_pt - left_pt, 0.5, code=code)


def box(left_pt: float, top_pt: float, width_pt: float, height_pt: float, *, code: str) -> Act:
    """A filled rectangle."""
    area = QRectF(left_pt, top_pt, width_pt, height_pt)
    return lambda painter: painter.fillRect(area, QColor(f"#{code}"))


def square(rows: Sequence[Sequence[bool]], left_pt: float, top_pt: float, side_pt: float) -> Act:
    """A square code with the white around it, drawn as runs of dark modules."""
    module = side_pt / (len(rows) + 2 * QUIET_MODULES)

    def act(painter: QPainter) -> None:
        painter.fillRect(QRectF(left_pt, top_pt, side_pt, side_pt), QColor(f"#{PAPER}"))
        for y, row in enumerate(rows):
            for x, run in _runs(row):
                corner = QPointF(left_pt + (x + QUIET_MODULES) * module, top_pt + (y + QUIET_MODULES) * module)
                painter.fillRect(QRectF(corner, QSizeF(run * module, module)), QColor("#000000"))

    return act


def _runs(row: Sequence[bool]) -> list[tuple[int, int]]:
    """Where dark modules begin, and how many stand together."""
    runs: list[tuple[int, int]] = []
    for x, is_dark in enumerate(row):
        if is_dark and runs and sum(runs[-1]) == x:
            runs[-1] = (runs[-1][0], runs[-1][1] + 1)
        elif is_dark:
            runs.append((x, 1))
    return runs


_MARKS: Final = MappingProxyType(
    {
        Verdict.PASS: ("disc", "0072B2", PAPER, (((-0.42, 0.04), (-0.12, 0.36), (0.44, -0.32)),)),
        Verdict.FAIL: ("square", "D55E00", INK, (((-0.36, -0.36), (0.36, 0.36)), ((-0.36, 0.36), (0.36, -0.36)))),
        Verdict.CANT_TELL: ("triangle", "F0E442", INK, (((0.0, -0.3), (0.0, 0.25)), ((0.0, 0.55), (0.0, 0.56)))),
    }
)
"""Shape, colour, and the strokes of the sign in it; every other verdict is a dot."""
_SHAPES: Final = MappingProxyType(
    {
        "square": ((-0.84, -0.84), (0.84, -0.84), (0.84, 0.84), (-0.84, 0.84)),
        "triangle": ((0.0, -0.98), (1.02, 0.84), (-1.02, 0.84)),
    }
)
RULER_PT: Final = 17.0
_BAND_PT: Final = 8.0
_MARK_PT: Final = 4.6


def ruler(shown: Ruler, left_pt: float, top_pt: float, width_pt: float) -> Act:
    """Band with its guard zones, limits as posts, and the reading as its mark with a whisker."""
    low, high = shown.span()

    def x(value: float) -> float:
        return left_pt + width_pt * (value - low) / (high - low)

    axis = top_pt + RULER_PT / 2
    top, bottom = axis - _BAND_PT / 2, axis + _BAND_PT / 2
    start = x(shown.low) if shown.low is not None else left_pt
    end = x(shown.high) if shown.high is not None else left_pt + width_pt
    guard = min(width_pt * shown.guard / (high - low), (end - start) / 2)
    acts = [box(start, top, end - start, _BAND_PT, code=BAND)]
    if shown.low is not None:
        acts += [box(start, top, guard, _BAND_PT, code=GUARD), _line(start, top - 3, start, bottom + 3)]
    if shown.high is not None:
        acts += [box(end - guard, top, guard, _BAND_PT, code=GUARD), _line(end, top - 3, end, bottom + 3)]
    from_x, to_x = x(shown.value - shown.expanded), x(shown.value + shown.expanded)
    acts += [_line(from_x, axis, to_x, axis), *(_line(one, axis - 2.5, one, axis + 2.5) for one in (from_x, to_x))]
    acts.append(_mark(shown.verdict, x(shown.value), axis))
    return lambda painter: _paint(painter, acts)


def _line(from_x: float, from_y: float, to_x: float, to_y: float) -> Act:
    def act(painter: QPainter) -> None:
        painter.setPen(QPen(QColor(f"#{INK}"), 0.9))
        painter.drawLine(QPointF(from_x, from_y), QPointF(to_x, to_y))

    return act


def _mark(verdict: Verdict, x: float, y: float) -> Act:
    """Colour, shape and sign, as in the window."""
    shape, fill, sign, strokes = _MARKS.get(verdict, ("disc", INK, PAPER, ()))

    def act(painter: QPainter) -> None:
        painter.save()
        painter.translate(x, y)
        painter.scale(_MARK_PT, _MARK_PT)
        painter.setPen(QPen(QColor(f"#{INK}"), 0.16))
        painter.setBrush(QColor(f"#{fill}"))
        if shape in _SHAPES:
            painter.drawPolygon([QPointF(*corner) for corner in _SHAPES[shape]])
        else:
            painter.drawEllipse(QPointF(0, 0), 0.92, 0.92)
        pen = QPen(QColor(f"#{sign}"), 0.24)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        for stroke in strokes:
            painter.drawPolyline([QPointF(*point) for point in stroke])
        painter.restore()

    return act


class Picture:
    """A photo that fits into a width and a height."""

    def __init__(self, image: QImage, width_pt: float, height_pt: float) -> None:
        factor = min(width_pt / image.width(), height_pt / image.height())
        self._image, self.width_pt, self.height_pt = image, image.width() * factor, image.height() * factor

    def drawn(self, left_pt: float, top_pt: float) -> Act:
        """Draws it with its corner there."""
        area = QRectF(left_pt, top_pt, self.width_pt, self.height_pt)
        return lambda painter: painter.drawImage(area, self._image)


_LARGEST_SIDE_PX: Final = 1000
_MOST_PIXELS: Final = 40_000_000


def image_of(raw: bytes | None) -> QImage | None:
    """From PNG or JPEG, turned as the camera was held, no finer than paper shows; None where it is no picture."""
    _application()
    buffer = QBuffer()
    buffer.setData(raw or b"")
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    size = reader.size()
    if not 0 < size.width() * size.height() <= _MOST_PIXELS:
        return None
    longest = max(size.width(), size.height())
    if longest > _LARGEST_SIDE_PX:
        factor = _LARGEST_SIDE_PX / longest
        reader.setScaledSize(QSize(max(round(size.width() * factor), 1), max(round(size.height() * factor), 1)))
    image = reader.read()
    return image if not image.isNull() else None


def pdf_bytes(pages: Sequence[Sequence[Act]], *, size_pt: tuple[float, float], title: str, printed_at: str) -> bytes:
    """The bytes of a PDF, the same for the same pages; its dates are the time of printing, not of this call."""
    _application()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(_DOTS_PER_INCH)
    writer.setPageSize(QPageSize(QSizeF(*size_pt), QPageSize.Unit.Point))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0))
    writer.setTitle(printable(title))
    writer.setCreator("valvebench")
    writer.setDocumentXmpMetadata(_XMP.encode())
    writer.setDocumentId(QUuid(str(uuid.uuid5(_NAMESPACE, f"{printable(title)}\n{printed_at}"))))
    painter = QPainter(writer)
    painter.scale(_DOTS_PER_INCH / _POINTS_PER_INCH, _DOTS_PER_INCH / _POINTS_PER_INCH)
    for number, acts in enumerate(pages):
        if number:
            writer.newPage()
        _paint(painter, acts)
    painter.end()
    return _dated(bytes(buffer.data().data()), printed_at)


def png_bytes(acts: Sequence[Act], *, size_pt: tuple[float, float], dots_per_inch: int = 300) -> bytes:
    """The same as a PNG."""
    _application()
    factor = dots_per_inch / _POINTS_PER_INCH
    image = QImage(round(size_pt[0] * factor), round(size_pt[1] * factor), QImage.Format.Format_RGB32)
    image.fill(QColor(f"#{PAPER}"))
    per_metre = round(dots_per_inch / 0.0254)
    image.setDotsPerMeterX(per_metre)
    image.setDotsPerMeterY(per_metre)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.TextAntialiasing)
    painter.scale(factor, factor)
    _paint(painter, acts)
    painter.end()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]  # the stubs know no device with bytes for a format
    return bytes(buffer.data().data())


def _paint(painter: QPainter, acts: Sequence[Act]) -> None:
    for act in acts:
        act(painter)


def _dated(raw: bytes, printed_at: str) -> bytes:
    """The writer's clock replaced by the time of printing, byte for byte as long."""
    digits = re.sub(r"\D", "", printed_at)[:14].ljust(14, "0").encode()

    def stamp(found: re.Match[bytes]) -> Any:
        zone = b"Z" if found[1] == b"Z" else found[1].translate(bytes.maketrans(b"-123456789", b"+000000000"))
        return b"(D:" + digits + zone + b")"

    return _STAMP.sub(stamp, raw, count=2)
