"""Decides what the walk over an unknown connector asks, shows and keeps.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Protocol

from valvebench.bench.part_in_hand import Found, connector_of, found_in
from valvebench.diagnose.wiring_readings import Pair as NodePair
from valvebench.judge.resistance import judge
from valvebench.judge.row import Row
from valvebench.judge.targets import target_of
from valvebench.model.entry import AnyBody, Connector, Entry, Reading, Withdraw
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.numbers import decimal
from valvebench.ui.hand.shown import (
    FaceShown,
    FoundRow,
    QuestionShown,
    count_words,
    face_shown,
    found_rows,
    notes_shown,
    nothing_asked,
    settled_words,
    why_words,
)
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.pins.asking import STILL_KEEPING, TypedReading
from valvebench.ui.pins.plan import Pair
from valvebench.ui.pins.presenter import problem_text
from valvebench.ui.pins.shown import reading_shown
from valvebench.ui.set_up import SetUp, with_range

MOST_PINS = 200
HOW_MANY = "Count the pins of the connector. They are called 1, 2, 3, ... row by row, seen from the mating side."
HOW_MANY_WRONG = f"A whole number of pins, 1 to {MOST_PINS}."
NO_TEMPERATURE = "No coil temperature said: 20 \u00b0C, 10 either way, is assumed. F2 opens the bench set-up."
NOTHING_FOUND = "Nothing is found yet that could be given a name."


class HandView(Protocol):
    """What the presenter asks of the page."""

    def show_question(self, question: QuestionShown) -> None: ...
    def show_echo(self, words: str) -> None: ...
    def show_face(self, face: FaceShown) -> None: ...
    def show_found(self, rows: Sequence[FoundRow]) -> None: ...
    def show_notes(self, lines: Sequence[str]) -> None: ...
    def show_count(self, words: str) -> None: ...
    def show_repeat(self, words: str) -> None: ...
    def show_temperature(self, words: str) -> None: ...
    def show_problem(self, words: str, *, is_question: bool = False) -> None: ...
    def set_field(self, text: str) -> None: ...
    def set_enabled(self, is_enabled: bool) -> None: ...  # noqa: FBT001  a plain setter
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class HandPresenter:
    """One open session without a variant, from the first pin to what is wired to what."""

    def __init__(
        self,
        view: HandView,
        keeper: Keeper,
        runner: Runs,
        *,
        set_up: SetUp,
        set_up_changed: Callable[[SetUp], None],
        name_them: Callable[[Found], None] = lambda _: None,
    ) -> None:
        self._view, self._keeper, self._runner = view, keeper, runner
        self._desk = keeper.desk
        self._set_up, self._set_up_changed, self._name_them = set_up, set_up_changed, name_them
        self._typed = TypedReading(
            view, keep=self._keep_value, range_ohm=lambda: self._set_up.range_ohm, range_told=self._range_told
        )
        self.found: Found | None = None
        self._later: set[NodePair] = set()
        self._by_hand: Pair | None = None
        self._back = 0
        self._chosen: str | None = None
        self._clip = ""
        self._is_naming_offered = False
        self._is_finding = False

    def start(self) -> None:
        """Find what the readings there say, beside the window, then ask on."""
        self._view.set_enabled(False)
        self._find()

    def set_set_up(self, set_up: SetUp) -> None:
        """Go on with another meter, lead state or temperature."""
        self._set_up = set_up
        self._show_temperature()

    # -- what is found ---------------------------------------------------------------------

    def _find(self, newest: Reading | None = None) -> None:
        self._is_finding = True
        session, later = self._desk.session, frozenset(self._later)
        self._runner.run(
            lambda: found_in(session, None, later=later),
            done=lambda found: self._has_found(found, newest),
            failed=self._show_failure,
        )

    def _has_found(self, found: Found, newest: Reading | None) -> None:
        self.found, self._is_finding = found, False
        self._view.show_face(face_shown(found, connector_of(self._desk.session)))
        self._view.show_found(found_rows(found))
        self._view.show_notes(notes_shown(found))
        self._view.show_count(count_words(found) if found.source.pins else "")
        doubt = self._doubt()
        self._view.show_repeat(f"read {doubt.red} and {doubt.black} again" if doubt is not None else "")
        if newest is not None:
            self._view.say(settled_words(found, newest))
        self._view.set_enabled(not self._desk.is_closed)
        self._show_question()
        self._offer_names(found)

    def _offer_names(self, found: Found) -> None:
        """Names are asked last: once, when nothing is left to read."""
        is_done = found.wiring.is_done and bool(found.wiring.devices) and not self._desk.is_closed
        if is_done and not self._is_naming_offered and self._by_hand is None:
            self._is_naming_offered = True
            self._name_them(found)
        elif not is_done:
            self._is_naming_offered = False

    def _doubt(self) -> Pair | None:
        """The reading to repeat where readings contradict each other."""
        doubts = self.found.wiring.contradictions if self.found is not None else ()
        between = next((one.between for one in doubts if not one.is_settled), None)
        return Pair(red=between[1], black=between[0]) if between is not None else None

    @property
    def _wants_pins(self) -> bool:
        """Nobody has said how many pins there are; readings that are there are shown all the same."""
        is_open = self.found is not None and not self._desk.is_closed
        return is_open and connector_of(self._desk.session) is None

    @property
    def pair(self) -> Pair | None:
        """The pair at hand; None where nothing is asked for."""
        if self._by_hand is not None:
            return self._by_hand
        is_asking = self.found is not None and not self._wants_pins and not self._desk.is_closed
        steps = self.found.wiring.next if self.found is not None and is_asking else ()
        return Pair(red=steps[0].red, black=steps[0].black) if steps else None

    def _show_question(self) -> None:
        self._typed.forget()
        self._chosen = None
        self._view.show_problem("")
        self._view.show_question(self._question())
        self._show_temperature()
        if self._desk.is_closed:
            self._view.say(CLOSED)

    def _question(self) -> QuestionShown:
        if self._wants_pins:
            return QuestionShown(clip="To begin with,", probe="how many pins?", why=HOW_MANY, name="Pins", unit="")
        pair = self.pair
        if pair is None or self.found is None:
            return nothing_asked(self.found, is_closed=self._desk.is_closed)
        is_moved = pair.black != self._clip
        self._clip = pair.black
        clip = f"Clip black on {pair.black}," if is_moved else f"Leave black on {pair.black},"
        name = f"Reading, {clip} probe {pair.red}"
        return QuestionShown(
            clip=clip,
            probe=f"probe {pair.red}",
            why=why_words(self.found.wiring, black=pair.black, red=pair.red),
            name=name,
            black=pair.black,
            red=pair.red,
            is_moved=is_moved,
        )

    def _show_temperature(self) -> None:
        self._view.show_temperature(NO_TEMPERATURE if self._set_up.celsius is None else "")

    def _show_failure(self, error: Exception) -> None:
        self._is_finding = False
        if not isinstance(error, BenchError):
            raise error
        self._view.say(problem_text(error), is_problem=True)

    # -- what a person types ---------------------------------------------------------------

    def typed(self, text: str) -> None:
        """Say how it is understood, with its doubt, while typing."""
        if self._wants_pins or self.pair is None:
            return
        ohm = self._typed.typed(text)
        self._view.show_echo(self._echo(ohm) if ohm is not None else "")

    def _echo(self, ohm: float) -> str:
        try:
            reading = self._reading(ohm=ohm)
        except BadInput:
            return ""
        check = self._keeper.book.check_for(reading) if self._keeper.book is not None else None
        limits = target_of(None, reading).limits
        words = reading_shown(judge(reading, limits, rule=self._keeper.rule, check=check)).value_text
        return f"understood as {words}" if words else ""

    def _reading(self, **value: Any) -> Reading:
        pair = self.pair
        if pair is None:
            raise BadInput([])
        return self._set_up.reading(pair.black, pair.red, **value)  # the finder goes on from where black is

    @property
    def is_busy(self) -> bool:
        """Whether an entry is on its way, or what it means is not found yet: the question in sight is an old one."""
        return self._keeper.is_busy or self._is_finding

    def keep(self, text: str) -> None:
        """Take what was typed: the number of pins, an answer to a question, or a reading."""
        if self.is_busy or self.found is None:
            if text.strip():
                self._view.show_problem(STILL_KEEPING)
        elif self._wants_pins:
            self._keep_pins(text)
        elif self.pair is not None:
            self._typed.take(text)

    def keep_open(self) -> None:
        """The meter shows open."""
        if not self.is_busy and self.pair is not None:
            self._typed.take_open()

    def _range_told(self, range_ohm: float) -> None:
        self._set_up = with_range(self._set_up, range_ohm)
        self._set_up_changed(self._set_up)

    def _keep_pins(self, text: str) -> None:
        try:
            count = decimal(text, where="pins")
        except BadInput:
            count = 0.0
        if not (count.is_integer() and 1 <= count <= MOST_PINS):
            self._view.show_problem(HOW_MANY_WRONG)
            return
        self._write(Connector(pins=int(count)), text)

    def _keep_value(self, text: str, **value: Any) -> None:
        if self.pair is None:
            return
        try:
            reading = self._reading(**value)
        except BenchError as error:
            self._view.show_problem(problem_text(error))
            return
        self._write(reading, text)

    def _write(self, body: AnyBody, text: str) -> None:
        """On disk first; what could not be kept stands in the field again."""

        def failed(error: Exception) -> None:
            self._view.set_field(text)
            self._view.show_problem(f"Not saved. {error}")
            if not isinstance(error, BenchError):
                raise error

        self._clear_field()  # before the next key, so that a bounced Enter finds nothing to keep
        self._keeper.keep(body, kept=self._written, failed=failed)

    def _written(self, entry: Entry, _: tuple[Row, ...]) -> None:
        self._by_hand, self._back = None, 0
        reading = entry.body if isinstance(entry.body, Reading) else None
        if reading is not None:
            self._later.discard(reading.pair)
        self._find(reading)

    # -- where to go -----------------------------------------------------------------------

    def previous(self) -> None:
        """Go back to the pair read before, to read it again."""
        taken = [item.body for item in self._desk.session.items if isinstance(item.body, Reading)]
        if self._back < len(taken):
            self._back += 1
            body = taken[-self._back]
            self._go_to(Pair(red=body.to_node, black=body.from_node))

    def skip(self) -> None:
        """Leave this pair for later."""
        pair = self.pair
        if self._by_hand is None and pair is not None:
            self._later.add(frozenset(pair))
        self._by_hand, self._back = None, 0
        self._clear_field()
        self._find()

    def repeat(self) -> None:
        """Go to the reading that contradicts others."""
        doubt = self._doubt()
        if doubt is not None:
            self._go_to(doubt)

    def pin_chosen(self, name: str) -> None:
        """Two pins chosen one after the other make a pair; the first is where the red tip goes."""
        if self._wants_pins:
            return
        if self._chosen is None or self._chosen == name:
            self._chosen = name
            self._view.say(f"Pin {name} for the red tip. Choose the other one.")
        else:
            self._go_to(Pair(red=self._chosen, black=name))

    def _go_to(self, pair: Pair) -> None:
        self._by_hand = pair
        self._clear_field()
        self._show_question()

    def _clear_field(self) -> None:
        """Never once the next question stands: a sign typed meanwhile would be missing from its number."""
        self._view.set_field("")
        self._view.show_echo("")

    def name_now(self) -> None:
        """Name what was found, finished or not."""
        if self.found is None or not self.found.wiring.devices:
            self._view.say(NOTHING_FOUND)
        elif not self._desk.is_closed:
            self._is_naming_offered = True
            self._name_them(self.found)

    # -- taking back -----------------------------------------------------------------------

    def undo(self) -> None:
        """Withdraw the newest entry; the withdrawal is an entry itself."""
        self._write_mark(self._desk.undo_body(), "Nothing to undo.")

    def redo(self) -> None:
        """Restore what was withdrawn last."""
        self._write_mark(self._desk.redo_body(), "Nothing to redo.")

    def _write_mark(self, body: AnyBody | None, nothing: str) -> None:
        if body is None or self.is_busy:
            self._view.say(nothing if body is None else STILL_KEEPING)
            return
        self._keeper.keep(body, kept=self._marked, failed=self._show_failure)

    def _marked(self, entry: Entry, _: tuple[Row, ...]) -> None:
        number = getattr(entry.body, "entry", 0)
        words = "Withdrawn" if isinstance(entry.body, Withdraw) else "Restored"
        self._view.say(f"{words}: entry {number}. Nothing is lost, both stay in the trail.")
        self.reload()

    def reload(self) -> None:
        """Find anew, after the session was changed elsewhere."""
        self._by_hand, self._back = None, 0
        self._find()
