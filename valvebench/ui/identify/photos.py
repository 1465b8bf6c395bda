"""Photos attached to the feature that is asked: kept under its name, the newest shown.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, Protocol

from valvebench.model.entry import Entry, Photo
from valvebench.model.errors import BenchError
from valvebench.ui.errors import error_words
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.start.drops import as_path

NO_PICTURE: Final = "Name the picture: choose it, drop it on the window, or type where it lies."
NO_QUESTION: Final = "There is no feature to attach a photo to."


class PhotoView(Protocol):
    """What is asked of the page."""

    def show_picture(self, raw: bytes | None) -> None: ...
    def show_path(self, path: str) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class ReadsFiles(Protocol):
    """Reads a file the person named."""

    def read_file(self, path: Path) -> bytes: ...


class FeaturePhotos:
    """`of` is what a photo taken now shows: the feature at hand, None where there is none."""

    def __init__(
        self, view: PhotoView, keeper: Keeper, runner: Runs, files: ReadsFiles, *, of: Callable[[], str | None]
    ) -> None:
        self._view, self._keeper, self._runner, self._files, self._of = view, keeper, runner, files, of
        self._shown: str | None = None

    def show(self, of: str | None) -> None:
        """The newest photo of it, fetched beside the window."""
        wanted = self._newest(of) if of is not None else None
        if wanted == self._shown:
            return
        self._shown = wanted
        self._view.show_picture(None)
        if wanted is None:
            return
        desk = self._keeper.desk

        def fetched(raw: bytes | None) -> None:
            if wanted == self._shown:
                self._view.show_picture(raw)

        self._runner.run(lambda: desk.photo(wanted), done=fetched, failed=self._not_kept)

    def _newest(self, of: str) -> str | None:
        photos = [item.body for item in self._keeper.desk.session.items_of("photo")]
        found = [body.sha256 for body in photos if isinstance(body, Photo) and body.of == of]
        return found[-1] if found else None

    def named(self, path: Path) -> None:
        """A picture that was chosen or dropped."""
        self._view.show_path(str(path))

    def typed(self, text: str) -> None:
        """Read a picture beside the window and keep it with the feature at hand."""
        of = self._of()
        if self._keeper.desk.is_closed or of is None or not text:
            words = CLOSED if self._keeper.desk.is_closed else NO_PICTURE if of is not None else NO_QUESTION
            self._view.say(words, is_problem=True)
            return
        path = as_path(text)
        self._runner.run(
            lambda: self._files.read_file(path),
            done=lambda raw: self._read(raw, path.name, of),
            failed=self._not_kept,
        )

    def _read(self, raw: bytes, file_name: str, of: str) -> None:
        try:
            body = self._keeper.desk.photo_body(raw, file_name=file_name, of=of)
        except BenchError as error:
            self._not_kept(error)
            return

        def kept(entry: Entry, _: Any) -> None:
            self._view.show_path("")
            self._view.say(f"Photo of {of}. Kept as entry {entry.n}.")
            self.show(self._of())

        self._keeper.keep(body, kept=kept, failed=self._not_kept, picture=raw)

    def _not_kept(self, error: Exception) -> None:
        self._view.say(f"Not saved. {error_words(error)}", is_problem=True)
        if not isinstance(error, BenchError):
            raise error
