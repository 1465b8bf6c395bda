"""Whatever is typed by a customer is shown as it stands: never as markup, never as a shortcut."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QTextDocument
from PySide6.QtWidgets import QLabel, QWidget

import valvebench.ui
from valvebench.model.words import Verdict
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import PinSpot
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.strip import Strip
from valvebench.ui.widgets.text import ElidedText, Text

MARKUP = "<b>bold</b> & <img src=x onerror=alert(1)>"


def filled(text: str) -> QWidget:
    page = QWidget()
    strip, face, card = Strip(page), Face(text, page), Card(text, aside=text, parent=page)
    strip.set_cell("job", text, text)
    strip.set_verdict(Verdict.PASS, text, text)
    face.drawing.set_pins([PinSpot(name="1", x=0, y=0), PinSpot(name=text, x=1, y=0)])
    face.drawing.set_state("1", Verdict.PASS, text)
    for made in (Text(text, parent=page), ElidedText(text, parent=page), MessageLine(text, parent=page)):
        card.body.addWidget(made)
    for made in (Button(text, parent=page), KeyCap(text, text, page), Rail((text,), parent=page)):
        card.body.addWidget(made)
    return page


def test_every_label_is_plain(qtbot):
    page = filled(MARKUP)
    qtbot.addWidget(page)
    labels = page.findChildren(QLabel)
    assert len(labels) > 10
    assert {label.textFormat() for label in labels} == {Qt.TextFormat.PlainText}


def test_tooltips_show_the_text_itself(qtbot):
    page = filled(MARKUP)
    qtbot.addWidget(page)
    tips = [w.toolTip() for w in page.findChildren(QWidget) if MARKUP[:3] in w.toolTip() or "bold" in w.toolTip()]
    assert tips
    for each in tips:
        document = QTextDocument()
        document.setHtml(each)
        assert MARKUP in document.toPlainText()


def test_an_ampersand_makes_no_shortcut(qtbot):
    button = Button("Nuts & bolts")
    qtbot.addWidget(button)
    assert button.shortcut().isEmpty()
    assert button.accessibleName() == "Nuts & bolts"


def test_markup_takes_the_width_of_its_letters(qtbot):
    label = Text(MARKUP)
    qtbot.addWidget(label)
    assert label.sizeHint().width() >= paint.text_width(MARKUP, label.font()) - 1


def test_naughty_strings_are_drawn_and_survive(qtbot, naughty):
    page = filled("")
    qtbot.addWidget(page)
    strip, message, words = page.findChild(Strip), page.findChild(MessageLine), page.findChild(Text)
    for text in naughty:
        strip.set_cell("job", text, text)
        message.show_message(text)
        words.setText(text)
        assert message.words() == text
        # Qt drops a byte order mark, of either order, at the start; it has no width anyway.
        assert strip.cell("job").head.text() == paint.one_line(text).lstrip("\ufeff\ufffe")
        strip.cell("job").head.grab()
        message.grab()


@pytest.mark.parametrize("idiom", ["setStyleSheet", "setWeight(", "setBold", "<b>", "import pyqtgraph", "import numpy"])
def test_the_widgets_stay_clear_of(idiom):
    root = Path(valvebench.ui.__file__).parent
    sources = [root / "theme.py", root / "fonts.py", *(root / "widgets").glob("*.py")]
    assert not [path.name for path in sources if idiom in path.read_text(encoding="utf-8")]
