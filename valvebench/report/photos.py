"""Photos of the session beside what they show; only sizes are read, never the pixels."""

from __future__ import annotations

import io
import warnings
from collections.abc import Mapping
from typing import Any, Final

from valvebench.model.entry import Photo
from valvebench.model.session import Session
from valvebench.report.cells import Book, Sheet
from valvebench.report.layout import paragraph, set_page, set_widths
from valvebench.report.look import MONO, PLAIN, SECTION

_PICTURES: Final = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")
_MOST_PIXELS: Final = 40_000_000
_SHOWN_WIDTH: Final = 640
_SHOWN_HEIGHT: Final = 480
_PIXELS_PER_ROW: Final = 20


def write_photos(book: Book, session: Session, photos: Mapping[str, bytes], *, report_id: str) -> None:
    """A sheet of all photos that count; no sheet where there is none."""
    taken = [(item.n, item.body) for item in session.items if isinstance(item.body, Photo)]
    if not taken:
        return
    sheet = book.sheet("Photos")
    set_page(sheet, report_id=report_id, is_landscape=False)
    set_widths(sheet, (100,))
    row = 1
    for number, photo in taken:
        row = _write_photo(sheet, row, number, photo, photos.get(photo.sha256))


def _write_photo(sheet: Sheet, row: int, number: int, photo: Photo, raw: bytes | None) -> int:
    paragraph(sheet, row, photo.of, SECTION, columns=1, characters=80)
    sheet.text(row + 1, 1, f"Entry {number}, {photo.file_name}, {photo.size_bytes} bytes, SHA-256 {photo.sha256}", MONO)
    picture = picture_of(raw, _SHOWN_WIDTH, _SHOWN_HEIGHT)
    if picture is None:
        sheet.text(row + 2, 1, "The picture cannot be shown here; it stays in the session under its hash.", PLAIN)
        return row + 4
    sheet.worksheet.add_image(picture, f"A{row + 2}")
    return row + 4 + int(picture.height) // _PIXELS_PER_ROW


def picture_of(raw: bytes | None, width_px: int, height_px: int) -> Any:
    """A picture for the sheet, scaled to fit, or None where the bytes are no PNG or JPEG of a sane size."""
    from openpyxl.drawing.image import Image

    if raw is None or not raw.startswith(_PICTURES):
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            picture = Image(io.BytesIO(raw))
    except Exception:  # noqa: BLE001  a picture from outside may break a decoder in any way
        return None
    return _scaled(picture, width_px, height_px) if 0 < picture.width * picture.height <= _MOST_PIXELS else None


def _scaled(picture: Any, width_px: int, height_px: int) -> Any:
    factor = min(1.0, width_px / picture.width, height_px / picture.height)
    picture.width, picture.height = int(picture.width * factor), int(picture.height * factor)
    return picture
