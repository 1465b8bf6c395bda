"""Which questions have an answer, with what verdict, and which one is at hand.  No Qt."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from valvebench.judge.codes import code_of
from valvebench.judge.functions import function_row
from valvebench.judge.leak_rows import leak_row
from valvebench.judge.row import Row
from valvebench.judge.rows import heard_row
from valvebench.judge.session import item_verdict
from valvebench.model.air_tests import LeakTest
from valvebench.model.entry import AnyBody, SolenoidTest
from valvebench.model.session import Item, Session
from valvebench.model.variant import Variant
from valvebench.model.words import Verdict
from valvebench.ui.ports.questions import PortQuestion, Question, answered_by, questions_of
from valvebench.ui.ports.set_up import NOTHING_TYPED, Moves

_AGAINST: Final = (Verdict.FAIL, Verdict.NOT_USABLE)
_WORST_FIRST: Final = (Verdict.FAIL, Verdict.NOT_TAKEN, Verdict.CANT_TELL, Verdict.NO_LIMIT, Verdict.PASS)


@dataclass(frozen=True, kw_only=True)
class Heard:
    """An entry that counts, by ear or a measured leak of a port, with its judged row."""

    item: Item
    row: Row


@dataclass(frozen=True, kw_only=True)
class Given:
    """An answer that is not on disk yet; `number` below nought names its line in the table."""

    number: int
    question: Question
    body: AnyBody
    note: str
    moves: Moves = NOTHING_TYPED


class Answers:
    """The answers of a session, taken in entry by entry."""

    def __init__(self, variant: Variant | None) -> None:
        self._variant = variant
        self.questions = questions_of(variant)
        self.heard: list[Heard] = []
        self._by_question: dict[str, list[Row]] = defaultdict(list)
        self._by_item: dict[str, list[Row]] = defaultdict(list)
        self._clicked: dict[str, bool] = {}
        self._tried: dict[str, list[Item]] = defaultdict(list)
        self._seats: dict[str, list[Row]] = defaultdict(list)

    def read(self, session: Session) -> None:
        """Begin anew with everything that counts."""
        self.heard, self._clicked = [], {}
        self._by_question.clear()
        self._by_item.clear()
        self._tried.clear()
        self._seats.clear()
        for item in session.items_of("air", "switch", "solenoid", "leak"):
            if isinstance(item.body, LeakTest):
                self._measured(item, item.body)
            else:
                self.take(item)

    def _measured(self, item: Item, body: LeakTest) -> None:
        """Count a measured leak in; without a limit it says nothing for or against what was heard at its port."""
        row = leak_row(self._variant, item, None)
        if row is None:
            return
        if body.is_seat:
            self._seats[body.of].append(row)
            return
        self.heard.append(Heard(item=item, row=row))
        if row.verdict is not Verdict.NO_LIMIT:
            self._by_item[row.key].append(row)

    def take(self, item: Item) -> Heard | None:
        """Count one entry in; None where it is no test by ear."""
        if code_of(self._variant, item.body) is not None:
            return None  # read in a selector position: the code table on Pins holds it
        row = heard_row(self._variant, item)
        if row is None:
            return None
        heard = Heard(item=item, row=row)
        self.heard.append(heard)
        self._by_item[row.key].append(row)
        if isinstance(item.body, SolenoidTest):
            self._clicked[item.body.device] = item.body.click
            self._tried[item.body.device].append(item)
        for key in self.keys_of(item.body):
            self._by_question[key].append(row)
        return heard

    def verdict_of(self, question: Question) -> Verdict | None:
        """What stands for one question; None while it has no answer."""
        return self._verdict(self._by_question.get(question.key, ()))

    def port_verdict(self, name: str) -> Verdict | None:
        """The worst of a port's answers; while one of its settings has none, only what already speaks against it."""
        found = {self._verdict(rows) for rows in self._by_item.values() if rows[0].port == name}
        asked = (q for q in self.questions if isinstance(q, PortQuestion) and q.port.name == name)
        shown = _AGAINST if any(self.verdict_of(question) is None for question in asked) else _WORST_FIRST
        return next((verdict for verdict in shown if verdict in found), None)

    @staticmethod
    def _verdict(rows: Iterable[Row]) -> Verdict | None:
        found = list(rows)
        return item_verdict(found) if found else None

    def clicked(self, device: str) -> bool | None:
        """Whether a solenoid clicked; None while nobody tried."""
        return self._clicked.get(device)

    def tried(self, device: str) -> tuple[tuple[SolenoidTest, ...], Row | None]:
        """Everything tried on a solenoid, and the row it makes together; None while nothing was."""
        items = self._tried.get(device, [])
        row = function_row(self._variant, items) if items else None
        return tuple(item.body for item in items if isinstance(item.body, SolenoidTest)), row

    def seat(self, device: str) -> tuple[Row, ...]:
        """The leaks measured at the seat of a solenoid."""
        return tuple(self._seats.get(device, ()))

    def is_done(self, question: Question) -> bool:
        """Whether a question has an answer."""
        return question.key in self._by_question

    def keys_of(self, body: AnyBody) -> tuple[str, ...]:
        """Keys of the questions an entry answers."""
        return answered_by(body, self._variant) if self._variant is not None else ()

    @property
    def done(self) -> int:
        """How many questions have an answer."""
        return sum(map(self.is_done, self.questions))


class Walk:
    """The questions in their order and the one at hand."""

    def __init__(self, questions: tuple[Question, ...]) -> None:
        self._questions, self._place = questions, 0

    @property
    def question(self) -> Question | None:
        """The question at hand; None where nothing is asked."""
        return self._questions[self._place] if self._questions else None

    def step(self, by: int) -> None:
        """To the next or the previous question, round the end."""
        if self._questions:
            self._place = (self._place + by) % len(self._questions)

    def choose(self, is_wanted: Callable[[Question], bool]) -> bool:
        """To the first question that fits; whether there is one."""
        return self._first(range(len(self._questions)), is_wanted)

    def go_on(self, is_open: Callable[[Question], bool]) -> bool:
        """To the next question that is still open, round the end; False and no move where none is."""
        count = len(self._questions)
        return self._first(((self._place + ahead) % count for ahead in range(1, count + 1)), is_open)

    def _first(self, places: Iterable[int], is_wanted: Callable[[Question], bool]) -> bool:
        found = next((place for place in places if is_wanted(self._questions[place])), None)
        if found is not None:
            self._place = found
        return found is not None
