"""Decides how a flex test goes: each typed reading is an entry of its own, a logger's file is one.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, NamedTuple, Protocol

from valvebench.bench.desk import PROGRAM, Desk
from valvebench.bench.flex_log import FlexFiles, FlexLog
from valvebench.bench.flex_runs import logged_body, typed_body
from valvebench.bench.heat_find import LogFile
from valvebench.diagnose.flex_words import ENOUGH
from valvebench.judge.flex_rows import SeriesKey, series_key
from valvebench.judge.row import Row
from valvebench.judge.targets import device_at
from valvebench.model.entry import AnyBody, Entry
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.flex import FLEXED_USUAL, FlexTest
from valvebench.model.numbers import typed_ohm
from valvebench.model.session import Item
from valvebench.model.words import LeadState
from valvebench.ui.errors import error_words, raised
from valvebench.ui.flex.shown import HOW, PairShown, SeriesShown, done_words, kept_words, series_shown
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.pins.asking import STILL_KEEPING, Asking
from valvebench.ui.pins.plan import Pair
from valvebench.ui.set_up import SetUp
from valvebench.ui.taking_back import TakingBack, Told

NO_PAIR: Final = "No pair stands on Pins: choose one there, then flex it."
SAY_WHAT: Final = "Say first what you flex."
NOTHING_TO_REPEAT: Final = "There is no reading yet to repeat."
NOTHING_HERE: Final = "Nothing typed here is left to take back."
NOTHING_BACK: Final = "Nothing was taken back here."
_MOST_DRAWN: Final = 4000


class FlexView(Protocol):
    """What the presenter asks of the page."""

    def show_pair(self, pair: PairShown) -> None: ...
    def show_flexed(self, words: str) -> None: ...
    def show_series(self, series: SeriesShown) -> None: ...
    def show_problem(self, words: str, *, is_question: bool = False) -> None: ...
    def set_field(self, text: str) -> None: ...
    def set_enabled(self, *, is_enabled: bool) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...
    def let_draw(self) -> None: ...
    def leave(self, words: str) -> None: ...


class _Sent(NamedTuple):
    """A reading on its way to the disk, as it was typed."""

    text: str
    ohm: float | None


class FlexPresenter:
    """One pair at a time; the series goes on where it was left."""

    def __init__(
        self,
        view: FlexView,
        desk: Desk,
        keeper: Keeper,
        *,
        reader: Runs,
        files: FlexFiles,
        prepare: Callable[[], object],
    ) -> None:
        self._view, self._desk, self._keeper = view, desk, keeper
        self._reader, self._files, self._prepare = reader, files, prepare
        self._pair: Pair | None = None
        self._set_up = SetUp()
        self._flexed = FLEXED_USUAL
        self._began: int | None = None
        self._file: int | None = None
        self._finished: set[int] = set()
        self._asking = Asking()
        self._sent: _Sent | None = None
        self._waiting: str | None = None
        self._is_reading = False
        self._logs: dict[str, FlexLog] = {}
        self.taking_back = TakingBack(
            keeper,
            view.say,
            is_own=self._is_own,
            done=self._taken_back,
            told=Told(NOTHING_HERE, NOTHING_BACK),
        )
        keeper.listen(self.changed)

    # -- into it and out of it -------------------------------------------------------------

    def start(self) -> None:
        """Bring in what draws, beside the window."""
        self._reader.run(self._prepare, done=self._prepared, failed=raised)

    def _prepared(self, _: object) -> None:
        self._view.let_draw()

    def begin(self, pair: Pair | None, set_up: SetUp) -> None:
        """Watch the pair that stands on Pins; a series that was left in the middle goes on."""
        self._pair, self._set_up = pair, set_up
        self._asking, self._waiting = Asking(), None
        left, self._file = self._left_open(), None
        self._began = series_began(left) if left is not None else None
        if left is not None and isinstance(left.body, FlexTest):
            self._flexed = left.body.flexed
        self._view.show_pair(self._pair_shown())
        self._view.show_flexed(self._flexed)
        self._view.show_problem("")
        self._view.set_field("")
        self._view.set_enabled(is_enabled=pair is not None and not self._desk.is_closed)
        self._view.say(CLOSED if self._desk.is_closed else NO_PAIR if pair is None else HOW)
        self._show()

    def _pair_shown(self) -> PairShown:
        if self._pair is None:
            return PairShown(lead="Flex", big="\u2013", what="No pair")
        variant, (red, black) = self._desk.variant, self._pair
        device = device_at(variant, red, black) if variant is not None else None
        return PairShown(lead="Flex", big=f"{red} and {black}", what=device.name if device is not None else "")

    def _items(self) -> tuple[Item, ...]:
        """What counts of this pair's flex tests."""
        if self._pair is None:
            return ()
        nodes = frozenset(self._pair)
        items = self._desk.session.items_of("flex")
        return tuple(item for item in items if isinstance(item.body, FlexTest) and item.body.pair == nodes)

    def _left_open(self) -> Item | None:
        """The newest entry of the session, where it is a reading of this pair that nobody finished."""
        newest = self._desk.session.items[-1] if self._desk.session.items else None
        own = self._items()
        if newest is None or not own or newest.n != own[-1].n or series_key(newest) is None:
            return None
        began = series_began(newest)
        count = sum(
            len(item.body.ohm) for item in own if isinstance(item.body, FlexTest) and series_began(item) == began
        )
        is_open = began not in self._finished and count < ENOUGH and not self._desk.is_closed
        return newest if is_open else None

    def finish(self) -> None:
        """The series is done: back to the pair on Pins."""
        if self._keeper.is_busy:
            self._view.show_problem(STILL_KEEPING)
            return
        row = self._row()
        if self._began is not None:
            self._finished.add(self._began)
        self._began = self._file = None
        self._view.leave(done_words(row) if row is not None else "")

    def left(self) -> None:
        """Esc: back to Pins; the series can go on later."""
        self._view.leave("")

    # -- what stands there -----------------------------------------------------------------

    def changed(self) -> None:
        """Something counts that did not, or no longer."""
        if self._pair is not None:
            self._show()

    def _shown_item(self) -> Item | None:
        """The newest entry of the series at hand, else of the newest series of this pair."""
        own = self._items()
        if self._file is not None:
            return self._desk.find_item(self._file)
        if self._began is not None:
            own = tuple(item for item in own if series_began(item) == self._began)
        elif not self._desk.is_closed and own and series_began(own[-1]) in self._finished:
            return None
        return own[-1] if own else None

    def _series(self) -> tuple[SeriesKey, tuple[Item, ...]] | None:
        item = self._shown_item()
        key = series_key(item) if item is not None else None
        if key is None:
            return None
        return key, tuple(one for one in self._items() if series_key(one) == key)

    def _row(self) -> Row | None:
        item, book = self._shown_item(), self._keeper.book
        return book.flex_row_of(item) if item is not None and book is not None else None

    def _values(self) -> tuple[float | None, ...]:
        series = self._series()
        bodies = [item.body for item in series[1]] if series is not None else []
        return tuple(ohm for body in bodies if isinstance(body, FlexTest) for ohm in body.ohm)

    def _show(self) -> None:
        item = self._shown_item()
        log = self._log_of(item)
        if log is not None:
            step = max(1, -(-log.ohm.size // _MOST_DRAWN))
            numbers = tuple(range(1, log.ohm.size + 1, step))
            ohm = tuple(None if one == float("inf") else one for one in log.ohm[::step].tolist())
            self._view.show_series(series_shown(ohm, self._row(), numbers))
            return
        values, row = self._values(), self._row()
        is_known = row is not None and row.flex is not None and (not values or row.flex.found.n == len(values))
        self._view.show_series(series_shown(values, row if is_known else None))

    def _log_of(self, item: Item | None) -> FlexLog | None:
        body = item.body if item is not None else None
        return self._logs.get(body.sha256 or "") if isinstance(body, FlexTest) else None

    # -- typing ----------------------------------------------------------------------------

    def place_chosen(self, words: str) -> None:
        """Something else is flexed: that is another series."""
        if words == self._flexed:
            return
        self._flexed = words
        self._began = None
        self._show()

    def typed(self, text: str) -> None:
        """While a reading is typed: an answer to a question stands, anything else begins anew."""
        if not self._asking.stands_with(text):
            self._asking = Asking()
            self._view.show_problem("")

    def keep(self, text: str) -> None:
        """Enter: the reading is an entry at once."""
        if self._pair is None or self._desk.is_closed:
            self._view.show_problem(CLOSED if self._desk.is_closed else NO_PAIR)
            return
        if self._keeper.is_busy:
            self._waiting = text if text.strip() else self._waiting
            self._view.show_problem(STILL_KEEPING)
            return
        chosen = self._asking.choice(text)
        if chosen is not None:
            self._send(text, chosen)
            return
        typed = typed_ohm(text)
        if typed.choices:
            self._asking = Asking(choices=typed.choices)
            self._view.show_problem(self._asking.words(), is_question=True)
            self._view.set_field("")
        elif typed.problem:
            self._view.show_problem(typed.problem)
        else:
            self._send(text, typed.ohm)

    def keep_open(self) -> None:
        """The key of open."""
        self.keep("OL")

    def again(self) -> None:
        """The meter shows the same as before."""
        values = self._values()
        if not values or self._began is None:
            self._view.show_problem(NOTHING_TO_REPEAT)
            return
        self.keep("OL" if values[-1] is None else f"{values[-1]:.10g}")

    def _send(self, text: str, ohm: float | None) -> None:
        if not self._flexed.strip():
            self._view.show_problem(SAY_WHAT)
            return
        try:
            body = typed_body({**self._fields(), "ohm": [ohm], "follows": self._began}, source="flex")
        except BadInput as error:
            self._view.show_problem(error.problems[0].text())
            return
        self._asking, self._file = Asking(), None
        self._sent = _Sent(text, ohm)
        self._view.show_problem("")
        self._view.set_field("")
        self._keeper.keep(body, kept=self._kept, failed=self._not_kept)

    def _fields(self) -> dict[str, Any]:
        """Pair, place and bench set-up, as an entry spells them."""
        pair, set_up = self._pair or Pair("", ""), self._set_up
        return {
            "from": pair[0],
            "to": pair[1],
            "flexed": self._flexed.strip(),
            "celsius": set_up.celsius,
            "temperature": set_up.temperature.value if set_up.temperature is not None else None,
            "meter": set_up.meter,
            "meter_id": set_up.meter_id,
            "leads": set_up.leads.value,
            "lead_ohm": set_up.lead_ohm if set_up.leads is LeadState.SUBTRACT else None,
            "program": PROGRAM,
        }

    def _kept(self, entry: Entry, _: tuple[Row, ...]) -> None:
        sent, self._sent = self._sent, None
        if self._began is None:
            self._began = entry.n
        if sent is not None:
            self._view.say(kept_words(sent.ohm, len(self._values())))
        self._show()
        waiting, self._waiting = self._waiting, None
        if waiting is not None:
            self.keep(waiting)

    def _not_kept(self, error: Exception) -> None:
        sent, self._sent = self._sent, None
        self._waiting = None
        if sent is not None:
            self._view.set_field(sent.text)
        self._view.show_problem(f"Not saved. {error_words(error)} The reading still stands here: Enter tries again.")
        if not isinstance(error, BenchError):
            raise error

    # -- taking back -----------------------------------------------------------------------

    def _is_own(self, body: AnyBody) -> bool:
        """Whether it is of the pair at hand."""
        return isinstance(body, FlexTest) and self._pair is not None and body.pair == frozenset(self._pair)

    def _taken_back(self, number: int, _: AnyBody) -> None:
        item = self._desk.find_item(number)
        self._file = None
        if item is not None and series_key(item) is not None:
            self._began = series_began(item)
        elif self._began is not None and not self._values():
            self._began = None
        self._show()

    # -- a logger's file -------------------------------------------------------------------

    def file_named(self, path: str) -> None:
        """Take in the readings of a logger in place of typed ones."""
        if self._pair is None or self._desk.is_closed or not path or self._is_reading:
            return
        fields, name = self._fields(), Path(path)
        if not self._flexed.strip():
            self._view.show_problem(SAY_WHAT)
            return
        self._is_reading = True
        self._view.say(f"Reading {name.name} \u2026")
        self._reader.run(
            lambda: self._looked_at(name, {one: value for one, value in fields.items() if value is not None}),
            done=self._looked,
            failed=self._not_read,
        )

    def _looked_at(self, path: Path, fields: dict[str, Any]) -> tuple[bytes, FlexLog, FlexTest]:
        raw = self._files.bytes_of(path)
        log = self._files.flex_of(raw, source=path.name)
        return raw, log, logged_body(log, LogFile(raw, path.name), fields, program=PROGRAM)

    def _looked(self, found: tuple[bytes, FlexLog, FlexTest]) -> None:
        raw, log, body = found
        self._is_reading = False
        self._logs[body.sha256 or ""] = log
        self._keeper.keep(body, kept=self._file_kept, failed=self._file_not_kept, picture=raw)

    def _file_kept(self, entry: Entry, _: tuple[Row, ...]) -> None:
        self._began, self._file = None, entry.n
        self._show()
        self._view.say("The file is kept with the session.")

    def _file_not_kept(self, error: Exception) -> None:
        self._view.say(f"Not saved. {error_words(error)}", is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    def _not_read(self, error: Exception) -> None:
        self._is_reading = False
        self._view.say(error_words(error), is_problem=True)
        if not isinstance(error, BenchError):
            raise error


def series_began(item: Item) -> int:
    """The entry that began the series of an entry."""
    body = item.body
    return (body.follows or item.n) if isinstance(body, FlexTest) else item.n
