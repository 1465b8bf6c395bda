"""Makes the walk over an unknown connector for one open session and connects it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, Protocol

from valvebench.bench.variants import VariantFiles
from valvebench.ui.hand.naming import NamingPresenter
from valvebench.ui.hand.presenter import HandPresenter
from valvebench.ui.hand.view import HandPage
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.set_up import SetUp
from valvebench.ui.settings import SettingsHolder

_SET_UP: Final = "Job"
"""The page that holds meter, leads and coil temperature."""


class Frame(Protocol):
    """What the window does for the walk."""

    def show_page(self, word: str) -> None:
        """One of the pages of the rail."""
        ...

    def show_editor(self, path: Path | None = None) -> None:
        """The variant editor on a file."""
        ...

    def check_with(self, path: Path) -> None:
        """A new bench check with a variant."""
        ...

    def variant_saved(self, _: Path) -> None:
        """Offer a variant to new jobs."""
        ...


class HandServices(Protocol):
    """What saving a variant asks of the world."""

    def variant_files(self) -> VariantFiles:
        """Saves variant files."""
        ...

    def variants_folder(self, folder: str) -> Path:
        """Where the user's own variant files go."""
        ...


class Hand:
    """Page and presenters of one open session, connected with each other and with the window."""

    def __init__(
        self,
        keeper: Keeper,
        runner: Runs,
        services: HandServices,
        settings: SettingsHolder,
        *,
        set_up: SetUp,
        set_up_changed: Callable[[SetUp], None],
        frame: Frame,
    ) -> None:
        self.page, self._frame = HandPage(), frame
        self.names = NamingPresenter(
            self.page,
            keeper,
            runner,
            services.variant_files(),
            folder=lambda: services.variants_folder(settings.now.variants_folder),
            saved=frame.variant_saved,
        )
        self.walk = HandPresenter(
            self.page, keeper, runner, set_up=set_up, set_up_changed=set_up_changed, name_them=self.names.begin
        )
        _connect_walk(self.page, self.walk)
        _connect_names(self.page, self.names)
        self.page.question.set_up_asked.connect(self._to_set_up)
        self.page.saved.editor_asked.connect(self._to_editor)
        self.page.saved.check_asked.connect(self._to_check)

    def _to_set_up(self) -> None:
        self._frame.show_page(_SET_UP)

    def _to_editor(self) -> None:
        if self.names.path is not None:
            self._frame.show_editor(self.names.path)

    def _to_check(self) -> None:
        if self.names.path is not None:
            self._frame.check_with(self.names.path)


def _connect_walk(page: HandPage, walk: HandPresenter) -> None:
    card = page.question
    card.typed.connect(walk.typed)
    card.kept.connect(walk.keep)
    card.opened.connect(walk.keep_open)
    card.previous_asked.connect(walk.previous)
    card.skip_asked.connect(walk.skip)
    card.repeat_asked.connect(walk.repeat)
    card.names_asked.connect(walk.name_now)
    page.pin_chosen.connect(walk.pin_chosen)
    page.undo_asked.connect(walk.undo)
    page.redo_asked.connect(walk.redo)


def _connect_names(page: HandPage, names: NamingPresenter) -> None:
    page.part.typed.connect(names.part_typed)
    page.body.typed.connect(names.body_typed)
    for card in (page.part, page.body):
        card.back_asked.connect(names.back)
        card.left.connect(names.leave)
    page.saved.left.connect(names.leave)
