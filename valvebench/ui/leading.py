"""Where the next step that Findings or the complaint asks for is done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Protocol

from valvebench.ui.frame import JOB, PINS
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import WindowServices
from valvebench.ui.settings import SettingsHolder

if TYPE_CHECKING:
    from valvebench.bench.desk import Desk
    from valvebench.bench.explaining import Explaining
    from valvebench.diagnose.explained import Ask
    from valvebench.ui import later
    from valvebench.ui.job.suspects import Suspects
    from valvebench.ui.pins.plan import Pair


class Frame(Protocol):
    """What the window lends."""

    thinker: QtRunner
    settings: SettingsHolder
    pins: Any
    beside_pins: Any
    desk: Desk | None

    @property
    def job(self) -> Any:
        """Everything about the Job page."""
        ...

    def show_page(self, word: str) -> None:
        """A page of the rail."""
        ...

    def go_to(self, word: str, key: str) -> None:
        """A page, and the item on it that is meant."""
        ...

    @property
    def later(self) -> Any:
        """The pages built at their first visit."""
        ...


class Leading:
    """From the card of explanations, or of suspects, to the page where its next step is done."""

    def __init__(self, frame: Frame, services: WindowServices) -> None:
        self._frame, self._services = frame, services
        self._explaining: tuple[Desk, Explaining] | None = None

    def explains(self, desk: Desk) -> later.Explains:
        """Who explains the open session, and where its card leads."""
        from valvebench.ui import later

        frame = self._frame
        return later.Explains(frame.thinker, self._explaining_of(desk), frame.pins, self.to, self.to_pins)

    def _explaining_of(self, desk: Desk) -> Explaining | None:
        """One for each session: what it worked out for one page serves the other."""
        if desk.variant is None:
            return None
        if self._explaining is None or self._explaining[0] is not desk:
            own = self._frame.settings.now.variants_folder
            self._explaining = (desk, self._services.explaining(desk.variant, own))
        return self._explaining[1]

    def suspects(self, desk: Desk) -> Suspects:
        """Who says what to test first for the complaint of the open session."""
        from valvebench.ui.job.suspects import Suspects

        explaining = self._explaining_of(desk)
        if desk.variant is None or explaining is None:
            return Suspects(self._frame.thinker, None)
        return Suspects(self._frame.thinker, self._services.suspecting(desk.variant, explaining))

    def to_test(self, word: str, key: str) -> None:
        """Where a suspect is tested: its pair, port or solenoid, its flex test, or the fluid as found."""
        name = key.partition(" ")[2]
        if word == JOB:
            self._frame.job.page.ask_for_fluid()
        elif key.startswith("flex ") and (pair := self._pair_of(name)) is not None:
            self._frame.later.show_flex(pair)
        else:
            self._frame.go_to(word, key)

    def _pair_of(self, name: str) -> Pair | None:
        """The two nodes of a device, for its flex test."""
        from valvebench.ui.pins.plan import Pair

        desk = self._frame.desk
        device = desk.variant.device_named(name) if desk is not None and desk.variant is not None else None
        return Pair(*device.between) if device is not None else None

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
