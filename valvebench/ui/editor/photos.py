"""The photos of a draft: named, taken away, and asked for when others are to be shown.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Protocol

from valvebench.model.draft_field import Part
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import Draft, Spot, with_cells
from valvebench.model.words import Place

Shrink = Callable[[bytes], bytes]


class PhotosView(Protocol):
    """What is asked of the page."""

    def want_photos(self, wanted: Mapping[Place, Picture]) -> None:
        """Show these photos once they are read."""
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
    """One photo for the body, one for the case."""

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

    def forget(self) -> None:
        """Another draft begins: even a photo of the same name may be there now, or missing."""
        self._shown = None

    def show(self) -> None:
        """Ask for other photos where the draft names others."""
        wanted = pictures_of(self._steps.draft)
        if wanted != self._shown:
            self._shown = wanted
            self._view.want_photos(wanted)

    def named(self, place: Place, path: Path) -> None:
        """Read a photo beside the window, and make it smaller there."""
        self._view.say(f"Reading {path.name} \u2026")
        self._runner.run(
            lambda: self._files.take_picture(path, shrunk=self._shrunk),
            done=lambda picture: self._taken(place, picture),
            failed=self._failed,
        )

    def _taken(self, place: Place, picture: Picture) -> None:
        self.forget()
        self._steps.push(f"set the photo of the {place.value}", _with(self._steps.draft, place, picture))
        self.show()
        self._view.say(f"The ports of the {place.value} stand on {picture.file}; saving puts it beside the file")

    def removed(self, place: Place) -> None:
        """Back to a plain board."""
        self._steps.push(f"take away the photo of the {place.value}", _with(self._steps.draft, place, None))


def pictures_of(draft: Draft) -> dict[Place, Picture]:
    """The photos a draft names."""
    found = {}
    for place in Place:
        sha256, file = draft.body(f"sha_{place.value}"), draft.body(f"picture_{place.value}")
        if sha256 and file:
            found[place] = Picture(sha256=sha256, file=file)
    return found


def _with(draft: Draft, place: Place, picture: Picture | None) -> Draft:
    texts = {
        Spot(Part.BODY, 0, f"picture_{place.value}"): picture.file if picture is not None else "",
        Spot(Part.BODY, 0, f"sha_{place.value}"): picture.sha256 if picture is not None else "",
    }
    return with_cells(draft, texts)
