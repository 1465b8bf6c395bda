from __future__ import annotations

import itertools
import math

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget

from valvebench.model.words import Place, Verdict
from valvebench.ui.widgets.board_layout import PortSpot, plan_board
from valvebench.ui.widgets.port_board import PortBoard, PortButton

KEY = Qt.Key
BODY = [("P3", 0.2, 0.2), ("P4", 0.5, 0.2), ("P5", 0.8, 0.2), ("P6", 0.5, 0.8)]


def spots(*places):
    return [PortSpot(name=name, x=x, y=y) for name, x, y in places]


@pytest.fixture
def board(qtbot):
    made = PortBoard()
    qtbot.addWidget(made)
    ports = {Place.CASE: spots(("P1", 0.1, 0.2), ("P2", 0.1, 0.7)), Place.BODY: spots(*BODY)}
    made.set_ports(ports, {"P1": "clutch circuit in the case, Auk"})
    made.resize(500, 300)
    with qtbot.waitExposed(made):
        made.show()
    return made


def focused(board) -> str:
    widget = board.window().focusWidget()
    return widget.name if isinstance(widget, PortButton) else ""


def walk(board, start, *keys):
    board.port(start).setFocus()
    for key in keys:
        QTest.keyClick(board.window().focusWidget(), key)
    return focused(board)


@pytest.mark.parametrize(
    ("start", "keys", "end"),
    [
        pytest.param("P3", [KEY.Key_Right], "P4", id="right"),
        pytest.param("P4", [KEY.Key_Down], "P6", id="down"),
        pytest.param("P3", [KEY.Key_Left], "P1", id="over-to-the-case"),
        pytest.param("P1", [KEY.Key_Down], "P2", id="down-in-the-case"),
        pytest.param("P5", [KEY.Key_Right], "P5", id="stays-at-the-edge"),
        pytest.param("P3", [KEY.Key_6], "P6", id="a-digit-jumps"),
        pytest.param("P3", [KEY.Key_9], "P3", id="no-such-digit"),
    ],
)
def test_arrows_walk_and_digits_jump(board, start, keys, end):
    assert walk(board, start, *keys) == end


def test_enter_and_space_choose(board, qtbot):
    chosen = []
    board.port_chosen.connect(chosen.append)
    walk(board, "P3", KEY.Key_Return, KEY.Key_Right, KEY.Key_Space)
    assert chosen == ["P3", "P4"]


def test_the_board_is_one_tab_stop(qtbot):
    page = QWidget()
    qtbot.addWidget(page)
    before, made, after = QLineEdit(), PortBoard(), QLineEdit()
    rows = QVBoxLayout(page)
    for part in (before, made, after):
        rows.addWidget(part)
    made.set_ports({Place.BODY: spots(*BODY)}, {})
    with qtbot.waitExposed(page):
        page.show()
    before.setFocus()
    QTest.keyClick(before, KEY.Key_Tab)
    assert focused(made) == "P3"
    QTest.keyClick(page.focusWidget(), KEY.Key_Tab)
    assert page.focusWidget() is after
    QTest.keyClick(after, KEY.Key_Backtab)
    assert focused(made) == "P3"


def test_ports_are_read_out_with_what_stands(board):
    assert board.port("P1").accessibleName() == "Port P1, clutch circuit in the case, Auk, not heard yet"
    board.set_verdict("P1", Verdict.FAIL, "Auk")
    board.set_current("P1")
    assert board.port("P1").accessibleName() == "Port P1, Auk, fail, asked now"
    board.set_current("")
    assert board.port("P1").accessibleName() == "Port P1, Auk, fail"


def test_the_current_port_is_where_tab_comes_in(board):
    board.window().focusWidget().clearFocus()
    board.set_current("P5")
    assert board.focusProxy() is board.port("P5")


def test_ports_do_not_touch_and_stay_inside(board, zoom):
    board.resize(board.minimumSizeHint())
    boxes = {name: board.port(name) for name in board.names()}
    for one, other in itertools.combinations(boxes.values(), 2):
        a, b = one.geometry().center(), other.geometry().center()
        assert math.dist((a.x(), a.y()), (b.x(), b.y())) >= 2 * one.radius_px
    for button in boxes.values():
        assert board.rect().contains(button.geometry().center())


def test_it_paints_in_every_palette(board, palette, zoom):
    board.set_verdict("P4", Verdict.CANT_TELL, "")
    board.set_current("P3")
    board.port("P4").setFocus()
    assert not board.grab().isNull()


def test_an_empty_board_says_so(qtbot):
    made = PortBoard()
    qtbot.addWidget(made)
    made.set_ports({}, {})
    made.set_current("P1")
    made.resize(200, 100)
    assert (made.names(), made.grab().isNull()) == ((), False)


# -- where ports stand: by hand ------------------------------------------------------------------


def test_fractions_are_spread_over_the_board():
    plan = plan_board(spots(*BODY))
    assert plan.places["P3"] == (0.0, 0.0)
    assert plan.places["P4"] == pytest.approx((0.5, 0.0))
    assert plan.places["P6"] == pytest.approx((0.5, 1.0))
    assert (plan.columns, plan.rows) == (3, 2)


def test_ports_without_places_stand_in_rows():
    plan = plan_board(spots(*((f"P{n}", None, None) for n in range(4))))
    assert sorted(plan.places.values()) == [(0, 0), (0, 1), (0.5, 0), (1, 0)]
    assert (plan.columns, plan.rows) == (3, 2)


def test_ports_without_places_stand_below_the_others():
    plan = plan_board([*spots(*BODY), *spots(("P7", None, None), ("P8", 0.3, None))])
    upper = max(plan.places[name][1] for name, *_ in BODY)
    assert all(plan.places[name][1] > upper for name in ("P7", "P8"))
    assert all(0 <= x <= 1 and 0 <= y <= 1 for x, y in plan.places.values())


def test_ports_on_one_spot_fall_back_to_rows():
    plan = plan_board(spots(("P1", 0.5, 0.5), ("P2", 0.5, 0.5), ("P3", 0.1, 0.1)))
    assert len(set(plan.places.values())) == 3


def test_a_single_port_stands_in_the_middle():
    assert plan_board(spots(("P1", 0.1, 0.9))).places == {"P1": (0.5, 0.5)}
    assert plan_board(spots(("P1", None, None))).places == {"P1": (0.5, 0.5)}


def test_any_name_is_shown_as_it_stands(qtbot, naughty):
    made = PortBoard()
    qtbot.addWidget(made)
    names = [text for text in dict.fromkeys(naughty) if text.strip()][:60]
    made.set_ports({Place.BODY: [PortSpot(name=name) for name in names]}, dict.fromkeys(names, "<b>x</b>"))
    made.resize(900, 600)
    made.grab()
    assert list(made.names()) == names
    assert all("<b>x</b>" in made.port(name).accessibleName() for name in names)


def middle(board, name):
    return board.port(name).geometry().center()


def test_turned_over_swaps_left_and_right_of_the_body_only_and_says_so(board):
    before = {name: middle(board, name) for name in board.names()}
    board.set_turned(True)
    assert board.body_title() == "Valve body, turned over, mirrored"
    assert {name for name in before if middle(board, name) != before[name]} == {"P3", "P5"}
    assert abs(middle(board, "P3").x() - before["P5"].x()) <= 1
    board.set_turned(False)
    assert {name: middle(board, name) for name in board.names()} == before
    assert board.body_title() == "Valve body"


def test_a_photo_is_mirrored_with_its_ports(board):
    image = QImage(40, 30, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    image.setPixelColor(0, 0, Qt.GlobalColor.black)
    board.set_photos({Place.BODY: image})
    before, rect = middle(board, "P3").x(), board.photo_rect(Place.BODY)
    board.set_turned(True)
    assert abs((middle(board, "P3").x() - rect.left()) - (rect.right() - before)) <= 2
    pixels = board.grab().toImage()
    at = board.photo_rect(Place.BODY)
    assert pixels.pixelColor(int(at.right()) - 1, int(at.top()) + 1).lightness() < 128
    assert pixels.pixelColor(int(at.left()) + 1, int(at.top()) + 1).lightness() > 128
