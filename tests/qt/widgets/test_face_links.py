"""Lines on the connector: where they run by hand arithmetic, solid or dotted, and pins as far as they are known."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPointF

from valvebench.ui.widgets import paint
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import PinSpot
from valvebench.ui.widgets.face_links import Ground, Link, joint_places, link_paths
from valvebench.ui.widgets.pin_button import Standing

# Six pins, 100 px apart, rows 130 px apart; the casting's edge at 300.
CENTRES = {str(n + 1): QPointF(100.0 * (n % 3), 130.0 * (n // 3)) for n in range(6)} | {"case": QPointF(100, 320)}
GROUND = Ground(CENTRES, 100.0, 65.0, 300.0)
DISC_PX = 37.0


def path_of(a, b, *, is_sure=True):
    ((path, sure),) = link_paths([Link(a, b, is_sure)], GROUND)
    assert sure is is_sure
    return path


def ends(path):
    start, end = path.pointAtPercent(0), path.pointAtPercent(1)
    return (start.x(), start.y()), (end.x(), end.y())


@pytest.mark.parametrize("is_sure", [True, False])
def test_a_line_joins_the_middles_of_its_pins(is_sure):
    assert ends(path_of("1", "6", is_sure=is_sure)) == ((0, 0), (200, 130))


@pytest.mark.parametrize(("a", "b", "passed"), [("1", "3", "2"), ("4", "6", "5")])
def test_within_a_row_it_swings_to_the_middle_and_passes_no_pin(a, b, passed):
    path = path_of(a, b)
    assert 0 < path.pointAtPercent(0.5).y() < 130
    away = [path.pointAtPercent(i / 100) - CENTRES[passed] for i in range(101)]
    assert min((each.x() ** 2 + each.y() ** 2) ** 0.5 for each in away) > DISC_PX


@pytest.mark.parametrize(("pin", "below"), [("2", "5"), ("5", "2")])
def test_to_the_casting_it_touches_no_other_pin(pin, below):
    path = path_of(pin, "case")
    assert path.pointAtPercent(1).y() == 300
    away = [path.pointAtPercent(i / 100) - CENTRES[below] for i in range(101)]
    assert min((each.x() ** 2 + each.y() ** 2) ** 0.5 for each in away) > DISC_PX


def test_an_inner_joint_stands_between_what_hangs_on_it():
    """(0 + 100 + 100) / 3 across, (0 + 0 + 130) / 3 down."""
    links = [Link("1", "joint"), Link("2", "joint"), Link("5", "joint")]
    (place,) = joint_places(links, CENTRES)
    assert (place.x(), place.y()) == (pytest.approx(200 / 3), pytest.approx(130 / 3))
    assert len(link_paths(links, GROUND)) == 3


def test_a_line_to_nowhere_is_left_out():
    assert link_paths([Link("joint", "other joint")], GROUND) == []


@pytest.fixture
def face(qtbot):
    made = Face("Connector")
    qtbot.addWidget(made)
    made.drawing.set_pins([PinSpot(name=str(n + 1), x=n % 3, y=n // 3) for n in range(6)])
    made.resize(400, 320)
    return made


def test_what_is_known_of_a_pin_changes_its_looks(face):
    pictures = []
    for standing in Standing:
        face.drawing.set_links([], {"1": standing})
        assert face.drawing.pin("1").standing is standing
        pictures.append(face.drawing.pin("1").grab().toImage())
    assert all(one != other for i, one in enumerate(pictures) for other in pictures[i + 1 :])


def test_a_dotted_line_looks_otherwise_than_a_solid_one(face):
    pictures = []
    for links in ([], [Link("1", "3", is_sure=True)], [Link("1", "3", is_sure=False)]):
        face.drawing.set_links(links, {})
        pictures.append(face.drawing.grab().toImage())
    assert pictures[0] != pictures[1] != pictures[2] != pictures[0]


def test_a_hollow_pin_spoils_no_other_pens(face):
    """Pens are shared: dashes must stay where they belong."""
    paint.pen.cache_clear()
    face.drawing.set_links([Link("1", "3")], {})
    before = face.drawing.grab().toImage()
    face.drawing.set_links([Link("1", "3", is_sure=False)], dict.fromkeys("123456", Standing.UNSETTLED))
    face.drawing.grab()
    face.drawing.set_links([Link("1", "3")], {})
    assert face.drawing.grab().toImage() == before


def test_another_connector_takes_the_lines_with_it(face):
    face.drawing.set_links([Link("1", "2")], {"1": Standing.COMMON})
    face.drawing.set_pins([PinSpot(name="1", x=0, y=0), PinSpot(name="2", x=1, y=0)])
    assert face.drawing._links == ()
    assert face.drawing.pin("1").standing is Standing.KNOWN
