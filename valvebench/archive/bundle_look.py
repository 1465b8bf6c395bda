"""A first look at a file that is said to be a bundle: what it lists, before any of it is read.

Whoever made it may mean harm.  What is wrong is said in words; that nothing else gets through is
settled by the bytes themselves, which have to be those a bundle of this content has.
"""

from __future__ import annotations

import os
import stat
import unicodedata
from collections.abc import Sequence
from typing import BinaryIO, Final, NamedTuple

from valvebench.archive.bundle_form import (
    CENTRAL,
    END,
    END_SIGN,
    LARGEST_BYTES,
    LONGEST_NAME,
    MANIFEST_NAME,
    MEMBER_NAME,
    MOST_MEMBERS,
    refused,
)

_HIGHEST_RATIO: Final = 100
_REPACKED: Final = (
    "If it came packed anew, unpack it with the program that packed it and look at the folder with 'valvebench verify'."
)
_DEVICES: Final = frozenset(
    ("con", "prn", "aux", "nul", *(f"com{digit}" for digit in range(10)), *(f"lpt{digit}" for digit in range(10)))
)
"""Names that are no files on some systems, with whatever ending.  From memory."""
_SHOWN: Final = 24
_PACKED: Final = (".zip", ".7z", ".rar", ".tar", ".gz", ".xz", ".bz2")


class Listed(NamedTuple):
    """A file as the list at the end of a zip file tells of it."""

    name: str
    flags: int
    method: int
    packed_bytes: int
    size_bytes: int
    rights: int


def look(file: BinaryIO, *, source: str) -> int:
    """Refuse what is no bundle or goes beyond its limits; how many bytes it has (raises BadInput)."""
    size = file.seek(0, os.SEEK_END)
    if size > LARGEST_BYTES:
        raise refused(f"{size} bytes", f"at most {LARGEST_BYTES} bytes", source=source)
    listed = _listed(file, size, source)
    what = next(filter(None, (_wrong_with(one) for one in listed)), None) or _twins(listed) or _shape(listed)
    if what is not None:
        raise refused(what, "a bundle as valvebench writes it", source=source, what_to_do=_REPACKED)
    return size


def _listed(file: BinaryIO, size: int, source: str) -> list[Listed]:
    """The list at the end: only where it is as long as the file says, and not longer than a bundle's may be."""
    what = "no zip file, or one that was cut short or has something after its end"
    if size < END.size:
        raise refused(what, "a bundle", source=source)
    file.seek(size - END.size)
    sign, disk, first_disk, here, count, length, begins, comment = END.unpack(file.read(END.size))
    if sign != END_SIGN or comment:
        raise refused(what, "a bundle", source=source)
    if count > MOST_MEMBERS or length > MOST_MEMBERS * (CENTRAL.size + LONGEST_NAME):
        raise refused(f"{count} files, listed in {length} bytes", f"at most {MOST_MEMBERS} files", source=source)
    if disk or first_disk or here != count or begins + length + END.size != size:
        raise refused("a zip file whose list does not fit it", "a bundle", source=source)
    file.seek(begins)
    return _read_list(file.read(length), count, source)


def _read_list(raw: bytes, count: int, source: str) -> list[Listed]:
    listed, place = [], 0
    for _ in range(count):
        if place + CENTRAL.size > len(raw):
            raise refused("a zip file whose list is cut short", "a bundle", source=source)
        (_, _, _, flags, method, _, _, _, packed_bytes, size_bytes, name, extra, comment, _, _, rights, _) = (
            CENTRAL.unpack_from(raw, place)
        )
        place += CENTRAL.size
        encoding = "utf-8" if flags & 0x800 else "cp437"
        text = raw[place : place + name].decode(encoding, errors="replace")
        listed.append(Listed(text, flags, method, packed_bytes, size_bytes, rights >> 16))
        place += name + extra + comment
    if place != len(raw):
        raise refused("a zip file whose list is longer than it says", "a bundle", source=source)
    return listed


def _wrong_with(one: Listed) -> str | None:
    """What forbids to open a file with such an entry; None where nothing does."""
    shown = ascii(one.name if len(one.name) <= _SHOWN else f"{one.name[:_SHOWN]}...")
    if one.flags & 0x2041:  # the three ways of hiding it; of a zip file's description, from memory
        return f"{shown}, which is encrypted"
    if stat.S_IFMT(one.rights) not in (0, stat.S_IFREG):
        return f"{shown}, which is a link, a folder or a device"
    if one.size_bytes > _HIGHEST_RATIO * max(1, one.packed_bytes):
        return f"{shown}, {one.size_bytes} bytes packed into {one.packed_bytes}"
    if MEMBER_NAME.fullmatch(one.name) is None:
        return f"{shown}, {_about_name(one.name)}"
    if one.method:
        return f"{shown}, which is compressed; in a bundle nothing is"
    return None


def _about_name(name: str) -> str:
    """Why a name that no bundle holds is dangerous, or only that it is none."""
    parts = name.replace("\\", "/").split("/")
    stem = parts[-1].partition(".")[0].strip().lower()
    found = (
        (len(name) > LONGEST_NAME, f"a name of {len(name)} signs"),
        ("\\" in name, "a name with a backslash"),
        (name.startswith("/"), "which would lie at the top of the disk"),
        (name[1:2] == ":", "which would lie on another drive"),
        (".." in parts, "which would lie outside the folder"),
        (stem in _DEVICES, "the name of a device"),
        (parts[-1].lower().endswith(_PACKED), "a packed file in a packed file"),
    )
    return next((words for is_so, words in found if is_so), "a name that no file of a bundle has")


def _twins(listed: Sequence[Listed]) -> str | None:
    """Two names that some file system takes for one."""
    seen: dict[str, str] = {}
    for one in listed:
        plain = unicodedata.normalize("NFKC", one.name).casefold()
        if plain in seen:
            return f"{one.name!a} beside {seen[plain]!a}: one name twice"
        seen[plain] = one.name
    return None


def _shape(listed: Sequence[Listed]) -> str | None:
    """A bundle begins with its manifest."""
    if not listed or listed[0].name != MANIFEST_NAME:
        return f"a zip file that does not begin with {MANIFEST_NAME}"
    return None
