"""Brings photos behind a board of ports, and one of a feature: read and decoded beside the window."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from PySide6.QtGui import QImage

from valvebench.model.errors import BadInput
from valvebench.model.variant import Picture
from valvebench.model.words import Place
from valvebench.ui.photo import photo_of
from valvebench.ui.runner import Runner

RawOf = Callable[[str], bytes | None]
Show = Callable[[Mapping[Place, QImage], str], None]


class _Found(NamedTuple):
    images: dict[Place, QImage]
    words: str


class BoardPhotos:
    """Keeps a board at the photos that were asked for last."""

    def __init__(self, runner: Runner, *, raw_of: RawOf, show: Show) -> None:
        self._runner, self._raw_of, self._show = runner, raw_of, show
        self._wanted: dict[Place, Picture] = {}

    def want(self, wanted: Mapping[Place, Picture]) -> None:
        """Show these photos, or say in words which one is missing."""
        if dict(wanted) == self._wanted:
            return
        asked = self._wanted = dict(wanted)
        self._runner.run(lambda: found(asked, self._raw_of), done=lambda got: self._got(asked, got), failed=_raise)

    def _got(self, asked: Mapping[Place, Picture], got: _Found) -> None:
        if asked is self._wanted:
            self._show(got.images, got.words)


class FeaturePhoto:
    """Keeps a place for one photo at the one that was asked for last."""

    def __init__(self, runner: Runner, *, raw_of: RawOf, show: Callable[[QImage | None, str], None]) -> None:
        self._runner, self._raw_of, self._show = runner, raw_of, show
        self._asked = 0

    def want(self, picture: Picture | None) -> None:
        """Show this photo, or say in words why not; None asks for none."""
        self._asked += 1
        number = self._asked
        if picture is None:
            return

        def got(shot: QImage | str) -> None:
            if number == self._asked:
                self._show(*((None, shot) if isinstance(shot, str) else (shot, f"Photo {picture.file}")))

        self._runner.run(lambda: _one(picture, self._raw_of), done=got, failed=_raise)


def _one(picture: Picture, raw_of: RawOf) -> QImage | str:
    """The photo, or why it cannot be shown."""
    raw = raw_of(picture.sha256)
    if raw is None:
        return f"The photo {picture.file} is missing."
    try:
        return photo_of(raw)
    except BadInput:
        return f"The photo {picture.file} cannot be read."


def found(wanted: Mapping[Place, Picture], raw_of: RawOf) -> _Found:
    """The photos that can be shown, and words for the others."""
    images, words = {}, []
    for place, picture in wanted.items():
        raw = raw_of(picture.sha256)
        if raw is None:
            words.append(_without(place, picture, "is missing"))
            continue
        try:
            images[place] = photo_of(raw)
        except BadInput:
            words.append(_without(place, picture, "cannot be read"))
    return _Found(images, " ".join(words))


def _without(place: Place, picture: Picture, why: str) -> str:
    return f"The photo of the {place.value}, {picture.file}, {why}: its ports stand on a plain board."


def _raise(error: Exception) -> None:
    raise error
