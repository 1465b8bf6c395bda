from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAccessible, QKeyEvent, QPalette
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from tests.qt.widgets.test_theme import strongest
from valvebench.ui import fonts
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.controls import Choice, LineEntry, Option, TextArea, TickBox
from valvebench.ui.widgets.pick import PickField
from valvebench.ui.widgets.scroll import ScrollPage

CONTROLS = {
    "line": lambda: LineEntry("Customer", hint="who brought it"),
    "area": lambda: TextArea("Complaint", hint="as the driver says it"),
    "choice": lambda: Choice("Coil temperature", ["not measured", "taped"]),
    "tick": lambda: TickBox("Dry of solvent"),
    "option": lambda: Option("seen by us"),
}


@pytest.fixture(params=sorted(CONTROLS))
def control(request, qtbot):
    page = QWidget()
    qtbot.addWidget(page)
    page.resize(400, 200)
    made = CONTROLS[request.param]()
    made.setParent(page)
    request.node.page = page  # or it would be collected with this frame
    return made


def test_every_control_has_a_name_and_takes_the_keyboard(control):
    assert control.accessibleName()
    assert control.focusPolicy() & Qt.FocusPolicy.TabFocus


def test_frames_and_words_stand_out(control, palette):
    control.resize(control.sizeHint())
    assert strongest(control.grab().toImage()) >= 4.5


def test_controls_grow_with_the_zoom(control):
    before = control.minimumHeight() or control.sizeHint().height()
    fonts.set_zoom(2.0)
    after = control.minimumHeight() or control.sizeHint().height()
    assert 1.9 * before <= after <= 2.1 * before


def test_touch_of_the_keyboard_changes_the_frame(control, qtbot):
    page = control.window()
    with qtbot.waitExposed(page):
        page.show()
    page.activateWindow()
    page.setFocus()
    before = control.grab().toImage()
    control.setFocus()
    qtbot.waitUntil(control.hasFocus)
    assert control.grab().toImage() != before


@pytest.mark.parametrize("make", [TickBox, Option])
def test_space_ticks_and_words_stay_whole(qtbot, make):
    button = make("Nuts & <b>bolts</b>")
    qtbot.addWidget(button)
    QTest.keyClick(button, Qt.Key.Key_Space)
    assert button.isChecked()
    assert QAccessible.queryAccessibleInterface(button).text(QAccessible.Text.Name) == "Nuts & <b>bolts</b>"


def test_a_press_on_the_words_ticks_too(qtbot):
    box = TickBox("Dry of solvent")
    qtbot.addWidget(box)
    box.resize(box.sizeHint())
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=box.rect().center())
    assert box.isChecked()


def test_a_problem_is_read_out_and_the_entry_stays(qtbot):
    line = LineEntry("Job number")
    qtbot.addWidget(line)
    line.setText("22 17")
    line.set_problem("A job number has no spaces")
    assert (line.text(), line.accessibleDescription()) == ("22 17", "A job number has no spaces")


def test_tab_leaves_the_area(qtbot):
    page = QWidget()
    qtbot.addWidget(page)
    area, line = TextArea("Complaint", parent=page), LineEntry("Customer", parent=page)
    with qtbot.waitExposed(page):
        page.show()
    area.setFocus()
    QTest.keyClick(area, Qt.Key.Key_Tab)
    assert area.toPlainText() == ""
    assert page.focusWidget() is line


def test_a_page_scrolls_when_the_window_is_small(qtbot):
    content = QWidget()
    content.setMinimumSize(600, 900)
    page = ScrollPage(content, name="Pins")
    qtbot.addWidget(page)
    page.resize(400, 300)
    with qtbot.waitExposed(page):
        page.show()
    assert page.verticalScrollBar().maximum() > 0
    page.grab()


def test_announcing_never_moves_the_keyboard(qtbot):
    line = LineEntry("Customer")
    qtbot.addWidget(line)
    announce(line, "Fail: Plover is outside its limits")
    assert not line.hasFocus()


@pytest.mark.parametrize(("code", "is_left"), [(Qt.Key.Key_E, True), (Qt.Key.Key_A, False)])
def test_the_key_of_the_editor_is_left_to_it(qtbot, code, is_left):
    line = LineEntry("Job number")
    qtbot.addWidget(line)
    event = QKeyEvent(QEvent.Type.ShortcutOverride, code, Qt.KeyboardModifier.ControlModifier)
    event.ignore()
    QApplication.sendEvent(line, event)
    assert event.isAccepted() is not is_left


@pytest.mark.parametrize("words", [["Heron", "Gull"], []])
def test_a_list_that_is_filled_later_leaves_the_field_its_one_ground(qtbot, words):
    field = PickField("Solenoid", [])
    qtbot.addWidget(field)
    told = []
    field.changed.connect(lambda: told.append(field.text()))
    field.set_words(words, "Gull")
    assert field.entry.lineEdit().palette().color(QPalette.ColorRole.Base).alpha() == 0
    assert (field.text(), told) == ("Gull", [])
