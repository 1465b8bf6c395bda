"""What is shown beside the work, settings and keys, and how settings take effect."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication, QStackedWidget, QWidget
from shiboken6 import isValid

from valvebench.model.errors import BadInput
from valvebench.ui import fonts, theme
from valvebench.ui.settings import HIGHEST_ZOOM, LOWEST_ZOOM, SettingsHolder
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.scroll import Page, ScrollPage

if TYPE_CHECKING:
    from valvebench.ui.guide.view import GuidePage
    from valvebench.ui.shortcuts import KeysPage
    from valvebench.ui.start.settings_card import SettingsPage


class Frame(Protocol):
    """What the window lends."""

    pages: QStackedWidget
    rail: Rail
    settings: SettingsHolder

    def guide_folder(self) -> Path:
        """Where the guide lies."""
        ...

    def named_pages(self) -> list[tuple[str, QWidget]]:
        """The pages with keys of their own."""
        ...


class Asides(QObject):
    """Pages that go away again to where one was."""

    def __init__(self, frame: Any) -> None:
        super().__init__(frame)
        self._frame: Frame = frame
        self.settings_page: SettingsPage | None = None
        self.keys_page: KeysPage | None = None
        self.guide_page: GuidePage | None = None
        self._scrolls: dict[QWidget, ScrollPage] = {}
        self._before: tuple[QWidget, QWidget | None, str] | None = None

    # -- settings --------------------------------------------------------------------------

    def apply(self) -> None:
        """Dress the window as the settings say."""
        settings, app = self._frame.settings.now, QApplication.instance()
        if isinstance(app, QApplication) and theme.current().name != settings.palette:
            theme.apply(app, settings.palette)
        fonts.set_zoom(settings.zoom)

    def change(self, changes: dict[str, Any]) -> None:
        """Take new values; they hold at once."""
        holder = self._frame.settings
        changed = {name: value for name, value in changes.items() if getattr(holder.now, name) != value}
        if not changed:
            return
        try:
            holder.change(**changed)
        except BadInput as error:
            if self.settings_page is not None:
                self.settings_page.say(error.problems[0].text())
            return
        self.apply()
        if self.settings_page is not None:
            self.settings_page.show_settings(holder.now)

    def change_zoom(self, zoom: float) -> None:
        """Larger or smaller, within bounds."""
        self.change({"palette": theme.current().name, "zoom": min(HIGHEST_ZOOM, max(LOWEST_ZOOM, zoom))})

    def next_palette(self) -> None:
        """Light, dark, high contrast, and light again."""
        names = list(theme.THEMES)
        following = names[(names.index(theme.current().name) + 1) % len(names)]
        self.change({"palette": following, "zoom": fonts.zoom.factor})

    # -- pages -----------------------------------------------------------------------------

    def show_settings(self) -> None:
        """The page of settings."""
        if self.settings_page is None:
            from valvebench.ui.start.settings_card import SettingsPage

            self.settings_page = SettingsPage()
            self.settings_page.changed.connect(self.change)
            self.settings_page.left.connect(self.back)
            self._add(self.settings_page, "Settings")
        self.settings_page.show_settings(self._frame.settings.now)
        self._show(self.settings_page)

    def show_keys(self) -> None:
        """The overview of keys, made from the shortcuts that are there now."""
        from valvebench.ui.shortcuts import EVERYWHERE, KeysPage, keys_of

        if self.keys_page is None:
            self.keys_page = KeysPage()
            self.keys_page.left.connect(self.back)
            self._add(self.keys_page, "Keys")
        named = self._frame.named_pages()
        frame: Any = self._frame
        keys = keys_of(EVERYWHERE, frame, below=[page for _, page in named])
        for word, page in named:
            keys += keys_of(word, page)
        self.keys_page.show_keys(keys)
        self._show(self.keys_page)

    def show_guide(self) -> None:
        """The guide, at the page that belongs to the one in front."""
        from valvebench.ui.guide.topics import topic_of
        from valvebench.ui.guide.view import GuidePage

        if self.guide_page is None:
            self.guide_page = GuidePage(self._frame.guide_folder())
            self.guide_page.left.connect(self.back)
            self._add(self.guide_page, "Guide")
        shown = self._frame.pages.currentWidget()
        if shown is not None and shown not in self._scrolls.values():
            self.guide_page.show_topic(topic_of(shown.accessibleName()))
        self._show(self.guide_page)

    def _add(self, page: Page, name: str) -> None:
        self._scrolls[page] = ScrollPage(page, name=name)
        self._frame.pages.addWidget(self._scrolls[page])

    def _show(self, page: SettingsPage | KeysPage | GuidePage) -> None:
        shown = self._frame.pages.currentWidget()
        if shown is not None and shown not in self._scrolls.values():
            self._before = (shown, QApplication.focusWidget(), self._frame.rail.current())
        self._frame.rail.set_current("")
        self._frame.pages.setCurrentWidget(self._scrolls[page])
        page.begin()

    def back(self) -> None:
        """To where one was, the keyboard too."""
        before, self._before = self._before, None
        if before is None or self._frame.pages.indexOf(before[0]) < 0:
            return
        page, keyboard, word = before
        self._frame.rail.set_current(word)
        self._frame.pages.setCurrentWidget(page)
        if keyboard is not None and isValid(keyboard):
            keyboard.setFocus()
