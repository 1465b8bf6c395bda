"""Open and save variant files: a draft in, a draft out, the file before the first save kept beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from valvebench.bench.pictures import NamedPicture, check_picture, named_picture, pictures_beside, put_beside
from valvebench.model.draft_file import draft_from, variant_bytes
from valvebench.model.draft_lacks import Lack, check_draft
from valvebench.model.errors import BenchError
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import Draft
from valvebench.model.variant_rules import read_variant

BACKUP_SUFFIX = ".bak"


class WrongDraft(BenchError, ValueError):
    """A draft that no reader would take; everything wrong with it is listed."""

    def __init__(self, lacks: Sequence[Lack]) -> None:
        self.lacks = tuple(lacks)
        lines = "\n".join(f"{lack.where}: {lack.words}" for lack in self.lacks)
        super().__init__(f"Not saved: put these right first.\n{lines}")


class SaveFile(Protocol):
    """Puts a whole file in place, or leaves the old one (raises WorldFailed)."""

    def __call__(self, path: Path, raw: bytes) -> None:
        """Write it so that it survives a power cut."""
        ...


class VariantFiles:
    """The variant files of one editor."""

    def __init__(self, *, read: Callable[[Path], bytes], save: SaveFile) -> None:
        self._read, self._save = read, save
        self._pictures: dict[str, NamedPicture] = {}
        self._backed_up: set[Path] = set()

    def load(self, path: Path) -> Draft:
        """The draft of a file (raises BadInput with all its problems, WorldFailed)."""
        raw = self._read(path)
        draft = draft_from(raw, source=str(path))
        self._backed_up.discard(path)
        named = read_variant(raw, source=str(path)).named_pictures
        self._keep(pictures_beside(path, named, read=self._read))
        return draft

    def copy_of(self, raw: bytes, *, source: str, blob: Callable[[str], bytes | None]) -> Draft:
        """The draft of a variant that a session froze, with the photos the session keeps (raises BadInput)."""
        draft = draft_from(raw, source=source)
        for picture in read_variant(raw, source=source).named_pictures:
            kept = blob(picture.sha256)
            if kept is not None:
                self._keep((NamedPicture(picture, kept),))
        return draft

    def _keep(self, found: Sequence[NamedPicture]) -> None:
        self._pictures |= {one.picture.sha256: one for one in found}

    def take_picture(self, path: Path, *, shrunk: Callable[[bytes], bytes]) -> Picture:
        """Read a photo, made smaller where it is large; it lies beside the variant once that is saved.

        Raises BadInput for what is no picture, WorldFailed.
        """
        raw = self._read(path)
        check_picture(raw, file_name=path.name)
        found = named_picture(shrunk(raw), file_name=path.name)
        self._keep((found,))
        return found.picture

    def picture(self, sha256: str) -> bytes | None:
        """The bytes of a photo that was read."""
        found = self._pictures.get(sha256)
        return found.raw if found is not None else None

    def save(self, path: Path, draft: Draft) -> None:
        """Write a draft (raises WrongDraft while anything in it is wrong, WorldFailed where the disk refuses).

        The file as it was before this editor first wrote it stays beside it as `.bak`.
        """
        raw = bytes_of(draft)
        for picture in read_variant(raw, source="variant").named_pictures:
            self._put(path, picture)
        if path not in self._backed_up and path.exists():
            self._save(path.with_name(path.name + BACKUP_SUFFIX), self._read(path))
        self._save(path, raw)
        self._backed_up.add(path)

    def change(self, path: Path, change: Callable[[bytes], bytes]) -> None:
        """Put what `change` makes of a file in its place, the file before it beside it as `.bak`.

        Whatever `change` raises, nothing was written then (raises WorldFailed too).
        """
        raw = self._read(path)
        changed = change(raw)
        self._save(path.with_name(path.name + BACKUP_SUFFIX), raw)
        self._save(path, changed)

    def _put(self, path: Path, picture: Picture) -> None:
        """A photo beside the file, by the name this variant has for it; one that is missing stays missing."""
        found = self._pictures.get(picture.sha256)
        if found is not None:
            put_beside(path, found._replace(picture=picture), read=self._read, save=self._save)


def bytes_of(draft: Draft) -> bytes:
    """The file of a draft, read back before it is handed out (raises WrongDraft with every problem)."""
    checked = check_draft(draft)
    if checked.wrong:
        raise WrongDraft(checked.wrong)
    raw = variant_bytes(checked.data)
    read_variant(raw, source="variant")
    return raw
