"""The user's own variants and the examples beside them: listed, copied, taken in, handed on, set aside.

Nothing is ever overwritten: a file that is in the way refuses the whole step before anything is written.  Nothing is
deleted: what is removed lies beside the others under a name that no list reads.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final, NamedTuple, Protocol

from valvebench.bench.pictures import NamedPicture, picture_in, pictures_beside, put_beside
from valvebench.bench.variants import SaveFile
from valvebench.model.draft_file import draft_of, variant_bytes
from valvebench.model.draft_lacks import Lack, check_draft, lacks_beside
from valvebench.model.errors import BadInput, BenchError, WorldFailed
from valvebench.model.strict_json import loads
from valvebench.model.variant import Picture, Variant
from valvebench.model.variant_draft import Draft
from valvebench.model.variant_rules import check_variant, read_variant

REMOVED_SUFFIX: Final = ".removed"
PATTERN: Final = "*.json"
NOT_TAKEN_IN: Final = "Nothing was imported: put these right first."
NOT_HANDED_ON: Final = "Nothing was exported."
_LONGEST_KEY: Final = 85
_LONGEST_TITLE: Final = 190


class Trouble(NamedTuple):
    """Something that keeps a file from being taken in or handed on."""

    file: str
    words: str


class Refused(BenchError, ValueError):
    """Files that were not taken in, or not handed on; everything wrong with them is listed, and nothing was written."""

    def __init__(self, what: str, troubles: Sequence[Trouble]) -> None:
        self.what, self.troubles = what, tuple(troubles)
        lines = "\n".join(f"{trouble.file}: {trouble.words}" for trouble in self.troubles)
        super().__init__(f"{what}\n{lines}")


class OnShelf(NamedTuple):
    """One file of the library; without a variant `problem` says why it cannot be used."""

    path: Path
    is_example: bool
    variant: Variant | None
    lacks: tuple[Lack, ...] = ()
    problem: str = ""


class TakenIn(NamedTuple):
    """What an import did: the new files, those that were there already, and photos that did not lie beside them."""

    new: tuple[Path, ...]
    known: tuple[str, ...]
    lost_photos: tuple[str, ...]


class Removed(NamedTuple):
    """A file that was set aside, and where it lies now."""

    path: Path
    aside: Path


class MoveFile(Protocol):
    """Gives a file another name (raises WorldFailed; never over another file)."""

    def __call__(self, old: Path, new: Path) -> None:
        """Move it so that it survives a power cut."""
        ...


class _Read(NamedTuple):
    """A file that was read and is right, with the photos that lie beside it."""

    path: Path
    raw: bytes
    variant: Variant
    photos: tuple[NamedPicture, ...]

    @property
    def lost_photos(self) -> list[str]:
        """Photos it names that do not lie beside it."""
        found = {photo.picture.sha256 for photo in self.photos}
        return [picture.file for picture in self.variant.named_pictures if picture.sha256 not in found]


class _Looked(NamedTuple):
    """A usable file as it was looked at last."""

    raw: bytes
    draft: Draft
    variant: Variant
    lacks: tuple[Lack, ...]


def _looked(raw: bytes) -> _Looked:
    """Read and check a file (raises BadInput with every problem)."""
    data = loads(raw, source="")
    variant, _ = check_variant(data)
    if variant is None:
        variant = read_variant(raw, source="")  # raises, each problem with its line
    draft = draft_of(data)
    return _Looked(raw, draft, variant, check_draft(draft).lacks)


class Library:
    """The variants of one folder, and the examples that come with the program."""

    def __init__(
        self,
        own: Path,
        examples: Path,
        *,
        read: Callable[[Path], bytes],
        save: SaveFile,
        move: MoveFile,
        make_own: Callable[[], object],
    ) -> None:
        self.own, self._examples = own, examples
        self._read, self._save, self._move, self._make_own = read, save, move, make_own
        self._seen: dict[Path, _Looked] = {}

    # -- listed ----------------------------------------------------------------------------

    def files(self) -> tuple[OnShelf, ...]:
        """The user's own first, then the examples, each shelf by key; doubts are looked for within one shelf."""
        return (*self._shelf(self.own, is_example=False), *self._shelf(self._examples, is_example=True))

    def _shelf(self, folder: Path, *, is_example: bool) -> list[OnShelf]:
        looked = [(path, self._looked_at(path)) for path in _files_in(folder)]
        variants = [found.variant for _, found in looked if not isinstance(found, str)]
        shelf = []
        for path, found in looked:
            if isinstance(found, str):
                shelf.append(OnShelf(path, is_example, None, problem=found))
                continue
            beside = (other for other in variants if other is not found.variant)
            lacks = (*found.lacks, *lacks_beside(found.draft, found.variant, beside))
            shelf.append(OnShelf(path, is_example, found.variant, lacks))
        return shelf

    def _looked_at(self, path: Path) -> _Looked | str:
        """A file with what is missing from it, or why it cannot be used; one that did not change is not read anew."""
        try:
            raw = self._read(path)
            if (seen := self._seen.get(path)) is None or seen.raw != raw:
                seen = self._seen[path] = _looked(raw)
        except BenchError as error:
            return str(error)
        return seen

    def photo(self, picture: Picture) -> bytes | None:
        """The bytes of a photo that a variant names, its own shelf first; None where neither shelf has it."""
        return picture_in((self.own, self._examples), picture, read=self._read)

    # -- taken in --------------------------------------------------------------------------

    def take_in(self, paths: Sequence[Path]) -> TakenIn:
        """Copy variant files with their photos into the user's folder.

        Raises Refused with every problem of every file before anything is written, WorldFailed where the disk refuses.
        """
        read, troubles = self._all_read(paths)
        at_home = self._own_variants()
        new: list[_Read] = []
        for one in read:
            home = at_home.get(one.variant.key, self.own / f"{one.variant.key}.json")
            troubles += self._in_the_way(one, home, new)
            if not home.exists():
                new.append(one)
        if troubles:
            raise Refused(NOT_TAKEN_IN, troubles)
        self._make_own()
        for done, one in enumerate(new):
            self._put(one, self.own / f"{one.variant.key}.json", f"{done} of {len(new)} were imported before")
        known = [one.path.name for one in read if one not in new]
        lost = [photo for one in new for photo in one.lost_photos]
        return TakenIn(tuple(self.own / f"{one.variant.key}.json" for one in new), tuple(known), tuple(lost))

    def take_in_folder(self, folder: Path) -> TakenIn:
        """Every variant file of a folder, as `take_in`."""
        paths = _files_in(folder)
        if not paths:
            raise Refused(
                "Nothing was taken in.", [Trouble(folder.name or str(folder), "no variant files (.json) in it")]
            )
        return self.take_in(paths)

    def _own_variants(self) -> dict[str, Path]:
        """The keys that are taken, and by which file."""
        looked = ((path, self._looked_at(path)) for path in _files_in(self.own))
        return {found.variant.key: path for path, found in looked if not isinstance(found, str)}

    def _all_read(self, paths: Iterable[Path]) -> tuple[list[_Read], list[Trouble]]:
        read, troubles = [], []
        for path in paths:
            try:
                raw = self._read(path)
                variant = read_variant(raw, source="")
                photos = pictures_beside(path, variant.named_pictures, read=self._read)
                read.append(_Read(path, raw, variant, photos))
            except BadInput as error:
                troubles += [Trouble(path.name, problem.text()) for problem in error.problems]
            except WorldFailed as error:
                troubles.append(Trouble(path.name, str(error)))
        return read, troubles

    def _in_the_way(self, one: _Read, home: Path, new: Sequence[_Read]) -> list[Trouble]:
        """Another variant of that key at home, or among the files themselves; a photo that is another one."""
        key = one.variant.key
        twin = next((other.path.name for other in new if other.variant.key == key), None)
        found = [Trouble(one.path.name, f"{twin} has the key {key} too: give one of them another")] if twin else []
        if home.exists() and self._read(home) != one.raw:
            words = f"{home.name} has the key {key} and says something else: give one of them another key, or remove it"
            found.append(Trouble(one.path.name, words))
        return found + self._photos_in_the_way(one, home.parent)

    def _photos_in_the_way(self, one: _Read, folder: Path) -> list[Trouble]:
        targets = [(photo, folder / photo.picture.file) for photo in one.photos]
        return [
            Trouble(one.path.name, f"another photo named {target.name} lies in {folder}")
            for photo, target in targets
            if target.exists() and self._read(target) != photo.raw
        ]

    def _put(self, one: _Read, target: Path, before: str) -> None:
        """Photos first: a variant file never stands there without those it came with."""
        try:
            for photo in one.photos:
                put_beside(target, photo, read=self._read, save=self._save)
            self._save(target, one.raw)
        except WorldFailed as error:
            raise WorldFailed(f"{error} {before}.") from error

    # -- handed on -------------------------------------------------------------------------

    def hand_on(self, path: Path, target: Path) -> int:
        """Copy one variant with its photos to a file of that name; how many photos went with it (raises Refused)."""
        self._hand_on([path], [target])
        return len(self._all_read([path])[0][0].photos)

    def hand_on_all(self, folder: Path) -> int:
        """Copy the user's own variants with their photos into a folder; how many (raises Refused, WorldFailed)."""
        paths = list(self._own_variants().values())
        if not paths:
            raise Refused(NOT_HANDED_ON, [Trouble(self.own.name, "no variants of your own yet")])
        self._hand_on(paths, [folder / path.name for path in paths])
        return len(paths)

    def _hand_on(self, paths: Sequence[Path], targets: Sequence[Path]) -> None:
        read, troubles = self._all_read(paths)
        if troubles:
            raise Refused(NOT_HANDED_ON, troubles)
        for one, target in zip(read, targets, strict=True):
            if target.exists() and self._read(target) != one.raw:
                words = "another file of this name lies there: move it, or choose another name"
                troubles.append(Trouble(target.name, words))
            troubles += self._photos_in_the_way(one, target.parent)
        if troubles:
            raise Refused(NOT_HANDED_ON, troubles)
        for done, (one, target) in enumerate(zip(read, targets, strict=True)):
            self._put(one, target, f"{done} of {len(read)} were exported before")

    # -- copied, set aside -----------------------------------------------------------------

    def duplicate(self, path: Path) -> Path:
        """A copy among the user's own, under a key and a title that say so (raises BadInput, WorldFailed)."""
        raw = self._read(path)
        variant = read_variant(raw, source=path.name)
        data = loads(raw, source=path.name)
        target = self._free(variant.key)
        copied = {**data, "key": target.stem, "title": f"{variant.title[:_LONGEST_TITLE]} (copy)"}
        photos = pictures_beside(path, variant.named_pictures, read=self._read)
        self._make_own()
        self._put(_Read(path, variant_bytes(copied), variant, photos), target, "Nothing was copied")
        return target

    def _free(self, key: str) -> Path:
        """A file name that nothing has yet, whose stem is a key that nothing has yet."""
        taken = {shelf.variant.key for shelf in self.files() if shelf.variant is not None}
        stem, number = f"{key[:_LONGEST_KEY]}-copy", 1
        while True:
            name = stem if number == 1 else f"{stem}-{number}"
            if name not in taken and not (self.own / f"{name}.json").exists():
                return self.own / f"{name}.json"
            number += 1

    def remove(self, path: Path) -> Removed:
        """Set one of the user's own aside; its photos stay, another variant may stand on them (raises WorldFailed)."""
        aside, number = path.with_name(path.name + REMOVED_SUFFIX), 1
        while aside.exists():
            number += 1
            aside = path.with_name(f"{path.name}{REMOVED_SUFFIX}-{number}")
        self._move(path, aside)
        return Removed(path, aside)

    def bring_back(self, removed: Removed) -> None:
        """Put a file that was set aside back in its place (raises WorldFailed where another one took it)."""
        self._move(removed.aside, removed.path)


def _files_in(folder: Path) -> list[Path]:
    return sorted(folder.glob(PATTERN), key=lambda path: path.stem) if folder.is_dir() else []
