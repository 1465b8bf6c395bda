"""From the part in hand to a variant in the real window, by keyboard alone."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.fakes.hand_bodies import body_of
from valvebench.model.entry import Reading
from valvebench.model.variant_rules import read_variant
from valvebench.ui import fonts
from valvebench.ui.hand.view import HandPage
from valvebench.ui.widgets.pin_button import Standing

KEY = Qt.Key
BODY = body_of(4, [("1", "4", 5.2), ("2", "4", 5.3), ("3", "case", 12.4)])


@pytest.fixture
def person(open_window, program, monkeypatch):
    folder = program._folder / "variants"
    folder.mkdir()
    monkeypatch.setattr(program, "variants_folder", lambda _: folder, raising=False)
    person = open_window()
    person.own_variants = folder
    return person


def hand(person) -> HandPage:
    return person.window.hand.page


def begin(person, pins="4"):
    """The way in has a key of its own."""
    person.key(KEY.Key_N, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    person.type("2221")
    person.key(KEY.Key_Tab)
    person.type(pins)
    person.key(KEY.Key_Enter)
    person.wait(lambda: person.window.hand is not None and hand(person).field.isEnabled())


def readings(person):
    return [entry for entry in person.entries if isinstance(entry.body, Reading)]


def answer(person, body=BODY):
    """One reading as the body would show it; the first open one is asked on which range."""
    walk = person.window.hand.walk
    pair, count = walk.pair, len(readings(person))
    shown = body.shown(pair.red, pair.black, step_ohm=0.1)
    person.type(shown)
    if shown != "*":
        person.key(KEY.Key_Enter)
    elif not any(entry.body.open for entry in readings(person)):
        person.type("60M")
        person.key(KEY.Key_Enter)
    person.wait(lambda: len(readings(person)) == count + 1 and not walk.is_busy)


def walk_over(person, body=BODY):
    while person.window.hand.walk.pair is not None:
        answer(person, body)


def test_from_the_start_page_to_a_saved_variant(person):
    begin(person)
    walk_over(person)
    page = hand(person)
    person.wait(lambda: QApplication.focusWidget() is page.part.name.entry)
    for name in ("Heron", "Curlew"):
        person.type(name)
        person.key(KEY.Key_Enter)
    person.key(KEY.Key_Enter)
    person.wait(lambda: QApplication.focusWidget() is page.body.fields["title"].entry)
    person.type("Tern X")
    person.key(KEY.Key_Enter)
    person.wait(lambda: QApplication.focusWidget() is page.saved.check)
    (path,) = person.own_variants.glob("*.json")
    body = read_variant(path.read_bytes(), source=str(path))
    assert {frozenset(one.between) for one in body.devices} == BODY.wires
    assert [one.name for one in body.devices] == ["Heron", "Curlew", "Coil 3"]
    person.key(KEY.Key_Enter)
    new = person.window.start_page.new
    person.wait(person.window.start_page.isVisible)
    assert new.typed().variant == str(path)
    assert new.typed().kind.value == "bench_check"


def test_the_editor_opens_what_was_saved(person):
    begin(person)
    walk_over(person)
    for _ in range(3):
        person.key(KEY.Key_Enter)
    person.key(KEY.Key_Enter)
    page = hand(person)
    person.wait(lambda: QApplication.focusWidget() is page.saved.check)
    person.key(KEY.Key_Tab)
    person.key(KEY.Key_Enter)
    person.wait(
        lambda: person.window.editor is not None and person.window.editor.presenter.title() == "Body of job 2221"
    )


def test_the_drawing_shows_what_is_known(person):
    begin(person)
    drawing = hand(person).face.drawing
    assert {drawing.pin(name).standing for name in drawing.names()} == {Standing.UNSETTLED}
    walk_over(person)
    assert drawing.pin("4").standing is Standing.COMMON
    assert {(link.a, link.b) for link in drawing._links if link.is_sure} == {("1", "4"), ("2", "4"), ("3", "case")}
    assert "common of 2 parts" in drawing.pin("4").accessibleName()


def test_keys_of_the_walk(person):
    begin(person)
    page, walk = hand(person), person.window.hand.walk
    answer(person)
    first = readings(person)[0].body.pair
    person.key(KEY.Key_Up)
    assert frozenset(walk.pair) == first
    person.key(KEY.Key_Down)
    person.wait(lambda: not walk.is_busy)
    assert frozenset(walk.pair) != first
    person.key(KEY.Key_Slash)
    assert page.face.drawing.is_turned
    person.key(KEY.Key_Z, Qt.KeyboardModifier.ControlModifier)
    person.wait(lambda: not walk.is_busy and len(person.window.desk.session.items) == 1)
    person.key(KEY.Key_F2)
    assert person.job.isVisible()


def test_to_the_walk_and_back_to_the_names(person):
    begin(person)
    walk_over(person)
    page = hand(person)
    page.part.leave.setFocus()
    person.key(KEY.Key_Enter)
    assert QApplication.focusWidget() is page.field.entry
    assert page.question.probe.text() == "the wiring is found"
    person.key(KEY.Key_F4)
    assert QApplication.focusWidget() is page.part.name.entry


def test_a_session_without_variant_or_connector_asks_for_the_pins(person, program):
    made = program.create_job(program._folder / "T-40", {"job": "T-40"}, by="Ann")
    made.release()
    person.window.open_session(program._folder / "T-40")
    person.wait(lambda: person.window.hand is not None and hand(person).field.isEnabled())
    assert hand(person).question.probe.text() == "how many pins?"
    person.type("4")
    person.key(KEY.Key_Enter)
    person.wait(lambda: hand(person).question.probe.text() == "probe 2")
    assert hand(person).face.drawing.names() == ("1", "2", "3", "4", "case")


def test_everything_that_takes_the_keyboard_has_a_name(person):
    begin(person)
    page = hand(person)
    answer(person)
    person.key(KEY.Key_F4)
    nameless = [
        widget
        for widget in page.findChildren(object)
        if hasattr(widget, "focusPolicy")
        and widget.focusPolicy() & Qt.FocusPolicy.TabFocus
        and widget.isVisibleTo(page)
        and not widget.accessibleName()
        and widget.focusProxy() is None
    ]
    assert not nameless


def test_the_guide_opens_at_the_part_in_hand(person):
    begin(person)
    person.key(KEY.Key_F1)
    page = person.window.asides.guide_page
    person.wait(lambda: page is not None and page.isVisible())
    assert "Start from the part in hand" in page.text.toPlainText()


@pytest.mark.parametrize(("width", "height", "zoom"), [(1280, 800, 2.0), (960, 540, 1.5), (640, 480, 1.0)])
def test_nobody_scrolls_sideways(person, width, height, zoom):
    begin(person)
    fonts.set_zoom(zoom)
    person.window.resize(width, height)
    person.wait(lambda: person.window.pages.currentWidget().horizontalScrollBar().maximum() == 0)
