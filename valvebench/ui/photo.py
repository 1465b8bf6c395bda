"""Photos decoded and made smaller; nothing here touches a widget, so it runs beside the window."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QImage, QImageReader, QImageWriter

from valvebench.model.errors import bad

LONGEST_KEPT_PX: Final = 2400
LONGEST_SHOWN_PX: Final = 1600
_JPEG_QUALITY: Final = 88


def photo_of(raw: bytes, *, longest_px: int = LONGEST_SHOWN_PX) -> QImage:
    """The photo upright, its longer side at most so many pixels (raises BadInput where it is damaged)."""
    reader, buffer = _reader(raw)
    size = reader.size()
    if size.isValid() and max(size.width(), size.height()) > longest_px:
        reader.setScaledSize(size.scaled(QSize(longest_px, longest_px), Qt.AspectRatioMode.KeepAspectRatio))
    image = reader.read()
    buffer.close()
    if image.isNull():
        raise bad("photo", reader.errorString(), "a picture that can be read", "Save it anew, or take a smaller one.")
    return image


def shrunk(raw: bytes) -> bytes:
    """The bytes to keep: as they are, or written anew where the photo is larger than a screen can show."""
    reader, buffer = _reader(raw)
    size = reader.size()
    buffer.close()
    image = photo_of(raw, longest_px=LONGEST_KEPT_PX)
    if max(size.width(), size.height()) <= LONGEST_KEPT_PX:
        return raw
    return _written(image, b"png" if image.hasAlphaChannel() else b"jpeg")


def _written(image: QImage, form: bytes) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(form))
    if form == b"jpeg":
        writer.setQuality(_JPEG_QUALITY)
    if not writer.write(image):
        raise bad(
            "photo", writer.errorString(), "a picture that can be made smaller", "Save it smaller, as PNG or JPEG."
        )
    return bytes(buffer.data().data())


def _reader(raw: bytes) -> tuple[QImageReader, QBuffer]:
    """A reader and what it reads from, which has to live as long."""
    buffer = QBuffer()
    buffer.setData(QByteArray(raw))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    return reader, buffer
