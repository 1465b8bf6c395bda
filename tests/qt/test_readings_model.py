"""The table model against the checker of Qt."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QModelIndex, Qt

from valvebench.model.words import Verdict
from valvebench.ui.pins.shown import RowShown
from valvebench.ui.pins.table_model import COLUMNS, ReadingsModel


def row(number: int, *, verdict: Verdict | None = Verdict.PASS, tip: str = "") -> RowShown:
    return RowShown(
        number=number,
        between=f"{number}\u20133",
        what="Gull",
        ohm="5.50",
        at_ref="5.50 \u00b1 0.09",
        limits="5.00\u20136.00",
        verdict=verdict,
        entries=(number,),
        tip=tip,
    )


@pytest.fixture
def model(qtmodeltester):
    made = ReadingsModel()
    made.set_rows([row(2), row(3)])
    qtmodeltester.check(made, force_py=False)
    return made


def numbers(model):
    return [model.row(place).number for place in range(model.rowCount())]


def test_there_is_nothing_below_a_row(model):
    assert (model.rowCount(), model.columnCount()) == (2, len(COLUMNS))
    inside = model.index(0, 0)
    assert (model.rowCount(inside), model.columnCount(inside)) == (0, 0)


def test_a_new_row_is_inserted_not_reset(model, qtbot):
    with qtbot.waitSignal(model.rowsInserted) as signal, qtbot.assertNotEmitted(model.modelReset):
        assert model.put(row(4)) == 2
    assert signal.args[1:] == [2, 2]
    assert numbers(model) == [2, 3, 4]


def test_a_known_row_is_written_anew_in_its_place(model, qtbot):
    with qtbot.waitSignal(model.dataChanged), qtbot.assertNotEmitted(model.rowsInserted):
        assert model.put(row(2, verdict=Verdict.FAIL)) == 0
    assert model.row(0).verdict is Verdict.FAIL


def test_a_dropped_row_leaves_the_others_in_their_places(model, qtbot):
    model.put(row(4))
    with qtbot.waitSignal(model.rowsRemoved):
        model.drop(3)
    assert numbers(model) == [2, 4]
    model.put(row(4, verdict=Verdict.FAIL))
    assert [model.row(place).verdict for place in range(2)] == [Verdict.PASS, Verdict.FAIL]


def test_dropping_what_is_not_there_does_nothing(model, qtbot):
    with qtbot.assertNotEmitted(model.rowsRemoved):
        model.drop(99)
    assert numbers(model) == [2, 3]


def test_the_mark_is_told_in_words(model):
    model.put(row(4, verdict=None))
    role, mark = Qt.ItemDataRole.AccessibleTextRole, len(COLUMNS) - 1
    assert [model.data(model.index(place, mark), role) for place in (0, 2)] == ["Pass", "not kept yet"]
    assert model.data(model.index(0, 0), role) is None


def test_why_is_told_in_the_tip_as_plain_text(model):
    model.put(row(4, tip="5 < 6"))
    assert "5 &lt; 6" in model.data(model.index(2, 0), Qt.ItemDataRole.ToolTipRole)
    assert model.data(model.index(0, 0), Qt.ItemDataRole.ToolTipRole) is None


def test_no_index_no_data(model):
    assert model.data(QModelIndex()) is None


def test_every_column_has_its_heading_and_rows_have_none(model):
    across = [model.headerData(n, Qt.Orientation.Horizontal) for n in range(len(COLUMNS))]
    assert across[:2] == ["Between", "What"]
    assert model.headerData(0, Qt.Orientation.Vertical) is None
