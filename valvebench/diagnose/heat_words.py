"""Why a heat run is called what it is called, and what would tell more."""

from __future__ import annotations

from typing import Any

from valvebench.diagnose.heat_part import Part
from valvebench.model.format import celsius_text, decimals_for, value_text
from valvebench.model.heat import HeatKind, Sized

_K = 2.0


def reasons_for(part: Part, numbers: dict[str, Any], left_out: int) -> tuple[str, ...]:
    """What was found, in sentences; uncertainties are expanded, k = 2."""
    slope = numbers["slope_over_copper"]
    lines = [f"Slope over copper {_plain(slope)}, from {_span(numbers)}."]
    lines += _KIND_LINES[part.kind](part, numbers)
    if left_out:
        wild = "1 single reading stands" if left_out == 1 else f"{left_out} single readings stand"
        lines.append(f"{wild} far from the others and counted for nothing.")
    return tuple(lines)


def _copper(_: Part, numbers: dict[str, Any]) -> list[str]:
    return [f"It moves as copper does: {_ohm(numbers['r20_ohm'])} at 20 \u00b0C, and nothing in series that shows."]


def _fixed(_: Part, numbers: dict[str, Any]) -> list[str]:
    return [
        f"It rises less than copper: {_ohm(numbers['series_ohm'])} in series stays put.",
        f"Beside it lies {_ohm(numbers['r20_ohm'])} of copper at 20 \u00b0C.",
        "Leads that were not taken off count as such a series resistance.",
    ]


def _grows(part: Part, numbers: dict[str, Any]) -> list[str]:
    lines = [f"It rises more than copper: {_ohm(numbers['excess_ohm_at_hottest'])} too much at the hottest."]
    start = numbers.get("grows_from_celsius")
    if start is not None:
        lines.append(f"That begins at {celsius_text(start.value)} \u00b1 {_K * start.u:.1f}.")
    elif part.growth is not None:
        lines.append(part.growth.why_no_start)
    if "series_ohm" in numbers:
        lines.append(f"Beside it {_ohm(numbers['series_ohm'])} in series stays put.")
    return lines


def _hidden(part: Part, numbers: dict[str, Any]) -> list[str]:  # noqa: ARG001  one signature for every kind
    if part.alone is not None:
        celsius, ohm = celsius_text(part.alone.celsius), f"{part.alone.ohm:.4g} \u03a9"
        return [
            f"One reading alone makes the difference: {ohm} at {celsius}. Without it the part moves as copper does.",
            "No other reading near that temperature confirms it or contradicts it.",
        ]
    return [
        "The temperature changed at one rate: a lag of the coil and a series resistance look alike in such a run.",
        "The two cannot be separated.",
    ]


_KIND_LINES = {
    HeatKind.COPPER: _copper,
    HeatKind.FIXED_SERIES: _fixed,
    HeatKind.GROWS_WITH_HEAT: _grows,
    HeatKind.NOT_SEPARABLE: _hidden,
}


def advice_for(part: Part, *, is_meter_known: bool) -> tuple[str, ...]:
    """What to do next."""
    advice = []
    if part.alone is not None:
        advice.append("Read that temperature again, once more on the way up and once on the way down.")
    elif part.kind is HeatKind.NOT_SEPARABLE:
        advice.append("Let the log run on while the part cools, hold a temperature for a while, or start soaked.")
    if part.kind is HeatKind.FIXED_SERIES:
        advice.append("Clean and press the contacts, null the leads, and read at the device's own terminals.")
    if part.kind is HeatKind.GROWS_WITH_HEAT:
        advice.append("Read the same pair hot at the device's own terminals: that tells harness and device apart.")
    if not is_meter_known:
        advice.append("Name the meter: its counts are assumed from the step of the readings.")
    return tuple(advice)


def _ohm(sized: Sized) -> str:
    return value_text(sized.value, _K * sized.u)


def _plain(sized: Sized) -> str:
    places = decimals_for(_K * sized.u)
    return f"{sized.value:.{places}f} \u00b1 {_K * sized.u:.{places}f}"


def _span(numbers: dict[str, Any]) -> str:
    return f"{celsius_text(numbers['coldest_celsius'])} to {celsius_text(numbers['hottest_celsius'])}"
