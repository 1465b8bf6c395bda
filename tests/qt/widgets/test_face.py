from __future__ import annotations

import math

import pytest
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QAccessible, QPainterPath
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QVBoxLayout, QWidget

from valvebench.model.words import CASE, Verdict
from valvebench.ui import fonts
from valvebench.ui.widgets.face import MATING_TEXT, WIRE_TEXT, Face
from valvebench.ui.widgets.face_drawing import FaceDrawing
from valvebench.ui.widgets.face_geometry import PinSpot, clear_of, lead_curve, nearest, plan_face, second_half, turned
from valvebench.ui.widgets.pin_button import PinButton

KEY = Qt.Key


def grid(columns: int, rows: int) -> list[PinSpot]:
    return [
        PinSpot(name=str(row * columns + column + 1), x=column * 0.1, y=row * 0.5)
        for row in range(rows)
        for column in range(columns)
    ]


def ring(count: int) -> list[PinSpot]:
    turn = 2 * math.pi / count
    return [PinSpot(name=str(n + 1), x=math.sin(n * turn), y=-math.cos(n * turn)) for n in range(count)]


@pytest.fixture
def face(qtbot):
    made = Face("Connector A")
    qtbot.addWidget(made)
    made.drawing.set_pins(grid(6, 2))
    made.resize(468, 360)
    with qtbot.waitExposed(made):
        made.show()
    return made


def focused(face: Face) -> str:
    widget = face.window().focusWidget()
    return widget.name if isinstance(widget, PinButton) else ""


@pytest.mark.parametrize(
    ("start", "keys", "end"),
    [
        pytest.param("1", [KEY.Key_Right], "2", id="right"),
        pytest.param("2", [KEY.Key_Down], "8", id="down-to-the-next-row"),
        pytest.param("8", [KEY.Key_Up, KEY.Key_Left], "1", id="up-and-left"),
        pytest.param("6", [KEY.Key_Right], "6", id="stays-at-the-edge"),
        pytest.param("9", [KEY.Key_Down], CASE, id="down-to-the-case"),
        pytest.param("9", [KEY.Key_Down, KEY.Key_Up], "9", id="back-from-the-case"),
    ],
)
def test_arrows_walk(face, start, keys, end):
    face.drawing.focus_pin(start)
    for key in keys:
        QTest.keyClick(face.window().focusWidget(), key)
    assert focused(face) in ({end} if end != "9" else {"9", "10"})


def test_arrows_follow_the_turned_face(face):
    face.turn_over()
    face.drawing.focus_pin("1")
    QTest.keyClick(face.window().focusWidget(), KEY.Key_Left)
    assert focused(face) == "2"


@pytest.mark.parametrize(("digits", "end"), [("7", "7"), ("12", "12"), ("1", "1")])
def test_digits_jump(face, digits, end):
    face.drawing.focus_pin("5")
    for digit in digits:
        QTest.keyClick(face.window().focusWidget(), digit)
    assert focused(face) == end


@pytest.mark.parametrize("key", [KEY.Key_Return, KEY.Key_Enter, KEY.Key_Space])
def test_a_key_chooses(qtbot, face, key):
    chosen = []
    face.pin_chosen.connect(chosen.append)
    face.drawing.focus_pin("4")
    QTest.keyClick(face.window().focusWidget(), key)
    assert chosen == ["4"]


def test_a_click_chooses(qtbot, face):
    chosen = []
    face.pin_chosen.connect(chosen.append)
    for name in ("11", CASE):
        qtbot.mouseClick(face.drawing.pin(name), Qt.MouseButton.LeftButton)
    assert chosen == ["11", CASE]


def test_the_face_is_one_tab_stop(qtbot):
    page = QWidget()
    qtbot.addWidget(page)
    rows = QVBoxLayout(page)
    before, drawing, after = QLineEdit(), FaceDrawing(), QLineEdit()
    for widget in (before, drawing, after):
        rows.addWidget(widget)
    drawing.set_pins(grid(6, 2))
    with qtbot.waitExposed(page):
        page.show()
    drawing.focus_pin("9")
    before.setFocus()
    QTest.keyClick(before, KEY.Key_Tab)
    assert page.focusWidget() is drawing.pin("9")
    QTest.keyClick(page.focusWidget(), KEY.Key_Tab)
    assert page.focusWidget() is after


def test_names_are_read_out(face):
    face.drawing.set_state("8", Verdict.FAIL, "solenoid Plover")
    face.drawing.set_pair("8", CASE)
    names = [face.drawing.pin(name).accessibleName() for name in ("1", "8", CASE)]
    assert names == ["Pin 1", "Pin 8, solenoid Plover, fail, black lead", "Case, red lead"]
    assert QAccessible.queryAccessibleInterface(face.drawing.pin("8")).role() == QAccessible.Role.Button


def test_a_verdict_that_stands_in_the_note_is_read_out_once(face):
    name = face.drawing.names()[0]
    face.drawing.set_state(name, Verdict.FAIL, "Plover, fail")
    button = next(b for b in face.findChildren(PinButton) if b.name == name)
    assert button.accessibleName() == f"Pin {name}, Plover, fail"


def test_the_tooltip_of_a_pin_is_read_out_without_its_markup(face):
    name = face.drawing.names()[0]
    face.drawing.set_state(name, Verdict.CANT_TELL, "Fluid")
    button = next(b for b in face.findChildren(PinButton) if b.name == name)
    read_out = QAccessible.queryAccessibleInterface(button).text(QAccessible.Text.Description)
    assert read_out == f"Pin {name}, Fluid, can't tell"


def test_nothing_that_takes_focus_is_nameless(face):
    takers = [w for w in face.findChildren(QWidget) if w.focusPolicy() != Qt.FocusPolicy.NoFocus]
    assert len(takers) >= 14
    assert all(w.accessibleName() for w in takers)


def test_it_says_which_side_is_seen(qtbot, face):
    assert face.side_text() == MATING_TEXT
    with qtbot.waitSignal(face.turned_over) as turn:
        face.turn_over()
    assert turn.args == [True]
    assert face.side_text() == WIRE_TEXT
    assert WIRE_TEXT in face.drawing.accessibleName()
    assert face.drawing.pin("1").x() > face.drawing.pin("6").x()


@pytest.mark.parametrize("width", [468, 260])
def test_the_side_that_is_seen_is_never_cut(qtbot, face, width):
    face.resize(width, 360)
    for _ in range(2):
        QApplication.processEvents()
        assert not face._side.is_cut()
        face.turn_over()


def test_leads_come_off(face):
    face.drawing.set_pair("3", "11")
    face.drawing.set_pair(None, None)
    assert face.drawing.pin("3").accessibleName() == "Pin 3"


@pytest.mark.parametrize("pair", [("3", "99"), ("3", "3"), (None, "3")])
def test_a_pair_that_is_none_is_not_drawn(face, pair):
    face.drawing.set_pair(*pair)
    assert "lead" not in face.drawing.pin("3").accessibleName()


def test_a_smaller_connector_replaces_a_larger_one(face):
    face.drawing.set_pair("3", "11")
    face.drawing.set_pins(grid(2, 1), has_case=False)
    assert face.drawing.names() == ("1", "2")
    face.grab()


def test_an_empty_face_draws_nothing(qtbot):
    drawing = FaceDrawing()
    qtbot.addWidget(drawing)
    drawing.set_pins([], has_case=False)
    drawing.grab()
    assert drawing.names() == ()


LAYOUTS = [
    pytest.param(grid(2, 1), False, id="two"),
    pytest.param(grid(1, 5), False, id="one-column"),
    pytest.param(grid(6, 2), False, id="twelve"),
    pytest.param(grid(15, 4), False, id="sixty"),
    pytest.param(ring(5), True, id="ring-of-five"),
    pytest.param(ring(16), True, id="ring-of-sixteen"),
    pytest.param(ring(9), False, id="ring-in-a-box"),
]


@pytest.mark.parametrize(("spots", "is_round"), LAYOUTS)
def test_pins_stand_apart_and_inside(qtbot, zoom, spots, is_round):
    drawing = FaceDrawing()
    qtbot.addWidget(drawing)
    drawing.set_pins(spots, is_round=is_round)
    drawing.resize(drawing.minimumSizeHint())
    drawing._lay_out()
    centres = [drawing.pin(spot.name).geometry().center() for spot in spots]
    radius = drawing.pin(spots[0].name).radius_px
    gaps = [math.hypot(a.x() - b.x(), a.y() - b.y()) for n, a in enumerate(centres) for b in centres[n + 1 :]]
    assert min(gaps) >= 2 * radius + 4 * zoom
    assert radius >= 11 * zoom
    outline = drawing._outline.boundingRect()
    assert all(outline.adjusted(radius, radius, -radius, -radius).contains(centre) for centre in centres)
    assert all(drawing.rect().contains(drawing.pin(name).geometry()) for name in drawing.names())


def test_sixty_pins_keep_24_px_between_centres():
    """WCAG 2.2, success criterion 2.5.8: targets 24 px apart."""
    drawing_pitch_px = 32
    plan = plan_face(grid(15, 4))
    places = list(plan.places.values())
    closest = min(math.dist(a, b) for n, a in enumerate(places) for b in places[n + 1 :])
    assert closest * drawing_pitch_px >= 24


def test_turning_twice_gives_the_same_face():
    plan = plan_face(grid(6, 2))
    again = turned(turned(plan)).places
    assert all(again[name] == pytest.approx(place) for name, place in plan.places.items())


def test_nearest_prefers_the_straight_way():
    places = {"a": (0.0, 0.0), "straight": (2.0, 0.0), "slanted": (1.5, 1.0)}
    assert nearest(places, "a", direction=(1, 0)) == "straight"
    assert nearest(places, "a", direction=(-1, 0)) is None


def test_second_half_of_a_straight_line_by_hand():
    line = ((0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (3.0, 0.0))
    assert second_half(line) == ((1.5, 0.0), (2.0, 0.0), (2.5, 0.0), (3.0, 0.0))


@pytest.mark.parametrize(("end", "leaves_y"), [((10.0, 50.0), 5.0), ((10.0, -50.0), -5.0), ((40.0, 0.0), 5.0)])
def test_leads_leave_toward_the_other_disc(end, leaves_y):
    assert lead_curve((0.0, 0.0), end, radius=5.0, sag=8.0)[0] == (0.0, leaves_y)


@pytest.mark.parametrize("name", ["1", "3", "6"])
def test_the_lead_to_the_casting_touches_no_pin_below(face, name):
    face.drawing.set_pair(name, CASE)
    start, first, second, end = (QPointF(x, y) for x, y in face.drawing._curve)
    path = QPainterPath(start)
    path.cubicTo(first, second, end)
    for other in (face.drawing.pin(each) for each in face.drawing.names() if each not in (name, CASE)):
        centre, radius = QRectF(other.geometry()).center(), other.radius_px
        gaps = [QLineF(path.pointAtPercent(step / 100), centre).length() for step in range(101)]
        assert min(gaps) > radius


def test_a_lead_with_nothing_in_its_way_stays_as_it_was():
    curve = lead_curve((0.0, 0.0), (0.0, 50.0), radius=5.0, sag=8.0)
    assert clear_of(curve, [(20.0, 25.0)], radius=5.0, pitch=20.0) == curve


def test_zoom_doubles_the_size(qtbot):
    drawing = FaceDrawing()
    qtbot.addWidget(drawing)
    drawing.set_pins(grid(6, 2))
    before = drawing.sizeHint()
    fonts.set_zoom(2.0)
    after = drawing.sizeHint()
    assert abs(after.width() - 2 * before.width()) <= 1
    assert abs(after.height() - 2 * before.height()) <= 1
