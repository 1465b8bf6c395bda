from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QGuiApplication
from PySide6.QtTest import QAbstractItemModelTester, QTest

from tests.gallery_demo import COLUMNS, Rows
from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.strip import CELLS, Strip
from valvebench.ui.widgets.table import Kind, Table, _laid_out, verdict_in

KEY = Qt.Key


@pytest.fixture
def rail(qtbot):
    made = Rail(("Job", "Identify", "Pins"), foot=("Archive",))
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_rail_says_where_one_is(rail):
    rail.set_progress("Pins", "11/20")
    rail.set_current("Pins")
    assert rail.item("Pins").accessibleName() == "Pins, 11/20, current page"
    assert rail.item("Job").accessibleName() == "Job"
    assert QAccessible.queryAccessibleInterface(rail.item("Pins")).role() == QAccessible.Role.Button


def test_arrows_open_the_neighbour_and_stop_at_the_ends(rail):
    opened = []
    rail.page_chosen.connect(opened.append)
    for key in (KEY.Key_Up, KEY.Key_Down, KEY.Key_Down, KEY.Key_Down, KEY.Key_Down, KEY.Key_Up):
        QTest.keyClick(rail.item(rail.current()), key)
    assert opened == ["Identify", "Pins", "Archive", "Pins"]
    assert rail.window().focusWidget() is rail.item("Pins")


@pytest.mark.parametrize(("digit", "page"), [(KEY.Key_2, "Identify"), (KEY.Key_4, "Archive")])
def test_control_and_a_digit_opens_a_page(qtbot, rail, digit, page):
    rail.activateWindow()
    with qtbot.waitSignal(rail.page_chosen) as chosen:
        QTest.keyClick(rail, digit, Qt.KeyboardModifier.ControlModifier)
    assert chosen.args == [page]


def test_setting_the_page_tells_nobody(qtbot, rail):
    with qtbot.assertNotEmitted(rail.page_chosen):
        rail.set_current("Pins")
    with qtbot.assertNotEmitted(rail.page_chosen):
        rail.item("Pins").click()


def test_rail_is_one_tab_stop(rail):
    rail.set_current("Pins")
    stops = [page for page in rail.pages() if rail.item(page).focusPolicy() & Qt.FocusPolicy.TabFocus]
    assert stops == ["Pins"]


def test_rail_words_fit_at_every_zoom(rail, zoom):
    rail.set_progress("Identify", "done")
    assert rail.sizeHint().width() >= rail.item("Identify").sizeHint().width()


def test_strip_elides_but_keeps_the_words(qtbot):
    strip = Strip()
    qtbot.addWidget(strip)
    strip.resize(700, 60)
    long = "Harbour shuttle seven, body serial 0418-77, third visit this year"
    strip.set_cell("job", "Job 2217", long)
    line = strip.cell("job").sub
    strip.show()
    assert line.text() == long
    assert long in line.toolTip()
    assert strip.cell("job").head.toolTip() == "", "Job 2217 has room"
    assert strip.minimumSizeHint().width() <= 700


def test_strip_shows_the_verdict_with_its_mark(qtbot):
    strip = Strip()
    qtbot.addWidget(strip)
    strip.set_verdict(Verdict.FAIL, "Fail: Plover is outside its limits", "9 still to take")
    cell = strip.cell("verdict")
    assert cell.mark.verdict is Verdict.FAIL
    assert [strip.cell(name).mark is None for name in CELLS] == [True, True, False, True, True]


def test_second_lines_stand_on_one_line(qtbot):
    strip = Strip()
    qtbot.addWidget(strip)
    for name in CELLS:
        strip.set_cell(name, "Head", "sub")
    strip.resize(1280, 60)
    strip.show()
    tops = {strip.cell(name).sub.mapTo(strip, strip.cell(name).sub.rect().topLeft()).y() for name in CELLS}
    assert len(tops) == 1


@pytest.fixture
def table(qtbot):
    made = Table(COLUMNS, name="Readings")
    qtbot.addWidget(made)
    model = Rows(made)
    QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning, made)
    made.setModel(model)
    made.resize(620, 320)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_control_c_copies_rows_with_the_verdict_as_a_word(table):
    table.selectRow(2)
    QTest.keyClick(table, KEY.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == "8–case\tPlover\t9.8\t9.67 ± 0.13\t12.0–15.0\tFail"


def test_a_line_break_in_a_cell_breaks_no_copied_row(table):
    table.model().ROWS = (("1\n2", "a\tb", "", "", "", "Pass"),)
    table.selectRow(0)
    assert table.selected_text() == "1 2\ta b\t\t\t\tPass"


def test_rows_follow_zoom_and_bench_mode(table):
    assert table.rowHeight(0) == 28
    table.set_row_px(46)
    fonts.set_zoom(2.0)
    assert table.rowHeight(0) == 92


def test_columns_fill_the_table(table):
    widths = sum(table.columnWidth(place) for place in range(len(COLUMNS)))
    assert widths == table.viewport().width()


def test_tab_leaves_the_table(table):
    assert not table.tabKeyNavigation()
    assert table.accessibleName() == "Readings"


def test_the_table_paints_in_every_palette(table, palette):
    table.selectRow(3)
    table.setFocus()
    table.grab()


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        ("Pass", Verdict.PASS),
        ("Can't tell: too close to the upper limit", Verdict.CANT_TELL),
        ("Not taken", Verdict.NOT_TAKEN),
        ("", None),
        (None, None),
        ("pastry", None),
    ],
)
def test_mark_cells_are_read_by_their_words(words, verdict):
    assert verdict_in(words) is verdict


def test_a_cell_shows_markup_as_it_stands(qtbot):
    plain, size = _laid_out("<b>not</b> & wired", Kind.TEXT, 1.0, 500.0)
    assert (plain.text(), plain.textFormat()) == ("<b>not</b> & wired", Qt.TextFormat.PlainText)
    assert size.width() > _laid_out("not & wired", Kind.TEXT, 1.0, 500.0)[1].width()
