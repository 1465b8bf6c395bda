"""The options that describe one reading, shared by `reading` and `record reading`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from valvebench.cli.options import Option, number, numbers, one_of, words
from valvebench.model.errors import bad, nearest
from valvebench.model.meter import PRESETS, parse_meter
from valvebench.model.words import LeadState, Rule, TemperatureSource


def _meter(text: str, name: str) -> str:
    return parse_meter(text, where=name).text()


def _preset(text: str, name: str) -> str:
    if text not in PRESETS:
        raise bad(name, repr(text), f"one of {', '.join(PRESETS)}", nearest(text, PRESETS))
    return text


MEASURED: Final = (
    Option("--ohm", "ohm", number, "what the meter shows [ohm]"),
    Option("--open", "open", None, "the meter shows open (OL); needs --range-ohm"),
    Option("--range-ohm", "range_ohm", number, "the range that is set [ohm]"),
    Option("--repeats", "repeats_ohm", numbers, 'repeated readings, "6.41 6.40 6.39" [ohm]'),
    Option("--celsius", "celsius", number, "coil temperature [degrees Celsius]"),
    Option("--temperature", "temperature", one_of(TemperatureSource), "how the coil temperature is known"),
    Option("--celsius-accuracy", "celsius_accuracy", number, "half-width of the coil temperature [K]"),
    Option("--u-celsius", "u_celsius", number, "standard uncertainty of the coil temperature [K]"),
    Option("--meter", "meter", _meter, 'accuracy "P%%+NxR": percent, counts, step [ohm]'),
    Option("--meter-like", "meter_like", _preset, "tenths (1 %% + 3 x 0.1) or hundredths (0.5 %% + 5 x 0.01)"),
    Option("--leads", "leads", one_of(LeadState), "nulled, subtract, neither (default) or four_wire"),
    Option("--lead-ohm", "lead_ohm", number, "reading with the tips shorted, for leads subtract [ohm]"),
    Option("--lead-allowance-ohm", "lead_allowance_ohm", number, "resistance of both leads at most (0.2) [ohm]"),
    Option("--check-ohm", "check_ohm", number, "value of a check resistor [ohm]"),
    Option("--check-read", "check_read_ohm", number, "its reading with the same leads [ohm]"),
    Option("--check-pct", "check_pct", number, "its tolerance (0.1) [percent]"),
    Option("--zero-read", "zero_read_ohm", number, "reading with the tips shorted, beside a check resistor [ohm]"),
    Option("--volts-x", "volts_x", number, "voltage across the device [V]"),
    Option("--volts-check", "volts_check", number, "voltage across the check resistor [V]"),
    Option("--volts-meter", "volts_meter", _meter, 'accuracy of the volt range, "0.5%%+2x0.001" [V]'),
    Option("--u-ohm", "u_ohm", number, "standard uncertainty instead of meter and leads [ohm]"),
    Option("--low", "low_ohm", number, "lowest allowed [ohm]"),
    Option("--high", "high_ohm", number, "highest allowed [ohm]"),
    Option("--ref-celsius", "ref_celsius", number, "where the limits hold (20) [degrees Celsius]"),
    Option("--ref-not-stated", "ref_not_stated", None, "the manual states no reference temperature"),
    Option("--k", "k_celsius", number, "conductor constant (234.5, copper) [degrees Celsius]"),
    Option("--rule", "rule", one_of(Rule), "proved (default), proved5 or plain"),
)
NAMES: Final = (Option("--meter-id", "meter_id", words, "which meter"),)


def with_meter(given: Mapping[str, Any]) -> dict[str, Any]:
    """Turn the preset into the accuracy it stands for, and remember that it was assumed."""
    result = dict(given)
    preset = result.pop("meter_like", None)
    if preset is not None and "meter" in result:
        raise bad("--meter-like", preset, "either --meter or --meter-like, not both")
    if preset is not None:
        result |= {"meter": PRESETS[preset].text(), "meter_is_assumed": True}
    return result
