"""Where the next step that Findings asks for is done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

from valvebench.ui.frame import JOB, PINS
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import WindowServices
from valvebench.ui.settings import SettingsHolder

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.diagnose.explained import Ask
    from valvebench.ui import later


class Frame(Protocol):
    """What the window lends."""

    thinker: QtRunner
    settings: SettingsHolder
    pins: Any
    beside_pins: Any

    @property
    def job(self) -> Any:
        """Everything about the Job page."""
        ...

    def show_page(self, word: str) -> None:
        """A page of the rail."""
        ...


class Leading:
    """From the card of explanations to the page where its next step is done."""

    def __init__(self, frame: Frame, services: WindowServices) -> None:
        self._frame, self._services = frame, services

    def explains(self, desk: Desk) -> later.Explains:
        """Who explains the open session, and where its card leads."""
        from valvebench.ui import later

        frame = self._frame
        own = frame.settings.now.variants_folder
        explaining = self._services.explaining(desk.variant, own) if desk.variant is not None else None
        return later.Explains(frame.thinker, explaining, frame.pins, self.to, self.to_pins)

    def to_pins(self) -> None:
        """The pairs, or the part in hand where no variant says which there are."""
        self._frame.show_page(PINS)

    def to(self, ask: Ask, warm_celsius: float) -> None:
        """Tips held together are typed on Job; everything else is read on Pins."""
        if ask.what == "lead_short":
            self._frame.show_page(JOB)
            self._frame.job.page.ask_for_tips()
        else:
            self.to_pins()
            self._frame.beside_pins.begin_asked(ask, warm_celsius)
