"""Solenoids by function on the Ports page: the supply confirmed, clicks counted, tabs.  No Qt."""

from __future__ import annotations

import pytest

from tests.data.made_air import seat_test
from tests.fakes.ports_bench import SOLENOIDS, PortsBench, devices_with, variant_with
from valvebench.model.words import Supply, Verdict
from valvebench.ui.keeper import CLOSED
from valvebench.ui.ports import page as p
from valvebench.ui.ports.groups import Group

LIMITED = [SOLENOIDS[0] | {"max_ampere": 1.1}, SOLENOIDS[1], SOLENOIDS[0] | {"name": "Ruff", "max_ampere": 0.8}]


@pytest.fixture
def bench():
    return PortsBench(variant=variant_with(ports=[], devices=LIMITED))


def listed(bench):
    return {row.name: row for row in bench.view.show_solenoids.call_args.args[0]}


def test_the_limit_of_each_is_shown_and_confirmed_before_it_is_fed(bench):
    assert (bench.asked.is_confirmation, bench.asked.name) == (True, "Limited to 1.1 A?")
    bench.press("3")
    assert (bench.said, bench.bodies) == (p.HOW_MANY, [])
    bench.press("+")
    assert (bench.asked.is_confirmation, bench.asked.key) == (False, "solenoid Gull click")
    bench.press("+++")
    assert bench.asked.key == "solenoid Knot click", "what is switched on and off needs no limit"
    bench.press("+++")
    assert bench.asked.name == "Limited to 0.8 A?", "another solenoid, another limit"
    bench.press("-")
    assert (bench.said, len(bench.bodies)) == (p.NO_SUPPLY, 6)


def test_the_limit_is_asked_again_when_the_window_was_closed(bench):
    bench.press("+")
    assert not bench.asked.is_confirmation
    bench.open()
    assert bench.asked.is_confirmation


@pytest.mark.parametrize(
    ("key", "heard", "verdict"),
    [("+", 3, Verdict.PASS), ("3", 3, Verdict.PASS), ("2", 2, Verdict.CANT_TELL), ("-", 0, Verdict.FAIL)],
)
def test_one_key_says_how_many_clicks_were_heard(bench, key, heard, verdict):
    bench.press(f"+{key}")
    (body,) = bench.bodies
    assert (body.heard, body.tries, body.click) == (heard, 3, heard > 0)
    assert (body.supply, body.limit_ampere) == (Supply.LIMITED_CURRENT, 1.1)
    assert [row.verdict for row in bench.table().values()] == [verdict]
    assert listed(bench)["Gull"].clicks == f"{heard} of 3"


def test_more_clicks_than_asked_for_are_refused(bench):
    bench.press("+")
    bench.ports.clicks_heard(4)
    assert (bench.said, bench.bodies) == (p.HOW_MANY, [])


def test_a_digit_says_nothing_of_air_or_in_a_closed_session(bench):
    bench.press("++3")
    assert len(bench.bodies) == 1
    bench.desk.close()
    bench.open().ports.clicks_heard(2)
    assert bench.said == CLOSED


def test_the_list_says_what_all_answers_make_together(bench):
    assert listed(bench)["Gull"].expected == "holds / flows"
    bench.press("+++-")
    row = listed(bench)["Gull"]
    assert (row.clicks, row.off, row.on, row.verdict) == ("3 of 3", "holds", "holds", Verdict.FAIL)
    assert "stuck closed" in row.tip
    bench.ports.taking_back.undo()
    assert listed(bench)["Gull"].verdict is Verdict.PASS
    bench.ports.taking_back.redo()
    assert listed(bench)["Gull"].verdict is Verdict.FAIL


def test_a_solenoid_of_the_list_is_asked_next(bench):
    bench.ports.solenoid_chosen(1)
    assert bench.asked.key == "solenoid Knot click"
    bench.ports.solenoid_chosen(9)
    assert bench.asked.key == "solenoid Knot click"


# -- tabs --------------------------------------------------------------------------------------


def group(bench):
    return bench.view.show_groups.call_args.args[0]


def test_the_tabs_follow_the_question_and_count_their_answers():
    bench = PortsBench()
    assert group(bench) is Group.PORTS
    bench.press("++++")
    assert group(bench) is Group.SWITCHES
    counts = bench.view.show_groups.call_args.args[1]
    assert counts[Group.PORTS] == (4, 4)
    assert counts[Group.SOLENOIDS] == (0, 6)


def test_one_key_to_the_tab_beside_round_the_end():
    bench = PortsBench()
    for by, wanted in ((1, Group.SWITCHES), (1, Group.SOLENOIDS), (1, Group.PORTS), (-1, Group.SOLENOIDS)):
        bench.ports.group_stepped(by)
        assert group(bench) is wanted


def test_a_tab_with_nothing_in_it_is_passed_over_and_says_why(bench):
    bench.ports.group_stepped(1)
    assert group(bench) is Group.SOLENOIDS
    bench.ports.group_chosen(Group.SWITCHES)
    assert bench.said == "This variant names no switch moved by air."


@pytest.mark.parametrize(
    ("normally", "expected"),
    [("closed", "holds / flows"), ("open", "flows / holds"), (None, "clicks")],
)
def test_what_is_expected_stands_in_the_list(normally, expected):
    bench = PortsBench(variant=variant_with(devices=devices_with(SOLENOIDS[0] | {"normally": normally})))
    assert listed(bench)["Gull"].expected == expected


def test_a_leak_measured_at_a_seat_stands_in_its_line_and_counts_for_its_mark():
    solenoid = SOLENOIDS[1] | {"max_seat_ml_min": 15, "seat_kpa_gauge": 250}
    bench = PortsBench(variant=variant_with(ports=[], devices=[solenoid]))
    assert (listed(bench)["Knot"].seat, listed(bench)["Knot"].verdict) == ("", None)
    bench.desk.record(seat_test("Knot", 20.0))
    bench.ports.refresh()
    assert (listed(bench)["Knot"].seat, listed(bench)["Knot"].verdict) == ("20.0 \u00b1 2.0", Verdict.FAIL)
    bench.press("+++")
    assert listed(bench)["Knot"].verdict is Verdict.FAIL
    assert "is above the 15 ml/min allowed" in listed(bench)["Knot"].tip


def test_a_finding_about_a_seat_leads_to_its_solenoid(bench):
    bench.ports.choose("seat Ruff")
    assert bench.asked.name == "Limited to 0.8 A?"
