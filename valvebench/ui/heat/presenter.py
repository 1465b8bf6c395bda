"""Decides what the Heat page shows of the runs that were kept.  Knows no Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, Protocol

from valvebench.bench.desk import Desk
from valvebench.bench.heat_log import Stopped
from valvebench.judge.heat_rows import heat_key
from valvebench.model.entry import AnyBody
from valvebench.model.errors import BenchError
from valvebench.model.heat import HeatTest
from valvebench.ui.errors import error_words, raised
from valvebench.ui.heat.shown import (
    RATIO_WORDS,
    CardShown,
    KeptRun,
    RunShown,
    card_shown,
    coils_of,
    front_of,
    kept_run,
    plain_text,
    plot_sentence,
    run_shown,
)
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.taking_back import OF_ANY_PAGE, TakingBack

if TYPE_CHECKING:
    from valvebench.diagnose.heat_matched import Ratio
    from valvebench.ui.heat.loading import Loader, Plots

EMPTY: Final = (
    "Here a warmed part is held against copper. A coil of copper gains 0.39 % for each degree; a bad contact stays "
    "put or grows with heat, and an opening shows with its temperature. Warm the part once, let it cool with the log "
    "running, and take in the file of the logger"
)
OR_ROUNDS: Final = "; or go round all pairs at each temperature and type them on Pins."
"""Only a variant says which pair is which winding: without one there are no rounds."""
JUDGING: Final = "Judging \u2026"
DRAWING: Final = "Drawing the run \u2026"
NO_PAIRS: Final = "No two like devices were read at the same moments."
HEAT_SAFETY: Final = (
    "Parts above 60 \u00b0C burn. Dry of solvent before any heat; vapour from cleaner on hot metal is poisonous. "
    "Stay under the lowest rating on the part. An oil bath: well below its flash point, free of water, never left "
    "alone. The maker's procedure, local regulations and licensed practice come first."
)


HEAT_ELECTRONICS: Final = (
    "Stop: electronics on board. Static care; do not probe or warm it unless the maker says so, and how far."
)


class HeatView(Protocol):
    """What the presenter asks of the page."""

    def show_empty(self, words: str) -> None: ...
    def offer_rounds(self, *, is_offered: bool) -> None: ...
    def show_stop(self, words: str) -> None: ...
    def show_runs(self, rows: Sequence[RunShown], current: int) -> None: ...
    def show_card(self, card: CardShown) -> None: ...
    def show_waiting(self, words: str, *, is_busy: bool = False) -> None: ...
    def show_plots(self, plots: Plots, sentence: str) -> None: ...
    def show_ratios(self, lines: Sequence[str]) -> None: ...
    def show_pending(self, lines: Sequence[str]) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...


class Reading:
    """One log on its way: how far it is, and whether it is still wanted.

    The worker writes `lines`, the window reads it; neither waits for the other.
    """

    def __init__(self) -> None:
        self.lines, self.is_wanted = 0, True

    def step(self, lines: int) -> bool:
        """Called by the worker; whether to go on."""
        self.lines = lines
        return self.is_wanted

    def words(self) -> str:
        """How far it is."""
        return f"{DRAWING[:-2]}: {self.lines} lines read \u2026" if self.lines else DRAWING


class HeatPresenter:
    """The runs of one open session; `runner` works beside the one that keeps entries."""

    def __init__(self, view: HeatView, desk: Desk, keeper: Keeper, *, runner: Runs, loader: Loader) -> None:
        self._view, self._desk, self._keeper = view, desk, keeper
        self._runner, self._loader = runner, loader
        self._runs: dict[int, KeptRun] = {}
        self._shown: KeptRun | None = None
        self._drawn: KeptRun | None = None
        self._reading: Reading | None = None
        self._comparing: Reading | None = None
        self._ratios_of: object = None
        self._is_in_front = self._is_judged = False
        self._pending: Sequence[str] = ()
        self.taking_back = TakingBack(keeper, view.say, done=self._taken_back, told=OF_ANY_PAGE)
        keeper.listen(self._changed)

    # -- what is shown ---------------------------------------------------------------------

    def start(self) -> None:
        """Read the runs of the session; nothing is drawn before somebody looks."""
        variant = self._desk.variant
        has_electronics = variant is not None and variant.electronics_on_board
        self._view.offer_rounds(is_offered=variant is not None and not has_electronics)
        self._view.show_stop(HEAT_ELECTRONICS if has_electronics else "")
        self._read()
        self._show()

    def came_to_front(self) -> None:
        """Somebody looks: the run in front is drawn."""
        self._is_in_front = True
        self._changed()
        self._draw()

    def left(self) -> None:
        """Nobody looks any more: what is on its way need not come."""
        self._is_in_front = False
        self._stop()

    def _changed(self) -> None:
        """Something was kept or taken back; entry on another page is not held up by this one."""
        if not self._is_in_front:
            return
        before, was_judged = self._runs, self._is_judged
        self._read()
        if self._runs != before or self._is_judged is not was_judged:
            self._show()
        self._look_for_pending()

    def _look_for_pending(self) -> None:
        """Typed rounds that make no run yet say why, found beside the window."""
        work = self._loader.pending(self._desk.session)
        self._runner.run(work, done=self._view_pending, failed=raised)

    def _view_pending(self, lines: Sequence[str]) -> None:
        if lines != self._pending:
            self._pending = lines
            self._view.show_pending(lines)

    def _read(self) -> None:
        """The runs that count, by number, as the book judges them; before it has, there are none."""
        book, session = self._keeper.book, self._desk.session
        self._is_judged = book is not None
        tests = {item.n: item.body for item in session.items_of("heat-run") if isinstance(item.body, HeatTest)}
        names = [coil.name for coil in coils_of(self._desk.variant)] + [test.device for test in tests.values()]
        rows = [row for name in dict.fromkeys(names) if book for row in book.rows_of_item(heat_key(name))]
        runs = [run for row in rows if (run := kept_run(row, tests)) is not None]
        self._runs = {run.number: run for run in sorted(runs, key=lambda run: run.entries)}

    def _show(self) -> None:
        if not self._runs:
            self._stop()
            self._shown = self._drawn = None
            empty = EMPTY + (OR_ROUNDS if self._desk.variant is not None else ".")
            self._view.show_empty(empty if self._keeper.book is not None else JUDGING)
            return
        stays = self._shown is not None and self._shown.number in self._runs
        number = self._shown.number if self._shown is not None and stays else front_of(list(self._runs.values()))
        self._view.show_runs([run_shown(run) for run in self._runs.values()], number)
        self._show_run(self._runs[number])

    def chosen(self, number: int) -> None:
        """Another line of the list."""
        run = self._runs.get(number)
        if run is not None and run != self._shown:
            self._show_run(run)

    def taken(self, number: int) -> None:
        """A file was taken in, its newest entry of this number; what is news in it comes to the front."""
        self._read()
        newest = self._runs.get(number)
        if newest is not None and newest.test is not None:
            mine = newest.test
            of_file = [run for run in self._runs.values() if run.test is not None and is_same_log(run.test, mine)]
            self._shown = self._runs[front_of(of_file)]
            self._drawn = None
        self._show()
        self._view.say(f"Kept: entry {number} is the newest.")

    def choose(self, item: str) -> None:
        """Go to an item such as `heat Gull`, its newest run."""
        name = item.partition(" ")[2]
        numbers = [number for number, run in self._runs.items() if run.device == name]
        if numbers:
            self._shown = self._runs[numbers[-1]]
            self._drawn = None
            self._show()

    def _show_run(self, run: KeptRun) -> None:
        self._shown = run
        self._view.show_card(card_shown(run))
        self._draw()

    # -- drawing ---------------------------------------------------------------------------

    def _draw(self) -> None:
        """Read the log of the run in front beside the window, unless it is drawn already."""
        run = self._shown
        if run is None or not self._is_in_front:
            return
        if run == self._drawn:
            if self._reading is None:
                self._compare(run)  # another run of the log may have been taken back
            return
        self._stop()
        self._drawn = run
        reading = self._reading = Reading()
        self._view.show_waiting(DRAWING, is_busy=True)
        plots = self._loader.plots(run, self._desk.session)
        self._runner.run(
            lambda: plots(reading.step),
            done=lambda made: self._drawn_up(reading, run, made),
            failed=lambda error: self._not_drawn(reading, error),
        )

    def _of_the_same_log(self, run: KeptRun) -> list[HeatTest]:
        mine = run.test
        tests = {one.device: one.test for one in self._runs.values() if one.test is not None}
        return [one for one in tests.values() if mine is not None and is_same_log(one, mine)]

    def _drawn_up(self, reading: Reading, run: KeptRun, plots: Plots) -> None:
        if reading is not self._reading:
            return
        self._reading = None
        self._view.show_plots(plots, plot_sentence(run))
        self._compare(run)

    def _compare(self, run: KeptRun) -> None:
        """Like devices at the same moments; many long runs take longer than the drawing, so that comes first.

        They are the same for every run of one log, so that nothing moves where another line is chosen.
        """
        of = self._read_with(run)
        if of == self._ratios_of:
            return
        self._ratios_of = of
        reading = self._comparing = Reading()
        ratios = self._loader.ratios(run, self._desk.session, self._of_the_same_log(run))
        self._runner.run(
            lambda: ratios(reading.step),
            done=lambda made: self._compared(reading, made),
            failed=lambda error: self._not_compared(reading, error),
        )

    def _read_with(self, run: KeptRun) -> object:
        """What the comparison depends on: the runs of one log, or all rounds typed with one meter."""
        if run.test is not None:
            return tuple(self._of_the_same_log(run))
        return run.found.meter, [one for one in self._runs.values() if one.test is None]

    def _compared(self, reading: Reading, ratios: Sequence[Ratio]) -> None:
        if reading is self._comparing:
            self._comparing = None
            self._view.show_ratios(ratio_lines(ratios))

    def _not_compared(self, reading: Reading, error: Exception) -> None:
        """The drawing has said already what is wrong with the log."""
        if not isinstance(error, BenchError):
            raise error
        if reading is self._comparing:
            self._comparing = None

    def _not_drawn(self, reading: Reading, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        if reading is not self._reading:
            return
        self._reading = None
        self._view.show_waiting("" if isinstance(error, Stopped) else f"Cannot be drawn. {error_words(error)}")

    def _stop(self) -> None:
        """Nobody waits for what is being read."""
        if self._comparing is not None:
            self._comparing.is_wanted = False
            self._comparing = None
            self._drawn = self._ratios_of = None
        if self._reading is not None:
            self._reading.is_wanted = False
            self._reading = None
            self._drawn = None

    def tick(self) -> None:
        """A moment of waiting has passed."""
        if self._reading is not None:
            self._view.show_waiting(self._reading.words(), is_busy=True)

    # -- undo ------------------------------------------------------------------------------

    def withdraw(self, number: int) -> None:
        """Take back the run of one line."""
        run = self._runs.get(number)
        if run is not None and run.test is not None:
            self.taking_back.withdraw(number)

    def _taken_back(self, _: int, __: AnyBody) -> None:
        self._read()
        self._show()


def ratio_lines(ratios: Sequence[Ratio]) -> list[str]:
    """Like devices compared, those that drift first."""
    in_order = sorted(ratios, key=lambda one: one.constant is not False)
    lines = [f"{one.a} to {one.b}: {plain_text(one.ratio)}, {RATIO_WORDS[one.constant]}." for one in in_order]
    return lines or [NO_PAIRS]


def is_same_log(one: HeatTest, other: HeatTest) -> bool:
    """Whether two runs come from one file, read in one way."""
    return (one.sha256, one.is_settled) == (other.sha256, other.is_settled)
