"""A judged reading laid on a ruler."""

from __future__ import annotations

from valvebench.ui.pins.shown import ReadingShown
from valvebench.ui.widgets.ruler import Ruler


def lay_on(ruler: Ruler, reading: ReadingShown) -> None:
    """Show limits, guard and value; a ruler of nothing read yet shows its limits alone."""
    ruler.set_unit(reading.unit)
    ruler.set_limits(reading.low, reading.high, low_text=reading.low_text, high_text=reading.high_text)
    ruler.set_guard(reading.guard)
    if reading.open_above is not None:
        ruler.set_open(reading.open_above, reading.verdict, text=reading.value_text)
    elif reading.value is not None:
        ruler.set_reading(reading.value, reading.expanded, reading.verdict, text=reading.value_text)
    else:
        ruler.clear_reading()
