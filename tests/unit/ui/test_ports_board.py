"""Cover plate and where the air comes out, asked at a port of the body.  No Qt."""

from __future__ import annotations

import pytest

from tests.fakes.ports_bench import PORTS, PortsBench, variant_with
from valvebench.model.words import AirResult, Verdict
from valvebench.ui.ports import page as p
from valvebench.ui.ports.shown import NO_COVER


@pytest.fixture
def bench():
    return PortsBench()


@pytest.fixture
def out():
    """One port whose air ought to come out at P3."""
    ports = [PORTS[1] | {"expect": [{"reaction": "comes_out", "at": "P3"}]}, PORTS[2], {"name": "P4"}]
    return PortsBench(variant=variant_with(ports=ports, devices=[]))


@pytest.mark.parametrize(
    ("keys", "has_cover", "words"),
    [("", None, "not said"), ("0", True, "on"), ("00", False, "off"), ("000", None, "not said")],
)
def test_the_cover_plate_goes_with_every_answer_at_the_body(bench, keys, has_cover, words):
    bench.press(f"d{keys}")
    assert bench.asked.cover == words
    bench.press("++")
    assert [body.has_cover for body in bench.bodies] == [has_cover, has_cover]


def test_a_clutch_circuit_in_the_case_has_none(bench):
    bench.press("0")
    assert (bench.said, bench.asked.cover) == (p.NO_COVER_PLATE, "")
    bench.press("d0u+")
    assert [body.has_cover for body in bench.bodies] == [None]


def test_without_the_plate_a_hiss_is_no_fail_and_the_question_says_so_before(bench):
    bench.press("d00")
    assert bench.asked.warning == NO_COVER
    assert "Cover plate off" in bench.asked.sentence
    bench.press("-")
    (row,) = bench.table().values()
    assert (row.verdict, row.states) == (Verdict.NOT_USABLE, "D, Gull off, cover plate off")


def test_the_plate_is_remembered_when_the_session_opens_again(bench):
    bench.press("d00-")
    bench.open()
    assert bench.asked.cover == ""
    bench.press("d")
    assert bench.asked.cover == "off"


@pytest.mark.parametrize(
    ("picked", "result", "verdict"),
    [("P3", AirResult.PASS, Verdict.PASS), ("P4", AirResult.FAIL, Verdict.FAIL)],
)
def test_where_the_air_comes_out_is_picked_on_the_board(out, picked, result, verdict):
    out.press("8")
    assert out.said == p.PICK_PORT
    out.view.pick_port.assert_called_once_with()
    out.ports.port_chosen(picked)
    (body,) = out.bodies
    assert (body.port, body.result, body.came_out_at) == ("P2", result, picked)
    assert [(row.heard, row.verdict) for row in out.table().values()] == [(f"out at {picked}", verdict)]
    assert out.asked.key == "port P3 0"


def test_with_nothing_stated_it_has_no_limit(out):
    out.press("d8")
    out.ports.port_chosen("P4")
    assert [row.verdict for row in out.table().values()] == [Verdict.NO_LIMIT]


def test_air_does_not_come_out_where_it_goes_in(out):
    out.press("8")
    out.ports.port_chosen("P2")
    assert (out.said, out.bodies) == (p.SAME_PORT, [])


@pytest.mark.parametrize("leave", ["escape", "d", "+"])
def test_a_pick_that_is_left_picks_nothing(out, leave):
    out.press("8")
    if leave == "escape":
        out.ports.pick_left()
        assert out.said == ""
    else:
        out.press(leave)
    count = len(out.bodies)
    out.ports.port_chosen("P4")
    assert len(out.bodies) == count
    assert out.asked.key == "port P4 0"


def test_nothing_is_picked_for_a_switch_or_in_a_closed_session(bench):
    bench.press("dddd8")
    bench.view.pick_port.assert_not_called()
    bench.desk.close()
    bench.open().press("8")
    bench.view.pick_port.assert_not_called()
