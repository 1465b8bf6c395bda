"""Decides what the Pins page shows and keeps.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any, Protocol

from valvebench.bench.desk import Desk
from valvebench.judge.book import Book
from valvebench.judge.contacts import needs_selector, with_contact
from valvebench.judge.diodes import polar_of, seen_with
from valvebench.judge.judgement import Judgement
from valvebench.judge.resistance import judge
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.judge.targets import Target, Targets, device_at
from valvebench.model.entry import AnyBody, Entry, Reading, Withdraw
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.format import open_text
from valvebench.model.meter import Check
from valvebench.model.words import CASE, Verdict
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.pins.asking import NO_TEMPERATURE, NO_VARIANT, OPEN, STILL_KEEPING, TypedReading, Writing
from valvebench.ui.pins.cheap_ways import AtHand, at_hand
from valvebench.ui.pins.marks import pin_marks
from valvebench.ui.pins.plan import Pair, Plan, Walk
from valvebench.ui.pins.shown import (
    PairShown,
    PlotShown,
    ReadingShown,
    RowShown,
    keeping_row,
    kept_sentence,
    limits_shown,
    pair_shown,
    plot_shown,
    reading_shown,
    rows_shown,
    with_diode,
    with_lever,
)
from valvebench.ui.set_up import SetUp, with_range

_NEEDS_READING = frozenset({Verdict.NOT_TAKEN, Verdict.NOT_USABLE})


class PinsView(Protocol):
    """What the presenter asks of the page."""

    def show_pair(self, pair: PairShown | None, words: str) -> None: ...
    def show_reading(self, reading: ReadingShown) -> None: ...
    def paint_now(self) -> None: ...
    def later(self, act: Callable[[], None]) -> None: ...
    def if_it_takes_long(self, act: Callable[[], None]) -> None: ...
    def show_problem(self, words: str, *, is_question: bool = False) -> None: ...
    def set_field(self, text: str) -> None: ...
    def set_enabled(self, is_enabled: bool) -> None: ...  # noqa: FBT001  a plain setter
    def show_rows(self, rows: Sequence[RowShown]) -> None: ...
    def put_row(self, row: RowShown) -> None: ...
    def drop_row(self, number: int) -> None: ...
    def show_marks(self, marks: dict[str, tuple[Verdict | None, str]]) -> None: ...
    def show_plot(self, plot: PlotShown) -> None: ...
    def show_progress(self, done: int, of: int) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class PinsPresenter:
    """One open session, pair by pair."""

    def __init__(
        self,
        view: PinsView,
        desk: Desk,
        runner: Runs,
        *,
        set_up: SetUp,
        set_up_changed: Callable[[SetUp], None],
        changed: Callable[[], None],
        keeper: Keeper | None = None,
    ) -> None:
        self._view, self._desk, self._runner = view, desk, runner
        self._keeper = keeper or Keeper(desk, runner)
        self._set_up, self._set_up_changed = set_up, set_up_changed
        self._keeper.listen(changed)
        self._whole, self._targets = Plan(desk.variant), Targets(desk.variant)
        self._plan: Walk = self._whole
        self._needs_reading: Callable[[str], bool] = self.has_no_verdict
        self._ask_instead: Callable[[], None] = self._show_no_pair
        self._typed = TypedReading(
            view, keep=self._keep_value, range_ohm=lambda: self._set_up.range_ohm, range_told=self._range_told
        )
        self._writing: Writing | None = None
        self._chosen: str | None = None
        self._previewed: tuple[Pair, dict[str, Any]] | None = None
        self._clip = ""
        self._lever: str | None = None

    def start(self) -> None:
        """Judge what is there, beside the window, then show it."""
        self._view.set_enabled(False)
        self._show_pair()
        self._keeper.judge(done=self._begin, failed=self._show_failure)

    def _begin(self) -> None:
        self._whole.begin(self.has_no_verdict, lambda key: self._verdict_of(key) is Verdict.FAIL)
        self._show_rows(done=self._ready)

    def _ready(self) -> None:
        is_open = not self._desk.is_closed
        self._enable()
        self._view.say("" if is_open else CLOSED)
        self._show_pair()
        self._show_state()

    def _enable(self) -> None:
        has_pairs = self._plan.pair is not None or self._plan.count > 0
        self._view.set_enabled(not self._desk.is_closed and has_pairs)

    def _show_rows(self, *, done: Callable[[], None]) -> None:
        """Thousands of rows take their time: their words are made beside the window."""
        book = self._keeper.book

        def shown(rows: Sequence[RowShown]) -> None:
            self._view.show_rows(rows)
            done()

        self._runner.run(
            lambda: rows_shown(book.rows()) if book is not None else [],
            done=shown,
            failed=self._show_failure,
        )

    def _verdict_of(self, key: str) -> Verdict:
        book = self._keeper.book
        return book.verdict_of(key) if book is not None else Verdict.NOT_TAKEN

    def _show_failure(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._view.say(problem_text(error), is_problem=True)

    # -- what is at hand -------------------------------------------------------------------

    @property
    def book(self) -> Book | None:
        """The judged rows; None until they are there."""
        return self._keeper.book

    def judgement(self) -> SessionJudgement | None:
        """The session's verdict now; None until it is there."""
        return self._keeper.judgement()

    def set_set_up(self, set_up: SetUp) -> None:
        """Go on with another meter, lead state or temperature."""
        self._set_up = set_up
        self._show_pair()

    @property
    def set_up(self) -> SetUp:
        """What the next reading is taken with."""
        return self._set_up

    @property
    def pair(self) -> Pair | None:
        """The pair that stands there; None where nothing is asked for."""
        return self._plan.pair

    def at_hand(self) -> AtHand | None:
        """The pair with what is typed, or with what stands for it; None where nothing is asked for."""
        pair = self._plan.pair
        if pair is None:
            return None
        value = self._previewed[1] if self._previewed is not None and self._previewed[0] == pair else None
        variant, rule = self._desk.variant, self._keeper.rule
        return at_hand(variant, self._set_up, pair, value=value, book=self.book, rule=rule)

    def check_now(self) -> Check | None:
        """The meter check that serves a reading taken with the present set-up."""
        return self.book.check_for(self._set_up.reading("1", CASE, ohm=1.0)) if self.book is not None else None

    def resume(self, text: str) -> None:
        """Show the pair anew with what stood in its field."""
        self._show_pair()
        self._view.set_field(text)
        if text:
            self.typed(text)

    def taken(self, entry: Entry, rows: tuple[Row, ...]) -> None:
        """A reading was kept otherwise than by its field: its verdict stands, the pair stays."""
        self._show_pair()
        self._show_new(entry.n, rows)
        self._show_state(changed={row.key for row in rows})
        own = [row.judgement for row in rows if entry.n in row.entries and row.judgement is not None]
        if own:
            self._view.show_reading(reading_shown(own[0]))

    def _target(self, pair: Pair, **value: Any) -> tuple[Target, Reading]:
        reading = self.reading(pair, **(value or {"ohm": 0.0}))
        return self._targets.of(reading), reading

    def reading(self, pair: Pair, **value: Any) -> Reading:
        """A reading of a pair taken now (raises BadInput)."""
        at = {"selector": self._lever} if self._wants_lever(pair) else {}
        return self._set_up.reading(pair.red, pair.black, **value, **at, **self._plan.stamp)

    @property
    def lever(self) -> str | None:
        """Where the selector lever is said to stand; None while nobody said it."""
        return self._lever

    def set_lever(self, position: str | None, text: str = "") -> None:
        """The lever stands elsewhere; what is typed stays."""
        self._lever = position
        self.resume(text)

    def _wants_lever(self, pair: Pair) -> bool:
        variant = self._desk.variant
        return variant is not None and needs_selector(variant, device_at(variant, *pair))

    @property
    def whole(self) -> Walk:
        """All pairs of the variant."""
        return self._whole

    @property
    def clip(self) -> str:
        """Where the black clip was said to go last."""
        return self._clip

    def follows(self, walk: Walk) -> bool:
        """Whether these are the pairs that are gone round now."""
        return self._plan is walk

    def follow(
        self, walk: Walk, set_up: SetUp, *, needs: Callable[[str], bool], ask_instead: Callable[[], None]
    ) -> None:
        """Go round other pairs with another set-up; where none of them is at hand something else is asked."""
        self._plan, self._needs_reading, self._ask_instead = walk, needs, ask_instead
        self._set_up = set_up
        self._walk_anew()

    def follow_whole(self) -> None:
        """Back to all pairs of the variant."""
        self._plan, self._needs_reading, self._ask_instead = self._whole, self.has_no_verdict, self._show_no_pair
        self._walk_anew()

    def _walk_anew(self) -> None:
        self._enable()
        self._show_state(changed=())
        self._show_pair()

    def _show_pair(self) -> None:
        self._typed.forget()
        self._chosen = self._previewed = None
        self._view.show_problem("")
        self._view.set_field("")
        pair = self._plan.pair
        if pair is None:
            self._ask_instead()
            return
        target, _ = self._target(pair)
        device = device_at(self._desk.variant, *pair) if self._desk.variant is not None else None
        celsius = self._set_up.celsius
        shown = pair_shown(target, device, black=pair.black, red=pair.red, celsius=celsius, clip=self._clip_words(pair))
        if self._wants_lever(pair):
            shown = with_lever(shown, self._lever)
        polar = polar_of(self._desk.variant, device)
        if polar is not None:
            shown = with_diode(shown, polar)
        self._view.show_pair(shown, "")
        self._view.show_reading(limits_shown(target.limits))
        self._show_plot(pair, target)

    def _show_no_pair(self) -> None:
        self._view.show_pair(None, NO_VARIANT)

    def _clip_words(self, pair: Pair) -> str:
        """What to do with the black clip: most of the time nothing, and nothing once the session is closed."""
        if self._desk.is_closed:
            return "What was read between"
        stays, self._clip = pair.black == self._clip, pair.black
        return f"Leave black on {pair.black}, probe" if stays else f"Clip black on {pair.black}, probe"

    def _show_plot(self, pair: Pair, target: Target) -> None:
        variant = self._desk.variant
        device = device_at(variant, *pair) if variant is not None else None
        title = f"{device.name} against its temperature" if device is not None else "Against temperature"
        rows: tuple[Row, ...] = self.book.rows_of_item(target.key) if self.book is not None else ()
        self._view.show_plot(plot_shown(title, device, rows, self._set_up.celsius))

    def has_no_verdict(self, key: str) -> bool:
        """Whether an item still needs a reading."""
        return self._verdict_of(key) in _NEEDS_READING

    # -- what a person does ----------------------------------------------------------------

    def typed(self, text: str) -> None:
        """Judge while typing."""
        pair = self._plan.pair
        if pair is None:
            return
        ohm = self._typed.typed(text)
        if ohm is None:
            self._previewed = None
            self._view.show_reading(limits_shown(self._target(pair)[0].limits))
        else:
            self._preview(pair, ohm=ohm)

    def _preview(self, pair: Pair, **value: Any) -> None:
        try:
            target, reading = self._target(pair, **value)
        except BadInput:
            return
        self._previewed = (pair, value)
        check = self.book.check_for(reading) if self.book is not None else None
        judgement = judge(reading, target.limits, rule=self._keeper.rule, check=check)
        self._view.show_reading(reading_shown(self.seen(judgement, reading, target)))

    def seen(self, judgement: Judgement, reading: Reading, target: Target) -> Judgement:
        """The same with what it is read through, as its row will say it."""
        if self._targets.is_polar(reading):
            rows = self.book.rows_of_item(target.key) if self.book is not None else ()
            return seen_with(self._desk.variant, judgement, reading=reading, key=target.key, rows=rows)
        return with_contact(judgement, reading, target.contact)

    def keep(self, text: str) -> None:
        """Take the typed reading: the verdict stands at once, the row when it is on disk."""
        if self._writing is not None:
            self._wait(text)
        elif self._plan.pair is not None:
            self._typed.take(text)

    def _wait(self, text: str) -> None:
        """One unsaved reading at a time; Enter on an empty field is a key that bounced."""
        if self._writing is not None and text.strip():
            self._writing.waiting = text
            self._view.show_problem(STILL_KEEPING)

    def keep_open(self) -> None:
        """The meter shows open."""
        if self._writing is not None:
            self._wait(OPEN)
        elif self._plan.pair is not None:
            self._typed.take_open()

    def _range_told(self, range_ohm: float) -> None:
        self._set_up = with_range(self._set_up, range_ohm)
        self._set_up_changed(self._set_up)

    def _keep_value(self, text: str, **value: Any) -> None:
        pair = self._plan.pair
        if pair is None:
            return
        if self._set_up.celsius is None:
            self._view.show_problem(NO_TEMPERATURE)
            return
        try:
            reading = self.reading(pair, **value)
            self._keeper.hold(reading)
        except BenchError as error:
            self._view.show_problem(problem_text(error))
            return
        if self._previewed == (pair, value):  # the verdict stands there since the last key
            self._view.set_field("")
            self._view.paint_now()
        else:
            self._preview(pair, **value)
            self._view.paint_now()
            self._view.set_field("")
        # Either way the field is empty before the next key: a bounced Enter finds nothing to keep.
        self._writing = Writing(reading, text, pair)
        self._view.later(self._send)

    def _send(self) -> None:
        writing = self._writing
        if writing is None:
            return
        try:
            writing.prepared = self._keeper.prepare_held()
        except BenchError as error:
            self._not_written(error)
            return
        own = self._target(writing.pair)[0].key
        self._plan.go_on(lambda key: self._needs_reading(key) and key != own)
        self._show_pair()
        self._keeper.send(writing.prepared, kept=self._written, failed=self._not_written)
        self._view.if_it_takes_long(lambda: self._show_keeping(writing))

    def _show_keeping(self, writing: Writing) -> None:
        """Only a slow disk is worth a row of its own; else it would be painted twice for nothing."""
        if self._writing is writing and writing.prepared is not None:
            self._view.put_row(self._row_of(writing, writing.prepared.entry.n))

    def _row_of(self, writing: Writing, number: int) -> RowShown:
        between = f"{writing.pair.red}\u2013{writing.pair.black}"
        what = self._target(writing.pair)[0].what
        ohm = open_text(self._set_up.range_ohm) if writing.reading.open else writing.text
        return keeping_row(number, between=between, what=what, ohm=ohm)

    def _written(self, entry: Entry, rows: tuple[Row, ...]) -> None:
        writing, self._writing = self._writing, None
        self._show_new(entry.n, rows)
        self._show_state(changed={row.key for row in rows})
        if writing is not None and writing.waiting is not None:
            self.keep(writing.waiting)

    def _show_new(self, number: int, rows: tuple[Row, ...]) -> None:
        """Rows grow with their repeats: the line of the new entry gives way to its group's."""
        shown = rows_shown(rows)
        if all(row.number != number for row in shown):
            self._view.drop_row(number)
        for row in shown:
            self._view.put_row(row)
        own = [row for row in shown if number in row.entries]
        self._view.say(kept_sentence(own[0]) if own else "")

    def _not_written(self, error: Exception) -> None:
        writing, self._writing = self._writing, None
        if writing is None:
            return
        if writing.prepared is not None:
            self._view.drop_row(writing.prepared.entry.n)
        self._plan.choose(*writing.pair)
        self._show_pair()
        self._view.set_field(writing.text)
        self._view.show_problem(f"Not saved. {error}")
        if not isinstance(error, BenchError):
            raise error

    def previous(self) -> None:
        """Go back one pair."""
        self._plan.step(-1)
        self._show_pair()

    def skip(self) -> None:
        """Leave this pair for later."""
        self._plan.step(1)
        self._show_pair()

    def choose(self, key: str) -> None:
        """Go to an item such as `device Heron`."""
        self._plan.choose_item(key)
        self._show_pair()

    def pin_chosen(self, name: str) -> None:
        """Two pins chosen one after the other make a pair; the first is where the red tip goes."""
        if self._chosen is None or self._chosen == name:
            self._show_pair()
            self._chosen = name
            self._view.say(f"Pin {name} for the red tip. Choose the other one.")
            return
        self._plan.choose(self._chosen, name)
        self._view.say("")
        self._show_pair()

    def undo(self) -> None:
        """Withdraw the newest entry; the withdrawal is an entry itself."""
        self._write_body(self._desk.undo_body(), "Nothing to undo.")

    def redo(self) -> None:
        """Restore what was withdrawn last."""
        self._write_body(self._desk.redo_body(), "Nothing to redo.")

    def withdraw(self, entries: Sequence[int]) -> None:
        """Take back the newest reading of a row."""
        self._write_body(Withdraw(entry=max(entries), why="taken back at the bench"), "")

    def _write_body(self, body: AnyBody | None, nothing: str) -> None:
        if body is None or self._keeper.is_busy:
            self._view.say(nothing if body is None else STILL_KEEPING)
            return
        self._keeper.keep(body, kept=self._withdrawn, failed=self._show_failure)

    def _withdrawn(self, entry: Entry, _: tuple[Row, ...]) -> None:
        number = getattr(entry.body, "entry", 0)
        words = "Withdrawn" if entry.kind == "withdraw" else "Restored"
        self._view.say(f"{words}: entry {number}. Nothing is lost, both stay in the trail.")
        self._show_anew()

    def reload(self) -> None:
        """Judge the session anew, after it was changed elsewhere."""
        self._keeper.judge(done=self._show_anew, failed=self._show_failure)

    def _show_anew(self) -> None:
        self._show_rows(done=self._show_all)

    def _show_all(self) -> None:
        self._enable()
        self._show_state()
        self._show_pair()

    def show_marks(self) -> None:
        """The marks on the face as they are now."""
        if self._desk.variant is not None:
            self._view.show_marks(pin_marks(self._desk.variant, self._verdict_of))

    def _show_state(self, *, changed: Collection[str] | None = None) -> None:
        """Marks on the face, progress, and the plot unless it is of an item that has not changed."""
        if self.book is None:
            return
        self.show_marks()
        done = sum(not self._needs_reading(key) for key in self._plan.keys)
        self._view.show_progress(done, self._plan.count)
        if (pair := self._plan.pair) is not None:
            target = self._target(pair)[0]
            if changed is None or target.key in changed:
                self._show_plot(pair, target)


def problem_text(error: BenchError) -> str:
    """The first thing that is wrong, in one sentence."""
    return error.problems[0].text() if isinstance(error, BadInput) else str(error)
