"""Leaks, pressures and sweeps on Findings: named in words, led to the page of ports; finds by hand."""

from __future__ import annotations

from tests.data.made_air import leak_test, pressure, sweep_test
from tests.unit.judge.test_sweep_rows import DEVICES
from tests.unit.judge.test_tap_rows import TAPS
from tests.unit.ui.test_findings_flex import findings_of
from valvebench.model.words import Verdict

PORTS = [{"name": "P6", "method": "steady", "kpa_gauge": 250, "max_ml_min": 400}]


def findings(*bodies):
    return findings_of(*bodies, ports=PORTS, devices=DEVICES[:1], taps=TAPS)


def test_a_leak_that_fails():
    _, shown = findings(leak_test("P6", 500.0))
    assert shown.sentence == "Fail: port P6 leaks more than it may"
    (reason,) = shown.reasons
    assert (reason.what, reason.where, reason.page) == ("Leak of port P6", "measured, entry 2", "Ports")
    assert (reason.verdict, reason.reasons[0].split(" at ")[0]) == (Verdict.FAIL, "Fail: 500 \u00b1 16 ml/min")


def test_a_pressure_and_a_sweep_that_fail():
    _, shown = findings(pressure(300.0), sweep_test("Heron", 9.0))
    assert shown.sentence == "Fail: pressure at Line (idle, 60 to 100 \u00b0C) and Heron in the sweep"
    assert [reason.page for reason in shown.reasons] == ["Taps", "Sweep"]


def test_what_a_leak_cannot_tell_is_no_fault_of_the_meter():
    _, shown = findings(leak_test("P6", 300.0, at=200.0))
    (reason,) = shown.reasons
    assert (reason.verdict, reason.advice) == (Verdict.CANT_TELL, "Test P6 at 250 kPa, where its limit holds.")
