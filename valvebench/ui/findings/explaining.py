"""Decides what the card of explanations shows, and where its next step leads.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Protocol

from valvebench.bench.desk import Desk
from valvebench.bench.explaining import Answer, Explaining
from valvebench.diagnose.explained import Ask
from valvebench.model.entry import Reading
from valvebench.model.errors import BenchError
from valvebench.model.meter import Check
from valvebench.model.session import Session
from valvebench.model.words import LeadState
from valvebench.ui.findings.explain_shown import WORKING, ExplainShown, explain_shown
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.set_up import SetUp

NO_VARIANT: Final = (
    "Faults are told by a circuit: without a variant nothing is wired to anything yet. "
    "Find the wiring from the readings first."
)
FIND_WIRING: Final = "Find the wiring"
FAILED: Final = "It could not be worked out. Readings and verdicts are kept. {why}"
FAULT_OF_OURS: Final = "This is a fault of the program: copy the details below and send them to whoever looks after it."
TRY_AGAIN: Final = "Try again"
_TIPS_KNOWN: Final = frozenset({LeadState.SUBTRACT, LeadState.FOUR_WIRE})

Lead = Callable[[Ask, float], None]
"""Where the next step is done; with the temperature [degC] that a warm reading is taken at."""


class ExplainView(Protocol):
    """What the presenter asks of the card."""

    def show_answer(self, shown: ExplainShown) -> None: ...
    def show_busy(self, words: str, *, has_step: bool) -> None: ...
    def show_words(self, words: str, *, action: str, is_problem: bool = False) -> None: ...
    def show_nothing(self) -> None: ...
    def begin(self) -> None: ...


class Pins(Protocol):
    """What it asks of the presenter of the pairs."""

    @property
    def set_up(self) -> SetUp: ...
    def check_now(self) -> Check | None: ...


class ExplainPresenter:
    """Explains the open session beside the window while somebody looks; the newest question wins."""

    def __init__(
        self,
        view: ExplainView,
        desk: Desk,
        keeper: Keeper,
        *,
        runner: Runs,
        explaining: Explaining | None,
        pins: Pins,
        lead: Lead,
        find_wiring: Callable[[], None],
    ) -> None:
        self._view, self._desk, self._runner, self._explaining = view, desk, runner, explaining
        self._pins, self._lead, self._find_wiring = pins, lead, find_wiring
        self._is_in_front = False
        self._asked = 0
        self._answer: Answer | None = None
        self._of: Session | None = None
        self._shown: ExplainShown | None = None
        self._act: Callable[[], None] | None = None
        keeper.listen(self._changed)

    def came_to_front(self) -> None:
        """Somebody looks."""
        self._is_in_front = True
        self._refresh()

    def left(self) -> None:
        """Nobody looks any more, or the session is left: what has not begun is not begun."""
        self._is_in_front = False
        self._asked += 1

    def _changed(self) -> None:
        if self._is_in_front:
            self._refresh()

    def act(self) -> None:
        """The one action of the card: the next step, the wiring, or another try; nothing while it works."""
        if self._act is not None:
            self._act()

    def come_back(self) -> None:
        """Somebody comes back from the reading that was asked for: what is next has the keyboard."""
        self._view.begin()

    def text(self) -> str:
        """The card as plain lines; nothing where it says nothing."""
        return self._shown.text() if self._shown is not None else ""

    # -- working it out --------------------------------------------------------------------

    def _refresh(self) -> None:
        session = self._desk.session
        if not any(isinstance(item.body, Reading) for item in session.items):
            self._forget()
            self._view.show_nothing()
        elif self._explaining is None:
            self._forget()
            self._act = self._find_wiring
            self._view.show_words(NO_VARIANT, action=FIND_WIRING)
        elif session is self._of and self._answer is not None:
            self._show(self._answer)
        else:
            self._work_out(session, self._explaining)

    def _forget(self) -> None:
        self._asked += 1
        self._answer = self._of = self._shown = self._act = None

    def _work_out(self, session: Session, explaining: Explaining) -> None:
        self._asked += 1
        number, is_asking = self._asked, not session.is_closed
        self._act = None
        self._view.show_busy(WORKING, has_step=is_asking)
        self._runner.run(
            lambda: explaining.explain(session, is_asking=is_asking, is_wanted=lambda: number == self._asked),
            done=lambda answer: self._done(number, session, answer),
            failed=lambda error: self._failed(number, error),
        )

    def _done(self, number: int, session: Session, answer: Answer | None) -> None:
        if answer is not None and session is self._desk.session:
            self._answer, self._of = answer, session
            if number == self._asked:
                self._show(answer)

    def _failed(self, number: int, error: Exception) -> None:
        is_ours = not isinstance(error, BenchError)
        if number == self._asked:
            self._forget()
            self._act = self._refresh
            why = FAULT_OF_OURS if is_ours else str(error)
            self._view.show_words(FAILED.format(why=why), action=TRY_AGAIN, is_problem=True)
        if is_ours:
            raise error

    # -- showing it ------------------------------------------------------------------------

    def _show(self, answer: Answer) -> None:
        variant = self._desk.variant
        if variant is None:
            return
        self._shown = shown = explain_shown(
            answer, variant, is_closed=self._desk.session.is_closed, is_done=self._is_done
        )
        ask = shown.ask.ask if shown.ask is not None else None
        self._act = None if ask is None else lambda: self._lead(ask, answer.warm_celsius)
        self._view.show_answer(shown)

    def _is_done(self, ask: Ask) -> bool:
        """Whether the bench set-up holds the answer already: it comes in with the next reading."""
        if ask.what == "lead_short":
            return self._pins.set_up.leads in _TIPS_KNOWN
        return ask.what == "meter_check" and self._pins.check_now() is not None
