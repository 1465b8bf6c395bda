"""The Findings page at the keyboard, on a desk in memory."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from tests.data.made_up import heat_test
from tests.fakes.clock import Clock
from tests.fakes.kept_page import keep_page
from tests.fakes.ports_bench import PORTS, variant_with
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import AirTest, OpenJob, Reading, sha256_of
from valvebench.model.heat import HeatKind, Sized
from valvebench.model.words import AirResult, LeadState, Place, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.findings.presenter import EMPTY, FindingsPresenter
from valvebench.ui.findings.shown import NOTHING_JUDGED, NOTHING_WRONG, FindingsShown
from valvebench.ui.findings.view import FindingsPage
from valvebench.ui.findings.wiring import connect
from valvebench.ui.keeper import Keeper
from valvebench.ui.widgets.ruler import Ruler

KEY = Qt.Key
GULL = {"name": "Gull", "kind": "solenoid", "between": ["1", "3"], "low_ohm": 4.9, "high_ohm": 5.5}
KNOT = {"name": "Knot", "kind": "solenoid", "between": ["2", "3"], "low_ohm": 4.9, "high_ohm": 5.5}
BLEEDS = AirTest(port="P1", place=Place.CASE, result=AirResult.BLEEDS)


def reading(pin, ohm):
    return Reading(from_node=pin, to_node="3", ohm=ohm, celsius=20.0, u_ohm=0.02, leads=LeadState.FOUR_WIRE)


class Bench:
    def __init__(self, qtbot, *bodies, devices=(GULL, KNOT)):
        raw = variant_with(devices=list(devices), ports=PORTS[:1])
        job = OpenJob(session="s", job="T-1", variant=sha256_of(raw), require_air=True)
        store = SessionStore(first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann"), blobs=(raw,))
        self.desk, self.page = Desk(store, clock=Clock()), FindingsPage()
        for body in bodies:
            self.desk.record(body)
        keep_page(qtbot, self.page)
        self.keeper = Keeper(self.desk, HeldRunner())
        self.presenter = FindingsPresenter(self.page, self.desk, self.keeper)
        connect(self.page, self.presenter)
        self.asked = []
        self.page.go_to.connect(self._asked)
        self.presenter.start()
        self.page.resize(1140, 900)
        with qtbot.waitExposed(self.page):
            self.page.show()
        self.keeper.judge(done=lambda: None, failed=pytest.fail)
        self.page.begin()

    def _asked(self, page, key):
        self.asked.append((page, key))


@pytest.mark.parametrize(
    ("verdict", "words"), [(Verdict.PASS, NOTHING_WRONG), (Verdict.NO_LIMIT, NOTHING_JUDGED)], ids=str
)
def test_without_a_limit_nothing_is_said_to_be_in_order(qtbot, verdict, words):
    page = FindingsPage()
    keep_page(qtbot, page)
    page.show_findings(FindingsShown(verdict=verdict, sentence="", scope="", rule="Proved only", state=""))
    assert words in [label.text() for label in page.findChildren(QLabel) if label.isVisibleTo(page)]


@pytest.mark.parametrize(("width", "is_below"), [(1140, False), (480, True)])
def test_copying_stands_beside_the_sentence_or_below_where_it_is_narrow(qtbot, width, is_below):
    page = Bench(qtbot, reading("1", 9.0)).page
    page.resize(width, 900)
    page.fit_width(width)
    QApplication.processEvents()
    button, sentence = page.copy_button.geometry(), page.sentence.geometry()
    assert (button.top() > sentence.bottom()) is is_below


def test_an_empty_page_asks_for_no_more_room_than_it_shows(qtbot):
    page = Bench(qtbot, reading("1", 9.0)).page
    full = page.heightForWidth(1140)
    page.show_empty(EMPTY)
    QApplication.processEvents()
    assert page.heightForWidth(1140) < full / 2
    page.show_findings(FindingsShown(verdict=Verdict.PASS, sentence="", scope="", rule="Proved only", state=""))
    QApplication.processEvents()
    assert page.heightForWidth(1140) > full / 2


def test_verdict_reasons_and_what_is_missing(qtbot):
    bench = Bench(qtbot, reading("1", 9.0))
    page = bench.page
    assert page.mark.verdict is Verdict.FAIL
    assert page.sentence.text() == "Fail: Gull is outside its limits"
    (card,) = page.reason_cards
    (ruler,) = card.findChildren(Ruler)
    assert "limits 4.90 to 5.50" in ruler.accessibleName()
    assert [page.model.index(row, 0).data() for row in range(page.model.rowCount())] == ["Knot", "Port P1"]


def test_enter_on_what_is_missing_goes_there(qtbot):
    bench = Bench(qtbot, reading("1", 5.2))
    assert bench.page.focusWidget() is bench.page.table
    QTest.keyClick(bench.page.table, KEY.Key_Down)
    QTest.keyClick(bench.page.table, KEY.Key_Return)
    assert bench.asked == [("Ports", "port P1")]


def test_a_reason_leads_to_its_page(qtbot):
    bench = Bench(qtbot, reading("1", 9.0), BLEEDS)
    first, second = bench.page.reason_cards
    bench.page.copy_button.setFocus()
    for _ in range(2):
        QTest.keyClick(bench.page.focusWidget(), KEY.Key_Tab)
        QTest.keyClick(bench.page.focusWidget(), KEY.Key_Return)
    assert bench.asked == [("Pins", "device Gull"), ("Ports", "port P1")]
    assert second.findChildren(Ruler) == []
    assert "limits 4.90 to 5.50" in first.findChildren(Ruler)[0].accessibleName()


def test_ctrl_c_copies_the_page(qtbot):
    bench = Bench(qtbot, reading("1", 9.0))
    QTest.keyClick(bench.page.copy_button, KEY.Key_C, Qt.KeyboardModifier.ControlModifier)
    bench.page.copy_button.click()
    text = QGuiApplication.clipboard().text()
    assert text.startswith("Job T-1\nFail: Gull is outside its limits")


def test_it_follows_a_new_entry(qtbot):
    bench = Bench(qtbot, reading("1", 5.2), reading("2", 5.2))
    assert bench.page.mark.verdict is Verdict.NOT_FINISHED
    bench.keeper.keep(BLEEDS, kept=lambda *_: None, failed=pytest.fail)
    assert bench.page.mark.verdict is Verdict.FAIL
    assert not bench.page.table.isVisible()
    bench.keeper.keep(reading("1", 9.0), kept=lambda *_: None, failed=pytest.fail)
    assert [card.accessibleName() for card in bench.page.reason_cards] == ["Fail: Solenoid Gull", "Fail: Port P1"]


def test_a_hidden_page_rests(qtbot):
    bench = Bench(qtbot, reading("1", 5.2))
    bench.page.hide()
    bench.keeper.keep(BLEEDS, kept=lambda *_: None, failed=pytest.fail)
    assert bench.page.mark.verdict is Verdict.NOT_FINISHED
    bench.page.show()
    assert bench.page.mark.verdict is Verdict.FAIL


def test_the_empty_page_holds_the_action_that_fills_it(qtbot):
    bench = Bench(qtbot)
    assert EMPTY in {label.text() for label in bench.page.findChildren(QLabel) if label.isVisible()}
    assert bench.page.focusWidget() is bench.page.take_button
    QTest.keyClick(bench.page.take_button, KEY.Key_Return)
    assert bench.asked == [("Pins", "")]


def test_the_model_keeps_the_rules(qtbot, qtmodeltester):
    qtmodeltester.check(Bench(qtbot, reading("1", 5.2)).page.model)


def test_everything_that_takes_the_keyboard_has_a_name(qtbot):
    page = Bench(qtbot, reading("1", 9.0)).page
    for widget in page.findChildren(QWidget):
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus and widget.isVisible():
            assert QAccessible.queryAccessibleInterface(widget).text(QAccessible.Text.Name), widget


@pytest.mark.parametrize("zoom", [1.0, 2.0])
def test_it_paints_in_every_palette(qtbot, qapp, zoom):
    page = Bench(qtbot, reading("1", 9.0), reading("2", 5.49)).page
    fonts.set_zoom(zoom)
    for name in theme.THEMES:
        theme.apply(qapp, name)
        assert not page.grab().isNull()


def test_names_of_any_kind_are_shown_as_they_stand(qtbot):
    name = "<b>x</b> & \u202e" + "\U0001f527" * 30
    page = Bench(qtbot, reading("1", 9.0), devices=(GULL | {"name": name}, KNOT)).page
    assert name in page.sentence.text()
    assert {label.textFormat() for label in page.findChildren(QLabel)} == {Qt.TextFormat.PlainText}
    assert not page.grab().isNull()


def test_a_heat_run_that_fails_has_a_card_that_leads_to_its_page(qtbot):
    grows = {"kind": HeatKind.GROWS_WITH_HEAT, "excess_ohm_at_hottest": Sized(value=0.38, u=0.005)}
    bench = Bench(qtbot, reading("1", 5.2), heat_test("Gull", **grows))
    assert bench.page.sentence.text() == "Fail: Gull fails in the heat run"
    (card,) = bench.page.reason_cards
    assert card.accessibleName() == "Fail: Heat run of Gull"
    assert card.findChildren(Ruler) == []
    words = [label.text() for label in card.findChildren(QLabel)]
    assert any(text.startswith("Something grows with heat: 0.380") for text in words)
    assert "Single readings of Gull pass: they do not show what heat does." in words
    QTest.keyClick(card.open_button, KEY.Key_Return)
    assert bench.asked == [("Heat", "heat Gull")]


def test_a_reason_that_has_not_changed_keeps_its_card(qtbot):
    bench = Bench(qtbot, reading("1", 9.0))
    (gull,) = bench.page.reason_cards
    bench.keeper.keep(reading("2", 9.0), kept=lambda *_: None, failed=pytest.fail)
    assert [card.shown.what for card in bench.page.reason_cards] == ["Solenoid Gull", "Solenoid Knot"]
    assert bench.page.reason_cards[0] is gull
    bench.keeper.keep(reading("1", 9.5), kept=lambda *_: None, failed=pytest.fail)
    QApplication.processEvents()
    assert gull not in bench.page.reason_cards
    first, second = bench.page.reason_cards
    assert first.y() < second.y()
