"""Leaks measured at ports stand on the Ports page beside what was heard there.  No Qt."""

from __future__ import annotations

import pytest

from tests.data.made_air import leak_test, seat_test, vacuum_test
from tests.fakes.ports_bench import PORTS, SOLENOIDS, PortsBench, variant_with
from valvebench.model.entry import AirTest
from valvebench.model.words import AirResult, Place, Verdict

LIMITED = [PORTS[2] | {"kpa_gauge": 250, "max_ml_min": 200, "method": "steady"}]
HEARD = AirTest(port="P3", place=Place.BODY, result=AirResult.PASS)


@pytest.fixture
def bench():
    return PortsBench(variant=variant_with(ports=LIMITED, devices=SOLENOIDS))


def mark(bench):
    return bench.view.show_marks.call_args.args[0]["P3"]


@pytest.mark.parametrize(
    ("ml_min", "verdict"), [(100.0, Verdict.PASS), (240.0, Verdict.FAIL), (200.0, Verdict.CANT_TELL)]
)
def test_a_measured_leak_is_a_line_with_its_limit(bench, ml_min, verdict):
    """U is twice the 8 ml/min of the made budget."""
    bench.desk.record(leak_test("P3", ml_min, note="warm"))
    bench.ports.refresh()
    (row,) = bench.table().values()
    assert (row.number, row.what, row.states, row.kpa) == (2, "P3", "gauges, ml/min", "250")
    assert (row.expected, row.heard, row.verdict) == ("\u2264 200", f"{ml_min:.0f} \u00b1 16", verdict)
    assert "ml/min allowed" in row.tip
    assert "Note: warm" in row.tip


def test_its_verdict_counts_for_the_mark_of_its_port(bench):
    bench.desk.record(HEARD)
    bench.desk.record(leak_test("P3", 240.0))
    bench.ports.refresh()
    assert mark(bench) is Verdict.FAIL
    bench.ports.taking_back.withdraw(3)
    assert mark(bench) is not Verdict.FAIL
    assert [row.number for row in bench.table().values()] == [2]


def test_what_is_measured_answers_no_question(bench):
    """By ear is another test: a tight port may still have a stuck valve behind it."""
    bench.desk.record(leak_test("P3", 100.0))
    bench.ports.refresh()
    assert bench.asked.port == "P3"
    assert bench.view.show_progress.call_args.args[0] == 0
    assert mark(bench) is None


def test_without_a_limit_a_leak_says_nothing_against_what_was_heard():
    bench = PortsBench(variant=variant_with(ports=[PORTS[0]], devices=SOLENOIDS))
    bench.press("+")
    bench.desk.record(vacuum_test("P1", 240.0))
    bench.ports.refresh()
    rows = list(bench.table().values())
    assert [row.verdict for row in rows] == [Verdict.PASS, Verdict.NO_LIMIT]
    assert (rows[1].kpa, rows[1].expected) == ("\u221230", "not stated")
    assert bench.view.show_marks.call_args.args[0]["P1"] is Verdict.PASS


def test_a_leak_that_is_not_told_and_one_at_a_seat(bench):
    bench.desk.record(leak_test("P3", None))
    bench.desk.record(seat_test("Gull", 20.0))
    bench.ports.refresh()
    (row,) = bench.table().values()
    assert (row.heard, row.verdict) == ("not told", Verdict.CANT_TELL)
