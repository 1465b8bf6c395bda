"""Draws the pictures of features that the invented variants carry: `python -m tests.variant_pictures`.

They are drawings of an invented body, made here from plain shapes; nothing is traced from anything.
"""

from __future__ import annotations

import io
import json
import os
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PIL import Image
from PySide6.QtCore import QBuffer, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QImage, QPainter, QPainterPath, QPen

from valvebench.bench.pictures import named_picture

FOLDER = Path(__file__).resolve().parents[1] / "resources" / "variants"
WIDE, HIGH = 320, 240
GROUND, METAL, SHADE, HOLE = QColor("#E9E6DF"), QColor("#B9BDB9"), QColor("#8C928E"), QColor("#3A3F3C")

Draw = Callable[[QPainter], None]


def plate(painter: QPainter) -> None:
    """The edge of the plate with a mounting ear at its left."""
    painter.setBrush(METAL)
    painter.drawRect(QRectF(0, 90, WIDE, 70))
    painter.drawEllipse(QPointF(60, 125), 52, 52)
    painter.setBrush(HOLE)
    painter.drawEllipse(QPointF(60, 125), 22, 22)


def plate_with_a_dot(painter: QPainter) -> None:
    plate(painter)
    painter.drawEllipse(QPointF(190, 125), 11, 11)


def plate_with_a_bar(painter: QPainter) -> None:
    plate(painter)
    painter.drawRoundedRect(QRectF(160, 116, 64, 18), 5, 5)


def contacts(painter: QPainter, spots: list[tuple[float, float]]) -> None:
    painter.setBrush(HOLE)
    for x, y in spots:
        painter.drawEllipse(QPointF(x, y), 9, 9)


def round_connector(painter: QPainter) -> None:
    painter.setBrush(METAL)
    painter.drawEllipse(QPointF(160, 120), 98, 98)
    painter.setBrush(GROUND)
    painter.drawEllipse(QPointF(160, 120), 78, 78)
    ring = [(0, -52), (37, -37), (52, 0), (37, 37), (0, 52), (-37, 37), (-52, 0), (-37, -37)]
    contacts(painter, [(160 + x, 120 + y) for x, y in ring])


def oblong_connector(painter: QPainter) -> None:
    painter.setBrush(METAL)
    painter.drawRoundedRect(QRectF(30, 60, 260, 120), 56, 56)
    painter.setBrush(GROUND)
    painter.drawRoundedRect(QRectF(46, 76, 228, 88), 42, 42)
    contacts(painter, [(80 + 32 * i, y) for y in (102, 138) for i in range(6)])


def flat_connector(painter: QPainter) -> None:
    painter.setBrush(METAL)
    painter.drawRoundedRect(QRectF(40, 84, 240, 72), 8, 8)
    painter.setBrush(GROUND)
    painter.drawRect(QRectF(54, 98, 212, 44))
    contacts(painter, [(80 + 40 * i, 120) for i in range(5)])


def casting(painter: QPainter) -> None:
    painter.setBrush(METAL)
    painter.drawRoundedRect(QRectF(24, 24, WIDE - 48, HIGH - 48), 18, 18)
    painter.setBrush(SHADE)


def star(painter: QPainter) -> None:
    """Five points, raised."""
    casting(painter)
    path = QPainterPath(QPointF(160, 62))
    for x, y in ((174, 103), (217, 103), (182, 128), (196, 170), (160, 144), (124, 170), (138, 128), (103, 103)):
        path.lineTo(x, y)
    path.lineTo(146, 103)
    path.closeSubpath()
    painter.drawPath(path)


def wave(painter: QPainter) -> None:
    casting(painter)
    path = QPainterPath(QPointF(90, 128))
    path.cubicTo(115, 70, 135, 70, 160, 120)
    path.cubicTo(185, 170, 205, 170, 230, 112)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(QPen(SHADE, 16, Qt.PenStyle.SolidLine, Qt.PenCapStyle.RoundCap))
    painter.drawPath(path)


PICTURES: dict[str, dict[str, Draw]] = {
    "connector shape": {"round": round_connector, "oblong": oblong_connector, "flat": flat_connector},
    "plate mark": {"none": plate, "dot": plate_with_a_dot, "bar": plate_with_a_bar},
    "cast mark": {"star": star, "wave": wave},
}


def png_of(draw: Draw) -> bytes:
    """One picture, in so few colours that it weighs next to nothing in every job."""
    image = QImage(WIDE, HIGH, QImage.Format.Format_RGB32)
    image.fill(GROUND)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(SHADE, 3))
    draw(painter)
    painter.end()
    buffer = QBuffer()
    buffer.open(QBuffer.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")
    few, small = Image.open(io.BytesIO(buffer.data().data())).quantize(16), io.BytesIO()
    few.save(small, "PNG", optimize=True)
    return small.getvalue()


def put_pictures(path: Path) -> list[str]:
    """Draw what a variant shows, beside it, and name it in the line of the feature; no other line changes."""
    lines, names = path.read_text(encoding="utf-8").split("\n"), []
    for number, line in enumerate(lines):
        said = line.strip().removesuffix(",")
        feature = json.loads(said) if said.startswith('{"name"') and said.endswith("}") else {}
        draw = PICTURES.get(feature.get("name"), {}).get(feature.get("this"))
        if draw is not None:
            found = named_picture(png_of(draw), file_name=f"{feature['name'].replace(' ', '-')}-{feature['this']}.png")
            path.with_name(found.picture.file).write_bytes(found.raw)
            feature["picture"] = {"sha256": found.picture.sha256, "file": found.picture.file}
            lines[number] = line.replace(said, json.dumps(feature, ensure_ascii=False))
            names.append(found.picture.file)
    path.write_text("\n".join(lines), encoding="utf-8")
    return names


def main() -> None:
    """Draw them all; those of an earlier drawing go."""
    application = QGuiApplication([])
    kept: set[str] = set()
    for path in sorted(FOLDER.glob("*.json")):
        names = put_pictures(path)
        kept.update(names)
        print(path.name, *names)
    for old in FOLDER.glob("*.png"):
        if old.name not in kept:
            old.unlink()
    del application


if __name__ == "__main__":
    main()
