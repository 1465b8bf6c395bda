"""The variant library by keyboard alone: found, copied, compared, removed and brought back, and the ways around it."""

from __future__ import annotations

import json

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QFileDialog

from tests.data.made_up import variant_data
from valvebench.model.draft_field import Part
from valvebench.model.variant_draft import Spot
from valvebench.ui.start.drops import Dropped, Kind

CTRL = Qt.KeyboardModifier.ControlModifier
KEY = Qt.Key


@pytest.fixture
def person(open_window):
    """At the library, once it was read: three examples and nothing of one's own."""
    person = open_window()
    person.key(KEY.Key_E, CTRL)
    person.wait(lambda: person.window.variants.page.list.model.rowCount() == 3)
    return person


def page_of(person):
    return person.window.variants.page


def keys_of(person):
    model = page_of(person).list.model
    return [model.index(row, 0).data() for row in range(model.rowCount())]


def test_found_as_typed_and_opened_as_a_copy(person):
    assert page_of(person).list.search.entry.hasFocus()
    person.type("body 3")
    assert keys_of(person) == ["tern-body-3"]
    assert page_of(person).told.name.text() == "Quillon Tern, body 3"
    person.key(KEY.Key_Return)
    person.wait(lambda: person.window.editor is not None and person.window.editor.presenter.title().endswith("body 3"))
    editor = person.window.editor.page
    assert editor.isVisible()
    assert (editor._state.text(), "A copy of an example" in editor._said.words()) == ("new", True)
    person.key(KEY.Key_W, CTRL)
    assert page_of(person).isVisible()
    person.key(KEY.Key_W, CTRL)
    assert person.window.start_page.isVisible()


def test_copied_removed_and_brought_back_by_keys(person, tmp_path):
    own = tmp_path / "own variants"
    person.key(KEY.Key_Down)
    person.key(KEY.Key_D, CTRL)
    person.wait(lambda: keys_of(person)[0] == "tern-body-2-copy")
    assert page_of(person).told.name.text() == "Quillon Tern, body 2 (copy)"
    person.key(KEY.Key_Delete, CTRL)
    told = page_of(person).told
    assert told.remove.hasFocus()
    person.key(KEY.Key_Escape)
    assert (own / "tern-body-2-copy.json").is_file(), "Escape keeps it"
    assert page_of(person).list.search.entry.hasFocus()
    person.key(KEY.Key_Delete, CTRL)
    person.key(KEY.Key_Return)
    person.wait(lambda: len(keys_of(person)) == 3)
    assert [path.name for path in own.glob("*.json*")] == ["tern-body-2-copy.json.removed"]
    assert len(list(own.glob("*.png"))) == 3, "photos stay: another variant may stand on them"
    person.key(KEY.Key_Z, CTRL)
    person.wait(lambda: len(keys_of(person)) == 4)
    assert [path.name for path in own.glob("*.json*")] == ["tern-body-2-copy.json"]


def test_two_side_by_side_by_keys(person):
    person.key(KEY.Key_F8)
    told = page_of(person).told
    assert told.other.box.hasFocus()
    assert told.compared.rowCount() > 50
    assert "5 points that must match" in told.summary.text()
    box = told.other.box
    box.setCurrentIndex(1)
    box.activated.emit(1)
    assert (told.other.word()[-16:], "5 points" in told.summary.text()) == ("tern-body-3.json", False)
    person.key(KEY.Key_Escape)
    assert told.told_table.isVisible()
    assert page_of(person).list.search.entry.hasFocus()


def test_a_file_dropped_on_the_library_is_imported_or_refused_with_every_problem(person, tmp_path):
    bad, good = tmp_path / "bad.json", tmp_path / "good.json"
    bad.write_text('{"format": 1}')
    good.write_text(json.dumps(variant_data(key="marsh", title="Marsh Tern")))
    person.window._dropped(Dropped(Kind.VARIANT, bad))
    person.wait(page_of(person).told.troubles_table.isVisible)
    assert page_of(person).told.troubles.rowCount() == 3
    person.key(KEY.Key_Escape)
    person.window._dropped(Dropped(Kind.VARIANT, good))
    person.wait(lambda: "marsh" in keys_of(person))
    box = person.window.start_page.new.variant.box
    assert "Marsh Tern" in [box.itemText(i) for i in range(box.count())], "the next job can have it"


def test_from_an_open_job_straight_to_its_own_variant_and_back(open_window, sample):
    person = open_window(sample("in-work"))
    person.key(KEY.Key_E, CTRL)
    person.wait(
        lambda: person.window.editor is not None and person.window.editor.presenter.title() == "Quillon Tern, body 2"
    )
    assert person.window.editor.page.isVisible()
    person.key(KEY.Key_W, CTRL)
    assert person.window.pins_page.isVisible()
    person.window.show_page("Variants")
    page = page_of(person)
    assert page.isVisible()
    assert page.buttons["job"].isVisible()
    page.buttons["job"].setFocus()
    person.key(KEY.Key_Space)
    assert person.window.editor.page.isVisible()
    person.window.show_page("Variants")
    person.wait(lambda: page.list.model.rowCount() == 3)
    person.key(KEY.Key_W, CTRL)
    assert person.window.pins_page.isVisible()


def test_the_editor_names_what_no_feature_tells_apart_from_ones_own(person):
    person.key(KEY.Key_Down)
    person.key(KEY.Key_D, CTRL)
    person.wait(lambda: len(keys_of(person)) == 4)
    person.key(KEY.Key_D, CTRL)
    person.wait(lambda: len(keys_of(person)) == 5)
    person.key(KEY.Key_Return)
    person.wait(lambda: person.window.editor is not None and person.window.editor.presenter.title().endswith("(copy)"))

    def told():
        return [lack.words for lack in person.window.editor.presenter.checked.lacks]

    person.wait(lambda: any("no feature tells it from" in words for words in told()))


def test_a_new_variant_is_offered_a_place_where_the_library_lists_it(person, monkeypatch, tmp_path):
    person.key(KEY.Key_N, CTRL)
    editor = person.window.editor
    for key, text in (("key", "marsh"), ("title", "Marsh Tern")):
        editor.presenter.cell_typed(Spot(Part.BODY, 0, key), text)
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *words: (words[2], ""))
    person.key(KEY.Key_S, CTRL)
    person.wait(lambda: editor.page._state.text() == "saved")
    assert (tmp_path / "own variants" / "marsh.json").is_file()
    person.key(KEY.Key_W, CTRL)
    person.wait(lambda: "marsh" in keys_of(person))


def test_what_is_being_written_is_where_the_key_leads(person):
    person.key(KEY.Key_N, CTRL)
    editor = person.window.editor
    editor.presenter.cell_typed(Spot(Part.BODY, 0, "title"), "Mine")
    person.window.show_start()
    person.key(KEY.Key_E, CTRL)
    assert editor.page.isVisible()
    editor.presenter.undo()
    QApplication.processEvents()
