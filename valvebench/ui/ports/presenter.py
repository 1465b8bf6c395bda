"""Decides what the Ports page asks, shows and keeps.  Knows no Qt."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Protocol

from valvebench.bench.desk import Desk
from valvebench.judge.row import Row
from valvebench.model.entry import AnyBody, Entry, SolenoidTest, Withdraw
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.words import Place, Verdict
from valvebench.ui.keeper import Keeper
from valvebench.ui.ports.answers import Answers, Walk
from valvebench.ui.ports.questions import (
    Answer,
    Part,
    PortQuestion,
    Question,
    SolenoidQuestion,
    SwitchQuestion,
    answers_to,
    body_of,
    out_at,
)
from valvebench.ui.ports.set_up import NEXT_COVER, last_set_up, read_kpa
from valvebench.ui.ports.shown import (
    HeardShown,
    PortShown,
    QuestionShown,
    confirmation_shown,
    heard_shown,
    kept_sentence,
    port_shown,
    question_shown,
)

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
PRESSURE_FIRST: Final = "Type the gauge pressure first: without it the entry would read as a switch at rest."
CLICK_FIRST: Final = "Answer first whether it clicks: Up goes back."
NO_CLICK: Final = "It does not click, so air through it says nothing. Down goes on."
NO_SUPPLY: Final = "Linear and pulsed solenoids are left out until the supply is current-limited."
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
    def show_progress(self, done: int, of: int) -> None: ...
    def show_gauge(self, kpa_gauge: str, gauge_id: str) -> None: ...
    def show_gauge_problem(self, words: str) -> None: ...
    def take_note(self) -> str: ...
    def set_note(self, note: str) -> None: ...
    def pick_port(self) -> None: ...
    def set_enabled(self, is_enabled: bool) -> None: ...  # noqa: FBT001  a plain setter
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


@dataclass(frozen=True, kw_only=True)
class _Given:
    """An answer that is not on disk yet; `number` below nought names its line in the table."""

    number: int
    question: Question
    body: AnyBody
    note: str


class PortsPresenter:
    """One open session, question by question."""

    def __init__(self, view: PortsView, desk: Desk, keeper: Keeper) -> None:
        self._view, self._desk, self._keeper = view, desk, keeper
        self._answers = Answers(desk.variant)
        self._walk = Walk(self._answers.questions)
        self._set_up = last_set_up(desk)
        self._waiting: deque[_Given] = deque()
        self._given_so_far, self._read_to = 0, 0
        self._is_supply_limited, self._is_closed, self._is_picking = False, False, False

    def start(self) -> None:
        """Show what is there and ask the first open question."""
        variant = self._desk.variant
        kpa = self._set_up.kpa_gauge
        self._view.show_gauge("" if kpa is None else f"{kpa:g}", self._set_up.gauge_id or "")
        self._view.show_ports([port_shown(port) for port in variant.ports] if variant is not None else [])
        self._read()
        self._walk.choose(self._is_open)
        self._show()

    def refresh(self) -> None:
        """Take up what changed elsewhere; what stays the same stays."""
        if self._read_to and not self._waiting and self._read_to != self._desk.session.entries[-1].n:
            self._read()
            self._show()

    def _read(self) -> None:
        # The session is folded anew after every entry: too dear to ask it at each key.
        session = self._desk.session
        self._read_to, self._is_closed = session.entries[-1].n, session.is_closed
        self._answers.read(session)
        variant = self._desk.variant
        rows = [heard_shown(each.item.n, each.item.body, each.row, variant) for each in self._answers.heard]
        self._view.show_rows([row for row in rows if row is not None])

    # -- showing ---------------------------------------------------------------------------

    def _show(self) -> None:
        self._show_question()
        self._view.set_enabled(not self._is_closed and self._walk.question is not None)
        if self._is_closed:
            self._view.say(CLOSED)

    def _show_question(self) -> None:
        question, variant = self._walk.question, self._desk.variant
        if question is None or variant is None:
            self._view.show_empty(NO_VARIANT if variant is None else NO_PORTS)
            return
        if isinstance(question, SolenoidQuestion) and self._wants_supply(question):
            shown = confirmation_shown(question)
        else:
            verdict = self._answers.verdict_of(question)
            shown = question_shown(question, variant, verdict, set_up=self._set_up)
        self._view.show_question(shown)
        self._show_marks(shown.port)
        self._view.show_progress(self._answers.done, len(self._answers.questions))

    def _show_marks(self, current: str) -> None:
        variant = self._desk.variant
        ports = variant.ports if variant is not None else ()
        self._view.show_marks({p.name: self._answers.port_verdict(p.name) for p in ports}, current)

    def _wants_supply(self, question: Question) -> bool:
        needs = isinstance(question, SolenoidQuestion) and question.needs_current_limit
        return needs and not self._is_supply_limited and not self._is_closed

    def _is_open(self, question: Question) -> bool:
        if self._answers.verdict_of(question) is not None or any(g.question == question for g in self._waiting):
            return False
        if not isinstance(question, SolenoidQuestion) or question.part is Part.CLICK:
            return True
        return self._clicked(question.solenoid.name) is not False

    def _clicked(self, name: str) -> bool | None:
        """Whether a solenoid clicked, an answer on its way to the disk included."""
        for given in reversed(self._waiting):
            if isinstance(given.body, SolenoidTest) and given.body.device == name:
                return given.body.click
        return self._answers.clicked(name)

    # -- what a person does ----------------------------------------------------------------

    def answer(self, answer: Answer) -> None:
        """One key: the answer is on its way to the disk, the next question comes."""
        self._is_picking = False
        question = self._walk.question
        if question is None:
            return
        if isinstance(question, SolenoidQuestion) and self._wants_supply(question):
            self._confirm(answer)
            return
        refusal = self._refusal(question, answer)
        if refusal:
            self._view.say(refusal, is_problem=True)
            return
        note = self._view.take_note().strip()
        self._give(question, body_of(question, answer, self._set_up, note=note or None), note)

    def _refusal(self, question: Question, answer: Answer) -> str:
        if self._is_closed:
            return CLOSED
        if answer not in answers_to(question):
            return NO_SUCH_ANSWER
        if isinstance(question, SwitchQuestion) and self._set_up.kpa_gauge is None:
            return PRESSURE_FIRST
        if isinstance(question, SolenoidQuestion) and question.part is not Part.CLICK:
            return {None: CLICK_FIRST, False: NO_CLICK, True: ""}[self._clicked(question.solenoid.name)]
        return ""

    def _confirm(self, answer: Answer) -> None:
        """The supply is said to be current-limited, or its solenoids are passed over."""
        if answer is Answer.PLUS:
            self._is_supply_limited = True
            self._view.say("")
        elif answer is Answer.MINUS:
            self._walk.go_on(lambda question: self._is_open(question) and not self._wants_supply(question))
            self._view.say(NO_SUPPLY, is_problem=True)
        self._show_question()

    def _give(self, question: Question, body: AnyBody, note: str) -> None:
        self._given_so_far += 1
        given = _Given(number=-self._given_so_far, question=question, body=body, note=note)
        self._waiting.append(given)
        row = heard_shown(given.number, body, None, self._desk.variant)
        if row is not None:
            self._view.put_row(row)
        is_more = self._walk.go_on(self._is_open)
        self._view.say("" if is_more else STILL_KEEPING)
        self._show_question()
        if len(self._waiting) == 1:
            self._send()

    def _send(self) -> None:
        self._keeper.keep(self._waiting[0].body, kept=self._kept, failed=self._not_kept)

    def _kept(self, entry: Entry, _: tuple[Row, ...]) -> None:
        given = self._waiting.popleft()
        self._view.drop_row(given.number)
        self._read_to = entry.n
        item = self._desk.find_item(entry.n)
        heard = self._answers.take(item) if item is not None else None
        if heard is not None:
            self._show_kept(heard_shown(entry.n, entry.body, heard.row, self._desk.variant))
        if self._waiting:
            self._send()

    def _show_kept(self, row: HeardShown | None) -> None:
        if row is None:
            return
        self._view.put_row(row)
        is_done = self._answers.done == len(self._answers.questions)
        self._view.say(f"{kept_sentence(row)} {ALL_ANSWERED}" if is_done else kept_sentence(row))
        self._show_question()

    def _not_kept(self, error: Exception) -> None:
        """Back to the first answer that is not on disk; those typed after it are given again."""
        lost, first = list(self._waiting), self._waiting[0]
        self._waiting.clear()
        for given in lost:
            self._view.drop_row(given.number)
        self._walk.choose(lambda question: question == first.question)
        self._view.set_note(first.note)
        self._show_question()
        also = " Nor were the answers after it." if len(lost) > 1 else ""
        self._view.say(f"Not saved. {_words(error)}{also} Answer again.", is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    def previous(self) -> None:
        """Back one question."""
        self._step(-1)

    def skip(self) -> None:
        """Leave this question for later."""
        self._step(1)

    def _step(self, by: int) -> None:
        self._is_picking = False
        self._walk.step(by)
        self._view.say(CLOSED if self._is_closed else "")
        self._show_question()

    def port_chosen(self, name: str) -> None:
        """Go to a port of the board, its first open question if it has one; or say that the air comes out there."""
        if self._is_picking:
            self._came_out_at(name)
            return
        self._choose(lambda question: isinstance(question, PortQuestion) and question.port.name == name)

    def choose(self, item: str) -> None:
        """Go to an item such as `port P4`, its first open question if it has one; else to the port it speaks of."""
        if not self._choose(lambda question: question.item == item):
            self.port_chosen(item.removeprefix("port ").partition(" (")[0])

    def _choose(self, is_meant: Callable[[Question], bool]) -> bool:
        found = self._walk.choose(lambda question: is_meant(question) and self._is_open(question))
        found = found or self._walk.choose(is_meant)
        self._show_question()
        return found

    # -- what a port is asked with, and where the air comes out ----------------------------

    def cover_turned(self) -> None:
        """The cover plate is on, off, or nobody says: it goes with every answer that follows."""
        question = self._walk.question
        if not isinstance(question, PortQuestion) or question.port.place is not Place.BODY:
            self._view.say(NO_COVER_PLATE, is_problem=True)
            return
        self._set_up = replace(self._set_up, has_cover=NEXT_COVER[self._set_up.has_cover])
        self._show_question()

    def out_at_asked(self) -> None:
        """The next port of the board that is chosen is where the air comes out."""
        question = self._walk.question
        if self._is_closed or not isinstance(question, PortQuestion):
            return
        self._is_picking = True
        self._view.say(PICK_PORT)
        self._view.pick_port()

    def pick_left(self) -> None:
        """No port is chosen after all."""
        if self._is_picking:
            self._is_picking = False
            self._view.say("")

    def _came_out_at(self, name: str) -> None:
        self._is_picking = False
        question = self._walk.question
        if not isinstance(question, PortQuestion) or name == question.port.name:
            self._view.say(SAME_PORT, is_problem=True)
            return
        note = self._view.take_note().strip()
        self._give(question, out_at(question, name, self._set_up, note=note or None), note)

    # -- the gauge -------------------------------------------------------------------------

    def gauge_typed(self, kpa_gauge: str, gauge_id: str) -> bool:
        """Take up pressure and gauge for what follows; whether they can be used."""
        try:
            kpa = read_kpa(kpa_gauge)
        except BadInput as error:
            self._view.show_gauge_problem(error.problems[0].text())
            return False
        self._view.show_gauge_problem("")
        self._set_up = replace(self._set_up, kpa_gauge=kpa, gauge_id=gauge_id.strip() or None)
        self._show_question()
        return True

    # -- undo ------------------------------------------------------------------------------

    def undo(self) -> None:
        """Withdraw the newest entry; the withdrawal is an entry itself."""
        self._write(self._desk.undo_body(), "Nothing to undo.")

    def redo(self) -> None:
        """Restore what was withdrawn last."""
        self._write(self._desk.redo_body(), "Nothing to redo.")

    def withdraw(self, number: int) -> None:
        """Take back the answer of one line."""
        body = None if self._is_closed else Withdraw(entry=number, why="taken back at the bench")
        self._write(body, CLOSED)

    def _write(self, body: AnyBody | None, nothing: str) -> None:
        if body is None or self._keeper.is_busy:
            self._view.say(nothing if body is None else STILL_KEEPING)
            return
        self._keeper.keep(body, kept=self._changed, failed=self._not_changed)

    def _not_changed(self, error: Exception) -> None:
        self._view.say(f"Not saved. {_words(error)}", is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    def _changed(self, entry: Entry, _: tuple[Row, ...]) -> None:
        self._read()
        number = getattr(entry.body, "entry", 0)
        self._go_to_entry(number)
        self._show()
        words = "Withdrawn" if entry.kind == "withdraw" else "Restored"
        self._view.say(f"{words}: entry {number}. Nothing is lost, both stay in the trail.")

    def _go_to_entry(self, number: int) -> None:
        """To the question whose answer was taken back or restored."""
        entry = next((each for each in self._desk.session.entries if each.n == number), None)
        keys = self._answers.keys_of(entry.body) if entry is not None else ()
        self._walk.choose(lambda question: question.key in keys)


def _words(error: Exception) -> str:
    words = error.problems[0].text() if isinstance(error, BadInput) else str(error)
    return words if words.endswith(".") else f"{words}."
