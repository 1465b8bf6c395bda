"""What the Ports page is asked to show, and what is said on it.  No Qt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, Protocol

from valvebench.model.errors import BadInput
from valvebench.model.words import Verdict
from valvebench.ui.ports.groups import Group
from valvebench.ui.ports.heard import HeardShown, SolenoidShown
from valvebench.ui.ports.questions import CLICKS_ASKED
from valvebench.ui.ports.set_up import Moves
from valvebench.ui.ports.shown import PortShown, QuestionShown

NO_VARIANT: Final = (
    "Here ports, switches and solenoids are tested by ear, one key each. "
    "This job has no variant file, so nothing is asked. Start a job with one to be led from port to port."
)
NO_PORTS: Final = (
    "Here ports, switches and solenoids are tested by ear, one key each. "
    "This variant names no port, no switch moved by air and no solenoid to click."
)
CLOSED: Final = "This session is closed: nothing is added to it any more."
ALL_ANSWERED: Final = "Every question has an answer. Findings says what follows."
STILL_KEEPING: Final = "Still keeping the last answer."
NO_SUCH_ANSWER: Final = "Here only + for yes and \u2212 for no."
CLICK_FIRST: Final = "Answer first whether it clicks: Up goes back."
NO_CLICK: Final = "It does not click, so air through it says nothing. Down goes on."
NO_SUPPLY: Final = "This solenoid is left out until its supply is current-limited."
HOW_MANY: Final = f"How many of {CLICKS_ASKED} clicks: 0 to {CLICKS_ASKED}, once the supply is limited."
NO_COVER_PLATE: Final = "Only a port of the valve body has a cover plate over it."
PICK_PORT: Final = "Where does the air come out? Arrows and Enter choose the port on the board, Esc leaves it."
SAME_PORT: Final = "The air goes in there: choose the port where it comes out."


class PortsView(Protocol):
    """What the presenter asks of the page."""

    def show_question(self, question: QuestionShown) -> None: ...
    def show_empty(self, words: str) -> None: ...
    def show_ports(self, ports: Sequence[PortShown]) -> None: ...
    def show_marks(self, marks: Mapping[str, Verdict | None], current: str) -> None: ...
    def show_rows(self, rows: Sequence[HeardShown]) -> None: ...
    def put_row(self, row: HeardShown) -> None: ...
    def drop_row(self, number: int) -> None: ...
    def show_groups(self, group: Group, counts: Mapping[Group, tuple[int, int]]) -> None: ...
    def show_solenoids(self, rows: Sequence[SolenoidShown]) -> None: ...
    def show_progress(self, done: int, of: int) -> None: ...
    def show_gauge(self, kpa_gauge: str, gauge_id: str) -> None: ...
    def show_gauge_problem(self, words: str) -> None: ...
    def take_note(self) -> str: ...
    def set_note(self, note: str) -> None: ...
    def take_moves(self) -> Moves: ...
    def set_moves(self, moves: Moves) -> None: ...
    def pick_port(self) -> None: ...
    def set_enabled(self, is_enabled: bool) -> None: ...  # noqa: FBT001  a plain setter
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


def error_words(error: Exception) -> str:
    """What went wrong, as a sentence."""
    words = error.problems[0].text() if isinstance(error, BadInput) else str(error)
    return words if words.endswith(".") else f"{words}."
