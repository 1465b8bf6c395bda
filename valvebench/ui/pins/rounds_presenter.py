"""Decides how a heat run in rounds goes: a settled temperature, then every winding once, and again.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from valvebench.model.errors import BadInput, BenchError
from valvebench.model.words import TemperatureSource
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.pins.asking import STILL_KEEPING
from valvebench.ui.pins.plan import Pair
from valvebench.ui.pins.rounds import HOWS, Kept, KnownRounds, Round, is_in_rounds, stops_of
from valvebench.ui.pins.rounds_celsius import celsius_offered, celsius_so_far, celsius_typed
from valvebench.ui.pins.rounds_correcting import Correcting
from valvebench.ui.pins.rounds_plan import RoundPlan
from valvebench.ui.pins.rounds_ports import Pins, Proof, RoundsView
from valvebench.ui.pins.rounds_telling import Telling
from valvebench.ui.pins.rounds_words import (
    NO_WINDINGS,
    ON_BOARD,
    TYPE_IT,
    YES,
    QuestionShown,
    board_shown,
    confirm_words,
    how_text,
    kept_question,
    left_words,
    new_question,
    readings_text,
    typed_words,
)
from valvebench.ui.set_up import SetUp, is_stale_at


class RoundsPresenter:
    """Before the presenters of a pair: while it asks for a temperature the keys are its own, else theirs."""

    def __init__(
        self,
        view: RoundsView,
        keeper: Keeper,
        pins: Pins,
        proof: Proof,
        *,
        runner: Runs,
        set_up_changed: Callable[[SetUp], None],
    ) -> None:
        self._view, self._keeper, self._pins, self._proof = view, keeper, pins, proof
        self._set_up_changed = set_up_changed
        self._stops = stops_of(keeper.desk.variant)
        self._known = KnownRounds(lambda: keeper.desk.session, self._stops)
        self._correcting = Correcting(keeper)
        self._telling = Telling(view, keeper, runner, self._stops)
        self._plan: RoundPlan | None = None
        self._celsius: float | None = None
        self._how = TemperatureSource.TAPED
        self._number = self._count = 0
        self._confirmed: float | None = None
        self._waiting: str | None = None
        self._expect = self._text = ""
        self._has_looked = False
        keeper.listen(self.changed)

    # -- what the entries say --------------------------------------------------------------

    @property
    def is_on(self) -> bool:
        """Whether the pairs are gone round in rounds."""
        return self._plan is not None

    @property
    def is_asking(self) -> bool:
        """Whether a temperature is asked for."""
        return self._plan is not None and self._plan.pair is None

    def _next_number(self) -> int:
        """The round after the last one that has a reading, the one on its way to the disk counted in."""
        last = self._known.last.number if self._known.last is not None else 0
        if self._plan is not None and self._keeper.is_busy:
            last = max(last, self._plan.number)
        return last + 1

    def _needs(self, key: str) -> bool:
        return self._plan is not None and self._known.lacks(self._plan.number, key)

    def changed(self) -> None:
        """Something counts that did not, or no longer: after a restart the run goes on where it was left."""
        desk = self._keeper.desk
        if not self._has_looked:
            self._has_looked = True
            if not desk.is_closed and self._stops and is_in_rounds(desk.session.items) and self._is_unfinished():
                self._begin()
            return
        if self._plan is None:
            return
        if desk.is_closed:
            self._end("")
            return
        self._follow_undo(self._plan)
        self._pins.show_marks()  # what the heat shows comes after the reading
        self._show_board()
        if self.is_asking and not self._text:  # the reading that was on its way is counted in now
            self._expect = self._question(self._number).expect
            self._view.show_expect(self._expect)
        waiting, self._waiting = self._waiting, None
        if waiting is not None and self.is_asking:
            self.keep(waiting)

    def _is_unfinished(self) -> bool:
        """Whether the last round lacks a pair, or is not long ago; else somebody only looks at an old run."""
        is_old = is_stale_at(self._pins.set_up, self._keeper.desk.now())
        return bool(self._known.lacking(self._known.last)) or not is_old

    def _follow_undo(self, plan: RoundPlan) -> None:
        """A reading of the round just ended was taken back: its pair is asked for again, the part is as warm still."""
        count, was = self._known.count(plan.number), self._count
        self._count = count
        if count < was and self.is_asking and self._number == plan.number + 1:
            self._enter(plan.number)

    # -- into and out of it ----------------------------------------------------------------

    def start(self) -> None:
        """Begin, or go on; in the middle of a round ask for the next temperature."""
        if self._keeper.desk.is_closed:
            self._view.say(CLOSED, is_problem=True)
        elif not self._stops:
            variant = self._keeper.desk.variant
            is_on_board = variant is not None and variant.electronics_on_board
            self._view.say(ON_BOARD if is_on_board else NO_WINDINGS, is_problem=True)
        elif self._keeper.is_busy and self._plan is None:
            self._view.say(STILL_KEEPING, is_problem=True)  # were it refused, it would come back into another round
        elif not self._proof.is_asking:
            self._begin()

    def _begin(self) -> None:
        if self._plan is None:
            how = self._pins.set_up.temperature
            self._how = how if how in HOWS else TemperatureSource.TAPED
        last = self._known.last
        if self._plan is None and last is not None:
            self._celsius, self._how = last.celsius, last.temperature or self._how
        number = self._plan.number if self._plan is not None else last.number if last is not None else 1
        self._number = 0
        was_on = self.is_on
        self._telling.load()
        try:
            self._follow(RoundPlan(self._stops, number))
        except Exception:
            if not was_on:  # a fault of ours: a reading typed next is no temperature
                self._plan = None
                self._pins.follow_whole()
            raise

    def _follow(self, plan: RoundPlan, set_up: SetUp | None = None) -> None:
        self._plan = plan
        self._count = self._known.count(plan.number)
        self._pins.follow(plan, set_up or self._pins.set_up, needs=self._needs, ask_instead=self._ask)
        if set_up is not None:
            self._set_up_changed(set_up)
        self._show_board()

    def _enter(self, number: int) -> None:
        """The pairs of a round, from the first that is missing."""
        if (own := self._known.at(number)) is not None:
            self._celsius, self._how = own.celsius, own.temperature or self._how
        self._plan = plan = RoundPlan(self._stops, number)
        plan.begin(self._needs)
        self._number = 0
        self._follow(plan, self._set_up_now())

    def _set_up_now(self) -> SetUp:
        """The bench set-up at the temperature of the round at hand."""
        set_up = self._pins.set_up
        if (set_up.celsius, set_up.temperature) == (self._celsius, self._how):
            return set_up
        return replace(set_up, celsius=self._celsius, temperature=self._how, set_at=self._keeper.desk.now())

    def _end(self, words: str) -> None:
        self._plan = self._confirmed = self._waiting = None
        self._telling.stop()
        self._view.show_board(None)
        self._view.show_pair_keys()
        self._pins.follow_whole()
        self._view.say(words)

    def leave(self) -> None:
        """Esc: out of a correction, else from a pair to the next temperature, else out of the rounds."""
        if self._proof.is_asking or self._plan is None:
            self._proof.leave()
        elif self._confirmed is not None:
            self._ask_for(self._number)
        elif self.is_asking:
            self._leave_rounds()
        else:
            self._begin()

    def stop(self) -> None:
        """Something else is to be read: out of the rounds from wherever they are; their key goes on."""
        if self._plan is not None and not self._correcting.is_under_way:
            self._end("")

    def _leave_rounds(self) -> None:
        if self._keeper.is_busy or self._correcting.is_under_way:
            self._view.show_problem(STILL_KEEPING)
        else:
            self._end(left_words(self._known.all, self._pins.set_up.celsius))

    # -- the question ----------------------------------------------------------------------

    def _ask(self) -> None:
        """No pair is at hand: the temperature of this round, or of the next."""
        if self._plan is None:
            return
        self._ask_for(self._number or (self._plan.number if self._plan.is_before else self._next_number()))

    def _ask_for(self, number: int) -> None:
        self._number, self._confirmed = number, None
        one = self._known.at(number)
        if one is not None:
            self._how = one.temperature or self._how
        question = self._question(number)
        self._expect, self._text = question.expect, question.text
        self._view.show_problem("")
        self._view.show_question(question)
        self._show_board()

    def _question(self, number: int) -> QuestionShown:
        one, last = self._known.at(number), self._known.before(number)
        if one is not None:
            return kept_question(one, self._how, self._stops)
        # a pair on its way to the disk is not missing: the question comes after the last one
        lack = () if last is None or self._keeper.is_busy else self._known.lacking(last)
        offered = "" if self._keeper.is_busy else celsius_offered(self._pins.set_up, last, self._keeper.desk.now())
        return replace(new_question(number, self._how, last, lack), text=offered)

    def typed(self, text: str) -> None:
        """While a temperature is typed: what it makes of the round."""
        if not self.is_asking:
            self._proof.typed(text)
            return
        self._text = text
        if self._confirmed is not None and text.strip() in ("", YES):
            return
        self._confirmed = None
        self._view.show_problem("")
        celsius = celsius_so_far(text, self._how)
        words = self._expect
        if celsius is not None and self._known.at(self._number) is None:
            words = typed_words(self._number, celsius, self._known.before(self._number))
        self._view.show_expect(words)

    def keep(self, text: str) -> None:
        """Enter: into the round, or once more before a whole round is corrected."""
        if not self.is_asking:
            self._proof.keep(text)
            return
        if self._correcting.is_under_way:
            self._view.show_problem(STILL_KEEPING)
            return
        if self._keeper.is_busy:
            self._waiting = text if text.strip() else self._waiting
            self._view.show_problem(STILL_KEEPING)
            return
        if self._confirmed is not None and text.strip() in ("", YES):
            self._confirm(text)
            return
        if not text.strip():  # a key that bounced
            self._view.show_problem(TYPE_IT)
            return
        try:
            celsius = celsius_typed(text, self._how)
        except BadInput as error:
            self._view.show_problem(error.problems[0].text())
            return
        self._answer(celsius)

    def _answer(self, celsius: float) -> None:
        one = self._known.at(self._number) or self._goes_on_in(celsius)
        others = one.others(celsius, self._how) if one is not None else ()
        if one is not None and others:
            self._confirmed = celsius
            words = confirm_words(one, len(others), celsius, self._how)
            self._view.show_problem(words, is_question=True)
            self._view.set_field("")
            return
        self._celsius = celsius
        self._enter(one.number if one is not None else self._number)

    def _confirm(self, text: str) -> None:
        """Only a sign that was typed corrects a whole round: a key that bounced does not."""
        one = self._known.at(self._number)
        if one is not None and text.strip() and self._confirmed is not None:
            self._celsius = self._confirmed
            self._correct(one, one.others(self._celsius, self._how))

    def _goes_on_in(self, celsius: float) -> Round | None:
        """The round before, where it lacks a pair and the part is still as warm: that is no new round."""
        last = self._known.before(self._number)
        is_same = last is not None and self._known.lacking(last) and not last.others(celsius, self._how)
        return last if is_same else None

    # -- a whole round corrected -----------------------------------------------------------

    def _correct(self, one: Round, others: Sequence[Kept]) -> None:
        self._confirmed, celsius = None, self._celsius
        if celsius is None:
            return
        self._correcting.begin(
            one.number,
            others,
            celsius,
            self._how,
            done=lambda: self._corrected(one.number, len(others)),
            failed=self._not_corrected,
        )

    def _corrected(self, number: int, count: int) -> None:
        self._pins.reload()
        self._number = 0
        if self._known.lacking(self._known.at(number)):
            self._enter(number)
        elif (
            self._known.last is not None and number == self._known.last.number
        ):  # as warm as it is now: the set-up is corrected with it
            self._follow(RoundPlan(self._stops, number), self._set_up_now())
        else:
            self._ask_for(self._next_number())
        self._view.say(f"Round {number}: {readings_text(count)} corrected, each by an entry of its own.")

    def _not_corrected(self, error: Exception) -> None:
        self._view.show_problem(f"Not all are corrected. {error}")
        if not isinstance(error, BenchError):
            raise error

    # -- keys that mean something else while the question stands ---------------------------

    def previous(self) -> None:
        """The round before, or the pair before."""
        self._walk(-1)

    def skip(self) -> None:
        """The round after, or the next pair."""
        self._walk(1)

    def _walk(self, by: int) -> None:
        if self.is_asking and not self._correcting.is_under_way:
            self._ask_for(min(max(self._number + by, 1), self._next_number()))
        elif not self.is_asking:
            self._number = 0
            (self._proof.previous if by < 0 else self._proof.skip)()
            self._show_board()

    def keep_open(self) -> None:
        """The key of open: no temperature is, so it ends the rounds."""
        if self.is_asking:
            self._leave_rounds()
        else:
            self._proof.keep_open()

    def turn(self) -> None:
        """The connector, or another way to know the temperature."""
        if not self.is_asking:
            self._view.turn_over()
            return
        self._how = HOWS[(HOWS.index(self._how) + 1) % len(HOWS)] if self._how in HOWS else HOWS[0]
        self._confirmed = None
        self._view.show_problem("")
        self._view.show_what(how_text(self._how))

    def settle(self) -> None:
        """The verdict has been painted: in rounds the table stays where it is, no list takes its place."""
        if self._plan is None:
            self._proof.settle()

    def pair_shown(self) -> None:
        """A pair stands there: its keys mean what they mean; a new coil temperature makes a new round."""
        self._waiting = None
        if self._plan is None or self._plan.pair is None:
            return
        self._number = 0
        self._view.show_pair_keys()
        set_up = self._pins.set_up
        if (set_up.celsius, set_up.temperature) != (self._celsius, self._how):
            self._begin()

    # -- the table -------------------------------------------------------------------------

    def _show_board(self) -> None:
        if self._plan is None:
            return
        self._view.show_board(
            board_shown(
                self._known.all,
                self._stops,
                number=self._number if self.is_asking else self._plan.number,
                celsius=None if self.is_asking else self._celsius,
                here=self._here(),
            )
        )
        self._telling.show(self._known.all)

    def _here(self) -> str | None:
        pair: Pair | None = self._plan.pair if self._plan is not None else None
        return next((stop.key for stop in self._stops if stop.pair == pair), None)
