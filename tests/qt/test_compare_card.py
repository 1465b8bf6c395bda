"""The card of two bodies at the keyboard, and the card of matched sets, on a desk in memory."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from tests.fakes.clock import Clock
from tests.fakes.kept_page import keep_page
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from tests.unit.diagnose.test_compare import read, session
from valvebench.bench.desk import Desk, first_line
from valvebench.bench.view import SessionView
from valvebench.model.entry import OpenJob
from valvebench.model.errors import WorldFailed
from valvebench.ui.findings.compared_model import COLUMNS, ComparedModel
from valvebench.ui.findings.compared_shown import ComparedRow
from valvebench.ui.findings.comparing import ITSELF, ComparingPresenter, World
from valvebench.ui.findings.matched import MatchedPresenter
from valvebench.ui.findings.presenter import FindingsPresenter
from valvebench.ui.findings.view import FindingsPage
from valvebench.ui.findings.wiring import connect, connect_comparing, connect_matched
from valvebench.ui.keeper import Keeper
from valvebench.ui.settings import Recent
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.whiskers import WhiskerChart

KEY = Qt.Key
HERE, THERE = Path("old"), Path("new")
SENTENCE = "2\u20137 differs: 0.410 \u00b1 0.079 \u03a9 higher than in the other body; two others show no difference."


def pair(pin, ohm):
    return read(ohm, from_node=pin)


class Bench:
    """The page of a body whose second solenoid is odd, and a session of a new body to look at."""

    def __init__(self, qtbot):
        store = SessionStore(first_line(OpenJob(session="s", job="T-1"), at="2031-05-06T09:00:00.000Z", by="Ann"))
        self.desk, self.page = Desk(store, clock=Clock()), FindingsPage()
        for pin, ohm in (("1", 5.0), ("2", 5.41), ("3", 5.0)):
            self.desk.record(pair(pin, ohm))
        keep_page(qtbot, self.page)
        self.keeper = Keeper(self.desk, HeldRunner())
        world = World(HERE, self.look, lambda: [Recent(path=str(THERE), title="Job T-2", about="new body")])
        self.comparing = ComparingPresenter(
            self.page.compare_card, self.desk, self.keeper, runner=HeldRunner(), world=world
        )
        presenter = FindingsPresenter(self.page, self.desk, self.keeper)
        connect(self.page, presenter)
        connect_comparing(self.page, self.comparing)
        connect_matched(
            self.page, MatchedPresenter(self.page.matched_card, self.desk, self.keeper, runner=HeldRunner())
        )
        self.page.resize(1140, 1200)
        with qtbot.waitExposed(self.page):
            self.page.show()
        self.keeper.judge(done=lambda: None, failed=pytest.fail)
        self.card = self.page.compare_card

    @staticmethod
    def look(folder):
        if folder.name != THERE.name:
            raise WorldFailed(f"{folder.name}: holds no journal.jsonl.")
        return SessionView(session=session(*(pair(pin, 5.0) for pin in "123"), hour=9), variant=None)

    def type_folder(self, words):
        self.card.folder.entry.setFocus()
        self.card.folder.entry.clear()
        QTest.keyClicks(self.card.folder.entry, words)
        QTest.keyClick(self.card.folder.entry, KEY.Key_Return)


@pytest.fixture
def bench(qtbot):
    return Bench(qtbot)


def test_a_typed_folder_is_compared_and_the_table_has_the_keyboard(bench):
    bench.type_folder("new")
    card = bench.card
    assert card.sentence.text() == SENTENCE
    assert card.aside.text() == "with job T-1"
    assert bench.page.focusWidget() is card.table
    assert [card.model.index(row, 0).data() for row in range(card.model.rowCount())] == [
        "2\u20137",
        "1\u20137",
        "3\u20137",
    ]
    assert card.model.index(0, 4).data() == "different"
    assert "2\u20137 +0.410 \u00b1 0.079 \u03a9, different" in card.chart.accessibleName()
    assert card.notes[0].words().startswith("Neither session has a variant")


def test_tab_leads_from_the_table_to_copying_and_to_another_session(bench):
    bench.type_folder("new")
    QTest.keyClick(bench.card.table, KEY.Key_Tab)
    assert bench.page.focusWidget() is bench.card.copy_button
    QTest.keyClick(bench.card.copy_button, KEY.Key_Return)
    assert QGuiApplication.clipboard().text().splitlines()[1] == SENTENCE
    QTest.keyClick(bench.card.copy_button, KEY.Key_Tab)
    QTest.keyClick(bench.page.focusWidget(), KEY.Key_Return)
    assert bench.page.focusWidget() is bench.card.folder.entry
    assert not bench.card.sentence.isVisible()


def test_a_recent_session_is_two_keys_away_from_the_field(bench):
    bench.card.folder.entry.setFocus()
    for _ in range(3):
        QTest.keyClick(bench.page.focusWidget(), KEY.Key_Tab)
    button = bench.page.focusWidget()
    assert isinstance(button, Button)
    assert button.accessibleName() == "Job T-2"
    QTest.keyClick(button, KEY.Key_Return)
    assert bench.card.sentence.text() == SENTENCE


@pytest.mark.parametrize(("typed", "words"), [("old", ITSELF), ("elsewhere", "elsewhere: holds no journal.jsonl.")])
def test_what_cannot_be_compared_is_said_beside_the_field(bench, typed, words):
    bench.type_folder(typed)
    assert bench.card.folder.entry.accessibleDescription() == words
    assert bench.card.folder.isVisible()
    assert not bench.card.sentence.isVisible()


def test_browsing_compares_the_chosen_folder(bench):
    bench.card.ask_for_folder = lambda *_: "new"
    bench.card.browse_button.click()
    assert bench.card.sentence.text() == SENTENCE
    bench.comparing.again()
    bench.card.ask_for_folder = lambda *_: ""
    bench.card.browse_button.click()
    assert bench.comparing.folder is None


def drop(card, path):
    """Drag a folder over the card and let it go."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    keys = (Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier)
    enter = QDragEnterEvent(QPoint(20, 20), *keys)
    QApplication.sendEvent(card, enter)
    assert enter.isAccepted()
    QApplication.sendEvent(card, QDropEvent(QPointF(20, 20), *keys))


def test_a_dropped_session_is_compared_and_other_things_are_refused(bench, tmp_path):
    folder = tmp_path / "new"
    folder.mkdir()
    drop(bench.card, folder)
    assert "holds no journal.jsonl" in bench.card.folder.entry.accessibleDescription()
    (folder / "journal.jsonl").write_bytes(b"")
    drop(bench.card, folder)
    assert bench.card.sentence.text() == SENTENCE


def test_the_matched_set_stands_on_one_ruler_and_follows_a_new_reading(bench):
    card = bench.page.matched_card
    assert not card.isVisible()
    bench.keeper.keep(pair("4", 5.15), kept=lambda *_: None, failed=pytest.fail)
    assert card.isVisible()
    (chart,) = [chart for chart in card.findChildren(WhiskerChart) if chart.isVisible()]
    assert "1\u20137 5.000 \u00b1 0.048" in chart.accessibleName()
    assert "4\u20137 5.150 \u00b1 0.048 \u03a9, the odd one" in chart.accessibleName()


def test_everything_on_the_card_has_a_name(bench):
    bench.type_folder("new")
    card = bench.card
    for part in (card.table, card.copy_button, card.again_button, card.chart, card.folder.entry):
        assert part.accessibleName()


def test_the_model_holds_against_the_checker_of_qt(qtmodeltester):
    model = ComparedModel()
    row = ComparedRow(what="1\u20132", here="5.0", there="5.1", difference="0.1", answer="different", why="Same meter.")
    model.set_rows([row, row])
    qtmodeltester.check(model, force_py=False)
    assert (model.rowCount(), model.columnCount()) == (2, len(COLUMNS))
    assert "Same meter." in model.data(model.index(0, 0), Qt.ItemDataRole.ToolTipRole)
