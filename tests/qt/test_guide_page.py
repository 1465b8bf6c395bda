"""The guide inside the program: its own folder only, links, the way back, the pictures of the palette."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QTextDocument
from PySide6.QtTest import QTest

from valvebench import compose
from valvebench.ui.guide.topics import FIRST, TOPICS, shown_markdown, target_of
from valvebench.ui.guide.view import LEADS_OUT, GuidePage

GUIDE = compose.data_folder() / "resources" / "guide"
IMAGE = QTextDocument.ResourceType.ImageResource.value


@pytest.fixture
def page(qtbot):
    made = GuidePage(GUIDE)
    qtbot.addWidget(made)
    made.resize(1000, 700)
    with qtbot.waitExposed(made):
        made.show()
    made.show_topic("bench.md")
    return made


def left_by(qtbot, page, key, modifier=Qt.KeyboardModifier.NoModifier):
    with qtbot.waitSignal(page.left):
        QTest.keyClick(page.text, key, modifier)


def test_a_page_opens_with_its_text(page):
    assert page.words().startswith("A first bench check")


def test_headings_stand_off_and_are_heavy_by_the_axis_alone(page):
    """LOOK: room in multiples of 4; a weight set beside the axis would smear the letters."""
    block = page.text.document().begin()
    headings = []
    while block.isValid():
        if block.blockFormat().headingLevel() == 2:
            headings.append(block)
        block = block.next()
    assert headings
    for heading in headings:
        room, font = heading.blockFormat(), heading.begin().fragment().charFormat().font()
        assert (room.topMargin(), room.bottomMargin()) == (20, 8)
        assert (font.weight(), font.pixelSize()) == (400, 17)


def test_escape_leaves(qtbot, page):
    page.begin()
    left_by(qtbot, page, Qt.Key.Key_Escape)


def test_a_link_is_followed_and_back_returns_before_it_leaves(qtbot, page):
    page.text.anchorClicked.emit(QUrl("safety.md"))
    assert page.words().startswith("Safety")
    page.back()
    assert page.words().startswith("A first bench check")
    with qtbot.waitSignal(page.left):
        page.back()


@pytest.mark.parametrize("link", ["https://example.org/x.md", "../../pyproject.toml", "gone.md", "../../README.md"])
def test_a_link_out_of_the_guide_is_refused_in_words(page, link):
    page.text.anchorClicked.emit(QUrl(link))
    assert page.said.words() == LEADS_OUT + link
    assert page.words().startswith("A first bench check")


@pytest.mark.parametrize("name", ["https://example.org/a.png", "file:///etc/hostname", "../../icons/valvebench.png"])
def test_nothing_is_read_from_outside_the_guide(page, name):
    assert page.text.loadResource(IMAGE, QUrl(name)) is None


def test_pictures_are_there_and_no_wider_than_the_page(page):
    picture = page.text.loadResource(IMAGE, QUrl("pictures/start-light.png"))
    assert 0 < picture.width() <= page.text.viewport().width()


def test_pictures_follow_the_palette():
    text = (GUIDE / "bench.md").read_text("utf-8")
    assert "](pictures/start-dark.png)" in shown_markdown(text, is_dark=True)
    assert "](pictures/start-light.png)" in shown_markdown(text, is_dark=False)
    assert "<picture>" not in shown_markdown(text, is_dark=False)


def test_a_link_to_a_heading_names_it():
    found = target_of("numbers.md#x", page=GUIDE / FIRST, guide=GUIDE)
    assert (found.path.name, found.anchor) == ("numbers.md", "x")


def test_a_page_that_is_gone_says_so(page):
    page.show_topic("nothing.md")
    assert "is not there" in page.words()


def test_every_topic_is_there():
    assert [name for name in TOPICS.values() if not (GUIDE / name).is_file()] == []


def test_links_can_be_seen(page):
    cursor = page.text.document().find("safety")
    assert cursor.charFormat().isAnchor()
    assert cursor.charFormat().fontUnderline()
