"""The photos of a draft: named, taken away, and asked for when others are to be shown.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Protocol

from valvebench.model.draft_field import Part
from valvebench.model.draft_photos import PhotoOf, board_pictures, feature_picture, photo_words, with_photo
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import Draft
from valvebench.model.words import Place

Shrink = Callable[[bytes], bytes]


class PhotosView(Protocol):
    """What is asked of the page."""

    def want_photos(self, wanted: Mapping[Place, Picture]) -> None:
        """Show these photos behind the ports once they are read."""
        ...

    def want_feature(self, row: int, name: str, picture: Picture | None) -> None:
        """Show the photo of this feature once it is read; row -1 is none."""
        ...

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the head."""
        ...


class PhotoFiles(Protocol):
    """Reads photos and keeps them until the variant is saved."""

    def take_picture(self, path: Path, *, shrunk: Shrink) -> Picture:
        """Read a photo (raises BadInput, WorldFailed)."""
        ...


class PhotoSteps(Protocol):
    """The draft in force, and a step further."""

    @property
    def draft(self) -> Draft:
        """The draft in force."""
        ...

    def push(self, words: str, after: Draft) -> None:
        """Another draft, and what led to it."""
        ...


class Runs(Protocol):
    """Runs work beside the window."""

    def run(self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        """Run it, then call `done` with its result or `failed` with its error."""
        ...


class Photos:
    """One photo for the body, one for the case, one for each feature."""

    def __init__(
        self,
        view: PhotosView,
        steps: PhotoSteps,
        files: PhotoFiles,
        runner: Runs,
        *,
        shrunk: Shrink,
        failed: Callable[[Exception], None],
    ) -> None:
        self._view, self._steps, self._files, self._runner = view, steps, files, runner
        self._shrunk, self._failed = shrunk, failed
        self._shown: dict[Place, Picture] | None = None
        self._feature = 0
        self._feature_shown: tuple[int, str, Picture | None] | None = None

    def forget(self) -> None:
        """Another draft begins: even a photo of the same name may be there now, or missing."""
        self._shown = self._feature_shown = None

    def show(self) -> None:
        """Ask for other photos where the draft names others."""
        wanted = board_pictures(self._steps.draft)
        if wanted != self._shown:
            self._shown = wanted
            self._view.want_photos(wanted)
        self.feature_chosen(self._feature)

    def feature_chosen(self, row: int) -> None:
        """The feature at hand is another one."""
        self._feature = row
        draft = self._steps.draft
        is_there = row < len(draft.rows(Part.FEATURES))
        wanted = (row, photo_words(draft, row), feature_picture(draft, row)) if is_there else (-1, "", None)
        if wanted != self._feature_shown:
            self._feature_shown = wanted
            self._view.want_feature(*wanted)

    def named(self, of: PhotoOf, path: Path) -> None:
        """Read a photo beside the window, and make it smaller there."""
        asked_of = photo_words(self._steps.draft, of)
        self._view.say(f"Reading {path.name} \u2026")
        self._runner.run(
            lambda: self._files.take_picture(path, shrunk=self._shrunk),
            done=lambda picture: self._taken(of, asked_of, picture),
            failed=self._failed,
        )

    def _taken(self, of: PhotoOf, asked_of: str, picture: Picture) -> None:
        now = of if isinstance(of, Place) else self._row_of(of, asked_of)
        if now is None:
            self._view.say(f"The feature this photo was chosen for, {asked_of}, is gone.", is_problem=True)
            return
        self.forget()
        self._steps.push(f"set the photo of {asked_of}", with_photo(self._steps.draft, now, picture))
        self.show()
        which = f"The ports of {asked_of} stand on" if isinstance(of, Place) else f"{asked_of} is shown by"
        self._view.say(f"{which} {picture.file}; saving puts it beside the file")

    def _row_of(self, row: int, name: str) -> int | None:
        """Where that feature stands by now: rows may have come and gone while the photo was read."""
        names = [photo_words(self._steps.draft, i) for i in range(len(self._steps.draft.rows(Part.FEATURES)))]
        if row < len(names) and names[row] == name:
            return row
        return names.index(name) if name in names else None

    def removed(self, of: PhotoOf) -> None:
        """Back to a plain board, or to no photo."""
        draft = self._steps.draft
        self._steps.push(f"take away the photo of {photo_words(draft, of)}", with_photo(draft, of, None))
