from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.widgets.big_field import DOWN, UP, BigField
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine

KEY = Qt.Key


@pytest.fixture
def field(qtbot):
    made = BigField("Resistance between 3 and 11", unit="ohm")
    qtbot.addWidget(made)
    made.set_commands(["*", "/", " ", UP, DOWN])
    with qtbot.waitExposed(made):
        made.show()
    return made


@pytest.mark.parametrize("typed", ["5.24", "1,234", "5.2.4", "  -", "=1+1"])
def test_an_error_never_erases_what_was_typed(field, typed):
    field.set_commands([])
    QTest.keyClicks(field.entry, typed)
    field.set_error("Type the value once more, as 5.24")
    QTest.keyClick(field.entry, KEY.Key_Return)
    assert field.text() == typed
    field.clear_error()
    assert field.text() == typed
    assert field.error() == ""


@pytest.mark.parametrize("key", [KEY.Key_Return, KEY.Key_Enter])
def test_enter_keeps(field, key):
    kept = []
    field.kept.connect(kept.append)
    QTest.keyClicks(field.entry, "5.24")
    QTest.keyClick(field.entry, key)
    assert kept == ["5.24"]


def test_typing_is_told(field):
    typed = []
    field.text_edited.connect(typed.append)
    QTest.keyClicks(field.entry, "5.2")
    field.set_text("9")
    assert typed == ["5", "5.", "5.2"]


@pytest.mark.parametrize("key", [KEY.Key_4, KEY.Key_Asterisk, KEY.Key_Comma])
def test_alt_and_a_key_of_numbers_slips_into_no_reading(field, key):
    commands = []
    field.command.connect(commands.append)
    QTest.keyClicks(field.entry, "5.2")
    QTest.keyClick(field.entry, key, Qt.KeyboardModifier.AltModifier)
    assert (field.text(), commands) == ("5.2", [])


def test_command_keys_are_handed_on_and_not_typed(field):
    commands = []
    field.command.connect(commands.append)
    QTest.keyClicks(field.entry, "4*/ 7")
    QTest.keyClick(field.entry, KEY.Key_Up)
    QTest.keyClick(field.entry, KEY.Key_Down)
    assert field.text() == "47"
    assert commands == ["*", "/", " ", UP, DOWN]


def test_the_field_is_named_and_its_error_read_out(field):
    assert field.entry.accessibleName() == "Resistance between 3 and 11, ohm"
    field.set_error("Type the value once more")
    assert field.entry.accessibleDescription() == "Type the value once more"


def test_an_error_moves_nothing(field):
    before = field.sizeHint(), field.height()
    field.set_error("Two decimal points: type the value once more, as 5.24")
    assert (field.sizeHint(), field.height()) == before


def test_the_field_takes_the_keyboard_by_itself(field):
    field.setFocus()
    assert field.window().focusWidget() is field.entry


def test_clear_starts_the_next_entry(field):
    field.set_text("5.2.4")
    field.set_error("Type the value once more")
    field.clear()
    assert (field.text(), field.error()) == ("", "")


def test_a_key_cap_does_what_its_key_does(qtbot):
    cap = KeyCap("Enter", "keep")
    qtbot.addWidget(cap)
    with qtbot.waitSignal(cap.clicked):
        qtbot.mouseClick(cap, Qt.MouseButton.LeftButton)
    assert cap.accessibleName() == "keep, key Enter"
    assert cap.focusPolicy() == Qt.FocusPolicy.NoFocus


@pytest.mark.parametrize("key", [KEY.Key_Return, KEY.Key_Enter, KEY.Key_Space])
def test_a_button_is_pressed_from_the_keyboard(qtbot, key):
    button = Button("Turn over", key="/")
    qtbot.addWidget(button)
    with qtbot.waitSignal(button.clicked):
        QTest.keyClick(button, key)
    assert button.accessibleName() == "Turn over, key /"


@pytest.mark.parametrize("make", [lambda: Button("Turn over", key="/"), lambda: KeyCap("Enter", "from the meter")])
def test_words_have_room_at_every_zoom(qtbot, zoom, make):
    widget = make()
    qtbot.addWidget(widget)
    at_zoom = widget.sizeHint().width()
    fonts.set_zoom(zoom * 2)
    # Larger type is set tighter by its optical size, so twice the width is the most.
    assert 1.85 * at_zoom <= widget.sizeHint().width() <= 2 * at_zoom


def test_other_words_in_a_fixed_room_lay_nothing_out_anew(qtbot):
    page = QWidget()
    qtbot.addWidget(page)
    line = MessageLine(grows=False, parent=page)
    column = QVBoxLayout(page)
    column.addWidget(line)
    page.show()
    qtbot.waitExposed(page)
    before = line.sizeHint()
    assert column.activate() is False, "all laid out"
    line.show_message("Kept 3 and 11, Heron: 5.17 ohm. Pass.", icon="kept")
    assert line.sizeHint() == before
    assert column.activate() is False


def test_a_message_keeps_its_room_and_wraps(qtbot):
    line = MessageLine()
    qtbot.addWidget(line)
    empty = line.heightForWidth(300)
    line.show_message("Kept", icon="kept")
    assert line.heightForWidth(300) == empty
    line.show_message("The meter sends nothing: check its cable, then press Space once more", icon="problem")
    assert line.heightForWidth(300) > empty
    assert line.accessibleName().startswith("The meter sends nothing")
    line.clear()
    assert line.accessibleName() == ""
