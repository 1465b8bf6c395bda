"""The page that shows the guide: text from the program's own folder, nothing from anywhere else."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import (
    QImage,
    QPalette,
    QResizeEvent,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
)
from PySide6.QtWidgets import QHBoxLayout, QTextBrowser, QVBoxLayout, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.guide.topics import FIRST, Target, shown_markdown, slug, target_of
from valvebench.ui.guide.typesetting import set_out
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.aside_page import AsidePage
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.focus_ring import FocusRing
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import use_quiet_bars

NOT_HERE: Final = "This page of the guide is not there. Contents leads to the others."
LEADS_OUT: Final = "That link leads out of the guide, and nothing is fetched from elsewhere: "
_TEXT_PX: Final = 15


class GuideText(QTextBrowser):
    """Reads files of the guide's folder only."""

    def __init__(self, folder: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._folder = folder.resolve()
        self.page_folder = self._folder
        self.setAccessibleName("Guide")
        self.setFrameShape(QTextBrowser.Shape.NoFrame)
        self.setOpenLinks(False)
        use_quiet_bars(self, is_on_card=True)
        FocusRing(self)
        # Always counted, so that a picture made for the width at hand fits whatever follows it.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def show_text(self, text: str) -> None:
        """Show Markdown; what can be followed is underlined, since links have the colour of the text."""
        self.setMarkdown(text)
        set_out(self.document())
        underlined, cursor = QTextCharFormat(), QTextCursor(self.document())
        underlined.setFontUnderline(True)
        for start, length in _links(self.document()):
            cursor.setPosition(start)
            cursor.setPosition(start + length, QTextCursor.MoveMode.KeepAnchor)
            cursor.mergeCharFormat(underlined)

    def loadResource(self, kind: int, name: QUrl | str) -> Any:
        """A picture of the guide, never wider than the page; anything else is nothing."""
        name = QUrl(name)
        path = (self.page_folder / name.path()).resolve()
        is_picture = kind == QTextDocument.ResourceType.ImageResource.value
        if not is_picture or name.scheme() or not path.is_relative_to(self._folder):
            return None
        picture = QImage(str(path))
        room = self.viewport().width() - fonts.whole_px(40)
        smooth = Qt.TransformationMode.SmoothTransformation
        return picture.scaledToWidth(room, smooth) if 0 < room < picture.width() else picture


def _links(document: QTextDocument) -> list[tuple[int, int]]:
    """Where the links stand: first sign and length."""
    found, block = [], document.begin()
    while block.isValid():
        pieces = block.begin()
        while not pieces.atEnd():
            piece = pieces.fragment()
            if piece.charFormat().isAnchor():
                found.append((piece.position(), piece.length()))
            pieces += 1
        block = block.next()
    return found


class GuidePage(AsidePage):
    """A page of the guide with its way back."""

    def __init__(self, folder: Path, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._folder, self._trail = folder, [Target(folder / FIRST, "")]
        self.text = GuideText(folder)
        self.done, self.contents = Button("Done", key="Esc", is_primary=True), Button("Contents")
        self.said = MessageLine()
        self._card, self._page, self._foot = Card("Guide"), QVBoxLayout(self), QHBoxLayout()
        self._build()

    def _build(self) -> None:
        self._card.body.addWidget(self.text, 1)
        self._page.addWidget(self._card, 1)
        self._page.addWidget(self.said)
        self._foot.addWidget(self.contents)
        self._foot.addStretch(1)
        self._foot.addWidget(self.done)
        self._page.addLayout(self._foot)
        self.text.anchorClicked.connect(self._follow)
        self.contents.clicked.connect(self._to_contents)
        self.done.clicked.connect(self.left)
        add_page_keys(self, ("Alt+Left", self.back, "The page of the guide before, or back to where one was"))
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side = fonts.whole_px(16)
        self._page.setContentsMargins(side, side, side + fonts.whole_px(4), side)
        self._page.setSpacing(fonts.whole_px(8))
        self.text.setMinimumHeight(fonts.whole_px(240))
        self.text.setFont(fonts.font(_TEXT_PX))

    def show_topic(self, name: str) -> None:
        """Open a page of the guide, by the name of its file."""
        self._trail = []
        self._go(Target(self._folder / name, ""))

    def words(self) -> str:
        """The text that is shown."""
        return self.text.toPlainText()

    def _go(self, target: Target) -> None:
        self._trail.append(target)
        self._show(target)

    def _show(self, target: Target) -> None:
        self._dress()
        self.text.page_folder = target.path.parent
        try:
            text = target.path.read_text("utf-8")
        except OSError:
            text = NOT_HERE
        self.text.show_text(shown_markdown(text, is_dark=theme.current().name == theme.DARK.name))
        self.said.show_message("", icon="note")
        self._scroll_to(target.anchor)

    def _dress(self) -> None:
        """The text has the colours of the card it lies on."""
        palette, card = self.text.palette(), theme.colour(theme.current().card)
        palette.setColor(QPalette.ColorRole.Base, card)
        self.text.setPalette(palette)

    def _scroll_to(self, anchor: str) -> None:
        block = self.text.document().begin()
        while anchor and block.isValid():
            if block.blockFormat().headingLevel() and slug(block.text()) == anchor:
                top = self.text.document().documentLayout().blockBoundingRect(block).top()
                self.text.verticalScrollBar().setValue(round(top))
                return
            block = block.next()
        self.text.verticalScrollBar().setValue(0)

    def _follow(self, link: QUrl) -> None:
        target = target_of(link.toString(), page=self._trail[-1].path, guide=self._folder)
        if target is None:
            self.said.show_message(LEADS_OUT + link.toString(), icon="problem")
        else:
            self._go(target)

    def _to_contents(self) -> None:
        self._go(Target(self._folder / FIRST, ""))
        self.begin()

    def back(self) -> None:
        """The page before, or out of the guide."""
        if len(self._trail) > 1:
            self._trail.pop()
            self._show(self._trail[-1])
        else:
            self.left.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Pictures take the new width."""
        super().resizeEvent(event)
        if event.oldSize().width() != event.size().width() and self.isVisible():
            place = self.text.verticalScrollBar().value()
            self._show(self._trail[-1])
            self.text.verticalScrollBar().setValue(place)

    def begin(self) -> None:
        """The text has the keyboard: arrows scroll, Tab goes to its links."""
        self.text.setFocus(Qt.FocusReason.OtherFocusReason)
