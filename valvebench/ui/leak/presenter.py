"""Decides how the leak of a port or seat is measured: readings, what they say so far, and the entry.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from valvebench.bench.air_log import AirFiles
from valvebench.bench.desk import Desk
from valvebench.bench.leak_take import Looked
from valvebench.judge.leak_rows import is_above_stated
from valvebench.judge.row import Row
from valvebench.model.air_tests import LeakTest
from valvebench.model.entry import AnyBody, Entry
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.leak import LeakMethod
from valvebench.model.variant import Port
from valvebench.model.words import Rule
from valvebench.ui.keeper import CLOSED, Keeper, Runs
from valvebench.ui.leak import page
from valvebench.ui.leak.gauges import Gauges, gauge_texts
from valvebench.ui.leak.holes import Hole, hole_at, next_to, own_texts, with_own
from valvebench.ui.leak.looking import Looking
from valvebench.ui.leak.opening import Opening
from valvebench.ui.leak.page import LeakView
from valvebench.ui.leak.protocol import Protocol
from valvebench.ui.leak.readings import HEADERS, Asked, cells_of
from valvebench.ui.leak.set_up import DAY, FIELDS, Said, field_of, missing, read, shown_fields, texts_of
from valvebench.ui.leak.sheets import Sent, Sheet, Sheets
from valvebench.ui.leak.shown import (
    METHODS,
    ResultShown,
    how_words,
    kept_shown,
    kept_words,
    port_shown,
    refusal_words,
    result_shown,
    supply_asked,
)
from valvebench.ui.leak.typed import TypedNumber
from valvebench.ui.leak.vessel import vessel_words
from valvebench.ui.start.drops import as_path
from valvebench.ui.taking_back import TakingBack, Told

_SLACK: Final = 0.02
"""A gauge of the shop is no better than this share of the pressure that the variant states."""


class LeakPresenter:
    """One port at a time; set-up and pump go on to the next one."""

    def __init__(
        self,
        view: LeakView,
        desk: Desk,
        keeper: Keeper,
        *,
        reader: Runs,
        files: AirFiles,
        now: Callable[[], float],
        limited: set[str] | None = None,
    ) -> None:
        """`reader` works beside the window; `now` tells seconds of a clock that only goes forward.

        `limited` are the solenoids whose supply was said to be limited; what is said here is added.
        """
        self._view, self._desk, self._keeper = view, desk, keeper
        self._hole: Hole | None = None
        self._limited = limited if limited is not None else set()
        self._method = LeakMethod.STEADY
        self._texts: dict[str, str] = {}
        self._gauges = Gauges()
        self._own: dict[bool, dict[str, str]] = {False: {}, True: {}}
        self._sheets, self._protocol = Sheets(), Protocol(now)
        self._said: Said = read(self._method, {})
        self._looking = Looking(reader, files, desk.variant, looked=self._has_looked, refused=self._refused)
        self._opening = Opening(reader, files, came=self._file_came, refused=self._file_refused)
        self.taking_back = TakingBack(
            keeper,
            view.say,
            is_own=_is_own,
            done=self._taken_back,
            told=Told(page.NOTHING_HERE, page.NOTHING_BACK),
        )
        self._wants_keep = False
        self._problem = ""
        self._number = TypedNumber()
        self._typed_at: float | None = None
        self._last_kept = ""
        today = desk.now()[:DAY]
        for item in desk.session.items_of("leak"):
            if isinstance(item.body, LeakTest):
                self._remember(item.body, is_today=item.at[:DAY] == today)
        keeper.listen(self.changed)

    # -- into it and out of it -------------------------------------------------------------

    def _remember(self, test: LeakTest, *, is_today: bool) -> None:
        """Begin with what an earlier test was taken with."""
        self._method = test.method
        self._texts = texts_of(test, with_own(self._texts, self._own[test.is_seat]), is_today=is_today)
        self._own[test.is_seat] = own_texts(self._texts)
        self._gauges.remember(test.method, self._texts)

    def begin(self, name: str, *, is_seat: bool = False) -> None:
        """Measure at this port, or at the seat of this solenoid, by the method its limit is for."""
        was = self._hole
        if was is not None:
            self._own[was.is_seat] = own_texts(self._texts)
        self._hole = hole_at(self._desk.variant, name, is_seat=is_seat)
        self._last_kept = ""
        if self._hole is None:
            self._view.set_enabled(is_enabled=False)
            self._view.say(page.NO_PORT, is_problem=True)
            return
        self._texts = with_own(self._texts, self._own[is_seat])
        if self._sheet.is_empty:
            self._method = self._hole.method(self._method)
        self._texts = self._gauges.given_to(self._method, self._texts)
        self._view.say(CLOSED if self._desk.is_closed else self._restriction_words(was))
        self._show_all()

    def _restriction_words(self, was: Hole | None) -> str:
        """From a port to a seat or back: another restriction stands beside than the one that was in the line."""
        now = self._hole
        if was is None or now is None or was.is_seat is now.is_seat:
            return ""
        own, before = self._own[now.is_seat], self._own[was.is_seat]
        return page.OTHER_RESTRICTION.format(word="seat" if now.is_seat else "port") if own and own != before else ""

    def next_port(self) -> None:
        """On to the next port, from a seat to the next seat; what was typed here waits."""
        if self._hole is not None:
            following = next_to(self._desk.variant, self._hole)
            self.begin(following.port.name, is_seat=following.is_seat)
            self._view.begin()

    def left(self) -> None:
        """Esc: back to Ports; what was typed waits."""
        self._view.leave(self._hole.item if self._hole is not None else "", self._last_kept)

    def changed(self) -> None:
        """Something counts that did not, or no longer."""
        if self._port is not None:
            self._show_port()

    # -- showing ---------------------------------------------------------------------------

    @property
    def _port(self) -> Port | None:
        """The port at hand, or the seat as if it were one."""
        return self._hole.port if self._hole is not None else None

    @property
    def _sheet(self) -> Sheet:
        return self._sheets.of(self._hole.key if self._hole is not None else "", self._method)

    @property
    def _limit(self) -> float | None:
        stated = self._port.max_ml_min if self._port is not None else None
        return stated if stated is not None else self._said.fields.get("max_ml_min")

    def _show_all(self) -> None:
        self._said = read(self._method, self._texts)
        self._view.set_enabled(is_enabled=not self._desk.is_closed)
        self._view.show_method(METHODS.index(self._method), how_words(self._method, self._hole))
        self._show_port()
        self._show_set_up()
        self._show_protocol()
        self._show_anew()
        self._look()

    def _show_port(self) -> None:
        if self._hole is None:
            return
        rows = self._kept_rows()
        self._view.show_port(port_shown(self._hole, self._method, limit_ml_min=self._limit, kept=kept_words(rows)))

    def _kept_rows(self) -> tuple[Row, ...]:
        """The leaks of this port that were kept, the newest last."""
        book = self._keeper.book
        return tuple(book.rows_of_item(self._hole.key)) if book is not None and self._hole is not None else ()

    def _show_set_up(self) -> None:
        stated = self._port.max_ml_min if self._port is not None else None
        names = shown_fields(self._method, self._texts)
        self._view.show_set_up(self._texts, names, limit="" if stated is None else f"{stated:g}")
        self._show_problems(self._said.problems)
        vessel = vessel_words(self._method, self._said, self._port, self._limit, self._sheet.readings.rows)
        self._view.show_computed(" ".join(part for part in (self._said.computed, vessel) if part))

    def _show_problems(self, problems: Mapping[str, str]) -> None:
        wanted = (*problems, *missing(self._method, self._texts))
        self._view.show_field_problems(problems, next(iter(wanted), ""))

    def _show_protocol(self) -> None:
        is_decay, done = self._method is LeakMethod.DECAY, self._done_by_typing()
        self._view.show_protocol(
            self._protocol.shown(**done) if is_decay else (),
            self._protocol.count_words() if is_decay else "",
            is_counting=is_decay and self._protocol.is_waiting,
        )

    def _done_by_typing(self) -> dict[str, bool]:
        return {"has_zero": bool(self._texts.get("zero_kpa")), "has_blank": bool(self._texts.get("blank_ml_min"))}

    def _show_lines(self) -> None:
        readings = self._sheet.readings
        self._view.show_lines(HEADERS[self._method], cells_of(readings), readings.at)
        self._ask()

    def _ask(self) -> None:
        """The number that is asked for; what somebody types just now is left alone."""
        self._view.show_question(self._supply_asked() or self._sheet.readings.asked(self._protocol.since_s()))

    def _supply_asked(self) -> Asked | None:
        """Before a linear or pulsed solenoid is fed so that its seat shuts: is its supply limited?  None once said."""
        hole = self._hole
        if hole is None or hole.solenoid is None or not hole.needs_current_limit or self._desk.is_closed:
            return None
        return supply_asked(hole.solenoid) if hole.solenoid.name not in self._limited else None

    def supply_limited(self) -> None:
        """The supply of this solenoid is said to be limited."""
        if self._hole is not None and self._supply_asked() is not None:
            self._limited.add(self._hole.port.name)
            self._view.show_problem("")
            self._ask()

    def _show_anew(self) -> None:
        """The lines, and the field ready for the number that is asked for."""
        self._number.forget()
        self._typed_at = None
        self._view.show_problem("")
        self._view.set_field("")
        self._show_lines()

    def tick(self) -> None:
        """A moment has passed: the clock goes on."""
        self._show_protocol()

    # -- what the readings say -------------------------------------------------------------

    def _look(self) -> None:
        """Work out beside the window what stands there; what was to be kept was something else."""
        if self._wants_keep:
            self._wants_keep = False
            self._view.say(page.NOT_KEPT_YET, is_problem=True)
        self._problem, taken = "", None
        if self._hole is not None and not self._said.problems and not missing(self._method, self._texts):
            taken = self._sheet.taken(self._hole.fields, self._said, self._limit)
        self._view.show_busy(is_busy=taken is not None)
        if taken is None:
            self._looking.forget()
            kept = self._kept_rows() if self._sheet.is_empty else ()
            shown = kept_shown(kept[-1]) if kept else ResultShown(headline=self._nothing_words())
            self._view.show_result(shown)
            return
        rule = self._keeper.rule
        self._looking.ask(taken, None if rule is Rule.PROVED else rule)

    def _nothing_words(self) -> str:
        wanted = missing(self._method, self._texts)
        if self._sheet.is_empty or not (wanted or self._said.problems):
            return ResultShown().headline if self._sheet.is_empty else page.ONE_READING
        if self._said.problems:
            return page.PUT_RIGHT
        return f"Still to be said: {', '.join(FIELDS[name].label.lower() for name in wanted)}."

    def _has_looked(self, looked: Looked) -> None:
        self._view.show_busy(is_busy=False)
        self._view.show_result(result_shown(looked.row, look=self._sheet.look_words()))
        if self._wants_keep:
            self._keep_test()

    def _refused(self, error: BenchError) -> None:
        self._wants_keep = False
        self._view.show_busy(is_busy=False)
        self._problem = refusal_words(error)
        found = error.problems if isinstance(error, BadInput) else ()
        at_fields = {field_of(one.where): refusal_words(BadInput([one])) for one in found if field_of(one.where)}
        self._show_problems(at_fields)
        self._view.show_result(ResultShown(headline=self._problem, is_problem=True))

    # -- typing ----------------------------------------------------------------------------

    def typed(self, text: str) -> None:
        """While a reading is typed: with a running clock its first sign says when it was read."""
        if not text.strip():
            self._typed_at = None
        elif self._typed_at is None:
            self._typed_at = self._protocol.since_s()
        if self._number.is_given_up(text):
            self._view.show_problem("")

    def keep(self, text: str) -> None:
        """Enter: the next number, or with nothing typed the entry."""
        if self._desk.is_closed or self._port is None:
            self._view.say(CLOSED if self._port is not None else page.NO_PORT, is_problem=True)
        elif self._supply_asked() is not None:
            self._view.show_problem(page.LIMIT_FIRST, is_question=True)
        elif not text.strip():
            self._enter_nothing()
        elif self._sheet.file is not None:
            self._view.show_problem(page.FILE_AT_HAND)
        elif self._sheet.readings.is_full:
            self._view.show_problem(page.ALL_TYPED)
        else:
            self._read(text)

    def _enter_nothing(self) -> None:
        readings = self._sheet.readings
        if readings.is_correcting:
            readings.go_to(len(readings.rows))
            self._show_anew()
        elif readings.is_begun or self._sheet.is_empty:
            self._view.show_problem(page.NO_READING)
        else:
            self._keep_test()

    def _read(self, text: str) -> None:
        readings = self._sheet.readings
        is_time = readings.asks_time() and (readings.is_correcting or not self._protocol.is_running)
        try:
            value = self._number.read(text, is_time=is_time)
        except BadInput as error:
            self._view.show_problem(error.problems[0].text())
            return
        if value is None:
            self._view.show_problem(self._number.question(), is_question=True)
            self._view.set_field("")
        else:
            self._take(value)

    def _take(self, value: float) -> None:
        readings, since = self._sheet.readings, self._protocol.since_s()
        if since is not None and readings.asks_time() and not readings.is_correcting:
            is_line = readings.take_at(round(since if self._typed_at is None else self._typed_at, 1), value)
        else:
            is_line = readings.take(value)
        self._show_anew()
        if is_line:
            self._warn(value)
            self._look()

    def _warn(self, kpa: float) -> None:
        """A pressure above the one that is stated is said at once."""
        port, is_of_pump = self._port, not self._sheet.readings.of_port
        if port is None or port.kpa_gauge is None or is_of_pump:
            return
        is_above = is_above_stated(port, self._method, kpa, slack_kpa=_SLACK * port.kpa_gauge)
        self._view.say(page.ABOVE_STATED.format(kpa=port.kpa_gauge) if is_above else "", is_problem=is_above)

    def previous_line(self) -> None:
        """Up: correct the line before."""
        self._step(-1)

    def following_line(self) -> None:
        """Down: towards the new line."""
        self._step(1)

    def _step(self, by: int) -> None:
        if self._desk.is_closed or not self._sheet.readings.step(by):
            self._view.show_problem("" if self._desk.is_closed else page.NO_LINE)
            return
        self._show_anew()

    def line_chosen(self, place: int) -> None:
        """One line of the table is typed anew."""
        if not self._desk.is_closed:
            self._sheet.readings.go_to(place)
            self._show_anew()

    def remove(self) -> None:
        """The line at hand, else the newest, is taken away; a file is put away."""
        sheet = self._sheet
        if self._desk.is_closed:
            return
        if sheet.file is not None:
            sheet.file = None
        elif not sheet.readings.remove():
            self._view.show_problem(page.NO_LINE)
            return
        self._view.say("")
        self._show_anew()
        self._look()

    # -- set-up ----------------------------------------------------------------------------

    def method_chosen(self, place: int) -> None:
        """Another way of measuring; what was typed for this one waits."""
        self._method = METHODS[place]
        self._texts = self._gauges.given_to(self._method, self._texts)
        self._view.say("")
        self._show_all()

    def set_up_typed(self, texts: Mapping[str, str]) -> None:
        """Take up what was typed beside the readings."""
        if dict(texts) == self._texts:
            return
        is_other_hose = self._is_other_hose(texts)
        self._texts = {name: text for name, text in texts.items() if not (is_other_hose and name == "blank_ml_min")}
        if is_other_hose:
            self._view.say(page.OTHER_HOSE, is_problem=True)
        self._said = read(self._method, self._texts)
        self._show_port()
        self._show_set_up()
        self._show_protocol()
        self._look()

    def _is_other_hose(self, texts: Mapping[str, str]) -> bool:
        """Whether the blank test that stands there was of another hose."""
        was, now = ((one.get("hose_id", ""), one.get("blank_ml_min", "")) for one in (self._texts, texts))
        return bool(was[0]) and was[0] != now[0] and bool(now[1]) and was[1] == now[1]

    def step_done(self) -> None:
        """The next step of the protocol; the last one starts the clock."""
        if self._method is not LeakMethod.DECAY or self._desk.is_closed:
            self._view.say(CLOSED if self._desk.is_closed else page.NOT_WITH_DECAY, is_problem=True)
            return
        protocol = self._protocol
        if self._supply_asked() is not None:
            self._view.show_problem(page.LIMIT_FIRST, is_question=True)
            return
        if protocol.is_running:
            self._view.say(page.CLOCK_RUNS)
            return
        protocol.tick(**self._done_by_typing())
        if protocol.held_s is not None:
            self.set_up_typed({**self._texts, "held_s": f"{protocol.held_s:.0f}"})
        self._show_protocol()
        self._show_lines()

    def blank_taken(self) -> None:
        """The run that stands there was the blank test of this hose: it is taken off from now on."""
        looked, is_decay = self._looking.found, self._method is LeakMethod.DECAY
        leak = looked.body.found.leak_ml_min if looked is not None and is_decay else None
        if leak is None or looked is None or self._desk.is_closed:
            self._view.say(page.NO_BLANK, is_problem=True)
            return
        blank = max(0.0, leak.value + (looked.body.blank_ml_min or 0.0))
        self._sheet.clear()
        self._begin_run_again()
        self._texts = {**self._texts, "blank_ml_min": f"{blank:.3g}"}
        self._show_all()
        self._view.say(f"Blank test of this hose: {blank:.3g} ml/min, taken off from now on. Now the port itself.")

    # -- a file ----------------------------------------------------------------------------

    def file_named(self, typed: str) -> None:
        """A file in place of typed readings: looked at first, kept with Enter."""
        if self._desk.is_closed or self._port is None or not typed.strip():
            return
        path = as_path(typed)
        self._view.say(f"Reading {path.name} \u2026")
        self._opening.open(path, self._sheet)

    def _file_came(self, sheet: Sheet, name: str) -> None:
        self._view.say(f"{name} is at hand: Enter keeps it, F7 puts it away.")
        if sheet is self._sheet:
            self._look()

    def _file_refused(self, error: BenchError) -> None:
        self._view.say(f"Not taken. {refusal_words(error)}", is_problem=True)

    # -- keeping ---------------------------------------------------------------------------

    def _keep_test(self) -> None:
        """The entry as it was looked at; where that is still on its way, as soon as it is there."""
        looked = self._looking.found
        self._wants_keep = self._looking.is_busy
        if looked is None:
            if not self._wants_keep:
                self._view.show_problem(self._problem.split("\n")[0] or self._nothing_words())
            return
        self._view.say("Keeping \u2026")
        raw = looked.file.raw if looked.file is not None else None
        sent = self._sheet.send()
        self._show_anew()
        self._keeper.keep(looked.body, kept=self._kept, failed=lambda error: self._not_kept(sent, error), picture=raw)

    def _kept(self, entry: Entry, rows: tuple[Row, ...]) -> None:
        """On disk; what is typed meanwhile stays as it is."""
        row = next((row for row in rows if row.entries == (entry.n,)), None)
        if isinstance(entry.body, LeakTest):
            self._gauges.remember(entry.body.method, gauge_texts(entry.body))
        self._begin_run_again()
        self._last_kept = kept_words((row,)).replace("Kept here: ", "Kept: ") if row is not None else ""
        self._show_port()
        if row is not None and self._sheet.is_empty:
            self._looking.forget()
            self._view.show_busy(is_busy=False)
            self._view.show_result(kept_shown(row))
        is_seat = self._hole is not None and self._hole.is_seat
        self._view.say(f"{self._last_kept} {page.NEXT_SEAT if is_seat else page.NEXT_PORT}".strip())

    def _begin_run_again(self) -> None:
        """The next run on the same hose: how long the supply is open is taken from the clock anew."""
        held_s = self._protocol.held_s
        self._protocol.again()
        if held_s is not None and self._texts.get("held_s") == f"{held_s:.0f}":
            self.set_up_typed({name: text for name, text in self._texts.items() if name != "held_s"})
        self._show_protocol()
        self._ask()

    def _not_kept(self, sent: Sent, error: Exception) -> None:
        sent.give_back()
        self._show_lines()
        self._look()
        words = refusal_words(error).rstrip(".")
        self._view.say(f"Not saved. {words}. The readings still stand here: Enter tries again.", is_problem=True)
        if not isinstance(error, BenchError):
            raise error

    # -- taking back -----------------------------------------------------------------------

    def _taken_back(self, _: int, test: AnyBody) -> None:
        """Typed readings stand here again, to be corrected and kept anew."""
        is_gone = all(item.body is not test for item in self._desk.session.items_of("leak"))
        if isinstance(test, LeakTest) and is_gone and self._is_here(test) and self._sheet.is_empty:
            self._sheet.readings.fill(test)
        self._show_port()
        self._show_lines()
        self._look()

    def _is_here(self, test: LeakTest) -> bool:
        """Whether it was typed, in the way and at the place that stand there."""
        is_place = self._hole is not None and self._hole.is_of(test) and self._method is test.method
        return is_place and not test.is_logged


def _is_own(body: AnyBody) -> bool:
    return isinstance(body, LeakTest)
