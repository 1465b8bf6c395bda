"""Decides how a reading that Findings asks for is taken, and how one comes back.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any, Final, Protocol

from valvebench.diagnose.explained import Ask
from valvebench.model.errors import BadInput
from valvebench.model.format import celsius_text
from valvebench.model.words import CASE, AccessPoint, TemperatureSource
from valvebench.ui.keeper import CLOSED, Keeper
from valvebench.ui.pins.asking import STILL_KEEPING
from valvebench.ui.pins.keys import NEXT_KEY
from valvebench.ui.pins.plan import Pair, Walk, the_right_way
from valvebench.ui.pins.rounds import HOWS
from valvebench.ui.pins.rounds_celsius import celsius_typed
from valvebench.ui.pins.rounds_words import TYPE_IT, QuestionShown, how_text
from valvebench.ui.set_up import SetUp

BACK: Final = f"{NEXT_KEY} goes back to Findings."
NOT_HERE: Final = "No pair is asked for here: Enter goes back to Findings, Down goes on with the usual pairs."
DONE: Final = QuestionShown(
    lead="Now back to",
    big="Findings",
    what="Enter goes back",
    expect="It works out anew what explains the readings. Down goes on with the usual pairs.",
    unit="",
    safety=(),
)
_USUAL: Final = {"previous": "pairs", "skip": "pairs"}
DONE_WORDS: Final = MappingProxyType({"keep": "back", "open": "open (OL)", "turn": "turn over"} | _USUAL)
"""What the keys of a pair do once the reading that was asked for is taken; no longer than their usual words."""
WARM_WORDS: Final = MappingProxyType({"open": "back"} | _USUAL)
"""The same while a temperature is asked for."""
_AT: Final = MappingProxyType(
    {
        AccessPoint.VEHICLE_PLUG: (
            "At the vehicle's plug.",
            ("Control unit unplugged and de-energised.", "Disconnect the battery first."),
        ),
        AccessPoint.DEVICE_TERMINALS: ("At the device's own terminals, its connector pulled off.", ()),
    }
)


class AskedWalk:
    """One pair that is asked for at one place, and nothing after it; progress is that of the whole check."""

    def __init__(self, whole: Walk, pair: Pair, at: AccessPoint, *, is_waiting: bool = False) -> None:
        self._whole, self.asked, self.at = whole, pair, at
        self.is_waiting, self.is_done = is_waiting, False

    @property
    def count(self) -> int:
        """How many items the whole check asks for."""
        return self._whole.count

    @property
    def keys(self) -> tuple[str, ...]:
        """Its items."""
        return self._whole.keys

    @property
    def pair(self) -> Pair | None:
        """The pair, until it is taken; None while a temperature is waited for."""
        return None if self.is_waiting or self.is_done else self.asked

    @property
    def stamp(self) -> Mapping[str, Any]:
        """Where it is read."""
        return MappingProxyType({"at": self.at})

    def choose(self, red: str, black: str) -> None:
        """Back to the pair, as after a write that failed."""
        if {red, black} == {*self.asked}:
            self.is_done = False

    def choose_item(self, key: str) -> None:
        """Items are of the whole check."""
        self._whole.choose_item(key)

    def step(self, by: int) -> None:
        """There is no other pair."""

    def go_on(self, is_open_item: Callable[[str], bool]) -> None:
        """It is taken; the whole check does not ask for it again."""
        self.is_done = True
        if self._whole.pair is not None and {*self._whole.pair} == {*self.asked}:
            self._whole.go_on(is_open_item)


class AskedView(Protocol):
    """What the presenter asks of the page."""

    def show_question(self, question: QuestionShown) -> None: ...
    def show_keys(self, words: Mapping[str, str]) -> None: ...
    def show_pair_keys(self) -> None: ...
    def show_what(self, words: str) -> None: ...
    def show_expect(self, words: str) -> None: ...
    def show_care(self, words: tuple[str, ...]) -> None: ...
    def show_problem(self, words: str, *, is_question: bool = False) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class Pins(Protocol):
    """What it asks of the presenter of the pairs."""

    @property
    def set_up(self) -> SetUp: ...
    @property
    def whole(self) -> Walk: ...
    @property
    def clip(self) -> str: ...
    def has_no_verdict(self, key: str) -> bool: ...
    def follows(self, walk: Walk) -> bool: ...
    def follow(
        self, walk: Walk, set_up: SetUp, *, needs: Callable[[str], bool], ask_instead: Callable[[], None]
    ) -> None: ...
    def follow_whole(self) -> None: ...
    def choose(self, key: str) -> None: ...
    def pin_chosen(self, name: str) -> None: ...


class Rounds(Protocol):
    """What it hands on to."""

    def typed(self, text: str) -> None: ...
    def keep(self, text: str) -> None: ...
    def keep_open(self) -> None: ...
    def previous(self) -> None: ...
    def skip(self) -> None: ...
    def turn(self) -> None: ...
    def leave(self) -> None: ...
    def stop(self) -> None: ...


class Proof(Protocol):
    """Whether a question of a check resistor stands, and how one begins."""

    @property
    def is_asking(self) -> bool: ...
    def ask_check(self, text: str) -> None: ...


class AskedPresenter:
    """Before the presenters of rounds and pairs: the keys are its own once the pair is taken, else theirs."""

    def __init__(
        self,
        view: AskedView,
        keeper: Keeper,
        pins: Pins,
        proof: Proof,
        rounds: Rounds,
        *,
        set_up_changed: Callable[[SetUp], None],
        back: Callable[[], None],
    ) -> None:
        self._view, self._keeper, self._pins, self._proof, self._rounds = view, keeper, pins, proof, rounds
        self._set_up_changed, self._back = set_up_changed, back
        self._walk: AskedWalk | None = None
        self._ask: Ask | None = None
        self._how = TemperatureSource.TAPED
        self._warm_celsius = 0.0
        self._kept: int | None = None
        self._is_going = False
        keeper.listen(self.changed)

    # -- into it ---------------------------------------------------------------------------

    @property
    def is_on(self) -> bool:
        """Whether the pair that is asked for is at hand, or was just taken."""
        return self._walk is not None and self._pins.follows(self._walk)

    @property
    def is_asking(self) -> bool:
        """Whether something else than its reading is typed: a temperature, or the way back."""
        return self.is_on and self._walk is not None and self._walk.pair is None

    def start(self, ask: Ask, warm_celsius: float) -> None:
        """Take what Findings asks for; `warm_celsius` [degC] is how warm where a warm reading is meant."""
        if self._keeper.desk.is_closed:
            self._view.say(CLOSED, is_problem=True)
        elif self._keeper.is_busy:
            self._view.say(STILL_KEEPING, is_problem=True)
        else:
            self._rounds.stop()
            if ask.what == "meter_check":
                self._proof.ask_check("")
                self._view.say(BACK)
            elif ask.from_node is not None and ask.to_node is not None:
                self._begin(ask, ask.from_node, ask.to_node, warm_celsius)

    def _begin(self, ask: Ask, a: str, b: str, warm_celsius: float) -> None:
        self._ask, self._warm_celsius, self._kept, self._is_going = ask, warm_celsius, None, False
        at = ask.at or AccessPoint.CASE_CONNECTOR
        self._walk = AskedWalk(self._pins.whole, self._tips(a, b), at, is_waiting=ask.what == "warm")
        self._follow(self._walk, self._pins.set_up)

    def _tips(self, a: str, b: str) -> Pair:
        """Black stays where it is if it can, else it goes to the case; beside a diode it goes where that blocks."""
        black = next((node for node in (self._pins.clip, CASE) if node in (a, b)), b)
        return the_right_way(self._keeper.desk.variant, Pair(a if black == b else b, black))

    def _follow(self, walk: AskedWalk, set_up: SetUp) -> None:
        self._pins.follow(walk, set_up, needs=self._pins.has_no_verdict, ask_instead=self._ask_instead)

    # -- what the page shows ---------------------------------------------------------------

    def pair_shown(self) -> None:
        """A pair stands there: where it was asked for by Findings, it says so."""
        walk, ask = self._walk, self._ask
        self._is_going = False
        if walk is None or ask is None or not self.is_on:
            return
        self._view.show_pair_keys()
        again = " once more" if ask.what == "repeat" else " warm" if ask.what == "warm" else ""
        self._view.say(f"Findings asks for this pair{again}. {BACK}")
        if walk.at in _AT:
            words, care = _AT[walk.at]
            self._view.show_expect(words)
            self._view.show_care(care)

    def _ask_instead(self) -> None:
        """No pair is at hand: a temperature is asked for, or the way back is open."""
        walk = self._walk
        self._view.show_problem("")
        if walk is not None and walk.is_waiting:
            self._view.show_question(self._question(walk))
            self._view.show_keys(WARM_WORDS)
            self._view.say(BACK)
        else:
            self._view.show_question(DONE)
            self._view.show_keys(DONE_WORDS)

    def _question(self, walk: AskedWalk) -> QuestionShown:
        pair = f"{walk.asked.red} and {walk.asked.black}"
        return QuestionShown(
            lead="Warm the body to about",
            big=celsius_text(self._warm_celsius),
            what=how_text(self._how),
            expect=f"Type its temperature once the probe stands still; then {pair} is read again.",
        )

    # -- what a person does ----------------------------------------------------------------

    def typed(self, text: str) -> None:
        """While something is typed."""
        if not self.is_asking:
            self._rounds.typed(text)
        else:
            self._view.show_problem("")

    def keep(self, text: str) -> None:
        """Enter: the temperature, the way back, else the reading."""
        walk = self._walk
        if walk is None or not self.is_asking:
            self._rounds.keep(text)
        elif walk.is_waiting:
            self._take_celsius(walk, text)
        elif text.strip():
            self._view.show_problem(NOT_HERE, is_question=True)
        else:
            self.back()

    def _take_celsius(self, walk: AskedWalk, text: str) -> None:
        if not text.strip():
            self._view.show_problem(TYPE_IT)
            return
        try:
            celsius = celsius_typed(text, self._how)
        except BadInput as error:
            self._view.show_problem(error.problems[0].text())
            return
        now = self._keeper.desk.now()
        set_up = replace(self._pins.set_up, celsius=celsius, temperature=self._how, set_at=now)
        walk.is_waiting = False
        self._follow(walk, set_up)
        self._set_up_changed(set_up)

    def back(self) -> None:
        """To Findings; what is on its way to the disk is waited for, so that it counts there."""
        if self.is_on and self._keeper.is_busy:
            self._is_going = True
            self._view.say(STILL_KEEPING)
            return
        self.end()
        self._back()

    def leave(self) -> None:
        """Esc: out of a question of the pair, else back to Findings, else out of the rounds."""
        if self.is_on and not self._proof.is_asking:
            self.back()
        else:
            self._rounds.leave()

    def end(self) -> None:
        """The usual pairs again."""
        was_on = self.is_on
        if was_on:  # before anything is shown: were that to fail, the next reading still has its pair
            self._pins.follow_whole()
        self._walk = self._ask = self._kept = None
        self._is_going = False
        if was_on:
            self._view.show_pair_keys()
            self._view.say("")

    def changed(self) -> None:
        """The reading counts now, or no longer: then its pair is asked for again."""
        walk, session = self._walk, self._keeper.desk.session
        if walk is None or not self.is_on or not walk.is_done or self._keeper.is_busy:
            return
        if self._kept is None:
            self._kept = session.items[-1].n if session.items else None
        elif all(item.n != self._kept for item in session.items):
            self._kept, walk.is_done = None, False
            self._follow(walk, self._pins.set_up)
        if self._is_going:
            self.back()

    # -- keys that mean something else once the pair is taken ------------------------------

    def previous(self) -> None:
        """The usual pairs, or the pair before."""
        self._walk_on(self._rounds.previous)

    def skip(self) -> None:
        """The usual pairs, or the next one."""
        self._walk_on(self._rounds.skip)

    def _walk_on(self, otherwise: Callable[[], None]) -> None:
        if not self.is_on or self._proof.is_asking:
            otherwise()
        elif self._keeper.is_busy:
            self._view.say(STILL_KEEPING)
        else:
            self.end()

    def keep_open(self) -> None:
        """The meter shows open; never the answer to a question, and out of that of a temperature."""
        if not self.is_asking:
            self._rounds.keep_open()
        elif self._walk is not None and self._walk.is_waiting:
            self.back()
        else:
            self._view.show_problem(NOT_HERE, is_question=True)

    def turn(self) -> None:
        """The connector, or another way to know the temperature."""
        walk = self._walk
        if walk is None or not self.is_asking or not walk.is_waiting:
            self._rounds.turn()
            return
        self._how = HOWS[(HOWS.index(self._how) + 1) % len(HOWS)]
        self._view.show_what(how_text(self._how))

    def pin_chosen(self, name: str) -> None:
        """A pair chosen by hand is none that was asked for."""
        if self.is_on and self._keeper.is_busy:
            self._view.say(STILL_KEEPING)
            return
        self.end()
        self._pins.pin_chosen(name)
