"""A judged reading laid on a ruler."""

from __future__ import annotations

from valvebench.model.words import Verdict
from valvebench.ui.pins.shown import ReadingShown
from valvebench.ui.widgets.ruler import Ruler, RulerState


def lay_on(ruler: Ruler, reading: ReadingShown) -> None:
    """Show limits, guard and value; a ruler of nothing read yet shows its limits alone."""
    is_read = reading.open_above is not None or reading.value is not None
    is_open = reading.open_above is not None
    ruler.show_state(
        RulerState(
            unit=reading.unit,
            low=reading.low,
            high=reading.high,
            low_text=reading.low_text,
            high_text=reading.high_text,
            guard=max(0.0, reading.guard),
            value=None if is_open else reading.value,
            expanded=None if is_open or not is_read else reading.expanded,
            verdict=reading.verdict if is_read else Verdict.NOT_TAKEN,
            value_text=reading.value_text if is_read else "",
            open_above=reading.open_above,
        )
    )
