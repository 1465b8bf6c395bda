"""The seat of a solenoid on the leak page: reached from its questions, kept as its own, with its own restriction.

Two gauges by hand: C = 0.0001 dm3/(s bar) behind 300 kPa, choked at a seat that stands at 20 kPa: 0.0001 * 4.01325 bar
* 60 s = 24.08 ml/min (ISO 6358); with b = 0.5 the ratio 121.3/401.3 lies below it.
"""

from __future__ import annotations

import msgspec
import pytest

from tests.data.made_air import leak_test, seat_test
from tests.fakes.leak_bench import LeakBench
from tests.fakes.ports_bench import SOLENOIDS, PortsBench, variant_with
from valvebench.model.leak import LeakMethod
from valvebench.ui.leak import page
from valvebench.ui.ports import page as ports_page

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


def test_the_next_solenoid_is_reached_through_its_own_questions(bench):
    bench.leak.next_port()
    assert (bench.said, bench.port.name) == (page.NEXT_SEAT, "Gull")


def test_a_port_and_a_seat_keep_their_own_restriction(bench):
    bench.set_up(**SET_UP)
    bench.leak.begin("P1")
    assert "restriction_c" not in bench.texts
    bench.set_up(restriction="conductance", restriction_c="0.004")
    bench.leak.begin("Gull", is_seat=True)
    assert bench.texts["restriction_c"] == "0.0001"


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
    ("changed", "seat"),
    [
        ({"normally": "closed"}, ("Gull", "")),
        ({"normally": "open"}, ("", ports_page.LIMIT_FIRST)),
        ({"normally": None}, ("", ports_page.LIMIT_FIRST)),
        ({"normally": "open", "duty": "on_off"}, ("Gull", "")),
    ],
)
def test_a_seat_that_current_shuts_is_measured_once_the_supply_is_limited(changed, seat):
    ports = PortsBench(variant=variant_with(ports=[], devices=[SOLENOIDS[0] | changed]))
    assert ports.ports.seat_at_hand() == seat
    ports.press("+")
    assert ports.ports.seat_at_hand() == ("Gull", "")


def test_of_a_port_no_seat_is_at_hand():
    ports = PortsBench()
    assert ports.ports.seat_at_hand() == ("", "")
    assert ports.asked.has_leak
