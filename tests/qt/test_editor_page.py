"""The page of the variant editor, driven by the keyboard: from a pasted table to a file that is read."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QContextMenuEvent, QFontMetricsF, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QLineEdit, QMenu, QMessageBox, QWidget

from tests.data.made_photo import made_photo
from tests.fakes.runners import InlineRunner
from valvebench.archive.saver import save
from valvebench.bench.variants import VariantFiles
from valvebench.model.draft_field import Part
from valvebench.model.draft_photos import feature_picture
from valvebench.model.variant_draft import Spot
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import Place
from valvebench.ui import fonts, theme
from valvebench.ui.editor.table_model import PROBLEM_ROLE
from valvebench.ui.editor.tables_card import TABS
from valvebench.ui.editor.view import WHICH_FEATURE
from valvebench.ui.editor.wiring import Editor
from valvebench.ui.widgets.scroll import ScrollPage

SHIPPED = Path(__file__).parents[2] / "resources" / "variants" / "tern-body-2.json"
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
ALT = Qt.KeyboardModifier.AltModifier
SHEET = (
    "Solenoid\tType\tPin\tGround\t\u03a9 min\t\u03a9 max\t\u00b0C\tSource\tPage\n"
    "Heron\tlinear\t3\t11\t4,9\t5,5\t20\tmanual\tpage 12\n"
    "Plover\ton/off\t8\tcase\t12\t15\tnot stated\tmanual\tpage 13\n"
)


@pytest.fixture
def editor(qtbot):
    made = Editor(VariantFiles(read=Path.read_bytes, save=save), InlineRunner())
    scroll = ScrollPage(made.page, name="Variant editor")
    scroll.resize(1280, 800)
    with qtbot.waitExposed(scroll):
        scroll.show()
    scroll.activateWindow()
    made.page.begin()
    made.scroll = scroll
    yield made
    scroll.close()
    scroll.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture
def opened(editor):
    editor.presenter.open(SHIPPED)
    return editor


def focus() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def key(code, modifier=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(focus(), code, modifier)
    QCoreApplication.sendPostedEvents()  # Enter in a cell is handed on by a posted event


def type_text(text):
    for sign in text:  # the first one opens the cell, which then has the keyboard
        QTest.keyClicks(focus(), sign)


def to_table(editor, part):
    key(Qt.Key.Key_1 + TABS.index(part), ALT)
    assert editor.page.tables[part].hasFocus()


def test_keyboard_only_a_pasted_table_becomes_a_file_that_is_read(editor, tmp_path, monkeypatch):
    target = tmp_path / "tern-keys.json"
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: (str(target.with_suffix("")), ""))
    type_text("tern-keys")
    key(Qt.Key.Key_Tab)
    type_text("Quillon Tern, typed")
    key(Qt.Key.Key_Tab)
    QGuiApplication.clipboard().setText(SHEET)
    to_table(editor, Part.DEVICES)
    key(Qt.Key.Key_V, CTRL)
    assert editor.page.paste_card.isVisible()
    key(Qt.Key.Key_Return)
    assert not editor.page.paste_card.isVisible()
    assert editor.page.table().spot() == Spot(Part.DEVICES, 2, "name")
    key(Qt.Key.Key_S, CTRL)
    variant = read_variant(target.read_bytes(), source=str(target))
    assert (variant.key, variant.title) == ("tern-keys", "Quillon Tern, typed")
    heron = variant.device_named("Heron")
    assert (heron.between, heron.low_ohm, heron.high_ohm, heron.duty.value) == (("3", "11"), 4.9, 5.5, "linear")
    assert variant.device_named("Plover").ref_celsius is None
    assert [pin.name for pin in variant.pins] == ["3", "8", "11"]
    assert not editor.presenter.is_changed


def test_a_row_is_typed_from_cell_to_cell(editor):
    to_table(editor, Part.DEVICES)
    type_text("Heron")
    key(Qt.Key.Key_Tab)  # the kind: solenoid stands there
    key(Qt.Key.Key_Tab)
    type_text("lin")
    key(Qt.Key.Key_Tab)
    type_text("3")
    key(Qt.Key.Key_Tab)
    type_text("11")
    key(Qt.Key.Key_Return)
    draft = editor.history.draft
    assert draft.rows(Part.DEVICES)[0].cells[:5] == ("Heron", "solenoid", "linear", "3", "11")
    table = editor.page.table()
    assert (table.currentIndex().row(), table.currentIndex().column()) == (1, 4)
    key(Qt.Key.Key_Z, CTRL)
    assert editor.history.draft.text(Part.DEVICES, 0, "to") == ""


def test_save_takes_over_what_is_still_being_typed(opened, tmp_path):
    opened.presenter.save_to(tmp_path / "copy.json")
    to_table(opened, Part.DEVICES)
    type_text("Gannet")
    assert isinstance(focus(), QLineEdit)
    key(Qt.Key.Key_S, CTRL)
    variant = read_variant((tmp_path / "copy.json").read_bytes(), source="copy")
    assert variant.devices[0].name == "Gannet"


def test_a_cell_that_cannot_be_read_keeps_its_text_and_is_listed(opened):
    to_table(opened, Part.DEVICES)
    opened.page.go_to(Spot(Part.DEVICES, 1, "low"))
    type_text("4,9x")
    key(Qt.Key.Key_Return)
    page = opened.page
    assert opened.history.draft.text(Part.DEVICES, 1, "low") == "4,9x"
    assert page.lacks.data(page.lacks.index(0, 1)) == "Heron, Low \u03a9"
    assert page.lacks_card.aside.text().startswith("1 wrong")
    page.show_tab(0)
    page.lacks_table.setFocus()
    page.lacks_table.selectRow(0)
    page.lacks_table.activated.emit(page.lacks.index(0, 0))
    assert page.table().spot() == Spot(Part.DEVICES, 1, "low")


def test_delete_clears_and_with_ctrl_takes_the_row_away(opened):
    to_table(opened, Part.PORTS)
    count = len(opened.history.draft.rows(Part.PORTS))
    opened.page.go_to(Spot(Part.PORTS, 0, "kpa"))
    key(Qt.Key.Key_Delete)
    assert opened.history.draft.text(Part.PORTS, 0, "kpa") == ""
    key(Qt.Key.Key_Delete, CTRL)
    assert len(opened.history.draft.rows(Part.PORTS)) == count - 1
    key(Qt.Key.Key_Z, CTRL)
    key(Qt.Key.Key_Z, CTRL)
    key(Qt.Key.Key_Y, CTRL)
    assert opened.history.draft.text(Part.PORTS, 0, "kpa") == ""


def test_copied_rows_are_on_the_clipboard_with_headings(opened):
    to_table(opened, Part.PINS)
    key(Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "Pin\tConnector\tx\ty\n1\tA\t0\t0\n"


def test_a_paste_can_be_left(opened):
    before = opened.history.draft
    to_table(opened, Part.DEVICES)
    QGuiApplication.clipboard().setText(SHEET)
    key(Qt.Key.Key_V, CTRL)
    key(Qt.Key.Key_Escape)
    assert opened.history.draft == before
    assert opened.page.table() is focus()


def test_a_column_is_given_another_meaning_before_it_is_taken(editor):
    to_table(editor, Part.DEVICES)
    QGuiApplication.clipboard().setText("Name\tShelf\nHeron\tB4\n")
    key(Qt.Key.Key_V, CTRL)
    card = editor.page.paste_card
    card.column.box.setCurrentIndex(1)
    card.column.chosen.emit()
    card.meaning.set_word("note")
    card.meaning.chosen.emit()
    card.header.click()
    card.header.click()
    card.pins.click()
    card.take.click()
    assert editor.history.draft.text(Part.DEVICES, 0, "note") == "B4"


def test_with_the_keyboard_on_a_tab_paste_goes_into_its_table(editor):
    QGuiApplication.clipboard().setText(SHEET)
    to_table(editor, Part.DEVICES)
    editor.page.tabs.tabs[TABS.index(Part.DEVICES)].setFocus()
    key(Qt.Key.Key_V, CTRL)
    assert editor.page.paste_card.isVisible()
    assert editor.page.paste_card.plan.part is Part.DEVICES


# --- the drawing --------------------------------------------------------------------------


def pin(editor, name):
    return editor.page.face_card.face.drawing.pin(name)


def drag(editor, name, to):
    drag_button(pin(editor, name), to)


def drag_button(button, to):
    middle = button.rect().center()
    QTest.mousePress(button, Qt.MouseButton.LeftButton, pos=middle)
    for share in (0.3, 0.7, 1.0):
        start = button.geometry().center()
        step = QPoint(round((to.x() - start.x()) * share), round((to.y() - start.y()) * share))
        QTest.mouseMove(button, middle + step)
    QTest.mouseRelease(button, Qt.MouseButton.LeftButton, pos=middle)


def test_a_pin_is_dragged_onto_another_and_they_change_places(opened):
    target = pin(opened, "9").geometry().center()
    drag(opened, "1", target)
    draft = opened.history.draft
    assert (draft.text(Part.PINS, 0, "x"), draft.text(Part.PINS, 0, "y")) == ("2", "1")
    assert (draft.text(Part.PINS, 8, "x"), draft.text(Part.PINS, 8, "y")) == ("0", "0")
    assert opened.history.undo_words() == "move pin 1"


def test_seen_from_the_wire_side_a_drag_is_mirrored(opened):
    opened.page.face_card.face.turn_over()
    target = pin(opened, "3").geometry().center()
    drag(opened, "1", target)
    assert opened.history.draft.text(Part.PINS, 0, "x") == "2"


def test_a_click_is_no_drag_and_shows_the_row(opened):
    QTest.mouseClick(pin(opened, "5"), Qt.MouseButton.LeftButton)
    assert opened.page.table().spot() == Spot(Part.PINS, 4, "name")
    assert opened.history.undo_words() == ""


def test_shift_and_an_arrow_key_move_a_pin_that_keeps_the_keyboard(opened):
    opened.page.face_card.face.drawing.focus_pin("1")
    key(Qt.Key.Key_Right, SHIFT)
    assert focus() is pin(opened, "1")
    key(Qt.Key.Key_Down, SHIFT)
    draft = opened.history.draft
    assert (draft.text(Part.PINS, 0, "x"), draft.text(Part.PINS, 0, "y")) == ("1", "1")
    key(Qt.Key.Key_Right)
    assert focus() is pin(opened, "9")


def test_layout_and_number_of_pins_are_typed_beside_the_drawing(editor):
    card = editor.page.face_card
    card.count.entry.setFocus()
    type_text("8")
    key(Qt.Key.Key_Return)
    assert len(editor.history.draft.rows(Part.PINS)) == 8
    card.columns.entry.setFocus()
    type_text("8")
    key(Qt.Key.Key_Return)
    assert editor.history.draft.text(Part.PINS, 7, "x") == "7"
    card.layout_word.set_word("ring")
    card.layout_word.chosen.emit()
    assert editor.history.draft.text(Part.PINS, 0, "x") == "0.5"
    card.count.entry.setFocus()
    type_text("many")
    key(Qt.Key.Key_Return)
    assert len(editor.history.draft.rows(Part.PINS)) == 8


def test_electronics_on_board_put_up_the_stop_sign(editor):
    assert not editor.page.face_card.stop.isVisible()
    editor.page.body.electronics.click()
    assert editor.page.face_card.stop.isVisible()
    assert "do not probe" in editor.page.face_card.stop.words()
    editor.presenter.undo()
    assert not editor.page.face_card.stop.isVisible()


def test_the_ports_are_drawn_while_their_table_is_in_front(opened):
    to_table(opened, Part.PORTS)
    assert opened.page.face_card.ports.isVisible()
    opened.presenter.cell_typed(Spot(Part.PORTS, 9, "name"), "P10")
    assert "P10" in opened.page.face_card.ports.names()


def port(editor, name):
    return editor.page.face_card.ports.port(name)


def test_a_port_is_dragged_on_the_picture(opened):
    to_table(opened, Part.PORTS)
    QCoreApplication.sendPostedEvents()
    opened.scroll.grab()
    button, target = port(opened, "P3"), port(opened, "P9").geometry().center()
    drag_button(button, target)
    draft = opened.history.draft
    assert float(draft.text(Part.PORTS, 2, "x")) == pytest.approx(0.4, abs=0.02)  # where P9 stands
    assert float(draft.text(Part.PORTS, 2, "y")) == pytest.approx(0.74, abs=0.02)


def test_shift_and_an_arrow_key_move_a_port(opened):
    to_table(opened, Part.PORTS)
    port(opened, "P3").setFocus()
    key(Qt.Key.Key_Left, SHIFT)
    assert opened.history.draft.text(Part.PORTS, 2, "x") == "0.26"
    assert focus() is port(opened, "P3")
    key(Qt.Key.Key_Return)
    assert opened.page.table().spot() == Spot(Part.PORTS, 2, "name")


def test_a_port_without_a_place_is_put_on_the_picture(editor):
    editor.presenter.cell_typed(Spot(Part.PORTS, 0, "name"), "P1")
    to_table(editor, Part.PORTS)
    editor.scroll.grab()
    board = editor.page.face_card.ports
    drag_button(port(editor, "P1"), QPoint(board.width() // 4, board.height() // 2))
    assert float(editor.history.draft.text(Part.PORTS, 0, "x")) == pytest.approx(0.25, abs=0.02)
    assert float(editor.history.draft.text(Part.PORTS, 0, "y")) == pytest.approx(0.5, abs=0.02)


# --- leaving, access, looks ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("button", "word"),
    [
        (QMessageBox.StandardButton.Save, "save"),
        (QMessageBox.StandardButton.Discard, "discard"),
        (QMessageBox.StandardButton.Cancel, "cancel"),
    ],
)
def test_the_question_on_leaving(editor, monkeypatch, button, word):
    monkeypatch.setattr(QMessageBox, "exec", lambda _: button.value)
    assert editor.page.ask_leave("Body 2") == word


def test_a_cancelled_file_dialog_saves_nothing(editor, qtbot, monkeypatch):
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *_: ("", ""))
    with qtbot.waitSignal(editor.page.save_cancelled):
        editor.page.ask_where("body.json")


def test_every_part_that_takes_the_keyboard_has_a_name(opened):
    for place in range(len(TABS)):
        opened.page.show_tab(place)
        for widget in opened.page.findChildren(QWidget):
            takes = widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isVisibleTo(opened.page)
            if takes and not widget.focusProxy():
                assert widget.accessibleName(), widget


@pytest.mark.parametrize("name", sorted(theme.THEMES))
@pytest.mark.parametrize("zoom", [1.0, 2.0])
def test_nothing_is_wider_than_the_window(opened, qapp, name, zoom):
    theme.apply(qapp, name)
    fonts.set_zoom(zoom)
    opened.scroll.resize(1280, 800)
    for place in range(len(TABS)):
        opened.page.show_tab(place)
        assert not opened.scroll.grab().isNull()
    assert opened.scroll.horizontalScrollBar().maximum() == 0


@pytest.mark.parametrize(
    ("width", "zoom"),
    [
        pytest.param(1008, 2.0, id="beside the rail in 1280 at 200 %"),
        pytest.param(750, 1.5, id="beside the rail in 960 at 150 %"),
        pytest.param(504, 1.0, id="beside the rail in 640"),
    ],
)
def test_nothing_is_wider_than_what_the_rail_leaves(opened, width, zoom):
    fonts.set_zoom(zoom)
    opened.scroll.resize(width, 600)
    for place in range(len(TABS)):
        opened.page.show_tab(place)
        opened.scroll.grab()
    QApplication.processEvents()
    assert opened.scroll.horizontalScrollBar().maximum() == 0


def test_it_fits_960_wide(opened):
    opened.scroll.resize(960, 540)
    opened.scroll.grab()
    assert opened.scroll.horizontalScrollBar().maximum() == 0


# --- menus, tabs, buttons -----------------------------------------------------------------


def the_menu(editor, qtbot):
    qtbot.waitUntil(lambda: editor.page.table().findChildren(QMenu) != [])
    return editor.page.table().findChildren(QMenu)[-1]


NO_POPUPS = "This plugin does not support (raise|grabbing)"


@pytest.mark.qt_log_ignore(NO_POPUPS)
def test_f2_on_a_cell_of_a_few_words_offers_them(opened, qtbot):
    to_table(opened, Part.DEVICES)
    opened.page.go_to(Spot(Part.DEVICES, 0, "duty"))
    key(Qt.Key.Key_F2)
    menu = the_menu(opened, qtbot)
    assert [action.text() for action in menu.actions()] == ["linear", "pulsed", "on/off", "(empty)"]
    menu.actions()[1].trigger()
    menu.close()
    assert opened.history.draft.text(Part.DEVICES, 0, "duty") == "pulsed"


def test_f2_on_another_cell_opens_it(opened):
    to_table(opened, Part.DEVICES)
    key(Qt.Key.Key_F2)
    assert isinstance(focus(), QLineEdit)
    key(Qt.Key.Key_Escape)
    assert opened.history.undo_words() == ""


@pytest.mark.qt_log_ignore(NO_POPUPS)
def test_the_menu_of_a_table_says_what_can_be_done_with_rows(opened, qtbot):
    to_table(opened, Part.PINS)
    place = opened.page.table().viewport().rect().center()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Keyboard, place, place)
    QApplication.sendEvent(opened.page.table().viewport(), event)
    menu = the_menu(opened, qtbot)
    assert [action.text() for action in menu.actions()] == ["Copy rows", "Paste", "Delete rows"]
    menu.actions()[2].trigger()
    menu.close()
    assert opened.history.undo_words() == "delete 1 pin"


def test_arrows_walk_the_tabs_and_enter_brings_one_to_the_front(editor):
    tabs = editor.page.tabs.tabs
    tabs[0].setFocus()
    key(Qt.Key.Key_Right)
    assert tabs[1].hasFocus()
    assert editor.page.table().part is Part.PINS
    key(Qt.Key.Key_Return)
    assert "in front" in tabs[1].accessibleName()


def test_the_buttons_do_what_the_keys_do(opened):
    to_table(opened, Part.PORTS)
    for word in ("_copy", "_delete"):
        getattr(opened.page.tables_card, word).click()
    assert QGuiApplication.clipboard().text().startswith("Port\tPlace")
    assert opened.history.undo_words() == "delete 1 port"
    opened.page.buttons["undo"].click()
    assert opened.page.buttons["redo"].accessibleDescription() == "Redo: delete 1 port"


@pytest.mark.parametrize("name", ["key", "electronics", "source", "isolation"])
def test_a_line_of_what_is_missing_leads_to_its_field(editor, name):
    editor.page.go_to(Spot(Part.BODY, 0, name))
    body = editor.page.body
    fields = {"electronics": body.electronics, "source": body.choices["source"].box}
    assert fields.get(name, body.lines.get(name) and body.lines[name].entry).hasFocus()


def test_the_source_of_the_isolation_limit_is_chosen(editor):
    editor.page.body.choices["source"].set_word("memory")
    editor.page.body.choices["source"].chosen.emit()
    assert editor.history.draft.body("source") == "memory"
    editor.presenter.undo()
    assert editor.page.body.choices["source"].word() == ""


def test_another_connector_is_chosen_beside_the_drawing(editor):
    editor.presenter.cell_typed(Spot(Part.FACES, 1, "name"), "B")
    faces = editor.page.face_card.faces
    assert faces.isVisible()
    faces.box.setCurrentIndex(1)
    faces.box.activated.emit(1)
    assert editor.page.face_card.face.drawing.accessibleName().startswith("Connector B")


# --- refit tables, photos, what is missing ------------------------------------------------

BOLTS = "Bolt\tQuantity\tmm\tNm\nouter ring\t11\t32\t9\nouter ring\t3\t55\t9\n"


def test_bolts_are_pasted_by_keyboard_and_undone(editor):
    QGuiApplication.clipboard().setText(BOLTS)
    to_table(editor, Part.FASTENERS)
    key(Qt.Key.Key_V, CTRL)
    assert editor.page.paste_card.isVisible()
    key(Qt.Key.Key_Return)
    assert editor.history.draft.texts(Part.FASTENERS, "length") == ("32", "55")
    key(Qt.Key.Key_Z, CTRL)
    assert editor.history.draft.rows(Part.FASTENERS) == ()


def test_the_fluid_is_typed_into_its_form(editor):
    key(Qt.Key.Key_9, ALT)
    form = editor.page.tables_card.fluid_form
    assert form.choices["by"].box.hasFocus()
    key(Qt.Key.Key_Down)
    form.choices["by"].chosen.emit()
    key(Qt.Key.Key_Tab)
    type_text("35")
    key(Qt.Key.Key_Tab)
    type_text("300")
    key(Qt.Key.Key_Return)
    assert editor.history.draft.texts(Part.FLUID, "by") == ("overflow",)
    assert "-50 to 180" in form.lines["high"].entry.accessibleDescription()
    assert form.lines["low"].entry.accessibleDescription() == ""


def test_page_keys_walk_all_tables_round(editor):
    seen = []
    for _ in TABS:
        key(Qt.Key.Key_PageDown, CTRL)
        table = editor.page.table()
        seen.append(table.part if table is not None else None)
    assert seen[-2:] == [Part.PRESSURE_CODES, None]
    assert {Part.PART_NUMBERS, Part.CHECKLIST} <= set(seen)
    key(Qt.Key.Key_PageUp, CTRL)
    assert editor.page.table().part is Part.PRESSURE_CODES


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (960, 540)])
def test_every_tab_is_in_sight(opened, width, height):
    opened.scroll.resize(width, height)
    opened.scroll.grab()
    row = opened.page.tabs
    boxes = [tab.geometry() for tab in row.tabs]
    assert all(row.rect().contains(box) for box in boxes)
    assert not any(a.intersects(b) for a, b in itertools.combinations(boxes, 2))


def test_what_is_missing_is_shown_whole(editor):
    editor.scroll.resize(960, 540)
    editor.scroll.grab()
    table, model = editor.page.lacks_table, editor.page.lacks
    words = QFontMetricsF(fonts.font(14))
    for row in range(model.rowCount()):
        wide = table.columnWidth(2) - fonts.whole_px(12)
        lines = words.boundingRect(QRectF(0, 0, wide, 1000), int(Qt.TextFlag.TextWordWrap), model.index(row, 2).data())
        assert table.rowHeight(row) >= lines.height()


@pytest.mark.parametrize("place", [0, 1, 2, 99])
def test_no_sentence_of_what_is_missing_is_cut_at_the_edge(editor, place):
    """A row that is not whole in sight is left blank: half a sentence says something else."""
    editor.scroll.resize(1280, 800)
    table = editor.page.lacks_table
    table.setFixedSize(360, 175)
    QApplication.processEvents()
    table.verticalScrollBar().setValue(min(place, table.verticalScrollBar().maximum()))
    QApplication.processEvents()
    view = table.viewport()
    picture = view.grab().toImage()
    ends = [(table.rowViewportPosition(row), table.rowHeight(row)) for row in range(editor.page.lacks.rowCount())]
    whole = [(top, high) for top, high in ends if top >= 0 and top + high <= view.height()]
    cut = [(top, high) for top, high in ends if (top, high) not in whole and -high < top < view.height()]
    assert whole
    for top, high in cut:
        rows = range(max(0, top) + 1, min(view.height(), top + high) - 1)
        assert len({picture.pixel(x, y) for y in rows for x in range(view.width() - 20)}) == 1


def test_an_empty_drawing_says_what_fills_it(editor):
    card = editor.page.face_card
    assert card._empty.isVisible()
    assert "Type how many below" in card._empty.text()
    editor.presenter.pins_wanted(2)
    assert not card._empty.isVisible()
    assert card.face.isVisible()


@pytest.fixture
def on_photo(opened, tmp_path):
    photo = tmp_path / "lower half.jpg"
    photo.write_bytes(made_photo(size=(300, 200)))
    opened.page.photo_chosen.emit(Place.BODY, photo)
    to_table(opened, Part.PORTS)
    QCoreApplication.sendPostedEvents()
    opened.scroll.grab()
    return opened


def test_a_port_is_dragged_to_its_hole_on_a_photo(on_photo):
    rect = on_photo.page.face_card.ports.photo_rect(Place.BODY)
    drag_button(port(on_photo, "P3"), (rect.topLeft() + QPointF(rect.width() * 0.5, rect.height() * 0.6)).toPoint())
    draft = on_photo.history.draft
    assert float(draft.text(Part.PORTS, 2, "x")) == pytest.approx(0.5, abs=0.015)
    assert float(draft.text(Part.PORTS, 2, "y")) == pytest.approx(0.6, abs=0.015)


def test_a_photo_is_taken_away_and_comes_back(on_photo):
    row = on_photo.page.face_card.photo_rows[Place.BODY]
    row.remove.click()
    assert on_photo.page.face_card.ports.photo_rect(Place.BODY) is None
    on_photo.presenter.undo()
    assert on_photo.page.face_card.ports.photo_rect(Place.BODY) is not None


def test_the_photo_is_chosen_from_a_file(opened, tmp_path, monkeypatch):
    photo = tmp_path / "case.jpg"
    photo.write_bytes(made_photo(size=(300, 200)))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(photo), ""))
    opened.page.go_to(Spot(Part.BODY, 0, "picture_case"))
    assert focus() is opened.page.face_card.photo_rows[Place.CASE].choose
    key(Qt.Key.Key_Space)
    assert opened.history.draft.body("picture_case").startswith("case-")
    assert opened.page.face_card.ports.photo_rect(Place.CASE) is not None


# --- the photo of a feature ---------------------------------------------------------------


def test_the_photo_of_the_feature_at_hand_is_shown_while_its_table_is_in_front(opened):
    to_table(opened, Part.FEATURES)
    card = opened.page.face_card
    assert not card.face.isVisible()
    shapes = opened.history.draft.texts(Part.FEATURES, "name")
    opened.page.go_to(Spot(Part.FEATURES, shapes.index("plate mark"), "name"))
    assert card.feature.shot.has_image
    opened.page.go_to(Spot(Part.FEATURES, shapes.index("connector pins"), "name"))
    assert not card.feature.shot.has_image
    assert card.feature.shot.accessibleName().startswith("No photo of connector pins yet.")
    to_table(opened, Part.PINS)
    assert card.face.isVisible()


def test_a_photo_is_chosen_for_a_feature_taken_away_and_comes_back(opened, tmp_path, monkeypatch):
    photo = tmp_path / "caps.jpg"
    photo.write_bytes(made_photo(size=(300, 200)))
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_: (str(photo), ""))
    row = opened.history.draft.texts(Part.FEATURES, "name").index("solenoid caps")
    opened.page.go_to(Spot(Part.FEATURES, row, "name"))
    feature = opened.page.face_card.feature
    feature.line.choose.click()
    assert feature.shot.has_image
    assert feature_picture(opened.history.draft, row).file.startswith("caps-")
    feature.line.remove.click()
    assert feature_picture(opened.history.draft, row) is None
    assert not feature.shot.has_image
    opened.presenter.undo()
    assert feature.shot.has_image


def test_a_photo_dropped_while_features_are_in_front_goes_to_the_one_at_hand(opened, tmp_path):
    photo = tmp_path / "ears.jpg"
    photo.write_bytes(made_photo(size=(300, 200)))
    row = opened.history.draft.texts(Part.FEATURES, "name").index("mounting ears")
    opened.page.go_to(Spot(Part.FEATURES, row, "name"))
    opened.page.photo_dropped(photo)
    assert feature_picture(opened.history.draft, row).file.startswith("ears-")
    table = opened.page.tables[Part.FEATURES]
    table.select_cell(table.part_model.rowCount() - 1, "name")
    opened.page.photo_dropped(photo)
    assert opened.page._said.words() == WHICH_FEATURE.format(name="ears.jpg")


# --- code tables --------------------------------------------------------------------------


@pytest.fixture
def coded(editor):
    """Two switches, and the table of selector codes with the keyboard in its first cell."""
    to_table(editor, Part.DEVICES)
    QGuiApplication.clipboard().setText("Name\tKind\tFrom\tTo\nStork\tswitch\t1\tcase\nSnipe\tswitch\t2\tcase\n")
    key(Qt.Key.Key_V, CTRL)
    key(Qt.Key.Key_Enter)
    editor.page.tables_card.open_tab(TABS.index(Part.SELECTOR_CODES))
    editor.codes = editor.page.tables[Part.SELECTOR_CODES]
    assert editor.codes.hasFocus()
    return editor


def heads(table):
    model = table.model()
    return [model.headerData(i, Qt.Orientation.Horizontal) for i in range(model.columnCount())]


def codes_of(editor):
    draft = editor.history.draft
    return dict(
        zip(draft.texts(Part.SELECTOR_CODES, "name"), draft.texts(Part.SELECTOR_CODES, "switches"), strict=True)
    )


def test_a_code_table_has_a_column_for_each_switch(coded):
    assert heads(coded.codes) == ["Lever", "Stork", "Snipe", "Source", "Page or bodies", "n"]


def test_a_code_table_is_filled_cell_by_cell_with_one_key(coded):
    type_text("P")
    key(Qt.Key.Key_Enter)
    coded.codes.setCurrentIndex(coded.codes.model().index(0, 1))
    seen = []
    for _ in range(4):
        key(Qt.Key.Key_Space)
        seen.append(codes_of(coded)["P"])
    assert seen == ["Stork closed", "Stork open", "Stork either", ""]
    key(Qt.Key.Key_C)
    key(Qt.Key.Key_Right)
    key(Qt.Key.Key_O)
    assert codes_of(coded) == {"P": "Stork closed, Snipe open"}
    assert coded.codes.currentIndex().column() == 2
    key(Qt.Key.Key_Z, CTRL)
    assert codes_of(coded) == {"P": "Stork closed"}
    key(Qt.Key.Key_Y, CTRL)
    key(Qt.Key.Key_Delete)
    assert codes_of(coded) == {"P": "Stork closed"}


def test_a_code_table_takes_a_sheet_in_one_step(coded):
    QGuiApplication.clipboard().setText("Lever\tStork\tSnipe\nP\tclosed\topen\nN\topen\topen\n")
    key(Qt.Key.Key_V, CTRL)
    assert coded.page.paste_card.isVisible()
    key(Qt.Key.Key_Enter)
    assert codes_of(coded) == {"P": "Stork closed, Snipe open", "N": "Stork open, Snipe open"}
    key(Qt.Key.Key_Z, CTRL)
    assert codes_of(coded) == {}


def test_one_state_pasted_into_a_switch_goes_there(coded):
    type_text("P")
    key(Qt.Key.Key_Enter)
    coded.codes.setCurrentIndex(coded.codes.model().index(0, 2))
    QGuiApplication.clipboard().setText("closed")
    key(Qt.Key.Key_V, CTRL)
    assert codes_of(coded) == {"P": "Snipe closed"}


def test_a_word_that_is_no_state_is_marked_where_it_stands(coded):
    type_text("P")
    key(Qt.Key.Key_Enter)
    coded.codes.setCurrentIndex(coded.codes.model().index(0, 2))
    model = coded.codes.model()
    model.setData(model.index(0, 2), "shut")
    marked = [column for column in range(1, 3) if model.index(0, column).data(PROBLEM_ROLE)]
    assert (marked, model.index(0, 2).data()) == ([2], "shut")
    coded.page.go_to(Spot(Part.SELECTOR_CODES, 0, "switches"))
    assert coded.codes.hasFocus()


def test_a_switch_that_is_renamed_takes_its_column_along(coded):
    type_text("P")
    key(Qt.Key.Key_Enter)
    coded.codes.setCurrentIndex(coded.codes.model().index(0, 1))
    key(Qt.Key.Key_C)
    coded.presenter.cell_typed(Spot(Part.DEVICES, 0, "name"), "Sora")
    assert heads(coded.codes)[1:3] == ["Sora", "Snipe"]
    assert codes_of(coded) == {"P": "Sora closed"}
