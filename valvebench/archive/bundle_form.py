"""The form of a bundle: a zip file with nothing compressed, each of its bytes settled by what it holds.

Times, rights and order are fixed and there are no extra fields, so the same session always makes the same
bytes, and one bit changed anywhere is one byte that is not as it must be.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterable, Sequence
from typing import Annotated, Any, Final, NamedTuple
from zlib import crc32

import msgspec

from valvebench.model.errors import BadInput, EvidenceBroken, bad
from valvebench.model.strict_json import dumps, loads
from valvebench.model.validate import build

FORMAT: Final = 1
SUFFIX: Final = ".zip"
MANIFEST_NAME: Final = "manifest.json"
JOURNAL_MEMBER: Final = "journal.jsonl"
BLOBS_MEMBER: Final = "blobs/"
LARGEST_BYTES: Final = 64 * 1024 * 1024
"""Of the whole file; nothing in it is compressed, so it is also the most that comes out."""
MOST_MEMBERS: Final = 1_000
LONGEST_NAME: Final = 100

LOCAL: Final = struct.Struct("<4s5H3I2H")
CENTRAL: Final = struct.Struct("<4s6H3I5H2I")
END: Final = struct.Struct("<4s4H2IH")
_LOCAL_SIGN, _CENTRAL_SIGN, END_SIGN = b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06"
_NEEDS, _MADE_BY, _FLAGS, _STORED = 10, 20, 0, 0
_TIME, _DATE = 0, 0x21  # midnight, 1 January 1980: the first day such a file can name

Sha256 = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
Count = Annotated[int, msgspec.Meta(ge=0)]


class Member(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, rename={"size_bytes": "bytes"}):
    """One file of a bundle as its manifest names it."""

    name: Annotated[str, msgspec.Meta(max_length=LONGEST_NAME)]
    size_bytes: Count
    sha256: Sha256


class Manifest(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a bundle holds: the format of the bundle, which session, how many entries, its head, each file."""

    bundle: int
    session: str
    entries: Annotated[int, msgspec.Meta(ge=1)]
    head: str
    members: tuple[Member, ...]


class Placed(NamedTuple):
    """A file in the zip: what its two headers need to know."""

    name: str
    size_bytes: int
    crc: int
    offset: int


def manifest_bytes(manifest: Manifest) -> bytes:
    """One line of JSON with its line feed."""
    return dumps(msgspec.to_builtins(manifest)) + b"\n"


def read_manifest(raw: bytes, *, source: str) -> Manifest:
    """The manifest of a bundle (raises EvidenceBroken where it is none as we write it, BadInput for a newer one)."""
    try:
        data: Any = loads(raw, source=MANIFEST_NAME)
    except BadInput as error:
        raise broken(source, f"{MANIFEST_NAME}: {error.problems[0].text()}") from error
    if isinstance(data, dict) and isinstance(data.get("bundle"), int) and data["bundle"] > FORMAT:
        newer = f"a bundle of format {data['bundle']}"
        advice = "A newer valvebench made it: bring this one up to date."
        raise refused(newer, f"format {FORMAT} or older", source=source, what_to_do=advice)
    manifest: Manifest | None
    manifest, findings = build(data, Manifest)
    if manifest is None:
        raise broken(source, f"{MANIFEST_NAME}: {findings[0].problem.text()}")
    if manifest.bundle != FORMAT or manifest_bytes(manifest) != raw:
        raise broken(source, f"{MANIFEST_NAME} is not written as a bundle's manifest is")
    _check_names(manifest, source)
    return manifest


def _check_names(manifest: Manifest, source: str) -> None:
    """The journal, then each file under its hash: no other name gets any further."""
    names = [member.name for member in manifest.members]
    if any(member.name not in (JOURNAL_MEMBER, BLOBS_MEMBER + member.sha256) for member in manifest.members):
        raise broken(source, f"{MANIFEST_NAME} names a file that no bundle holds, or under another hash than its own")
    if names != in_order(names):
        raise broken(source, f"{MANIFEST_NAME} names its files in another order, or one of them twice")


def in_order(names: Iterable[str]) -> list[str]:
    """The journal, then the blobs by their hash; every name once."""
    return [JOURNAL_MEMBER, *sorted(set(names) - {JOURNAL_MEMBER})]


MEMBER_NAME: Final = re.compile(r"manifest\.json|journal\.jsonl|blobs/[0-9a-f]{64}")
"""Every name a bundle may hold; what is not among these is never written anywhere."""


def local_header(name: str, *, size_bytes: int, crc: int) -> bytes:
    """What stands before the bytes of a file."""
    sizes = (crc, size_bytes, size_bytes, len(name), 0)
    return LOCAL.pack(_LOCAL_SIGN, _NEEDS, _FLAGS, _STORED, _TIME, _DATE, *sizes) + name.encode("ascii")


def directory(placed: Sequence[Placed]) -> bytes:
    """What stands after all files: a list of them, and where the list begins."""
    listed = b"".join(_central_header(one) for one in placed)
    last = placed[-1]
    begins = last.offset + LOCAL.size + len(last.name) + last.size_bytes
    return listed + END.pack(END_SIGN, 0, 0, len(placed), len(placed), len(listed), begins, 0)


def _central_header(one: Placed) -> bytes:
    start = (_CENTRAL_SIGN, _MADE_BY, _NEEDS, _FLAGS, _STORED, _TIME, _DATE)
    sizes = (one.crc, one.size_bytes, one.size_bytes, len(one.name))
    return CENTRAL.pack(*start, *sizes, 0, 0, 0, 0, 0, one.offset) + one.name.encode("ascii")


def packed(files: Iterable[tuple[str, bytes]]) -> bytes:
    """A zip file of these files in this order."""
    pieces: list[bytes] = []
    placed: list[Placed] = []
    offset = 0
    for name, raw in files:
        one = Placed(name, len(raw), crc32(raw), offset)
        header = local_header(name, size_bytes=one.size_bytes, crc=one.crc)
        placed.append(one)
        pieces += [header, raw]
        offset += len(header) + len(raw)
    return b"".join([*pieces, directory(placed)])


def packed_size(names_and_sizes: Iterable[tuple[str, int]]) -> int:
    """How many bytes such a zip file has."""
    headers = LOCAL.size + CENTRAL.size
    return END.size + sum(headers + 2 * len(name) + size_bytes for name, size_bytes in names_and_sizes)


def refused(found: str, expected: str, *, source: str, what_to_do: str = "") -> BadInput:
    """The error for what is no bundle, or one that is not opened."""
    return bad("file", found, expected, f"Nothing was opened. {what_to_do}".rstrip(), source=source)


def broken(source: str, what: str) -> EvidenceBroken:
    """The error for a bundle that is not as it was written."""
    return EvidenceBroken(
        f"{source}: not as it was written: {what.rstrip('.')}. Nothing was opened. "
        "Ask for it again, best as the sender's program wrote it, not packed anew on the way."
    )
