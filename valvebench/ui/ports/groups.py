"""The tabs of the Ports page: ports, switches and solenoids, each with its own questions.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from enum import Enum
from types import MappingProxyType
from typing import Final

from valvebench.ui.ports.questions import PortQuestion, Question, SwitchQuestion


class Group(Enum):
    """One tab; the order is that of the work."""

    PORTS = "Ports"
    SWITCHES = "Switches"
    SOLENOIDS = "Solenoids"


EMPTY: Final = MappingProxyType(
    {
        Group.PORTS: "This variant names no port.",
        Group.SWITCHES: "This variant names no switch moved by air.",
        Group.SOLENOIDS: "This variant names no solenoid to click.",
    }
)
ORDER: Final = tuple(Group)


def group_of(question: Question) -> Group:
    """The tab a question stands in."""
    if isinstance(question, PortQuestion):
        return Group.PORTS
    return Group.SWITCHES if isinstance(question, SwitchQuestion) else Group.SOLENOIDS


def beside(group: Group, by: int) -> Group:
    """The tab to the right or left, round the end."""
    return ORDER[(ORDER.index(group) + by) % len(ORDER)]


def counts_of(questions: Sequence[Question], is_done: Callable[[Question], bool]) -> dict[Group, tuple[int, int]]:
    """How many questions of each tab have an answer, and how many there are."""
    own = {group: [question for question in questions if group_of(question) is group] for group in Group}
    return {group: (sum(map(is_done, asked)), len(asked)) for group, asked in own.items()}
