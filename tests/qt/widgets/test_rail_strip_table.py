from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QGuiApplication
from PySide6.QtTest import QAbstractItemModelTester, QTest
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from tests.gallery_demo import COLUMNS, Rows
from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.strip import CELLS, Strip
from valvebench.ui.widgets.table import Column, Kind, Table, _laid_out, verdict_in

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


HEADS = {
    "job": "Job 2217",
    "variant": "Quillon Tern, body 2",
    "verdict": "Fail: Plover is outside its limits",
    "meter": "Meter 0.9 % + 2 \u00d7 0.01 \u03a9",
    "coil": "23.4 \u00b0C, 27 h ago",
}


def widths(strip, width_px, heads):
    strip.resize(width_px, 60)
    for name, head in heads.items():
        strip.set_cell(name, head, "a second line that is longer than the room of any cell of the strip")
    QApplication.processEvents()
    return {name: strip.cell(name).width() for name in CELLS}


@pytest.fixture
def strip(qtbot):
    made = Strip()
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_a_narrow_strip_cuts_no_meter_and_no_variant(strip):
    widths(strip, 960, HEADS)
    assert [name for name in CELLS if strip.cell(name).head.is_cut()] in ([], ["verdict"])


def test_where_every_head_fits_the_shares_stay_as_drawn(strip):
    short = widths(strip, 1280, HEADS | {"verdict": "Pass", "coil": "23.4 \u00b0C"})
    assert widths(strip, 1280, HEADS) == short


def test_another_second_moves_nothing(strip):
    before = widths(strip, 960, HEADS | {"coil": "23.4 \u00b0C, 11 s ago"})
    assert widths(strip, 960, HEADS | {"coil": "23.4 \u00b0C, 12 s ago"}) == before


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
    heads, row = QGuiApplication.clipboard().text().splitlines()
    assert heads == "Between\tWhat\t\N{OHM SIGN}\tat 20 \N{DEGREE SIGN}C\tLimits\tVerdict"
    assert row == "8–case\tPlover\t9.8\t9.67 ± 0.13\t12.0–15.0\tFail"


def test_a_line_break_in_a_cell_breaks_no_copied_row(table):
    table.model().ROWS = (("1\n2", "a\tb", "", "", "", "Pass"),)
    table.selectRow(0)
    assert table.selected_text().splitlines()[1] == "1 2\ta b\t\t\t\tPass"


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


@pytest.mark.parametrize("height", [201, 213, 224, 240, 255])
def test_a_table_shows_whole_rows_at_its_end_and_on_the_way(qtbot, height):
    table = Table((Column(kind=Kind.TEXT),), name="Rows")
    qtbot.addWidget(table)
    model = RowsModel(("One",), lambda row: (row,), lambda _: "")
    model.set_rows([f"row {n}" for n in range(30)])
    table.setModel(model)
    table.resize(300, 400)
    table.show()
    table.scrollToBottom()
    table.resize(300, height)
    QApplication.processEvents()
    for place in (table.verticalScrollBar().maximum(), 3, 0, table.verticalScrollBar().maximum()):
        table.verticalScrollBar().setValue(place)
        top = table.rowAt(0)
        assert table.rowViewportPosition(top) == 0
        last = table.rowAt(table.viewport().height() - 1)
        assert table.rowViewportPosition(last) + table.rowHeight(last) == table.viewport().height()
    assert last == 29


def test_a_table_keeps_its_rows_when_everything_becomes_larger(qtbot):
    """Less than one row would be a row cut in half."""
    window = QWidget()
    qtbot.addWidget(window)
    table = Table((Column(kind=Kind.TEXT),), name="Rows")
    table.setModel(RowsModel(("One",), lambda row: (row,), lambda _: ""))
    QVBoxLayout(window).addWidget(table)
    window.resize(300, table.minimumSizeHint().height() + 40)
    with qtbot.waitExposed(window):
        window.show()
    fonts.set_zoom(2.0)
    QApplication.processEvents()
    assert table.height() >= table.minimumSizeHint().height()
    fonts.set_zoom(1.0)


def test_the_same_words_again_lay_nothing_out_anew(qtbot):
    """The strip is written after every reading; its room is shared out only where a head has changed."""
    strip = Strip()
    qtbot.addWidget(strip)
    strip.resize(1200, strip.height())
    with qtbot.waitExposed(strip):
        strip.show()
    for name in CELLS:
        strip.set_cell(name, f"Head of {name}", "1 of 2")
    before = [strip.cell(name).geometry() for name in CELLS]
    shared = []
    strip._share_out = lambda: shared.append(1)
    for name in CELLS:
        strip.set_cell(name, f"Head of {name}", "2 of 2")
    assert not shared
    assert [strip.cell(name).geometry() for name in CELLS] == before
    strip.set_cell(CELLS[0], "Another", "")
    assert shared
