"""Each way of testing begins with its own gauge; one that was typed is never dropped.  No Qt."""

from __future__ import annotations

import pytest

from tests.data.made_air import leak_test, vacuum_test
from tests.fakes.leak_bench import LeakBench
from valvebench.ui.leak.shown import METHODS

STEADY, VACUUM, DECAY = range(len(METHODS))


@pytest.fixture
def bench():
    """Two gauges first, then a fine one on the pump."""
    made = LeakBench()
    made.desk.record(leak_test("P1", gauge="1%+1x1", gauge_id="pair", zero_kpa=0.2))
    made.desk.record(vacuum_test("P3", 240.0, gauge="0.2%+1x0.1", gauge_id="fine", zero_kpa=-0.1))
    return made.open("P1")


def gauge(bench):
    return tuple(bench.texts.get(name) for name in ("gauge", "gauge_id", "zero_kpa"))


def test_each_method_has_the_gauge_of_its_newest_test(bench):
    assert gauge(bench) == ("1%+1x1", "pair", "0.2")
    bench.leak.method_chosen(VACUUM)
    assert gauge(bench) == ("0.2%+1x0.1", "fine", "-0.1")
    bench.leak.begin("P1")
    assert gauge(bench) == ("1%+1x1", "pair", "0.2")


def test_a_gauge_that_was_typed_goes_along(bench):
    bench.set_up(gauge="2%+1x1", gauge_id="other")
    bench.leak.method_chosen(VACUUM)
    assert gauge(bench)[:2] == ("2%+1x1", "other")


def test_without_a_test_of_that_method_the_gauge_stays(bench):
    bench.leak.method_chosen(DECAY)
    assert gauge(bench) == ("1%+1x1", "pair", "0.2")


def test_what_is_kept_is_remembered_for_its_method(bench):
    bench.set_up(gauge="2%+1x1", gauge_id="other", zero_kpa="", restriction="conductance", restriction_c="0.001")
    bench.enter("300", "20")
    bench.reader.release()
    bench.enter("")
    bench.runner.release()
    bench.leak.method_chosen(VACUUM)
    assert gauge(bench)[1] == "fine"
    bench.leak.method_chosen(STEADY)
    assert gauge(bench)[:2] == ("2%+1x1", "other")
