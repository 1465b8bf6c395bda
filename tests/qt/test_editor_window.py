"""The variant editor in the window: the session's variant as a copy, photos on Ports, its page of the guide."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.data.made_photo import made_photo
from valvebench.bench.pictures import named_picture
from valvebench.compose import Program, variant_file
from valvebench.model.draft_field import Part
from valvebench.model.variant_draft import Spot
from valvebench.model.words import Place
from valvebench.ui.start.drops import what_is

CTRL = Qt.KeyboardModifier.ControlModifier
PHOTO = named_picture(made_photo(size=(300, 200)), file_name="lower half.jpg")


@pytest.fixture
def job(tmp_path):
    """A job whose variant has a photo of the body; beside the file it is gone again."""
    data = json.loads(variant_file("tern-body-2").read_text(encoding="utf-8"))
    data["pictures"] = {"body": {"sha256": PHOTO.picture.sha256, "file": PHOTO.picture.file}}
    path = tmp_path / "with photo.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    path.with_name(PHOTO.picture.file).write_bytes(PHOTO.raw)
    Program().create_job(tmp_path / "T-35", {"job": "T-35", "kind": "bench_check"}, variant=path).release()
    path.with_name(PHOTO.picture.file).unlink()
    return tmp_path / "T-35"


def editor_of(person):
    person.key(Qt.Key.Key_E, CTRL)
    person.window.runner.wait()
    person.wait(lambda: person.window.editor.presenter.title() == "Quillon Tern, body 2")
    return person.window.editor


def test_variants_opens_a_copy_of_the_sessions_variant(open_window, job):
    person = open_window(job)
    editor = editor_of(person)
    assert "A copy of the variant of job T-35" in editor.page._said.words()
    assert "The session keeps the one it froze" in editor.page._said.words()
    assert (editor.page._state.text(), editor.page.body.lines["key"].entry.hasFocus()) == ("new", True)
    assert len(editor.history.draft.rows(Part.DEVICES)) == len(person.window.desk.variant.devices)


def test_new_is_one_key_away_and_stays_new(open_window, job):
    person = open_window(job)
    editor = editor_of(person)
    person.key(Qt.Key.Key_N, CTRL)
    assert editor.presenter.title() == "New variant"
    assert editor.page._said.words() == "", "what was said of the copy is not true of this one"
    person.window.show_page("Pins")
    person.window.show_editor()
    person.window.runner.wait()
    QApplication.processEvents()
    assert editor.presenter.title() == "New variant"


def test_the_part_in_hand_is_one_key_away_from_the_editor_too(open_window, job):
    """Its other two ways in are keys of the editor itself."""
    person = open_window(job)
    editor_of(person)
    person.key(Qt.Key.Key_N, CTRL | Qt.KeyboardModifier.ShiftModifier)
    assert person.window.start_page.isVisible()
    assert QApplication.focusWidget() is person.window.start_page.hand.fields["job"].entry


def test_what_is_not_saved_is_not_replaced_by_a_copy(open_window, job):
    person = open_window()
    person.window.show_editor()
    person.window.editor.presenter.cell_typed(Spot(Part.BODY, 0, "title"), "Mine")
    person.window.open_session(job)
    person.wait(lambda: person.window.desk is not None)
    person.window.show_editor()
    person.window.runner.wait()
    QApplication.processEvents()
    assert person.window.editor.presenter.title() == "Mine"
    person.window.editor.presenter.undo()


def test_saving_the_copy_changes_nothing_of_the_session(open_window, job, tmp_path):
    person = open_window(job)
    editor, before = editor_of(person), person.window.desk.variant_file()
    editor.presenter.cell_typed(Spot(Part.BODY, 0, "title"), "Changed")
    (tmp_path / "copy").mkdir()
    editor.presenter.save_to(tmp_path / "copy" / "mine.json")
    person.wait(lambda: editor.page._state.text() == "saved")  # the file is there a moment earlier
    assert (tmp_path / "copy" / PHOTO.picture.file).read_bytes() == PHOTO.raw
    assert person.window.desk.variant_file() == before


def test_ports_stand_on_the_photo_that_the_session_kept(open_window, job):
    person = open_window(job)
    person.window.show_page("Ports")
    page = person.window.later.pages["Ports"]
    person.wait(lambda: page.board.photo_rect(Place.BODY) is not None)
    assert page.board.photo_rect(Place.CASE) is None
    assert page._photo_said.isHidden()
    rect, port = page.board.photo_rect(Place.BODY), page.board.port("P3").geometry().center()
    assert port.x() == pytest.approx(rect.left() + 0.28 * rect.width(), abs=1.5)


def test_a_photo_that_is_missing_is_said_and_the_board_is_plain(open_window, job):
    (job / "blobs" / PHOTO.picture.sha256).unlink()
    person = open_window(job)
    person.window.show_page("Ports")
    page = person.window.later.pages["Ports"]
    person.wait(lambda: not page._photo_said.isHidden())
    assert "is missing: its ports stand on a plain board" in page._photo_said.words()
    assert page.board.photo_rect(Place.BODY) is None


def test_the_variant_saved_last_is_chosen_for_the_next_job(open_window, tmp_path):
    person = open_window()
    person.key(Qt.Key.Key_E, CTRL)  # from the field of the job number into the library
    person.key(Qt.Key.Key_N, CTRL)
    editor = person.window.editor
    for key, text in (("key", "marsh"), ("title", "Marsh Tern")):
        editor.presenter.cell_typed(Spot(Part.BODY, 0, key), text)
    choice = person.window.start_page.new.variant
    count = choice.box.count()
    for _ in range(2):
        editor.presenter.save_to(tmp_path / "marsh.json")
        person.wait(lambda: editor.page._state.text() == "saved")
    person.key(Qt.Key.Key_W, CTRL)
    assert person.window.variants.page.isVisible()
    person.key(Qt.Key.Key_W, CTRL)
    assert person.window.start_page.isVisible()
    assert (choice.word(), choice.box.count()) == (str(tmp_path / "marsh.json"), count + 1)


@pytest.mark.parametrize("has_session", [True, False])
def test_f1_opens_the_page_of_the_editor(open_window, job, has_session):
    person = open_window(job if has_session else None)
    person.window.show_editor()
    person.key(Qt.Key.Key_F1)
    assert person.window.asides.guide_page.text.toPlainText().startswith("Describe a variant")
    person.key(Qt.Key.Key_Escape)
    assert person.window.editor.page.isVisible()
    if not has_session:
        person.window.show_start()
        person.key(Qt.Key.Key_F1)
        assert not person.window.asides.guide_page.text.toPlainText().startswith("Describe a variant")


def test_the_drawing_of_a_photo_of_many_pixels_is_made_smaller_before_it_is_kept(open_window, tmp_path):
    person = open_window()
    person.window.show_editor()
    big = tmp_path / "big.jpg"
    big.write_bytes(made_photo(size=(4000, 2600)))
    editor = person.window.editor
    editor.page.photo_chosen.emit(Place.BODY, big)
    person.wait(editor.page.face_card.photo_rows[Place.BODY].remove.isEnabled)
    sha256 = editor.history.draft.body("sha_body")
    assert len(editor._files.picture(sha256)) < big.stat().st_size
    assert Path(editor.history.draft.body("picture_body")).suffix == ".jpg"
    editor.presenter.undo()


# -- a photo dropped on the window while the editor is in front --------------------------------


@pytest.fixture
def dropped(open_window, tmp_path):
    """The window with ports of these places in a new variant; call it to drop a photo."""

    made = []

    def begin(*places):
        person = open_window()
        made.append(person.window)
        person.window.show_editor()
        editor = person.window.editor
        for row, place in enumerate(places):
            editor.presenter.cell_typed(Spot(Part.PORTS, row, "name"), f"P{row}")
            editor.presenter.cell_typed(Spot(Part.PORTS, row, "place"), place.value)
        photo = tmp_path / "photo.png"
        photo.write_bytes(made_photo(size=(300, 200)))
        return person, editor, lambda: person.window._dropped(what_is([photo]))

    yield begin
    for window in made:
        window._close_for_good()


def photos_of(editor):
    return {place for place in Place if editor.history.draft.body(f"picture_{place.value}")}


@pytest.mark.parametrize("place", list(Place))
def test_it_goes_to_the_only_board_with_ports(dropped, place):
    person, editor, drop = dropped(place)
    drop()
    person.wait(lambda: photos_of(editor) == {place})


@pytest.mark.parametrize("place", list(Place))
def test_it_goes_to_the_board_with_the_keyboard(dropped, place):
    person, editor, drop = dropped(*Place)
    editor.page.go_to(Spot(Part.BODY, 0, f"picture_{place.value}"))
    drop()
    person.wait(lambda: photos_of(editor) == {place})


def test_where_it_cannot_be_told_the_editor_asks(dropped):
    person, editor, drop = dropped(*Place)
    drop()
    person.window.runner.wait()
    QApplication.processEvents()
    assert editor.page._said.words().startswith("Of the body or the case?")
    assert photos_of(editor) == set()
