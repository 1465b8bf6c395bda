"""Decides what the cheap ways show, and asks for a check resistor or a volts ratio step by step.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol

from valvebench.judge.judgement import Judgement
from valvebench.judge.resistance import judge
from valvebench.judge.row import Row
from valvebench.judge.rows import check_of
from valvebench.judge.targets import Target, may_feed
from valvebench.model.entry import AnyBody, Entry, MeterCheck, Reading
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.format import OHM, ohm_text
from valvebench.model.meter import Check
from valvebench.model.words import LeadState
from valvebench.ui.job.capability import with_check_words
from valvebench.ui.keeper import CLOSED, Keeper
from valvebench.ui.pins.asking import NO_TEMPERATURE, STILL_KEEPING
from valvebench.ui.pins.cheap_ways import AtHand, Ghost, WaysShown, ways_shown
from valvebench.ui.pins.plan import Pair
from valvebench.ui.pins.shown import ReadingShown, limits_shown, reading_shown
from valvebench.ui.pins.steps import Ask, Steps, StepShown, check_steps, step_shown, volts_steps
from valvebench.ui.resistor import known_resistor, nothing_remembered
from valvebench.ui.set_up import SetUp

NOT_FED = "A volts ratio feeds the part: it is offered for solenoids only, and never with electronics on board."
NO_PAIR = "Choose a pair first."
NOT_HERE = "Enter goes on, Up goes one question back, Esc leaves without a trace."


class ProofView(Protocol):
    """What the presenter asks of the page."""

    def show_ways(self, ways: WaysShown | None) -> None: ...
    def show_ghost(self, ghost: Ghost | None) -> None: ...
    def show_step(self, step: StepShown) -> None: ...
    def show_effect(self, words: str) -> None: ...
    def show_reading(self, reading: ReadingShown) -> None: ...
    def show_problem(self, words: str, *, is_question: bool = False) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class Pins(Protocol):
    """What it asks of the presenter of the pairs."""

    @property
    def set_up(self) -> SetUp: ...
    def at_hand(self) -> AtHand | None: ...
    def reading(self, pair: Pair, **value: Any) -> Reading: ...
    def seen(self, judgement: Judgement, reading: Reading, target: Target) -> Judgement: ...
    def resume(self, text: str) -> None: ...
    def taken(self, entry: Entry, rows: tuple[Row, ...]) -> None: ...
    def typed(self, text: str) -> None: ...
    def keep(self, text: str) -> None: ...
    def keep_open(self) -> None: ...
    def previous(self) -> None: ...
    def skip(self) -> None: ...
    def reload(self) -> None: ...


class ProofPresenter:
    """Beside the presenter of the pairs: what would decide, and the two entries that do."""

    def __init__(
        self,
        view: ProofView,
        keeper: Keeper,
        pins: Pins,
        *,
        changed: Callable[[], None],
        remembered: Callable[[], Check | None] = nothing_remembered,
    ) -> None:
        self._view, self._keeper, self._pins, self._changed = view, keeper, pins, changed
        self._remembered = remembered
        self._steps: Steps | None = None
        self._hand: AtHand | None = None
        self._text_before = ""
        self._ways: WaysShown | None = None

    @property
    def is_asking(self) -> bool:
        """Whether a question of a check resistor or a volts ratio stands."""
        return self._steps is not None

    # -- the list --------------------------------------------------------------------------

    def settle(self) -> None:
        """The verdict has been painted: say what would decide."""
        if self._steps is not None:
            return
        hand = None if self._keeper.desk.is_closed else self._pins.at_hand()
        self._ways = ways_shown(hand, self._keeper.desk.variant, known_now=self._known) if hand is not None else None
        self._view.show_ways(self._ways)
        self.choose(self._ways.first if self._ways is not None else 0)

    def choose(self, place: int) -> None:
        """Show on the ruler what one way would do."""
        rows = self._ways.rows if self._ways is not None else ()
        self._view.show_ghost(rows[place].ghost if place < len(rows) else None)

    def _known(self) -> Check | None:
        return self._known_here() or self._remembered()

    def _known_here(self) -> Check | None:
        return known_resistor(self._keeper.desk.session.items)

    # -- the questions ---------------------------------------------------------------------

    def ask_check(self, text: str) -> None:
        """Begin with a check resistor; `text` is what stands in the field and comes back."""
        if (hand := self._ready()) is not None:
            wants_tips = self._pins.set_up.leads is LeadState.NEITHER
            known = self._known_here()
            steps = check_steps(known or self._remembered(), wants_tips=wants_tips, is_remembered=known is None)
            self._begin(steps, hand, text)

    def ask_volts(self, text: str) -> None:
        """Begin with a volts ratio, where the part may be fed."""
        if (hand := self._ready()) is None:
            return
        if not may_feed(self._keeper.desk.variant, hand.device):
            self._view.say(NOT_FED, is_problem=True)
        elif self._pins.set_up.celsius is None:
            self._view.show_problem(NO_TEMPERATURE)
        else:
            known = self._known_here()
            self._begin(volts_steps(known or self._remembered(), is_remembered=known is None), hand, text)

    def _ready(self) -> AtHand | None:
        if self._steps is not None:
            return None
        hand = self._pins.at_hand()
        if self._keeper.desk.is_closed or hand is None:
            self._view.say(CLOSED if self._keeper.desk.is_closed else NO_PAIR, is_problem=True)
            return None
        return hand

    def _begin(self, steps: Steps, hand: AtHand, text: str) -> None:
        self._hand, self._text_before = hand, text
        self._view.say("")
        self._view.show_ghost(None)
        self._view.show_reading(limits_shown(hand.target.limits))
        self._show(steps)

    def _show(self, steps: Steps) -> None:
        hand = self._hand
        if hand is None:
            return
        self._steps = steps
        self._view.show_problem("")
        self._view.show_step(step_shown(steps, pair=hand.pair, device=hand.device))
        self._effect(steps.answers.get(steps.ask, ""))

    def typed(self, text: str) -> None:
        """Judge while typing."""
        if self._steps is None:
            self._pins.typed(text)
            return
        self._view.show_problem("")
        self._effect(text)

    def _effect(self, text: str) -> None:
        """What the entry would do, as soon as all is typed."""
        body = self._body(text)
        if isinstance(body, MeterCheck):
            words = with_check_words(
                self._keeper.desk.variant, self._pins.set_up, now=self._check_now(), then=check_of(body)
            )
            self._view.show_effect(words)
        elif isinstance(body, Reading) and self._hand is not None:
            target = self._hand.target
            judgement = judge(body, target.limits, rule=self._hand.rule)
            self._view.show_reading(reading_shown(self._pins.seen(judgement, body, target)))
        elif self._hand is not None:
            self._view.show_effect(_promise(self._ways, is_volts=self._steps is not None and self._steps.is_volts))
            self._view.show_reading(limits_shown(self._hand.target.limits))

    def _check_now(self) -> Check | None:
        return self._hand.check if self._hand is not None else None

    def _body(self, text: str) -> AnyBody | None:
        """The entry with this last answer; None while something is missing or wrong."""
        if self._steps is None or not self._steps.is_last or not text.strip():
            return None
        try:
            return self._made(self._steps.answered(text))
        except BadInput:
            return None

    def _made(self, steps: Steps) -> AnyBody:
        """The entry (raises BadInput)."""
        if not steps.is_volts:
            return self._pins.set_up.meter_check(
                check_ohm=steps.number(Ask.VALUE),
                check_pct=steps.number(Ask.TOLERANCE),
                zero_read_ohm=steps.number(Ask.TIPS) if Ask.TIPS in steps.asks else None,
                read_ohm=steps.number(Ask.READ),
            )
        if self._hand is None:
            raise ValueError("a volts ratio needs a pair")
        given: dict[str, Any] = {
            "check_ohm": steps.number(Ask.VALUE),
            "check_pct": steps.number(Ask.TOLERANCE),
            "volts_check": steps.number(Ask.VOLTS_CHECK),
            "volts_x": steps.number(Ask.VOLTS_DEVICE),
            "volts_meter": steps.text(Ask.VOLTS_METER),
        }
        return self._pins.reading(self._hand.pair, **given)

    def keep(self, text: str) -> None:
        """Take an answer: the next question, or the entry."""
        steps = self._steps
        if steps is None:
            self._pins.keep(text)
            return
        try:
            answered = steps.answered(text)
            if not answered.is_last:
                self._show(answered.moved(1))
                return
            body = self._made(answered)
        except BadInput as error:
            self._view.show_problem(error.problems[0].text())
            return
        if self._keeper.is_busy:
            self._view.show_problem(STILL_KEEPING)
            return
        self._keeper.keep(body, kept=self._kept, failed=self._failed)

    def _kept(self, entry: Entry, rows: tuple[Row, ...]) -> None:
        is_asking, self._steps = self._steps is not None, None
        body = entry.body
        if not is_asking:  # somebody went elsewhere while it was written
            self._pins.reload()
        elif isinstance(body, MeterCheck):
            self._pins.resume(self._text_before)
            self._view.say(
                f"Kept as entry {entry.n}: {ohm_text(body.check_ohm)} reads {body.read_ohm:g} {OHM}. "
                "It serves until meter or leads change."
            )
        else:
            self._pins.taken(entry, rows)
        self._changed()

    def _failed(self, error: Exception) -> None:
        self._view.show_problem(f"Not saved. {error}")
        if not isinstance(error, BenchError):
            raise error

    def leave(self) -> None:
        """Back to the pair, without a trace; what was typed there stands again."""
        if self._steps is not None and self._keeper.is_busy:
            self._view.show_problem(STILL_KEEPING)
        elif self._steps is not None:
            self._steps = None
            self._pins.resume(self._text_before)

    def forget(self) -> None:
        """A pair was shown: whatever was asked is over."""
        self._steps = None

    # -- keys that mean something else while a question stands -----------------------------

    def previous(self) -> None:
        """The question before, or the pair before."""
        if self._steps is None:
            self._pins.previous()
        else:
            self._show(self._steps.moved(-1))

    def skip(self) -> None:
        """Leave this pair for later; a question is not skipped."""
        if self._steps is None:
            self._pins.skip()
        else:
            self._view.show_problem(NOT_HERE, is_question=True)

    def keep_open(self) -> None:
        """The meter shows open; never the answer to a question."""
        if self._steps is None:
            self._pins.keep_open()
        else:
            self._view.show_problem(NOT_HERE, is_question=True)


def _promise(ways: WaysShown | None, *, is_volts: bool) -> str:
    """What the list said of this way, kept in sight while it is done."""
    kind = "volts" if is_volts else "check"
    row = next((row for row in (ways.rows if ways is not None else ()) if row.kind.value == kind), None)
    return f"N{ways.now[1:]}; with it {row.effect}." if row is not None and ways is not None else ""
