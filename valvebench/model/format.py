"""Number -> text, the one place; plain decimal point, units beside the number."""

from __future__ import annotations

import math
from typing import Final

_PREFIXES: Final = ((1e6, "M"), (1e3, "k"), (1.0, ""))
OHM: Final = "\u03a9"
MINUS: Final = "\u2212"
_STEPS_UP: Final = 1e-9


def decimals_for(u: float) -> int:
    """Decimals that leave two significant digits of an uncertainty (JCGM 100, 7.2.6)."""
    if not (u > 0 and math.isfinite(u)):
        return 2
    return min(9, max(0, 1 - math.floor(math.log10(u) + _STEPS_UP)))


def scale_of(ohm: float) -> tuple[float, str]:
    """Divisor and prefix that suit a resistance [ohm]."""
    size = abs(ohm)
    return next(((factor, prefix) for factor, prefix in _PREFIXES if size >= factor), (1.0, ""))


def ohm_text(ohm: float, *, decimals: int | None = None) -> str:
    """A resistance with prefix and unit, `5.24 ohm sign`, `2.61 k...`."""
    factor, prefix = scale_of(ohm)
    return f"{_fixed(ohm / factor, decimals, factor)} {prefix}{OHM}"


def _fixed(scaled: float, decimals: int | None, factor: float) -> str:
    if decimals is None or factor > 1:
        return _short(scaled)
    return f"{scaled:.{decimals}f}".replace("-", MINUS)


def _short(number: float) -> str:
    """Three significant digits, and all digits before the point."""
    if number == 0:
        return "0.00"
    digits = max(0, 2 - math.floor(math.log10(abs(number)) + _STEPS_UP))
    return f"{number:.{digits}f}".replace("-", MINUS)


def value_text(ohm: float, expanded_ohm: float | None, *, unit: bool = True) -> str:
    """Value and expanded uncertainty to the same place: `5.17 +- 0.10 ohm`."""
    factor, prefix = scale_of(ohm)
    suffix = f" {prefix}{OHM}" if unit else (f" {prefix}" if prefix else "")
    if expanded_ohm is None:
        return _short(ohm / factor) + suffix
    places = decimals_for(expanded_ohm / factor)
    number = f"{ohm / factor:.{places}f}".replace("-", MINUS)
    return f"{number} \u00b1 {expanded_ohm / factor:.{places}f}{suffix}"


def plus_minus(value: float, expanded: float, *, unit: str = "") -> str:
    """Any value and its expanded uncertainty to the same place: `9.8 +- 1.3 ml/min`."""
    places = decimals_for(expanded)
    number = f"{value:.{places}f}".replace("-", MINUS)
    return f"{number} \u00b1 {expanded:.{places}f} {unit}".rstrip()


def flow_text(ml_min: float, expanded_ml_min: float) -> str:
    """A leak with its expanded uncertainty: `9.8 +- 1.3 ml/min`."""
    return plus_minus(ml_min, expanded_ml_min, unit="ml/min")


def doubt_text(expanded_ohm: float, *, beside_ohm: float) -> str:
    """An expanded uncertainty alone, in the unit of the value it belongs to: `+- 0.10 ohm`."""
    factor, prefix = scale_of(beside_ohm)
    return f"\u00b1 {expanded_ohm / factor:.{decimals_for(expanded_ohm / factor)}f} {prefix}{OHM}"


def low_limit_text(ohm: float, *, decimals: int = 2) -> str:
    """A lower limit, rounded inward (up) so that the text never promises more than the limit."""
    return _limit(ohm, math.ceil, decimals)


def high_limit_text(ohm: float, *, decimals: int = 2) -> str:
    """An upper limit, rounded inward (down)."""
    return _limit(ohm, math.floor, decimals)


def _limit(ohm: float, toward: object, decimals: int) -> str:
    factor, prefix = scale_of(ohm)
    size = abs(ohm / factor)
    places = max(0, decimals - (size >= 10) - (size >= 100))  # three digits, and all before the point
    steps = ohm / factor * 10**places
    nearest = round(steps)
    # 5.5 * 100 is 550.0000000000001 in binary: a limit that is decimal stays as it is.
    whole = nearest if abs(steps - nearest) < 1e-6 else (math.ceil(steps) if toward is math.ceil else math.floor(steps))
    number = f"{whole / 10**places:.{places}f}"
    return f"{number} {prefix}" if prefix else number


def limits_text(low_ohm: float | None, high_ohm: float | None) -> str:
    """Both limits as they stand in a table: `4.90-5.50`, `> 1.00 M`, `< 2.00`, or an empty text."""
    if low_ohm is not None and high_ohm is not None:
        return f"{low_limit_text(low_ohm)}\u2013{high_limit_text(high_ohm)}"
    if low_ohm is not None:
        return f"> {low_limit_text(low_ohm)}"
    return f"< {high_limit_text(high_ohm)}" if high_ohm is not None else ""


def celsius_text(celsius: float) -> str:
    """A temperature to a tenth, whole ones without: `23.4 degC`, `20 degC`."""
    rounded = round(celsius, 1)
    text = f"{rounded:.0f}" if rounded == int(rounded) else f"{rounded:.1f}"
    return f"{text.replace('-', MINUS)} \u00b0C"


def duration_text(seconds: float) -> str:
    """How long, in the two largest of hours, minutes and seconds; no noughts behind."""
    minutes, rest_s = divmod(round(seconds), 60)
    hours, rest_min = divmod(minutes, 60)
    parts = ((hours, "h"), (rest_min, "min"), (rest_s, "s"))
    first = next((place for place, (size, _) in enumerate(parts) if size), len(parts) - 1)
    told = [f"{size} {unit}" for place, (size, unit) in enumerate(parts[first : first + 2]) if size or place == 0]
    return " ".join(told)


def chance_text(p: float) -> str:
    """A chance in words' size: never nought or certain."""
    if p > 0.99:
        return "better than 99 in 100"
    return "less than 1 in 100" if p < 0.01 else f"about {round(100 * p)} in 100"


def open_text(range_ohm: float | None) -> str:
    """An open reading as it stands in a table: `> 60.0 M`."""
    if not range_ohm:
        return "open"
    factor, prefix = scale_of(range_ohm)
    return f"> {range_ohm / factor:g} {prefix}".rstrip()


def typed_text(ohm: float | None) -> str:
    """A resistance as a person types it, `60 M`; empty for none."""
    if ohm is None:
        return ""
    factor, prefix = scale_of(ohm)
    return f"{ohm / factor:.10g} {prefix}".rstrip()


def stamp_text(rfc3339: str) -> str:
    """A time stamp to the minute, in universal time; what is no time stamp stays as it is."""
    from datetime import UTC, datetime

    try:
        stamp = datetime.fromisoformat(rfc3339)
    except ValueError:
        return rfc3339
    return f"{stamp.astimezone(UTC):%Y-%m-%d %H:%M} UTC" if stamp.tzinfo is not None else rfc3339
