"""Connects the page of the variant editor with its presenter and its history."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from PySide6.QtCore import QObject, Slot

from valvebench.bench.desk import Desk
from valvebench.bench.variants import VariantFiles
from valvebench.model.draft_places import MOST_PINS
from valvebench.model.errors import BadInput
from valvebench.model.numbers import decimal
from valvebench.ui.board_photos import BoardPhotos, FeaturePhoto
from valvebench.ui.editor.history import History
from valvebench.ui.editor.presenter import EditorPresenter
from valvebench.ui.editor.view import EditorPage
from valvebench.ui.photo import shrunk
from valvebench.ui.runner import Runner

COPY_WORDS: Final = (
    "A copy of the variant of job {job}, to work on. The session keeps the one it froze. Ctrl+N begins a new one."
)


class Editor(QObject):
    """Page, history and presenter of one editor, connected."""

    def __init__(
        self,
        files: VariantFiles,
        runner: Runner,
        *,
        saved: Callable[[Path], None] = lambda _: None,
        page: EditorPage | None = None,
    ) -> None:
        super().__init__()
        self.page = page or EditorPage()
        self.history = History(self)
        self._files, self._offered = files, ""
        self.presenter = EditorPresenter(self.page, self.history, files, runner, shrunk=shrunk, saved=saved)
        self._photos = BoardPhotos(runner, raw_of=files.picture, show=self.page.face_card.show_photos)
        self._feature_photo = FeaturePhoto(runner, raw_of=files.picture, show=self.page.face_card.feature.show_photo)
        connect(self.page, self.history, self.presenter)
        self.page.face_card.pin_count_typed.connect(self._count_typed)
        self.page.body.electronics_set.connect(self._electronics_set)
        self.page.photos_wanted.connect(self._photos.want)
        self.page.feature_wanted.connect(self._feature_photo.want)
        self.page.feature_chosen.connect(self.presenter.photos.feature_chosen)
        self.presenter.start()

    def offer(self, desk: Desk | None) -> None:
        """A copy of the variant of the open session, once for each session and never over what is not saved."""
        if desk is None or desk.job.session == self._offered or self.presenter.is_changed:
            return
        self._offered = desk.job.session
        raw = desk.variant_file()
        if raw is not None:
            words = COPY_WORDS.format(job=desk.job.job)
            source = f"the variant of job {desk.job.job}"
            self.presenter.copy(lambda: self._files.copy_of(raw, source=source, blob=desk.photo), words)

    def copy_file(self, path: Path, words: str) -> None:
        """A copy of a file; nothing is on disk until it is saved under a name."""
        self.presenter.copy(lambda: self._files.load(path), words)

    @Slot(str)
    def _count_typed(self, text: str) -> None:
        """A number of pins, or what is wrong with it beside the field."""
        count = _count(text)
        self.page.face_card.show_count_problem("" if count is not None else f"1 to {MOST_PINS}")
        if count is not None:
            self.presenter.pins_wanted(count)

    @Slot(bool)
    def _electronics_set(self, is_on: bool) -> None:  # noqa: FBT001  a slot
        self.presenter.electronics_set(is_on=is_on)


def _count(text: str) -> int | None:
    try:
        number = decimal(text, where="pins") if text else 0.0
    except BadInput:
        return None
    return int(number) if number.is_integer() and 0 <= number <= MOST_PINS else None


def connect(page: EditorPage, history: History, presenter: EditorPresenter) -> None:
    """Every signal of the page to what it asks for."""
    history.changed.connect(presenter.refresh)
    page.new_asked.connect(presenter.new)
    page.open_chosen.connect(presenter.open)
    page.save_asked.connect(presenter.save)
    page.save_as_asked.connect(presenter.save_as)
    page.save_chosen.connect(presenter.save_to)
    page.save_cancelled.connect(presenter.save_cancelled)
    page.undo_asked.connect(presenter.undo)
    page.redo_asked.connect(presenter.redo)
    _connect_edits(page, presenter)


def _connect_edits(page: EditorPage, presenter: EditorPresenter) -> None:
    page.cell_typed.connect(presenter.cell_typed)
    page.cells_cleared.connect(presenter.cells_cleared)
    page.rows_deleted.connect(presenter.rows_deleted)
    page.copied.connect(presenter.copied)
    page.pasted.connect(presenter.pasted)
    page.paste_taken.connect(presenter.paste_taken)
    page.face_card.layout_typed.connect(presenter.layout_set)
    page.face_card.face_chosen.connect(presenter.face_chosen)
    page.face_card.face.pin_moved.connect(presenter.pin_moved)
    page.face_card.face.pin_stepped.connect(presenter.pin_stepped)
    page.face_card.face.pin_chosen.connect(presenter.pin_chosen)
    page.face_card.ports.port_moved.connect(presenter.port_moved)
    page.face_card.ports.port_stepped.connect(presenter.port_stepped)
    page.face_card.ports.port_chosen.connect(presenter.port_chosen)
    page.photo_chosen.connect(presenter.photos.named)
    page.face_card.photo_removed.connect(presenter.photos.removed)
