"""The program's constants are those of resources/constants.toml, each with a source line."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from valvebench.diagnose import leak_decay, leak_setup
from valvebench.judge.device_limits import SWITCH_CLOSED_MAX_OHM, SWITCH_OPEN_MIN_OHM
from valvebench.model import limits, measured, meter
from valvebench.model.variant import Solenoid
from valvebench.model.words import TEMPERATURE_HALF_WIDTH_CELSIUS, TemperatureSource
from valvebench.physics import air, conductor, uncertainty

FILE = Path(__file__).parents[3] / "resources" / "constants.toml"
DATA = tomllib.loads(FILE.read_text("utf-8"))


def tables(data, path=()):
    for name, value in data.items():
        if isinstance(value, dict):
            yield (*path, name), value
            yield from tables(value, (*path, name))


def test_every_number_has_a_source_beside_or_above_it():
    sourced = {path for path, table in tables(DATA) if "source" in table}
    for path, table in tables(DATA):
        if any(isinstance(value, int | float) for value in table.values()):
            assert any(path[:n] in sourced for n in range(1, len(path) + 1)), path


def test_copper():
    copper = DATA["conductor"]["copper"]
    assert copper["k_celsius"] == limits.COPPER_K_CELSIUS
    assert Solenoid(name="x", between=("1", "2")).k == copper["k_celsius"]
    # IEC 60028: 1/0.00393 - 20 = 234.45
    assert conductor.k_from_alpha20(copper["alpha20_per_celsius"]) == pytest.approx(234.45, abs=0.005)
    assert DATA["conductor"]["aluminium"]["k_celsius"] == 225.0  # IEC 60034-1, 8.6.2


def test_where_the_law_holds():
    valid = DATA["conductor"]["valid"]
    expected = (valid["lowest_celsius"], valid["highest_celsius"])
    assert expected == (conductor.LOWEST_CELSIUS, conductor.HIGHEST_CELSIUS)
    assert expected == (measured.LOWEST_CELSIUS, measured.HIGHEST_CELSIUS)


def test_half_widths_of_the_coil_temperature():
    known = {word.value: width for word, width in TEMPERATURE_HALF_WIDTH_CELSIUS.items() if width is not None}
    assert known == DATA["temperature"]["half_width_celsius"]
    assert TEMPERATURE_HALF_WIDTH_CELSIUS[TemperatureSource.NOT_SOAKED] is None


def test_reference_not_stated():
    reference = DATA["reference"]
    assert reference["assumed_celsius"] == limits.ASSUMED_REF_CELSIUS
    assert reference["half_width_celsius"] == limits.ASSUMED_REF_HALF_WIDTH_CELSIUS


def test_meter_presets():
    presets = {
        name: {"percent": spec.percent, "counts": spec.counts, "step_ohm": spec.step}
        for name, spec in meter.PRESETS.items()
    }
    assert presets == DATA["meter"]["preset"]
    assert DATA["meter"]["default"] == meter.DEFAULT_PRESET
    assert DATA["volts_meter"]["default"] == meter.DEFAULT_VOLTS_METER


def test_leads_and_contacts():
    assert measured.Measured(celsius=20.0, ohm=1.0).lead_allowance_ohm == DATA["leads"]["allowance_ohm"]
    switch = DATA["switch"]
    assert (switch["open_min_ohm"], switch["closed_max_ohm"]) == (SWITCH_OPEN_MIN_OHM, SWITCH_CLOSED_MAX_OHM)


def test_coverage():
    coverage = DATA["coverage"]
    assert coverage["expanded"] == uncertainty.COVERAGE
    assert coverage["five_percent_risk"] == uncertainty.COVERAGE_5_PERCENT_RISK


def test_air():
    told = DATA["air"]
    assert (told["gamma"], told["dry_air_r"], told["choked_constant"]) == (air.GAMMA, air.DRY_AIR_R, air.CHOKED_AIR)
    iso = told["iso6358"]
    assert (iso["t0_kelvin"], iso["p0_kpa_abs"], iso["rho0"]) == (air.ISO_T0_KELVIN, air.ISO_P0_KPA_ABS, air.ISO_RHO0)


def test_leaks():
    gauge, leak, decay = (DATA["air"][name] for name in ("gauge", "leak", "decay"))
    assumed = leak_setup.ASSUMED_GAUGE
    assert (gauge["percent"], gauge["counts"], gauge["step_kpa"]) == (assumed.percent, assumed.counts, assumed.step)
    assert (leak["b"], leak["u_b"]) == (leak_setup.LEAK_B, leak_setup.U_LEAK_B)
    assert leak["orifice_odds"] == leak_decay.ORIFICE_ODDS
    names = {name.upper() for name in decay if name != "source"}
    assert {name.lower(): getattr(leak_decay, name) for name in names} | {"source": decay["source"]} == decay
