"""Decides what the Ports page asks, shows and keeps.  Knows no Qt."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import replace

from valvebench.bench.desk import Desk
from valvebench.judge.leak_rows import SEAT_KEY
from valvebench.judge.row import Row
from valvebench.model.entry import AnyBody, Entry, SolenoidTest, SwitchTest
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.variant import Solenoid
from valvebench.model.words import Place
from valvebench.ui.errors import error_words
from valvebench.ui.keeper import CLOSED, Keeper
from valvebench.ui.ports import page
from valvebench.ui.ports.answers import Answers, Given, Walk
from valvebench.ui.ports.groups import EMPTY, Group, beside, counts_of, group_of
from valvebench.ui.ports.heard import HeardShown, heard_shown, kept_sentence, solenoid_shown
from valvebench.ui.ports.page import PortsView
from valvebench.ui.ports.questions import (
    CLICKS_ASKED,
    Answer,
    Part,
    PortQuestion,
    Question,
    SolenoidQuestion,
    answers_to,
    body_of,
    clicked,
    leak_of,
    out_at,
)
from valvebench.ui.ports.set_up import NEXT_COVER, NOTHING_TYPED, Moves, last_set_up, read_kpa
from valvebench.ui.ports.shown import (
    confirmation_shown,
    port_shown,
    question_shown,
)
from valvebench.ui.taking_back import OF_ANY_PAGE, TakingBack


class PortsPresenter:
    """One open session, question by question."""

    def __init__(self, view: PortsView, desk: Desk, keeper: Keeper) -> None:
        self._view, self._desk, self._keeper = view, desk, keeper
        self._answers = Answers(desk.variant)
        self._walk = Walk(self._answers.questions)
        self._set_up = last_set_up(desk)
        self._waiting: deque[Given] = deque()
        self._given_so_far, self._read_to = 0, 0
        self.limited: set[str] = set()
        """Solenoids whose supply was said to be limited."""
        self._is_closed, self._is_picking = False, False
        self.taking_back = TakingBack(keeper, view.say, done=self._taken_back, told=OF_ANY_PAGE)

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
        self._show_solenoids()

    # -- showing ---------------------------------------------------------------------------

    def _show(self) -> None:
        self._show_question()
        self._view.set_enabled(not self._is_closed and self._walk.question is not None)
        if self._is_closed:
            self._view.say(CLOSED)

    def _show_question(self) -> None:
        question, variant = self._walk.question, self._desk.variant
        if question is None or variant is None:
            self._view.show_empty(page.NO_VARIANT if variant is None else page.NO_PORTS)
            return
        if isinstance(question, SolenoidQuestion) and self._wants_supply(question):
            shown = confirmation_shown(question)
        else:
            verdict = self._answers.verdict_of(question)
            shown = question_shown(question, variant, verdict, set_up=self._set_up)
        self._view.show_question(shown)
        self._show_marks(shown.port)
        self._view.show_progress(self._answers.done, len(self._answers.questions))
        self._view.show_groups(group_of(question), counts_of(self._answers.questions, self._answers.is_done))

    def _show_marks(self, current: str) -> None:
        variant = self._desk.variant
        ports = variant.ports if variant is not None else ()
        self._view.show_marks({p.name: self._answers.port_verdict(p.name) for p in ports}, current)

    def _show_solenoids(self) -> None:
        devices = self._desk.variant.devices if self._desk.variant is not None else ()
        solenoids = [device for device in devices if isinstance(device, Solenoid)]
        self._view.show_solenoids(
            [
                solenoid_shown(n, each, *self._answers.tried(each.name), seat=self._answers.seat(each.name))
                for n, each in enumerate(solenoids)
            ]
        )

    def _wants_supply(self, question: Question) -> bool:
        if self._is_closed or not isinstance(question, SolenoidQuestion) or not question.needs_current_limit:
            return False
        return question.solenoid.name not in self.limited

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
            self._confirm(question, answer)
            return
        refusal = self._refusal(question, answer)
        if refusal:
            self._view.say(refusal, is_problem=True)
            return
        note, moves = self._view.take_note().strip(), NOTHING_TYPED
        body = body_of(question, answer, self._set_up, note=note or None)
        if isinstance(body, SwitchTest):
            moves = self._view.take_moves()
            try:
                body = moves.with_them(body)
            except BadInput as error:
                self._give_back(note, moves)
                self._view.say(error.problems[0].text(), is_problem=True)
                return
        self._give(question, body, note, moves)

    def _refusal(self, question: Question, answer: Answer) -> str:
        if self._is_closed:
            return CLOSED
        if answer not in answers_to(question):
            return page.NO_SUCH_ANSWER
        if isinstance(question, SolenoidQuestion) and question.part is not Part.CLICK:
            return {None: page.CLICK_FIRST, False: page.NO_CLICK, True: ""}[self._clicked(question.solenoid.name)]
        return ""

    def _confirm(self, question: SolenoidQuestion, answer: Answer) -> None:
        """The supply is said to be limited for this solenoid, or it is passed over."""
        if answer is Answer.PLUS:
            self.limited.add(question.solenoid.name)
            self._view.say("")
        elif answer is Answer.MINUS:
            self._walk.go_on(lambda question: self._is_open(question) and not self._wants_supply(question))
            self._view.say(page.NO_SUPPLY, is_problem=True)
        self._show_question()

    def clicks_heard(self, count: int) -> None:
        """A digit: that many of the clicks asked for were heard."""
        question = self._walk.question
        if not isinstance(question, SolenoidQuestion) or question.part is not Part.CLICK:
            return
        if self._is_closed or self._wants_supply(question) or count > CLICKS_ASKED:
            self._view.say(CLOSED if self._is_closed else page.HOW_MANY, is_problem=True)
            return
        note = self._view.take_note().strip()
        self._give(question, clicked(question, count, note=note or None), note)

    def _give_back(self, note: str, moves: Moves) -> None:
        self._view.set_note(note)
        self._view.set_moves(moves)

    def _give(self, question: Question, body: AnyBody, note: str, moves: Moves = NOTHING_TYPED) -> None:
        self._given_so_far += 1
        given = Given(number=-self._given_so_far, question=question, body=body, note=note, moves=moves)
        self._waiting.append(given)
        row = heard_shown(given.number, body, None, self._desk.variant)
        if row is not None:
            self._view.put_row(row)
        is_more = self._walk.go_on(self._is_open)
        self._view.say("" if is_more else page.STILL_KEEPING)
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
        self._show_solenoids()
        is_done = self._answers.done == len(self._answers.questions)
        self._view.say(f"{kept_sentence(row)} {page.ALL_ANSWERED}" if is_done else kept_sentence(row))
        self._show_question()

    def _not_kept(self, error: Exception) -> None:
        """Back to the first answer that is not on disk; those typed after it are given again."""
        lost, first = list(self._waiting), self._waiting[0]
        self._waiting.clear()
        for given in lost:
            self._view.drop_row(given.number)
        self._walk.choose(lambda question: question == first.question)
        self._give_back(first.note, first.moves)
        self._show_question()
        also = " Nor were the answers after it." if len(lost) > 1 else ""
        self._view.say(f"Not saved. {error_words(error)}{also} Answer again.", is_problem=True)
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

    def group_chosen(self, group: Group) -> None:
        """Go to another tab, its first open question if it has one."""
        if not self._choose(lambda question: group_of(question) is group):
            self._view.say(EMPTY[group], is_problem=True)

    def group_stepped(self, by: int) -> None:
        """To the tab beside this one that asks anything."""
        question = self._walk.question
        if question is None:
            return
        group = here = group_of(question)
        while (group := beside(group, by)) is not here:
            if any(group_of(each) is group for each in self._answers.questions):
                self.group_chosen(group)
                return

    def solenoid_chosen(self, number: int) -> None:
        """Go to a solenoid of the list, its first open question if it has one."""
        names = list(dict.fromkeys(q.solenoid.name for q in self._answers.questions if isinstance(q, SolenoidQuestion)))
        if number < len(names):
            self._choose(lambda q: isinstance(q, SolenoidQuestion) and q.solenoid.name == names[number])

    def choose(self, item: str) -> None:
        """Go to an item such as `port P4`, its first open question if it has one; else to the port it speaks of."""
        if item.startswith(SEAT_KEY):
            item = f"function {item.removeprefix(SEAT_KEY)}"
        if not self._choose(lambda question: question.item == item):
            self.port_chosen(item.removeprefix("port ").partition(" (")[0])

    def leak_at_hand(self) -> str:
        """Item of the leak of what is asked: port, port that moves the switch, or seat; empty for none."""
        return leak_of(self._walk.question) if self._walk.question is not None else ""

    def _choose(self, is_meant: Callable[[Question], bool]) -> bool:
        self._is_picking = False
        found = self._walk.choose(lambda question: is_meant(question) and self._is_open(question))
        found = found or self._walk.choose(is_meant)
        self._show_question()
        return found

    # -- what a port is asked with, and where the air comes out ----------------------------

    def cover_turned(self) -> None:
        """The cover plate is on, off, or nobody says: it goes with every answer that follows."""
        question = self._walk.question
        if not isinstance(question, PortQuestion) or question.port.place is not Place.BODY:
            self._view.say(page.NO_COVER_PLATE, is_problem=True)
            return
        self._set_up = replace(self._set_up, has_cover=NEXT_COVER[self._set_up.has_cover])
        self._show_question()

    def out_at_asked(self) -> None:
        """The next port of the board that is chosen is where the air comes out."""
        question = self._walk.question
        if self._is_closed or not isinstance(question, PortQuestion):
            return
        self._is_picking = True
        self._view.say(page.PICK_PORT)
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
            self._view.say(page.SAME_PORT, is_problem=True)
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

    # -- taking back -----------------------------------------------------------------------

    def _taken_back(self, number: int, _: AnyBody) -> None:
        self._read()
        self._go_to_entry(number)
        self._show()

    def _go_to_entry(self, number: int) -> None:
        """To the question whose answer was taken back or restored."""
        entry = next((each for each in self._desk.session.entries if each.n == number), None)
        keys = self._answers.keys_of(entry.body) if entry is not None else ()
        self._walk.choose(lambda question: question.key in keys)
