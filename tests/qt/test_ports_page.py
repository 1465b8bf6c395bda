"""The Ports page at the keyboard, on a desk in memory."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QAccessible, QKeyEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from tests.fakes.clock import Clock
from tests.fakes.kept_page import keep_page
from tests.fakes.ports_bench import PORTS, QUESTIONS, SOLENOIDS, variant_with
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import OpenJob, sha256_of
from valvebench.model.words import Flow, SwitchState, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.keeper import Keeper
from valvebench.ui.ports.presenter import PortsPresenter
from valvebench.ui.ports.view import PortsPage
from valvebench.ui.ports.wiring import connect
from valvebench.ui.widgets.scroll import ScrollPage

KEY = Qt.Key


class Bench:
    def __init__(self, qtbot, *, variant=None, is_closed=False, size=(1140, 735)):
        raw = variant or variant_with()
        job = OpenJob(session="s", job="T-1", variant=sha256_of(raw))
        self.store = SessionStore(first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann"), blobs=(raw,))
        self.desk, self.runner, self.page = Desk(self.store, clock=Clock()), HeldRunner(), PortsPage()
        if is_closed:
            self.desk.close()
        keep_page(qtbot, self.page)
        self.presenter = PortsPresenter(self.page, self.desk, Keeper(self.desk, self.runner))
        connect(self.page, self.presenter)
        self.page.resize(*size)
        self.presenter.start()
        with qtbot.waitExposed(self.page):
            self.page.show()
        self.page.begin()

    def type(self, keys: str) -> None:
        for key in keys:
            QTest.keyClicks(self.page.focusWidget(), key)

    def click(self, *keys) -> None:
        for key in keys:
            QTest.keyClick(self.page.focusWidget(), key)

    @property
    def results(self) -> list[str]:
        return [item.body.result.value for item in self.desk.session.items_of("air")]

    @property
    def asked(self) -> str:
        return self.page.question.name.text()

    @property
    def said(self) -> str:
        return self.page.question.said.words()


@pytest.fixture
def bench(qtbot):
    return Bench(qtbot)


def test_one_key_a_port(bench):
    bench.type("+-.,")
    assert bench.results == ["pass", "fail", "bleeds", "bleeds"]
    assert len(bench.store.lines) == 5


def test_the_star_says_not_possible(bench):
    bench.type("*")
    assert bench.results == ["not_possible"]


def test_a_key_held_down_answers_once(bench):
    for is_repeat in (False, True, True):
        event = QKeyEvent(QEvent.Type.KeyPress, KEY.Key_Plus, Qt.KeyboardModifier.KeypadModifier, "+", is_repeat)
        QApplication.sendEvent(bench.page.question, event)
    assert bench.results == ["pass"]


def test_up_and_down_walk(bench):
    first = bench.asked
    bench.click(KEY.Key_Down)
    assert bench.asked == "P2, clutch Brant"
    bench.click(KEY.Key_Up)
    assert bench.asked == first


def test_the_caps_do_what_their_keys_do(bench):
    card = bench.page.question
    for cap in card.caps.values():
        cap.click()
    assert bench.results == ["pass", "fail", "bleeds", "not_possible"]
    card.walk_caps["note"].click()
    assert bench.page.focusWidget() is bench.page.note.entry
    card.walk_caps["gauge"].click()
    assert bench.page.focusWidget() is bench.page.gauge.entry


def test_other_keys_are_left_alone(bench):
    bench.type("7x")
    bench.click(KEY.Key_F7)
    assert bench.results == []


def test_in_the_note_the_keys_are_text(bench):
    bench.click(KEY.Key_Return)
    bench.type("-1 + 2, *")
    assert bench.results == []
    bench.click(KEY.Key_Return)
    bench.type("-")
    assert bench.desk.session.items[0].body.note == "-1 + 2, *"
    assert bench.page.note.text() == ""


def test_the_pressure_by_the_number_block(bench):
    bench.type("/")
    bench.type("240")
    bench.click(KEY.Key_Enter)
    bench.type("+")
    assert bench.desk.session.items[0].body.kpa_gauge == 240.0


def test_a_pressure_that_cannot_be_keeps_the_keyboard(bench):
    bench.type("/")
    bench.type("-3")
    bench.click(KEY.Key_Enter)
    assert bench.page.focusWidget() is bench.page.gauge.entry
    assert bench.results == []


def test_above_the_stated_pressure_is_said_at_the_question(bench):
    bench.type("/")
    bench.type("300")
    bench.click(KEY.Key_Enter)
    assert bench.page.focusWidget() is bench.page.question
    assert "turn it down" in bench.page.question.warning.words()


def test_cover_plate_and_turned_over_by_the_number_block(bench):
    bench.click(KEY.Key_Down)
    bench.type("00")
    assert bench.page.question.port_caps["cover"].accessibleName() == "cover plate: off, key 0"
    assert "Press *" in bench.page.question.warning.words()
    bench.type("5")
    assert bench.page.board.is_turned
    assert bench.page.question.port_caps["turn"].accessibleName() == "turn back, key 5"
    bench.type("5")
    assert not bench.page.board.is_turned
    bench.type("-")
    assert bench.desk.session.items[0].body.has_cover is False


def test_where_the_air_comes_out_by_keys_alone(bench):
    bench.click(KEY.Key_Down)
    bench.type("8")
    assert bench.page.focusWidget() is bench.page.board.port("P2")
    bench.click(KEY.Key_Escape)
    assert bench.page.focusWidget() is bench.page.question
    bench.type("8")
    bench.click(KEY.Key_Right, KEY.Key_Return)
    assert [(body.port, body.came_out_at) for body in (i.body for i in bench.desk.session.items)] == [("P2", "P3")]
    assert bench.page.focusWidget() is bench.page.question


def test_a_solenoid_by_the_number_block_alone(bench):
    card = bench.page.question
    bench.click(KEY.Key_Right, KEY.Key_Right)
    assert bench.page.focusWidget() is card
    assert [tab.accessibleName() for tab in bench.page.tabs.tabs] == [
        "Ports, 0 of 4 answered",
        "Switches, 0 of 2 answered",
        "Solenoids, 0 of 6 answered, in front",
    ]
    assert bench.page.solenoids.isVisible()
    assert not bench.page.board.isVisible()
    bench.type("+2+-")
    bodies = [item.body for item in bench.desk.session.items_of("solenoid")]
    assert [(body.heard, body.air_off, body.air_on) for body in bodies] == [
        (2, None, None),
        (None, Flow.HOLDS, None),
        (None, None, Flow.HOLDS),
    ]
    mark = bench.page.solenoid_model.index(0, 6)
    assert mark.data(Qt.ItemDataRole.AccessibleTextRole) == "Fail"
    assert bench.page.solenoid_model.index(1, 6).data(Qt.ItemDataRole.AccessibleTextRole) == "not tried yet"
    bench.click(KEY.Key_Left)
    assert bench.asked == "Is Reel open?"


def test_a_switch_with_pressures_and_contact_by_the_number_block_alone(bench):
    bench.click(KEY.Key_Right)
    bench.type("+4")
    for typed in ("180", "150", "0,4"):
        bench.type(typed)
        bench.click(KEY.Key_Enter)
    assert bench.page.focusWidget() is bench.page.question
    bench.type("+")
    rest, air = (item.body for item in bench.desk.session.items_of("switch"))
    assert (rest.has_air, rest.state) == (False, SwitchState.OPEN)
    assert (air.has_air, air.state) == (True, SwitchState.CLOSED)
    assert (air.up_kpa_gauge, air.down_kpa_gauge, air.closed_ohm) == (180.0, 150.0, 0.4)
    assert [field.text() for field in bench.page.moves] == ["", "", ""]


def test_what_was_typed_stays_when_it_cannot_be(bench):
    bench.click(KEY.Key_Right)
    bench.type("+4")
    bench.type("150")
    bench.click(KEY.Key_Enter)
    bench.type("180")
    bench.click(KEY.Key_Enter, KEY.Key_Enter)
    bench.type("+")
    assert "at most the 150" in bench.said
    assert [field.text() for field in bench.page.moves] == ["150", "180", ""]


def test_a_solenoid_of_the_list_by_enter(bench):
    bench.click(KEY.Key_Left)
    bench.page.solenoids.setFocus()
    bench.page.solenoids.setCurrentIndex(bench.page.solenoid_model.index(1, 0))
    bench.click(KEY.Key_Return)
    assert bench.asked == "Does Knot click?"
    assert bench.page.focusWidget() is bench.page.question


def test_a_tab_by_the_pointer(bench):
    bench.page.tabs.tabs[2].click()
    assert bench.asked == "Supply current-limited?"


@pytest.mark.parametrize("kind", range(3))
def test_no_kind_of_question_needs_another_width(bench, kind):
    before = bench.page.minimumSizeHint().width()
    bench.click(*[KEY.Key_Right] * kind)
    assert bench.page.minimumSizeHint().width() == before


def test_a_pressure_left_by_tab_counts_too(bench):
    bench.type("/")
    bench.type("240")
    bench.click(KEY.Key_Tab)
    bench.page.begin()
    bench.type("+")
    assert bench.desk.session.items[0].body.kpa_gauge == 240.0


def test_keys_answer_from_the_board_and_the_table(bench):
    bench.page.board.port("P2").setFocus()
    bench.type("+")
    bench.page.table.setFocus()
    bench.type("-")
    assert bench.results == ["pass", "fail"]


def test_a_port_of_the_board_is_asked_next(bench):
    bench.page.board.port("P3").setFocus()
    bench.click(KEY.Key_Return)
    assert bench.asked == "P3"
    assert bench.page.focusWidget() is bench.page.question


def test_delete_takes_a_line_back_and_undo_brings_the_question(bench):
    bench.type("++")
    bench.page.table.setFocus()
    bench.page.table.setCurrentIndex(bench.page.model.index(0, 0))
    bench.click(KEY.Key_Delete)
    assert bench.page.model.rowCount() == 1
    QTest.keyClick(bench.page.focusWidget(), KEY.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert bench.page.model.rowCount() == 0
    QTest.keyClick(bench.page.focusWidget(), KEY.Key_Y, Qt.KeyboardModifier.ControlModifier)
    assert bench.page.model.rowCount() == 1


def test_keeping_then_kept(bench):
    bench.runner.is_held = True
    bench.type("+")
    assert bench.page.model.index(0, 4).data() == "keeping"
    mark = bench.page.model.index(0, 5)
    assert mark.data(Qt.ItemDataRole.AccessibleTextRole) == "not kept yet"
    bench.runner.release()
    assert bench.page.model.index(0, 5).data(Qt.ItemDataRole.AccessibleTextRole) == "Pass"
    assert bench.page.board.port("P1").verdict is Verdict.PASS


def test_not_saved_is_said(bench):
    bench.store.is_full = True
    bench.type("+")
    assert bench.said.startswith("Not saved.")
    assert bench.page.model.rowCount() == 0


def test_the_whole_page_by_one_hand(bench):
    bench.type("/")
    bench.type("200")
    bench.click(KEY.Key_Enter)
    bench.type("+" * (len(QUESTIONS) + 1))
    assert len(bench.desk.session.items) == len(QUESTIONS)
    assert "Findings" in bench.said


def test_a_closed_session_takes_nothing(qtbot):
    bench = Bench(qtbot, is_closed=True)
    bench.type("+")
    assert bench.results == []
    assert not bench.page.note.entry.isEnabled()
    bench.click(KEY.Key_Down)
    assert bench.asked == "P2, clutch Brant"


def test_the_empty_page_holds_the_action_that_fills_it(qtbot):
    bench = Bench(qtbot, variant=variant_with(ports=[], devices=[]))
    asked = []
    bench.page.go_to.connect(lambda page, key: asked.append((page, key)))
    assert bench.page.focusWidget() is bench.page.new_job
    bench.click(KEY.Key_Return)
    assert asked == [("Start", "")]
    assert bench.page.heightForWidth(812) <= 475


def test_the_safety_line_is_in_sight_in_a_small_window(qtbot):
    bench = Bench(qtbot, size=(812, 475))
    line = bench.page.question.hazards[0]
    bottom = line.mapTo(bench.page, line.rect().bottomLeft()).y()
    assert line.words()
    assert bottom <= 475


@pytest.mark.parametrize("zoom", [1.0, 2.0])
def test_it_goes_to_one_column_where_it_must(qtbot, zoom):
    fonts.set_zoom(zoom)
    bench = Bench(qtbot, size=(round(1140 * zoom), round(735 * zoom)))
    question, board = bench.page.question, bench.page.board_card
    assert question.x() > board.x()
    scroll = ScrollPage(bench.page, name="Ports")
    qtbot.addWidget(scroll)
    scroll.resize(round(640 * zoom), round(600 * zoom))
    with qtbot.waitExposed(scroll):
        scroll.show()
    qtbot.waitUntil(lambda: question.x() == board.x())
    assert question.y() < board.y()
    assert scroll.horizontalScrollBar().maximum() == 0
    scroll.takeWidget()  # each of the two is closed by itself


def test_the_model_keeps_the_rules(bench, qtmodeltester):
    bench.type("+-")
    qtmodeltester.check(bench.page.model)


def test_everything_that_takes_the_keyboard_has_a_name(bench):
    for widget in bench.page.findChildren(QWidget):
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus and widget.isVisible() and widget.focusProxy() is None:
            interface = QAccessible.queryAccessibleInterface(widget)
            assert interface.text(QAccessible.Text.Name), widget


def test_it_paints_in_every_palette(bench, qapp):
    bench.type("+-")
    for name in theme.THEMES:
        theme.apply(qapp, name)
        assert not bench.page.grab().isNull()


def test_names_of_any_kind_are_shown_as_they_stand(qtbot):
    bad = ["<b>x</b> & <img src=x>", "\u202eright to left", "\U0001f527" * 40, "%s%n{0}", "a" * 190]
    ports = [PORTS[0] | {"name": name, "feeds": name} for name in bad]
    bench = Bench(qtbot, variant=variant_with(ports=ports, devices=SOLENOIDS))
    bench.type("+" * len(bad))
    assert len(bench.results) == len(bad)
    assert {label.textFormat() for label in bench.page.findChildren(QLabel)} == {Qt.TextFormat.PlainText}
    assert not bench.page.grab().isNull()
