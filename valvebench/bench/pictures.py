"""Photos kept with a variant: beside its file, and in the session that froze it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final, NamedTuple

from valvebench.model.entry import sha256_of
from valvebench.model.errors import BadInput, WorldFailed, bad
from valvebench.model.variant import Picture, Variant

LARGEST_PICTURE_BYTES: Final = 32 * 1024 * 1024
_PNG: Final = b"\x89PNG\r\n\x1a\n"
_JPEG: Final = b"\xff\xd8\xff"
_LONGEST_STEM: Final = 80


class NamedPicture(NamedTuple):
    """A photo that was read: how the variant names it, and its bytes."""

    picture: Picture
    raw: bytes


def check_picture(raw: bytes, *, file_name: str) -> None:
    """Refuse what is no picture, or one too large to keep (raises BadInput)."""
    if not raw.startswith((_PNG, _JPEG)):
        raise bad(file_name, "neither PNG nor JPEG", "a picture in one of these formats")
    if len(raw) > LARGEST_PICTURE_BYTES:
        raise bad(file_name, f"{len(raw)} bytes", f"a picture of at most {LARGEST_PICTURE_BYTES} bytes")


def named_picture(raw: bytes, *, file_name: str) -> NamedPicture:
    """A photo with a name that says where it comes from and tells it from others (raises BadInput)."""
    check_picture(raw, file_name=file_name)
    sha256 = sha256_of(raw)
    stem = "".join(sign for sign in Path(file_name).stem if sign.isalnum() or sign in " _-").strip()[:_LONGEST_STEM]
    suffix = ".png" if raw.startswith(_PNG) else ".jpg"
    return NamedPicture(Picture(sha256=sha256, file=f"{stem or 'photo'}-{sha256[:8]}{suffix}"), raw)


def pictures_beside(
    path: Path, pictures: Iterable[Picture], *, read: Callable[[Path], bytes]
) -> tuple[NamedPicture, ...]:
    """The photos that lie beside a variant file and are what it names; the others are left out."""
    found = ((picture, _read(path.with_name(picture.file), read)) for picture in pictures)
    return tuple(
        NamedPicture(picture, raw) for picture, raw in found if raw is not None and sha256_of(raw) == picture.sha256
    )


def picture_in(folders: Iterable[Path], picture: Picture, *, read: Callable[[Path], bytes]) -> bytes | None:
    """The bytes of a photo from the first folder that has it as the variant knows it; None where none does."""
    found = (_read(folder / picture.file, read) for folder in folders)
    return next((raw for raw in found if raw is not None and sha256_of(raw) == picture.sha256), None)


def picture_blobs(path: Path, variant: Variant, *, read: Callable[[Path], bytes]) -> tuple[bytes, ...]:
    """What a session keeps of the photos of the variant it freezes."""
    return tuple(found.raw for found in pictures_beside(path, variant.named_pictures, read=read))


def _read(path: Path, read: Callable[[Path], bytes]) -> bytes | None:
    try:
        return read(path)
    except (BadInput, WorldFailed, OSError):
        return None


def put_beside(
    path: Path, found: NamedPicture, *, read: Callable[[Path], bytes], save: Callable[[Path, bytes], None]
) -> None:
    """Put a photo beside a variant file; a file of that name that is another one stays (raises WorldFailed)."""
    target = path.with_name(found.picture.file)
    if not target.exists():
        save(target, found.raw)
    elif _read(target, read) != found.raw:
        raise WorldFailed(f"{target}: another file of this name lies there. Move it, or choose the photo once more.")
