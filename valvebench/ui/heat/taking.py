"""Decides how a logger's file is taken in: read beside the window, looked at, then kept.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Final, NamedTuple, Protocol

from valvebench.bench.desk import PROGRAM, Desk
from valvebench.bench.heat_find import LogFile, TakenWith, heat_test
from valvebench.bench.heat_log import HeatFiles, HeatLog, LogHead, Stopped
from valvebench.bench.heat_take import Said, said_of
from valvebench.model.entry import Entry
from valvebench.model.errors import BadInput, BenchError
from valvebench.model.heat import HeatTest
from valvebench.ui.errors import error_words
from valvebench.ui.heat.shown import coil_named
from valvebench.ui.heat.take_shown import (
    LEAVE_OUT,
    ColumnShown,
    FileShown,
    Options,
    column_shown,
    file_shown,
    matched_device,
    read_options,
)
from valvebench.ui.keeper import BUSY, CLOSED, Keeper, Runs
from valvebench.ui.start.drops import as_path

if TYPE_CHECKING:
    from valvebench.judge.row import Row

READING: Final = "Reading the file"
NO_FILE: Final = "Name the file of the logger, or drop it onto the window."
NOTHING_CHOSEN: Final = "Say for one column at least which device it is, and leave out those that cannot be used."
TWICE: Final = "stands for two columns: choose each device once."
_MOST_PROBLEMS: Final = 6


class TakeView(Protocol):
    """What the presenter asks of the card."""

    def show_card(self, *, is_shown: bool) -> None: ...
    def show_path(self, path: str) -> None: ...
    def show_file(self, file: FileShown | None) -> None: ...
    def show_columns(self, columns: Sequence[ColumnShown]) -> None: ...
    def show_problems(self, problems: Mapping[str, str]) -> None: ...
    def show_busy(self, *, is_busy: bool) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class _Wanted:
    """One piece of reading on its way; the worker writes `lines`, the window reads it."""

    def __init__(self) -> None:
        self.lines, self.is_wanted = 0, True

    def step(self, lines: int) -> bool:
        """Called by the worker; whether to go on."""
        self.lines = lines
        return self.is_wanted


class _Read(NamedTuple):
    """A log that was read, with what the runs in it say."""

    log: HeatLog
    said: Mapping[str, Said]


class TakePresenter:
    """One file at a time; `reader` works beside the worker that keeps entries."""

    def __init__(
        self,
        view: TakeView,
        desk: Desk,
        keeper: Keeper,
        *,
        files: HeatFiles,
        reader: Runs,
        taken: Callable[[int], None],
        remember: Callable[[HeatTest, HeatLog], None],
    ) -> None:
        """`taken` hears the number of the newest entry, `remember` of the log, which need not be read again."""
        self._view, self._desk, self._keeper = view, desk, keeper
        self._files, self._reader, self._taken, self._remember = files, reader, taken, remember
        self._file: LogFile | None = None
        self._log: HeatLog | None = None
        self._said: Mapping[str, Said] = {}
        self._devices: dict[str, str] = {}
        self._options = Options()
        self._with: TakenWith | None = TakenWith()
        self._wanted: _Wanted | None = None
        self._to_keep: list[HeatTest] = []
        self._is_blob_kept = False

    # -- reading ---------------------------------------------------------------------------

    def begin(self) -> None:
        """The card comes to the front."""
        self._view.show_card(is_shown=True)
        self._view.say(CLOSED if self._desk.is_closed else "" if self._file else NO_FILE)

    def dropped(self, path: str) -> None:
        """A file was dropped onto the window."""
        self.begin()
        self._view.show_path(path)
        self.named(path)

    def named(self, typed: str) -> None:
        """Read the file of this name and show how it is written."""
        if not typed.strip():
            self._view.say(NO_FILE, is_problem=True)
            return
        self._forget()
        path, wanted = as_path(typed), self._begin_work()

        def work() -> tuple[LogFile, LogHead]:
            raw = self._files.bytes_of(path)
            return LogFile(raw, path.name), self._files.head_of(raw, source=path.name)

        self._reader.run(work, done=lambda made: self._headed(wanted, *made), failed=self._failing(wanted))

    def _forget(self) -> None:
        self._stop()
        self._file, self._log, self._said, self._devices = None, None, {}, {}
        self._is_blob_kept = False
        self._view.show_file(None)
        self._view.show_columns(())

    def _begin_work(self) -> _Wanted:
        self._stop()
        self._wanted = _Wanted()
        self._view.show_busy(is_busy=True)
        self.tick()
        return self._wanted

    def _stop(self) -> None:
        if self._wanted is not None:
            self._wanted.is_wanted = False
            self._wanted = None
            self._view.show_busy(is_busy=False)

    def tick(self) -> None:
        """A moment of waiting has passed: say how far it is."""
        if self._wanted is not None:
            lines = f", {self._wanted.lines} lines so far" if self._wanted.lines else ""
            self._view.say(f"{READING}{lines} \u2026")

    def _headed(self, wanted: _Wanted, file: LogFile, head: LogHead) -> None:
        if wanted is not self._wanted:
            return
        self._file = file
        self._view.show_file(file_shown(file.name, head))
        self._read_runs()

    def _read_runs(self) -> None:
        """All of it: the runs, and what they say."""
        file, given = self._file, self._with
        if file is None or given is None:
            return
        self._log = None
        wanted, k_celsius = self._begin_work(), self._k_celsius

        def work() -> _Read:
            log = self._files.log_of(file.raw, source=file.name, is_rounds=given.is_settled, step=wanted.step)
            return _Read(log, said_of(log, given, k_celsius(list(log.runs))))

        self._reader.run(work, done=lambda read: self._was_read(wanted, read), failed=self._failing(wanted))

    def _say_again(self) -> None:
        """The same runs with other options."""
        log, given = self._log, self._with
        if log is None or given is None:
            return
        wanted, k_celsius = self._begin_work(), self._k_celsius(list(log.runs))
        self._reader.run(
            lambda: _Read(log, said_of(log, given, k_celsius)),
            done=lambda read: self._was_read(wanted, read),
            failed=self._failing(wanted),
        )

    def _k_celsius(self, columns: Sequence[str]) -> dict[str, float]:
        """The conductor constant of the device of each column, where it has one [degC]."""
        variant = self._desk.variant
        names = {column: self._devices.get(column, matched_device(variant, column)) for column in columns}
        coils = {column: coil_named(variant, name) for column, name in names.items()}
        return {column: coil.k for column, coil in coils.items() if coil is not None}

    def _was_read(self, wanted: _Wanted, read: _Read) -> None:
        if wanted is not self._wanted:
            return
        self._stop()
        self._log, self._said = read.log, read.said
        for column in read.log.runs:
            self._devices.setdefault(column, matched_device(self._desk.variant, column))
        self._show_columns()
        count = len(read.log.runs)
        runs = "1 run" if count == 1 else f"{count} runs"
        self._view.say(CLOSED if self._desk.is_closed else f"{runs} found. Look at it, then keep it.")

    def _show_columns(self) -> None:
        variant, devices = self._desk.variant, self._devices
        self._view.show_columns(
            [column_shown(variant, column, devices[column], said) for column, said in self._said.items()]
        )

    def _failing(self, wanted: _Wanted) -> Callable[[Exception], None]:
        def failed(error: Exception) -> None:
            if not isinstance(error, BenchError):
                raise error
            if wanted is self._wanted:
                self._stop()
                if not isinstance(error, Stopped):
                    self._view.say(refusal_words(error), is_problem=True)

        return failed

    def cancel(self) -> None:
        """Stop what is being read; with nothing on its way the card goes, and nothing was kept."""
        if self._wanted is not None:
            self._stop()
            self._view.say("Reading was stopped; nothing was kept.")
            return
        self._forget()
        self._view.show_path("")
        self._view.show_card(is_shown=False)

    def left(self) -> None:
        """The page is left for good: nobody waits."""
        self._stop()

    # -- what the person says --------------------------------------------------------------

    def options_changed(self, options: Options) -> None:
        """Take up what was said of the log."""
        if options == self._options:
            return
        was_settled = self._options.is_settled
        self._options = options
        self._with, problems = read_options(options)
        self._view.show_problems(problems)
        if self._with is None:
            return
        if options.is_settled is not was_settled or self._log is None:
            self._read_runs()
        else:
            self._say_again()

    def device_chosen(self, column: str, device: str) -> None:
        """Another device for a column; wound of another metal it is held against that."""
        before = self._k_celsius([column])
        self._devices[column] = device
        self._show_columns()
        if device and self._k_celsius([column]) != before:
            self._say_again()

    # -- keeping ---------------------------------------------------------------------------

    def accept(self) -> None:
        """Keep the log and one entry for each device."""
        refusal = self._refusal()
        if refusal:
            self._view.say(refusal, is_problem=True)
            return
        self._to_keep = self._tests()
        self._keep_next(0)

    def _refusal(self) -> str:
        if self._desk.is_closed:
            return CLOSED
        if self._wanted is not None or self._keeper.is_busy:
            return BUSY if self._wanted is None else f"{READING}: wait, or stop it."
        if self._with is None:
            return "Put the options right first."
        chosen = [device for column, device in self._devices.items() if device and self._is_usable(column)]
        if not chosen or any(device and not self._is_usable(column) for column, device in self._devices.items()):
            return NOTHING_CHOSEN
        twice = next((device for device in chosen if chosen.count(device) > 1), None)
        return f"{twice} {TWICE}" if twice is not None else ""

    def _is_usable(self, column: str) -> bool:
        said = self._said.get(column)
        return said is not None and said.found is not None

    def _tests(self) -> list[HeatTest]:
        file, given, tests = self._file, self._with, []
        for column, device in self._devices.items():
            said = self._said.get(column)
            if file is not None and given is not None and device != LEAVE_OUT and said and said.found is not None:
                tests.append(heat_test(file, device, given, said.found, column=column, program=PROGRAM))
        return tests

    def _keep_next(self, number: int) -> None:
        if not self._to_keep or self._file is None:
            self._all_kept(number)
            return
        raw = None if self._is_blob_kept else self._file.raw
        self._view.say("Keeping \u2026")
        self._keeper.keep(self._to_keep[0], kept=self._kept, failed=self._not_kept, picture=raw)

    def _kept(self, entry: Entry, _: tuple[Row, ...]) -> None:
        self._is_blob_kept = True
        test = self._to_keep.pop(0)
        if self._log is not None:
            self._remember(test, self._log)
        self._devices[test.column or ""] = LEAVE_OUT  # kept: never twice, should a later one fail
        self._keep_next(entry.n)

    def _all_kept(self, number: int) -> None:
        self._forget()
        self._view.show_path("")
        self._view.show_card(is_shown=False)
        self._taken(number)

    def _not_kept(self, error: Exception) -> None:
        left = [test.device for test in self._to_keep]
        self._to_keep = []
        self._show_columns()
        self._view.say(f"Not saved: {', '.join(left)}. {error_words(error)} Try again.", is_problem=True)
        if not isinstance(error, BenchError):
            raise error


def refusal_words(error: Exception) -> str:
    """Everything that is wrong with a file, one line each, the longest lists cut."""
    if not isinstance(error, BadInput):
        return str(error)
    lines = [problem.text() for problem in error.problems[:_MOST_PROBLEMS]]
    left = len(error.problems) - len(lines)
    return "\n".join([*lines, f"and {left} more"] if left else lines)
