"""The field with a pick-list: other words to pick from, and its ground after the colours were changed."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QPalette

from valvebench.ui import theme
from valvebench.ui.widgets.pick import PickField


@pytest.fixture
def field(qtbot):
    made = PickField("Shift", ("5-6", "6-7"))
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_other_words_leave_what_stands_in_the_field(field, qtbot):
    field.set_text("4-2")
    with qtbot.assertNotEmitted(field.changed):
        field.set_words(("1-2", "2-3"))
    assert field.text() == "4-2"
    assert [field.entry.itemText(place) for place in range(field.entry.count())] == ["1-2", "2-3"]


@pytest.mark.parametrize("name", list(theme.THEMES))
def test_the_words_stand_on_the_ground_of_the_field_in_every_palette(field, qapp, name):
    theme.apply(qapp, name)
    qapp.processEvents()
    assert field.entry.lineEdit().palette().color(QPalette.ColorRole.Base).alpha() == 0
