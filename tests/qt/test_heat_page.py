"""The Heat page in a whole window, by keyboard alone. Every log is invented."""

from __future__ import annotations

import sys
import time

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QAccessible, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication, QLineEdit

from tests.fakes.heat_logs import copper, grows, log_of
from valvebench.archive.verify import verify
from valvebench.bench.heat_log import Stopped
from valvebench.capture.heat_files import LogFiles
from valvebench.ui import theme
from valvebench.ui.heat.table_model import RunsModel
from valvebench.ui.heat.take_card import TakeCard
from valvebench.ui.heat.take_shown import FileShown
from valvebench.ui.heat.view import HeatPage

KEY = Qt.Key
CTRL = Qt.KeyboardModifier.ControlModifier
PARTS = {"Gull": grows, "Heron": copper, "Curlew": copper}


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "run.csv"
    path.write_bytes(log_of(PARTS, opens="Curlew", separator=";", decimal=","))
    return path


@pytest.fixture
def person(open_window, sample):
    person = open_window(sample("in-work"))
    person.folder = person.window.folder
    person.key(KEY.Key_4, CTRL)
    person.page = person.window.later.pages["Heat"]
    return person


@pytest.fixture
def taken(person, log):
    take_in(person, log)
    person.wait(lambda: is_drawn(person.page))
    return person


def is_drawn(page: HeatPage) -> bool:
    return page.plot_card._pages.currentIndex() == 1


def take_in(person, path) -> None:
    """By the keyboard: the action, the name of the file, and keeping what was found."""
    person.key(KEY.Key_L, CTRL)
    person.type(str(path))
    person.key(KEY.Key_Enter)
    card = person.page.take_card
    person.wait(card.accept.hasFocus)
    person.key(KEY.Key_Enter)
    person.wait(lambda: person.page.model.rowCount() == len(PARTS))


def seen(page):
    """The stretch of time that is drawn."""
    return page.plot_card.time_pane.drawing._above.vb.viewRange()[0]


def test_the_page_stands_between_pins_and_ports(person):
    assert person.window.rail.pages()[2:5] == ("Pins", "Heat", "Ports")
    assert person.window.rail.current() == "Heat"


def test_an_empty_page_holds_its_action_and_the_safety_line(person):
    page = person.page
    assert page.take_button.hasFocus()
    assert "held against copper" in page._empty_words.text()
    person.key(KEY.Key_Tab)
    assert page.rounds_button.hasFocus()
    person.key(KEY.Key_Enter)
    assert person.window.rail.current() == "Pins"


def test_a_file_is_taken_in_by_keyboard_alone(taken):
    page = taken.page
    assert page.table.hasFocus()
    assert [page.model.row(place).device for place in range(3)] == ["Gull", "Heron", "Curlew"]
    assert page.run_card.title.text() == "Gull against copper", "the first that fails is news"
    taken.key(KEY.Key_Down)
    taken.key(KEY.Key_Down)
    assert page.run_card.title.text() == "Curlew against copper"
    assert page.run_card.sentence.text().startswith("Fail: it opened once")
    assert page.run_card.events.text().startswith("What happened\n1  Opened after 37 min 54 s")
    assert verify(taken.folder).ok


def test_the_arrows_walk_the_list_and_the_other_keys_move_the_drawing(taken):
    page = taken.page
    taken.key(KEY.Key_Down)
    assert page.run_card.title.text() == "Heron against copper"
    taken.wait(lambda: is_drawn(page))
    whole = seen(page)
    taken.key(KEY.Key_Plus)
    near = seen(page)
    assert near[1] - near[0] == pytest.approx((whole[1] - whole[0]) / 1.4)
    taken.key(KEY.Key_Right)
    assert seen(page)[0] > near[0]
    taken.key(KEY.Key_Left)
    assert seen(page) == pytest.approx(near)
    taken.key(KEY.Key_Minus)
    assert seen(page) == pytest.approx(whole)
    taken.key(KEY.Key_Plus)
    taken.key(KEY.Key_0)
    assert seen(page) == pytest.approx(whole)
    assert page.table.hasFocus()


def test_each_drawing_can_be_reached_and_moved(taken):
    page = taken.page
    heat = page.plot_card.heat_pane
    for _ in range(20):
        if heat.hasFocus():
            break
        taken.key(KEY.Key_Tab)
    assert heat.hasFocus()
    view = heat.drawing._only.vb
    before, time = view.viewRange(), seen(page)
    taken.key(KEY.Key_Up)
    assert view.viewRange()[1][0] > before[1][0]
    taken.key(KEY.Key_Plus)
    assert view.viewRange()[0][1] - view.viewRange()[0][0] < before[0][1] - before[0][0]
    page.plot_card.caps[KEY.Key_0].click()
    assert view.viewRange()[0] == pytest.approx(before[0])
    assert seen(page) == pytest.approx(time)


def test_the_drawing_never_takes_the_keyboard_and_says_the_sentence(taken):
    card = taken.page.plot_card
    for pane in (card.time_pane, card.heat_pane):
        assert pane.drawing.focusPolicy() is Qt.FocusPolicy.NoFocus
        words = QAccessible.queryAccessibleInterface(pane).text(QAccessible.Text.Name)
        assert words.startswith("Gull. Fail: ")


def test_the_rulers_are_read_out_with_their_doubt(taken):
    taken.key(KEY.Key_Down)
    names = [found.ruler.accessibleName() for found in taken.page.run_card.rulers]
    assert names[0].startswith("Slope against copper: ")
    assert names[1] == "Resistance in series: none. Nothing shows beyond the doubt of the run."
    assert names[2].startswith("Coil behind the probe: ")
    assert "\u00b1" in names[0]


def test_nothing_is_squeezed_when_another_run_is_chosen(taken):
    page = taken.page
    for _ in range(2):
        taken.key(KEY.Key_Down)
        for _ in range(5):
            QApplication.processEvents()
        card = page.run_card
        assert card.sentence.height() >= card.sentence.heightForWidth(card.sentence.width())
        assert {found.ruler.height() for found in card.rulers} == {card.rulers[0].ruler.sizeHint().height()}


def test_delete_takes_a_run_back_and_undo_the_other_way(taken):
    page = taken.page
    taken.key(KEY.Key_Delete)
    taken.wait(lambda: page.model.rowCount() == 2)
    taken.key(KEY.Key_Y, CTRL)
    taken.wait(lambda: page.model.rowCount() == 3)
    taken.key(KEY.Key_Z, CTRL)
    taken.wait(lambda: page.model.rowCount() == 2)


def test_escape_leaves_the_file_and_nothing_was_kept(person, log):
    before = len(person.entries)
    person.key(KEY.Key_L, CTRL)
    person.type(str(log))
    person.key(KEY.Key_Enter)
    person.wait(lambda: bool(person.page.take_card.columns))
    person.key(KEY.Key_Escape)
    assert person.page.take_button.hasFocus()
    assert len(person.entries) == before


def test_another_device_is_chosen_by_keyboard(person, log):
    person.key(KEY.Key_L, CTRL)
    person.type(str(log))
    person.key(KEY.Key_Enter)
    card = person.page.take_card
    person.wait(card.accept.hasFocus)
    box = card.columns["Gull"].box
    for _ in range(4):
        if not box.hasFocus():
            person.key(KEY.Key_Tab)
    assert box.hasFocus()
    person.key(KEY.Key_Home)
    person.wait(lambda: card.columns["Gull"].word() == "")
    assert person.window.later.heat.taking._devices["Gull"] == ""


def drop(window, path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    none, left = Qt.KeyboardModifier.NoModifier, Qt.MouseButton.LeftButton
    for made in (QDragEnterEvent, QDropEvent):
        spot = QPoint(9, 9) if made is QDragEnterEvent else QPointF(9, 9)
        QApplication.sendEvent(window, made(spot, Qt.DropAction.CopyAction, data, left, none))


def test_a_log_dropped_onto_the_window_is_read_on_the_page(person, log):
    person.window.show_page("Pins")
    drop(person.window, log)
    assert person.window.rail.current() == "Heat"
    person.wait(lambda: bool(person.page.take_card.columns))


def test_a_log_dropped_before_a_job_is_open_is_refused_in_words(open_window, log):
    person = open_window()
    drop(person.window, log)
    assert "belongs to a job" in person.window.start_page._said.words()


def test_a_file_that_is_refused_says_why_and_keeps_the_name(person, tmp_path):
    path = tmp_path / "notes.csv"
    path.write_text("nothing of use\n")
    person.key(KEY.Key_L, CTRL)
    person.type(str(path))
    person.key(KEY.Key_Enter)
    card = person.page.take_card
    person.wait(lambda: "expected a header" in card.said.words())
    assert isinstance(QApplication.focusWidget(), QLineEdit)
    assert card.path.text() == str(path)
    assert not card.accept.isEnabled()


def test_a_run_kept_before_is_drawn_when_the_session_is_opened_again(taken, open_window):
    taken.window.close()
    again = open_window(taken.folder)
    again.key(KEY.Key_4, CTRL)
    page = again.window.later.pages["Heat"]
    again.wait(lambda: page.model.rowCount() == 3 and is_drawn(page))
    assert page.run_card.title.text() == "Gull against copper"


class Endless(LogFiles):
    """Reads for ever, as a very long log does, unless nobody wants it any more."""

    def log_of(self, raw, *, source, is_rounds, step=None):
        deadline = time.monotonic() + 30
        while step is None or step(1):
            assert time.monotonic() < deadline, "reading went on after everybody had left"
            time.sleep(0.01)
        raise Stopped("stopped")


def test_closing_the_window_does_not_wait_for_a_long_log(open_window, sample, program, log, monkeypatch):
    monkeypatch.setattr(program, "heat_files", lambda: Endless(lambda path: path.read_bytes()), raising=False)
    person = open_window(sample("in-work"))
    person.key(KEY.Key_4, CTRL)
    page = person.window.later.pages["Heat"]
    page.take_card.named.emit(str(log))
    person.wait(lambda: "lines so far" in page.take_card.said.words())
    begun = time.monotonic()
    person.window.close()
    assert time.monotonic() - begun < 10


@pytest.mark.parametrize("name", theme.THEMES)
def test_the_drawings_follow_the_palette(taken, qapp, name):
    theme.apply(qapp, name)
    QApplication.processEvents()
    for pane in (taken.page.plot_card.time_pane, taken.page.plot_card.heat_pane):
        image = pane.drawing.grab().toImage()
        assert image.pixelColor(2, 2) == theme.colour(theme.THEMES[name].card)


def test_what_draws_is_not_brought_in_before_a_run_is_drawn(person):
    if "pyqtgraph" not in sys.modules:  # another test may have brought it in before
        assert person.page.plot_card.time_pane.drawing is None
        person.key(KEY.Key_L, CTRL)
        assert "pyqtgraph" not in sys.modules


def test_the_models_keep_the_rules(qtbot, qtmodeltester, taken):
    qtmodeltester.check(taken.page.model)
    assert isinstance(taken.page.model, RunsModel)


def test_the_first_lines_keep_the_rules(qtbot, qtmodeltester):
    card = TakeCard()
    qtbot.addWidget(card)
    card.show_file(FileShown(name="x", detected=(("a", "b"),), headings=("t_s", "ohm"), lines=(("0", "5"), ("1", "6"))))
    qtmodeltester.check(card.lines.model())
    assert card.lines.model().index(1, 1).data() == "6"
