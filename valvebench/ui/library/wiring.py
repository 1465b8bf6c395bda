"""The ways to variants: the library, the editor in it, and from each back to where one was."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from valvebench.model.errors import BenchError
from valvebench.ui.errors import raised
from valvebench.ui.frame import EDITOR, VARIANTS
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import Listed
from valvebench.ui.settings import SettingsHolder
from valvebench.ui.start.drops import Dropped, Kind

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.bench.library import Library, OnShelf
    from valvebench.bench.variants import VariantFiles
    from valvebench.ui.editor.wiring import Editor
    from valvebench.ui.library.presenter import LibraryPresenter
    from valvebench.ui.library.view import LibraryPage
    from valvebench.ui.start.view import StartPage

EXAMPLE_WORDS: Final = "A copy of an example, to work on. Give it a key of its own and save it among your variants."
JOB_WORDS: Final = "Variant of job {job}"


class Services(Protocol):
    """What variants ask of the world."""

    def variant_files(self) -> VariantFiles:
        """Opens and saves variant files."""
        ...

    def library(self, folder: str) -> Library:
        """The user's own variants and the examples."""
        ...

    def variants_folder(self, folder: str) -> Path:
        """Where the user's own variant files go, made where it is missing (raises WorldFailed)."""
        ...


class Frame(Protocol):
    """What the window lends."""

    runner: QtRunner
    settings: SettingsHolder
    rail: Any
    desk: Desk | None

    @property
    def start_page(self) -> StartPage | None:
        """The page of the ways in, once it was shown."""
        ...

    def add_page(self, page: QWidget, name: str) -> None:
        """Put a page into the window."""
        ...

    def bring_forward(self, page: QWidget) -> None:
        """Show a page."""
        ...

    def is_in_front(self, page: QWidget) -> bool:
        """Whether it is shown."""
        ...

    def leave_variants(self) -> None:
        """To the open session, else to the ways in."""
        ...


class Variants(QObject):
    """Library and editor of one window, each made when somebody first asks for it."""

    def __init__(self, frame: Any, services: Services) -> None:
        super().__init__(frame)
        self._frame: Frame = frame
        self._services = services
        self.editor: Editor | None = None
        self.page: LibraryPage | None = None
        self.presenter: LibraryPresenter | None = None
        self._is_from_library = False
        self._libraries: dict[str, Library] = {}

    def pages(self) -> list[tuple[str, QWidget | None]]:
        """The pages that are there, by their words."""
        return [(VARIANTS, self.page), (EDITOR, self.editor.page if self.editor is not None else None)]

    def _library(self) -> Library:
        """One for each folder: it reads only what has changed."""
        folder = self._frame.settings.now.variants_folder
        if folder not in self._libraries:
            self._libraries[folder] = self._services.library(folder)
        return self._libraries[folder]

    def _shelves(self) -> tuple[OnShelf, ...]:
        """What the folders hold; none where they cannot be read, which the page of the library tells."""
        try:
            return self._library().files()
        except (BenchError, OSError):
            return ()

    def _own_folder(self) -> Path | None:
        """Where the library looks for one's own; None where it cannot be made."""
        try:
            return self._services.variants_folder(self._frame.settings.now.variants_folder)
        except BenchError:
            return None

    # -- ways in ---------------------------------------------------------------------------

    def show(self) -> None:
        """What is being written, else the variant of the open job, else the library."""
        is_writing = self.editor is not None and self.editor.presenter.is_changed
        if is_writing or self._frame.desk is not None:
            self.show_editor()
        else:
            self.show_library()

    def show_library(self) -> None:
        """The list of variants, read anew."""
        page, presenter = self._made()
        desk = self._frame.desk
        has_own = desk is not None and desk.variant_file() is not None
        page.offer_job(JOB_WORDS.format(job=desk.job.job) if desk is not None and has_own else "")
        self._frame.rail.set_current(VARIANTS)
        self._frame.bring_forward(page)
        presenter.refresh()
        page.begin()

    def show_editor(self, path: Path | None = None, *, is_from_library: bool = False) -> None:
        """The editor, on a file if one is named, else on a copy of the variant of the open job."""
        editor = self._the_editor()
        self._is_from_library = is_from_library
        self._frame.rail.set_current(VARIANTS)
        self._frame.bring_forward(editor.page)
        if path is not None:
            editor.presenter.open(path)
        elif not is_from_library:
            editor.offer(self._frame.desk)
        editor.page.begin()

    def _the_editor(self) -> Editor:
        from valvebench.ui.editor.wiring import Editor

        if self.editor is None:
            self.editor = Editor(self._services.variant_files(), self._frame.runner, saved=self._saved)
            self.editor.page.left.connect(self._editor_left)
            self.editor.page.own_folder = self._own_folder
            self._frame.add_page(self.editor.page, EDITOR)
            self._frame.runner.run(self._shelves, done=self.shelves_changed, failed=raised)
        return self.editor

    def _made(self) -> tuple[LibraryPage, LibraryPresenter]:
        from valvebench.ui.library.presenter import LibraryPresenter
        from valvebench.ui.library.view import LibraryPage

        if self.page is None or self.presenter is None:
            self.page = LibraryPage()
            self.presenter = LibraryPresenter(self.page, self._library, self._frame.runner, self)
            connect(self.page, self.presenter)
            self.page.new_asked.connect(self._new_asked)
            self.page.file_chosen.connect(self.edit)
            self.page.job_asked.connect(self._job_asked)
            self.page.left.connect(self._frame.leave_variants)
            self._frame.add_page(self.page, VARIANTS)
        return self.page, self.presenter

    # -- what the library asks -------------------------------------------------------------

    def edit(self, path: Path) -> None:
        """A file in the editor."""
        self.show_editor(path, is_from_library=True)

    def edit_copy(self, path: Path) -> None:
        """A copy of a file in the editor; nothing is on disk until it is saved under a name."""
        self.show_editor(is_from_library=True)
        self._the_editor().copy_file(path, EXAMPLE_WORDS)

    def shelves_changed(self, shelves: Sequence[OnShelf]) -> None:
        """The editor holds its draft against the user's own, and new jobs can have them."""
        own = [shelf for shelf in shelves if not shelf.is_example]
        if self.editor is not None:
            self.editor.presenter.set_others([shelf.variant for shelf in own if shelf.variant is not None])
        start = self._frame.start_page
        if start is not None:
            named = [Listed(one.variant.title, one.path.stem, one.path) for one in own if one.variant is not None]
            start.show_own_variants(named, folder=self._library().own)

    def _job_asked(self) -> None:
        self.show_editor()

    def _new_asked(self) -> None:
        self.show_editor(is_from_library=True)
        self._the_editor().presenter.new()

    # -- afterwards ------------------------------------------------------------------------

    def _saved(self, path: Path) -> None:
        self.offer(path, self._the_editor().presenter.title())
        if self.presenter is not None:
            self.presenter.refresh(choose=path)

    def offer(self, path: Path, title: str = "") -> None:
        """What was just written is what the next job is most likely about."""
        if self._frame.start_page is not None:
            self._frame.start_page.choose_variant(path, title or path.stem)

    def _editor_left(self) -> None:
        if self._is_from_library:
            self.show_library()
        else:
            self._frame.leave_variants()

    def takes(self, thing: Dropped) -> bool:
        """Whether what was dropped belongs to the page of variants in front, which then has it."""
        if thing.kind is Kind.PHOTO and self.editor is not None and self._frame.is_in_front(self.editor.page):
            self.editor.page.photo_dropped(thing.path)
            return True
        if thing.kind is Kind.VARIANT and self.page is not None and self._frame.is_in_front(self.page):
            self.page.files_chosen.emit((thing.path,))
            return True
        return False


def connect(page: LibraryPage, presenter: LibraryPresenter) -> None:
    """Every signal of the page to what it asks for."""
    told = page.told
    page.list.typed.connect(presenter.typed)
    page.list.chosen.connect(presenter.chosen)
    page.list.opened.connect(presenter.open_asked)
    told.open_asked.connect(presenter.open_asked)
    told.duplicate_asked.connect(presenter.duplicate_asked)
    told.compare_asked.connect(presenter.compare_asked)
    told.compare_with.connect(presenter.compare_with)
    told.compare_left.connect(presenter.compare_left)
    told.copy_asked.connect(presenter.copy_compared)
    told.export_asked.connect(presenter.export_asked)
    told.remove_asked.connect(presenter.remove_asked)
    told.remove_confirmed.connect(presenter.remove_confirmed)
    told.keep_asked.connect(presenter.keep_asked)
    page.undo_asked.connect(presenter.undo)
    page.files_chosen.connect(presenter.files_chosen)
    page.folder_chosen.connect(presenter.folder_chosen)
    page.export_chosen.connect(presenter.export_chosen)
    page.export_all_chosen.connect(presenter.export_all_chosen)
