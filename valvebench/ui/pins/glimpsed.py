"""What the Pins page shows of a session that is still being read: its last readings, unjudged.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Protocol

from valvebench.bench.glimpse import Glimpse, Seen
from valvebench.model.entry import Reading
from valvebench.model.format import OHM, ohm_text, open_text
from valvebench.model.variant import Variant
from valvebench.ui.pins.shown import RowShown, keeping_row

JUDGING: Final = "judging"
OPENING: Final = "The whole session is being read; the next pair comes in a moment."


class GlimpseView(Protocol):
    """What is asked of the page."""

    def set_variant(self, variant: Variant | None) -> None:
        """Draw the connector."""
        ...

    def set_enabled(self, is_enabled: bool) -> None:  # noqa: FBT001  a plain setter
        """Whether readings can be taken."""
        ...

    def show_opening(self, words: str) -> None:
        """No pair yet."""
        ...

    def show_rows(self, rows: Sequence[RowShown]) -> None:
        """Lines of the readings table."""
        ...


def show_glimpse(view: GlimpseView, glimpse: Glimpse) -> None:
    """Connector and last readings; nothing can be typed and nothing has a verdict."""
    view.set_variant(glimpse.variant)
    view.set_enabled(False)
    view.show_opening(OPENING)
    view.show_rows([_row(seen) for seen in glimpse.readings])


def _row(seen: Seen) -> RowShown:
    """One line for each reading, as the meter showed it."""
    between = f"{seen.reading.from_node}\u2013{seen.reading.to_node}"
    return keeping_row(
        seen.number, between=between, what=seen.what, ohm=_ohm(seen.reading), words=JUDGING, state=JUDGING
    )


def _ohm(reading: Reading) -> str:
    if reading.open:
        return open_text(reading.range_ohm)
    shown = reading.displayed_ohm
    return "" if shown is None else ohm_text(shown).removesuffix(OHM).strip()
