"""The seat of a solenoid on the leak page: reached from its questions, kept as its own, with its own restriction.

Two gauges by hand: C = 0.0001 dm3/(s bar) behind 300 kPa, choked at a seat that stands at 20 kPa: 0.0001 * 4.01325 bar
* 60 s = 24.08 ml/min (ISO 6358); with b = 0.5 the ratio 121.3/401.3 lies below it.
"""

from __future__ import annotations

import msgspec
import pytest

from tests.data.made_air import leak_test, seat_test
from tests.fakes.leak_bench import VARIANT, LeakBench
from tests.fakes.ports_bench import SOLENOIDS, PortsBench, variant_with
from valvebench.model.leak import LeakMethod
from valvebench.model.variant import Solenoid
from valvebench.model.variant_rules import read_variant
from valvebench.ui.leak import page
from valvebench.ui.leak.holes import Hole, holes_of, meant_by

SET_UP = {"restriction": "conductance", "restriction_c": "0.0001", "restriction_b": "0.5"}


@pytest.fixture
def bench():
    made = LeakBench()
    made.leak.begin("Gull", is_seat=True)
    return made


def test_a_seat_is_measured_and_kept_as_its_own(bench):
    assert (bench.port.name, bench.port.about) == ("Gull", "Solenoid seat")
    assert bench.port.pressure.startswith("Shut without current. Raise the supply until the seat stands at 250 kPa")
    assert (bench.port.limit, bench.port.supply) == ("At most 30 ml/min there.", "")
    bench.set_up(**SET_UP)
    bench.enter("300", "20")
    bench.reader.release()
    assert "24." in bench.result.headline
    bench.enter("")
    bench.runner.release()
    (body,) = bench.bodies
    assert (body.device, body.port, body.method) == ("Gull", None, LeakMethod.STEADY)
    assert body.found.leak_ml_min.value == pytest.approx(24.08, rel=0.01)
    assert bench.port.kept.startswith("Kept here: entry 2, 24")
    bench.leak.left()
    assert bench.last("leave").args[0] == "seat Gull"


def test_a_seat_that_current_shuts_says_so_with_its_limit(bench):
    bench.leak.begin("Heron", is_seat=True)
    assert bench.port.pressure.startswith("Shut only while current flows. ")
    assert "current-limited supply" in bench.port.supply
    assert bench.port.supply.endswith("At most 1.1 A, as the variant states.")


def test_the_key_of_the_next_one_walks_the_solenoids_alone(bench):
    bench.leak.next_port()
    assert (bench.port.name, bench.port.is_seat) == ("Heron", True)
    bench.leak.next_port()
    assert bench.port.name == "Gull"
    bench.leak.begin("P4")
    bench.leak.next_port()
    assert (bench.port.name, bench.port.is_seat) == ("P1", False)


def test_a_seat_is_measured_as_the_one_before_unless_its_limit_is_for_another_way(bench):
    bench.leak.method_chosen(2)
    bench.leak.next_port()
    assert bench.last("show_method").args[0] == 2, "a falling pressure, as at the solenoid before"
    bench.leak.method_chosen(1)
    bench.leak.next_port()
    assert bench.last("show_method").args[0] == 0, "a limit under pressure says nothing of a vacuum"
    assert "seat" in bench.last("show_method").args[1]


# -- current -----------------------------------------------------------------------------------


def test_a_seat_that_current_shuts_asks_for_the_limited_supply_first(bench):
    bench.leak.begin("Heron", is_seat=True)
    bench.set_up(**SET_UP)
    assert (bench.asked.words, bench.asked.is_confirmation) == ("Limited to 1.1 A?", True)
    bench.enter("300")
    assert (bench.problem, bench.asked.is_confirmation) == (page.LIMIT_FIRST, True)
    bench.leak.supply_limited()
    assert (bench.problem, bench.asked.words) == ("", "Supply gauge")
    bench.enter("300", "20", "")
    assert [body.device for body in bench.bodies] == ["Heron"]
    bench.open().leak.begin("Heron", is_seat=True)
    assert bench.asked.is_confirmation, "asked again when the window was closed"


def test_the_clock_waits_for_the_limited_supply_too(bench):
    bench.leak.begin("Heron", is_seat=True)
    bench.leak.method_chosen(2)
    before = bench.last("show_protocol").args[0]
    bench.leak.step_done()
    assert bench.problem == page.LIMIT_FIRST
    assert bench.last("show_protocol").args[0] == before


def test_in_a_closed_session_no_supply_is_asked_for(bench):
    bench.desk.close()
    bench.open().leak.begin("Heron", is_seat=True)
    assert not bench.asked.is_confirmation


@pytest.mark.parametrize(
    ("said", "is_asked", "shut"),
    [
        ({"normally": "closed"}, False, "Shut without current."),
        ({"normally": "open"}, True, "Shut only while current flows."),
        ({}, True, "When it shuts is not stated"),
        ({"normally": "open", "duty": "on_off"}, False, "Shut only while current flows."),
    ],
)
def test_a_supply_is_asked_for_where_a_bare_one_would_harm(said, is_asked, shut):
    solenoid = msgspec.convert({"kind": "solenoid", "name": "Gull", "between": ["1", "2"], **said}, Solenoid)
    hole = Hole(port=solenoid.seat, solenoid=solenoid)
    assert hole.needs_current_limit is is_asked
    assert hole.shut.startswith(shut)


# -- each kind has its own restriction ---------------------------------------------------------


def test_a_port_and_a_seat_keep_their_own_restriction(bench):
    bench.set_up(**SET_UP)
    bench.leak.begin("P1")
    assert "restriction_c" not in bench.texts
    bench.set_up(restriction="conductance", restriction_c="0.004")
    bench.leak.begin("Gull", is_seat=True)
    assert bench.texts["restriction_c"] == "0.0001"
    assert bench.said == page.OTHER_RESTRICTION.format(word="seat")
    bench.leak.next_port()
    assert bench.said == ""


def test_a_session_begins_with_the_restriction_of_each(bench):
    bench.desk.record(leak_test("P1", 240.0))
    bench.desk.record(msgspec.structs.replace(seat_test("Gull", 20.0), restriction_c=0.0003))
    bench.open("P1")
    assert bench.texts["restriction_c"] == "0.001"
    bench.leak.begin("Gull", is_seat=True)
    assert bench.texts["restriction_c"] == "0.0003"


def test_nothing_of_that_name(bench):
    bench.leak.begin("P1", is_seat=True)
    assert bench.said == page.NO_PORT


# -- the way there -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("item", "leak", "has_leak"),
    [("port P1", "leak P1", True), ("function Gull", "seat Gull", True), ("function Reel", "leak P2", False)],
)
def test_ports_says_whose_leak_is_meant(item, leak, has_leak):
    bench = PortsBench()
    bench.ports.choose(item)
    assert (bench.ports.leak_at_hand(), bench.asked.has_leak) == (leak, has_leak)


def test_the_limit_need_not_be_confirmed_at_the_clicks_first():
    bench = PortsBench(variant=variant_with(ports=[], devices=[SOLENOIDS[0] | {"normally": "open"}]))
    assert (bench.asked.is_confirmation, bench.asked.has_leak, bench.ports.limited) == (True, True, set())
    bench.press("+")
    assert bench.ports.limited == {"Gull"}


@pytest.mark.parametrize(
    ("item", "meant"),
    [("leak P6", ("P6", False)), ("seat Heron", ("Heron", True)), ("port P6", None), ("", None)],
)
def test_items_that_lead_to_the_page(item, meant):
    assert meant_by(item) == meant


def test_electronics_on_board_leave_the_ports_alone():
    variant = read_variant(VARIANT, source="test")
    assert [hole.is_seat for hole in holes_of(variant)] == [False] * 4 + [True] * 2
    held = msgspec.structs.replace(variant, electronics_on_board=True)
    assert not any(hole.is_seat for hole in holes_of(held))
    assert holes_of(None) == ()
