"""Heat runs as rows of a session: each counts, and no cold pass hides a hot fail.  Values are made up."""

from __future__ import annotations

import pytest

from tests.data.made_up import heat_test, reading, session_of, variant_of
from valvebench.judge.heat_rows import HeatFind
from valvebench.judge.rows import rows_of
from valvebench.judge.session import judge_session
from valvebench.model.heat import HeatEvent, HeatKind, Sized
from valvebench.model.limits import Limits
from valvebench.model.words import Rule, Verdict

SOLENOID = {"kind": "solenoid", "low_ohm": 4.75, "high_ohm": 5.75}
TWO = variant_of(
    devices=[
        {**SOLENOID, "name": "Heron", "between": ["3", "11"]},
        {**SOLENOID, "name": "Gull", "between": ["4", "11"]},
        {"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "open"},
    ],
    ports=[],
    solenoid_chart={},
    isolation=None,
)
COLD = (reading("3", "11", 5.25), reading("4", "11", 5.25), reading("9", "case", open=True, range_ohm=6e7))
ALL_COLD = "3 of 3 electrical; air not required"
OPEN = HeatEvent(kind="open", t_s=600.0, probe_celsius=88.0, coil_celsius=85.0, heating=True)
GROWS = {"kind": HeatKind.GROWS_WITH_HEAT, "excess_ohm_at_hottest": Sized(value=1.0, u=0.125)}
HIDDEN = {"kind": HeatKind.NOT_SEPARABLE, "separable": False}


def run(device="Heron", ohm=5.25, **changes):
    return heat_test(device, ohm, **changes)


def judged(*bodies, variant=TWO, **given):
    return judge_session(session_of(*bodies), variant, **given)


@pytest.mark.parametrize(
    ("body", "variant", "verdict"),
    [
        pytest.param(run(), TWO, "pass", id="inside with its doubt"),
        pytest.param(run(ohm=6.5), TWO, "fail", id="outside with its doubt"),
        pytest.param(run(ohm=5.75), TWO, "cant_tell", id="on a limit"),
        pytest.param(run(**GROWS), TWO, "fail", id="grows with heat"),
        pytest.param(run(events=(OPEN,)), TWO, "fail", id="opened"),
        pytest.param(run(**HIDDEN), TWO, "cant_tell", id="inseparable never passes"),
        pytest.param(run(), None, "no_limit", id="no variant"),
        pytest.param(run("Kite"), TWO, "no_limit", id="not in the variant"),
        pytest.param(run("Reel"), TWO, "no_limit", id="no winding"),
        pytest.param(run("Kite", events=(OPEN,)), TWO, "fail", id="a fault stands without a limit"),
        pytest.param(
            run(),
            variant_of(devices=[{"kind": "solenoid", "name": "Heron", "between": ["3", "11"]}], solenoid_chart={}),
            "no_limit",
            id="no limit in the variant",
        ),
    ],
)
def test_the_row_of_a_run(body, variant, verdict):
    (row,) = rows_of(session_of(body), variant)
    assert row.verdict is Verdict(verdict)
    assert (row.entries, row.key, row.kind) == ((2,), f"heat {body.device}", "heat-run")
    assert (row.what, row.celsius) == (f"{body.device}, heat run", 110.0)
    assert row.heat.found == body.found
    assert row.judgement is None


def test_a_device_the_variant_does_not_have_is_said():
    (row,) = rows_of(session_of(run("Kite")), TWO)
    assert row.reasons[-1].startswith("Kite is no winding of this variant")


def test_the_source_of_the_limit_stands_in_the_row():
    sourced = variant_of(
        devices=[{**SOLENOID, "name": "Heron", "between": ["3", "11"], "source": {"kind": "memory"}}],
        solenoid_chart={},
    )
    (row,) = rows_of(session_of(run()), sourced)
    assert row.limit_source == "from memory"


def test_the_rule_is_handed_on():
    """5.75 lies on the limit: inside by plain comparison."""
    (row,) = rows_of(session_of(run(ohm=5.75)), TWO, rule=Rule.PLAIN)
    assert (row.verdict, row.heat.rule) == (Verdict.PASS, Rule.PLAIN)


@pytest.mark.parametrize(
    ("bodies", "verdict", "scope"),
    [
        pytest.param(COLD, "pass", ALL_COLD, id="none made, none asked for"),
        pytest.param([*COLD, run()], "pass", f"{ALL_COLD}; heat run 1 of 1 passed", id="passed"),
        pytest.param(
            [*COLD, run(**GROWS), run("Gull")],
            "fail",
            f"{ALL_COLD}; heat run 1 of 2 passed, 1 failed",
            id="a cold pass does not hide a hot fail",
        ),
        pytest.param(
            [*COLD, run(**HIDDEN)], "cant_tell", f"{ALL_COLD}; heat run 0 of 1 passed, 1 can't tell", id="can't tell"
        ),
        pytest.param(
            [*COLD, run("Kite")], "pass", f"{ALL_COLD}; heat run 0 of 1 passed, 1 without limit", id="without limit"
        ),
        pytest.param(
            [run()],
            "not_finished",
            "0 of 3 electrical, 3 not taken; air not required; heat run 1 of 1 passed",
            id="a hot pass stands for no cold reading",
        ),
        pytest.param(
            [run(ohm=7.0)],
            "fail",
            "0 of 3 electrical, 3 not taken; air not required; heat run 0 of 1 passed, 1 failed",
            id="fail goes first",
        ),
    ],
)
def test_the_session_with_heat_runs(bodies, verdict, scope):
    found = judged(*bodies)
    assert (found.verdict, found.scope) == (Verdict(verdict), scope)


@pytest.mark.parametrize(
    ("bodies", "verdict"),
    [
        pytest.param([run(), run(ohm=7.0)], "fail", id="fail after pass"),
        pytest.param([run(ohm=7.0), run()], "fail", id="pass after fail"),
        pytest.param([run(**HIDDEN), run()], "cant_tell", id="a pass at the same temperature settles nothing"),
        pytest.param([run(hottest_celsius=60.0), run(**GROWS)], "fail", id="at other temperatures"),
    ],
)
def test_of_several_runs_the_worst_stands(bodies, verdict):
    found = judged(*COLD, *bodies)
    assert found.items["heat Heron"] is Verdict(verdict)
    assert found.items["device Heron"] is Verdict.PASS
    assert len([row for row in found.rows if row.key == "heat Heron"]) == 2


BESIDE = variant_of(
    devices=[
        {**SOLENOID, "name": "Heron", "between": ["3", "11"]},
        {"name": "Strap", "kind": "link", "between": ["3", "11"], "max_ohm": 1.0},
    ],
    solenoid_chart={},
)


@pytest.mark.parametrize(
    ("body", "verdict"),
    [(run(), "no_limit"), (run(ohm=7.0), "no_limit"), (run(**GROWS), "cant_tell")],
    ids=["inside", "outside", "grows"],
)
def test_with_another_path_beside_it_nothing_is_proved_of_a_device(body, verdict):
    (row,) = rows_of(session_of(body), BESIDE)
    assert row.verdict is Verdict(verdict)
    assert row.reasons[0].startswith("No limit" if verdict == "no_limit" else "Can't tell")
    assert any("Another path" in reason for reason in row.reasons)


def find(**changes):
    return HeatFind("Heron", (2, 3), run().found, "3", "11", "case_connector", **changes)


def test_what_rounds_say_is_handed_in_and_stands_after_its_first_reading():
    found = judged(*COLD, heat={"Heron": (find(),)})
    assert [row.key for row in found.rows] == ["device Heron", "heat Heron", "device Gull", "device Reel"]
    row = found.rows[1]
    assert (row.entries, row.from_node, row.to_node, row.at) == ((2, 3), "3", "11", "case_connector")


def test_limits_given_with_the_readings_serve_where_the_variant_has_none():
    bare = variant_of(devices=[{"kind": "solenoid", "name": "Heron", "between": ["3", "11"]}], solenoid_chart={})
    given = Limits(low_ohm=6.0, high_ohm=7.0)
    (row,) = rows_of(session_of(), bare, heat={"Heron": (find(limits=given),)})
    assert row.verdict is Verdict.FAIL
    (row,) = rows_of(session_of(), TWO, heat={"Heron": (find(limits=given),)})
    assert row.verdict is Verdict.PASS
