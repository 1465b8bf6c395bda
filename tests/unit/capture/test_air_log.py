"""Files of air tests: names, units, gauge and absolute told apart, one message for what is wrong."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.capture.air_log import decay_log, steady_log, sweep_log, vacuum_log
from valvebench.model.errors import BadInput


def of(read, text):
    return read(text.encode(), source="air.csv")


@pytest.mark.parametrize(
    ("head", "value", "kpa", "is_gauge"),
    [
        pytest.param("kpa_gauge", "300", 300.0, True, id="kilopascal above ambient"),
        pytest.param("kPa gauge", "300", 300.0, True, id="as a person writes it"),
        pytest.param("pressure [kPa abs]", "401", 401.0, False, id="unit in brackets"),
        pytest.param("psi_gauge", "100", 689.4757, True, id="psi [NIST SP 811]"),
        pytest.param("psig", "100", 689.4757, True, id="psig [NIST SP 811]"),
        pytest.param("psia", "100", 689.4757, False, id="psia [NIST SP 811]"),
        pytest.param("bar_gauge", "3", 300.0, True, id="bar"),
        pytest.param("mbar_abs", "4013", 401.3, False, id="millibar"),
    ],
)
def test_decay_pressure(head, value, kpa, is_gauge):
    log = of(decay_log, f"t_s,{head}\n0,{value}\n30,{value}\n")
    assert log.kpa == pytest.approx([kpa, kpa], rel=1e-6)
    assert log.is_gauge is is_gauge


def test_decimal_comma_clock_and_temperature():
    log = of(decay_log, "time;kpa_gauge;celsius\n14:00:00;300,5;21,5\n14:01:30;290;21,6\n")
    assert list(log.t_s) == [0.0, 90.0]
    assert list(log.kpa) == [300.5, 290.0]
    assert list(log.celsius) == [21.5, 21.6]


def test_what_nobody_asks_for_is_named():
    assert of(decay_log, "t_s,kpa_gauge,remark\n0,300,x\n9,299,y\n").not_used == ("remark",)


def test_two_gauges():
    log = of(steady_log, "supply_kpa_gauge,port_bar_gauge\n300,1.5\n")
    assert (log.supply_kpa[0], log.port_kpa[0]) == (300.0, 150.0)
    assert log.is_gauge == (True, True)


@pytest.mark.parametrize(
    ("head", "value", "kpa"),
    [("vacuum_kpa", "50", 50.0), ("vacuum_inhg", "20", 67.72778), ("bore_vacuum_mbar", "500", 50.0)],
    ids=["kilopascal", "inches of mercury [NIST SP 811]", "millibar"],
)
def test_vacuum(head, value, kpa):
    assert of(vacuum_log, f"{head}\n{value}\n").vacuum_kpa == pytest.approx([kpa], rel=1e-6)


def test_sweep_branches():
    log = of(sweep_log, "mA,kpa_gauge,branch\n0,0,up\n1000,900,Rising\n500,480,down\n")
    assert list(log.ampere) == [0.0, 1.0, 0.5]
    assert list(log.is_up) == [1.0, 1.0, 0.0]
    assert np.all(log.kpa == [0.0, 900.0, 480.0])


@pytest.mark.parametrize(
    ("read", "text", "says"),
    [
        pytest.param(decay_log, "t_s,kpa\n0,300\n", "gauge or absolute", id="neither gauge nor absolute"),
        pytest.param(decay_log, "t_s,ohm\n0,300\n", "no pressure", id="no pressure"),
        pytest.param(decay_log, "kpa_gauge\n300\n", "no time column", id="no time"),
        pytest.param(decay_log, "t_s,kpa_gauge,psi_gauge\n0,300,1\n", "one of them", id="two pressures"),
        pytest.param(decay_log, "t_s,kpa_gauge\n0,high\n", "a pressure as a number", id="a word"),
        pytest.param(decay_log, "t_s,kpa_gauge\n0,\n1,300\n", "found nothing", id="an empty cell"),
        pytest.param(decay_log, "t_s,kpa_gauge\n0,1e9\n", "at most 100 000 kPa", id="far too much"),
        pytest.param(decay_log, "time,kpa_gauge\n0:00,300\n1:00,290\n", "all three parts", id="minutes or hours"),
        pytest.param(decay_log, "t_s,kpa_gauge\n", "nothing below it", id="no line"),
        pytest.param(decay_log, "", "expected a header", id="empty"),
        pytest.param(decay_log, "t_s;kpa_gauge\n0;300,5\n1;300.1\n", "decimal sign", id="two decimal signs"),
        pytest.param(steady_log, "supply_kpa_gauge,x\n300,1\n", "port_kpa_gauge", id="one gauge"),
        pytest.param(steady_log, "supply_kpa,port_kpa_gauge\n300,1\n", "gauge or absolute", id="supply of no kind"),
        pytest.param(vacuum_log, "kpa_gauge\n300\n", "vacuum_kpa", id="no vacuum"),
        pytest.param(sweep_log, "ampere,kpa_gauge\n1,2\n", "branch", id="no branch"),
        pytest.param(sweep_log, "ampere,kpa_gauge,branch\n1,2,left\n", "up (the current rises)", id="unknown branch"),
    ],
)
def test_one_message(read, text, says):
    with pytest.raises(BadInput) as caught:
        of(read, text)
    assert says in str(caught.value)
    assert str(caught.value).startswith("air.csv: ")
