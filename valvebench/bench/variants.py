"""Open and save variant files: a draft in, a draft out, the file before the first save kept beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Protocol

from valvebench.model.draft_file import draft_from, variant_bytes
from valvebench.model.draft_lacks import Lack, check_draft
from valvebench.model.errors import BenchError
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
        self._backed_up: set[Path] = set()

    def load(self, path: Path) -> Draft:
        """The draft of a file (raises BadInput with all its problems, WorldFailed)."""
        draft = draft_from(self._read(path), source=str(path))
        self._backed_up.discard(path)
        return draft

    def save(self, path: Path, draft: Draft) -> None:
        """Write a draft (raises WrongDraft while anything in it is wrong, WorldFailed where the disk refuses).

        The file as it was before this editor first wrote it stays beside it as `.bak`.
        """
        raw = bytes_of(draft)
        if path not in self._backed_up and path.exists():
            self._save(path.with_name(path.name + BACKUP_SUFFIX), self._read(path))
        self._save(path, raw)
        self._backed_up.add(path)


def bytes_of(draft: Draft) -> bytes:
    """The file of a draft, read back before it is handed out (raises WrongDraft with every problem)."""
    checked = check_draft(draft)
    if checked.wrong:
        raise WrongDraft(checked.wrong)
    raw = variant_bytes(checked.data)
    read_variant(raw, source="variant")
    return raw
