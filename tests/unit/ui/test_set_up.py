"""The set-up of the next reading: its words, and where it comes from."""

from __future__ import annotations

import pytest

from tests.fakes.pins_bench import AT_20, Bench
from valvebench.model.entry import Reading
from valvebench.model.errors import BadInput
from valvebench.model.flex import FlexTest
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.ui.set_up import SetUp, last_set_up, with_range


def test_a_new_session_begins_without_one():
    assert last_set_up(Bench().desk.session) == SetUp()


def test_it_goes_on_with_that_of_the_newest_reading():
    bench = Bench().start()
    bench.key_in("5.5")
    found = last_set_up(bench.desk.session)
    assert (found.celsius, found.meter, found.leads, found.range_ohm) == (20.0, "0.9%+2x0.01", LeadState.NULLED, None)
    assert found.set_at == bench.desk.session.items[-1].at


def test_a_reading_of_a_flex_test_counts_where_it_says_how_warm_it_was():
    bench = Bench().start()
    bench.key_in("5.5")
    pair = {"from_node": "1", "to_node": "3", "ohm": (5.2,)}
    bench.desk.record(FlexTest(**pair))
    assert last_set_up(bench.desk.session).celsius == 20.0
    bench.desk.record(FlexTest(**pair, celsius=41.5, meter="0.5%+3x0.01"))
    found = last_set_up(bench.desk.session)
    assert (found.celsius, found.meter) == (41.5, "0.5%+3x0.01")


def test_it_remembers_the_range_of_the_last_open_reading():
    bench = Bench(set_up=with_range(AT_20, 6e7)).start()
    bench.pins.keep_open()
    bench.key_in("5.5")
    assert last_set_up(bench.desk.session).range_ohm == 6e7


def test_a_meter_that_nobody_named_is_called_assumed():
    assert SetUp().leads_text().startswith("assumed")
    assert AT_20.meter_text() == "Meter 0.9 % + 2 \u00d7 0.01 \u03a9"


def test_tips_taken_off_are_named():
    words = SetUp(leads=LeadState.SUBTRACT, lead_ohm=0.2).leads_text()
    assert "0.2" in words
    assert "0.2" not in SetUp(leads=LeadState.NULLED, lead_ohm=0.2).leads_text()


def test_no_temperature_says_what_to_do():
    assert SetUp().celsius_words() == ("No temperature", "set it before the first reading")


def test_a_temperature_says_how_it_is_known():
    words = SetUp(celsius=23.4, temperature=TemperatureSource.TAPED).celsius_words()
    assert words == ("23.4 \u00b0C", "contact probe taped to the can, soaked")


def test_a_temperature_alone_is_not_measured():
    assert SetUp(celsius=23.4).celsius_words()[1] == "not measured"


def test_its_reading_holds_it_all():
    reading = AT_20.reading("1", "3", ohm=5.5)
    expected = Reading(
        from_node="1",
        to_node="3",
        ohm=5.5,
        celsius=20.0,
        temperature=TemperatureSource.TAPED,
        meter="0.9%+2x0.01",
        leads=LeadState.NULLED,
    )
    assert reading == expected


def test_a_temperature_no_coil_can_have_is_refused():
    with pytest.raises(BadInput):
        SetUp(celsius=-400.0).reading("1", "3", ohm=5.5)
