"""Decides what the table of selector positions shows and keeps.  Knows no Qt."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Sequence
from typing import Final, NamedTuple, Protocol

from valvebench.judge.codes import CODE_KEY, code_key, code_of
from valvebench.judge.row import Row
from valvebench.model.entry import AnyBody, Entry, SwitchTest, Withdraw
from valvebench.model.errors import BenchError
from valvebench.model.variant import CodeRow, Variant
from valvebench.model.variant_codes import asked_of, switches_of
from valvebench.model.words import SwitchState, Verdict
from valvebench.ui.codes.shown import CellShown, LineShown, States, cell_shown, line_shown
from valvebench.ui.keeper import CLOSED, Keeper

NOT_ASKED: Final = "This switch does not matter in this position."
NOTHING_HERE: Final = "Nothing was read here yet."
NOTHING_TO_UNDO: Final = "The newest entry is no switch of this table. Leave the table to take it back."
STILL_KEEPING: Final = "Still keeping the last answer."
WHY: Final = "read again in the table of selector positions"
ALL_READ: Final = "Every position was read."


class Cell(NamedTuple):
    """A place in the table: a position and a switch, each counted from nought."""

    row: int
    column: int


class CodesView(Protocol):
    """What the presenter asks of the card."""

    def show_table(self, switches: Sequence[str]) -> None: ...
    def show_lines(self, lines: Sequence[LineShown], aside: str) -> None: ...
    def show_cell(self, cell: CellShown) -> None: ...
    def go_to(self, cell: Cell) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...
    def leave(self) -> None: ...


class _Read(NamedTuple):
    """An entry that counts: its number and what it says."""

    n: int
    state: SwitchState


class _Given(NamedTuple):
    """An answer that is not on disk yet; with `entry` it corrects an earlier one."""

    cell: Cell
    state: SwitchState
    entry: int | None = None


class CodesPresenter:
    """The code table of one open session, cell by cell."""

    def __init__(self, view: CodesView, keeper: Keeper) -> None:
        self._view, self._keeper = view, keeper
        variant = keeper.desk.variant
        self._table: tuple[CodeRow, ...] = variant.selector_codes if variant is not None else ()
        self._switches = switches_of(self._table)
        self._waiting: deque[_Given] = deque()
        self._at = Cell(0, 0)
        self.is_on = False
        keeper.listen(self._changed)

    @property
    def has_table(self) -> bool:
        """Whether the variant has anything to read here."""
        return bool(self._table)

    # -- coming and going ------------------------------------------------------------------

    def open(self, key: str = "") -> None:
        """Show the table at the first switch that is still to be read, of one position if its key is named."""
        if not self.has_table:
            return
        self.is_on = True
        self._view.show_table(self._switches)
        self._view.say("")
        position = key.removeprefix(CODE_KEY)
        rows = [row for row, code in enumerate(self._table) if code.position == position]
        self._show()
        self._go_to(self._first_open(rows[0] if rows else 0) or Cell(rows[0] if rows else 0, 0))

    def open_next(self) -> None:
        """Show the table where it goes on."""
        self.open()

    def leave(self) -> None:
        """Back to the readings."""
        self.is_on = False
        self._view.leave()

    def _changed(self) -> None:
        if self.is_on and not self._waiting:
            self._show()
            self._show_cell()

    # -- what was read ---------------------------------------------------------------------

    def _read(self) -> dict[Cell, list[_Read]]:
        """The entries that count, by cell."""
        variant = self._keeper.desk.variant
        found: dict[Cell, list[_Read]] = defaultdict(list)
        for item in self._keeper.desk.session.items_of("switch"):
            code = code_of(variant, item.body)
            if code is not None and isinstance(item.body, SwitchTest):
                cell = Cell(self._table.index(code), self._switches.index(item.body.device))
                found[cell].append(_Read(item.n, item.body.state))
        return found

    def _states(self) -> dict[Cell, frozenset[SwitchState]]:
        """What each cell was read as; an answer on its way to the disk stands already."""
        states = {cell: frozenset(one.state for one in read) for cell, read in self._read().items()}
        for given in self._waiting:
            before = states.get(given.cell, frozenset()) if given.entry is None else frozenset()
            states[given.cell] = before | {given.state}
        return states

    def _row(self, code: CodeRow) -> Row | None:
        book = self._keeper.book
        rows = book.rows_of_item(code_key(code.position)) if book is not None else ()
        return rows[-1] if rows else None

    def _show(self) -> None:
        states = self._states()
        lines = []
        for row, code in enumerate(self._table):
            own: States = {
                name: states.get(Cell(row, column), frozenset()) for column, name in enumerate(self._switches)
            }
            lines.append(line_shown(row, code, self._switches, own, self._row(code)))
        done = sum(line.verdict not in (None, Verdict.NOT_TAKEN) for line in lines)
        self._view.show_lines(lines, f"{done} of {len(lines)}")

    def _show_cell(self) -> None:
        variant, code = self._keeper.desk.variant, self._table[self._at.row]
        if isinstance(variant, Variant):
            self._view.show_cell(cell_shown(variant, code, self._switches[self._at.column], self._row(code)))

    # -- where one is ----------------------------------------------------------------------

    def moved(self, row: int, column: int) -> None:
        """The keyboard is in another cell."""
        self._at = Cell(row, column)
        self._show_cell()

    def _go_to(self, cell: Cell) -> None:
        self._at = cell
        self._view.go_to(cell)
        self._show_cell()

    def _first_open(self, from_row: int, from_column: int = 0) -> Cell | None:
        """The next cell without an answer, position by position, round the end."""
        states, wide = self._states(), len(self._switches)
        start = from_row * wide + from_column
        count = len(self._table) * wide
        for place in (*range(start, count), *range(start)):
            cell = Cell(*divmod(place, wide))
            if self._is_asked(cell) and not states.get(cell):
                return cell
        return None

    def _is_asked(self, cell: Cell) -> bool:
        return self._switches[cell.column] in asked_of(self._table[cell.row])

    # -- what a person does ----------------------------------------------------------------

    def answer(self, state: SwitchState) -> None:
        """One key: the answer is on its way to the disk, the next cell comes."""
        cell = self._at
        if self._keeper.desk.is_closed:
            self._view.say(CLOSED, is_problem=True)
            return
        if not self._is_asked(cell):
            self._view.say(NOT_ASKED, is_problem=True)
            return
        is_settling = not self._waiting and self._keeper.is_judging  # what was taken back is judged anew first
        if is_settling or any(given.cell == cell for given in self._waiting):
            self._view.say(STILL_KEEPING)
            return
        was_idle = not self._waiting
        read = self._read().get(cell, [])
        other = [one.n for one in read if one.state is not state]
        self._waiting.extend([_Given(cell, state, n) for n in other] if read else [_Given(cell, state)])
        self._view.say("")
        self._show()
        self._go_to(self._first_open(*cell) or cell)
        if was_idle and self._waiting:
            self._send()

    def take_back(self) -> None:
        """The newest entry of the cell no longer counts."""
        read = self._read().get(self._at, [])
        if self._keeper.desk.is_closed or not read or self._waiting:
            words = STILL_KEEPING if self._waiting else NOTHING_HERE
            self._view.say(CLOSED if self._keeper.desk.is_closed else words)
            return
        self._keep_alone(Withdraw(entry=read[-1].n, why="taken back at the bench"))

    def undo(self) -> None:
        """Take back the newest entry, where it is one of this table."""
        body = self._keeper.desk.undo_body()
        session, variant = self._keeper.desk.session, self._keeper.desk.variant
        entry = next((each for each in session.entries if body is not None and each.n == body.entry), None)
        number = getattr(entry.body, "entry", entry.n) if entry is not None else 0
        item = self._keeper.desk.find_item(number)
        if body is None or item is None or code_of(variant, item.body) is None:
            self._view.say(NOTHING_TO_UNDO)
            return
        self._keep_alone(body)

    def _keep_alone(self, body: AnyBody) -> None:
        self._keeper.keep(body, kept=self._taken_back, failed=self._not_changed)

    def _taken_back(self, entry: Entry, _: tuple[Row, ...]) -> None:
        number = getattr(entry.body, "entry", 0)
        self._show()
        self._show_cell()
        self._view.say(f"Withdrawn: entry {number}. Nothing is lost, both stay in the trail.")

    def _send(self) -> None:
        given = self._waiting[0]
        try:
            body = self._body_of(given)
        except BenchError as error:
            self._not_kept(error)
            return
        self._keeper.keep(body, kept=self._kept, failed=self._not_kept)

    def _body_of(self, given: _Given) -> AnyBody:
        if given.entry is not None:
            return self._keeper.desk.corrected(given.entry, {"state": given.state.value}, WHY)
        code = self._table[given.cell.row]
        return SwitchTest(device=self._switches[given.cell.column], state=given.state, selector=code.position)

    def _kept(self, entry: Entry, _: tuple[Row, ...]) -> None:
        given = self._waiting.popleft()
        code = self._table[given.cell.row]
        if self._waiting:
            self._send()
        if not self.is_on:
            return
        self._show()
        self._show_cell()
        is_done = self._first_open(0) is None
        name = self._switches[given.cell.column]
        words = f"Kept as entry {entry.n}: {name} {given.state.value} in {code.position}."
        self._view.say(f"{words} {ALL_READ}" if is_done else words)

    def _not_kept(self, error: Exception) -> None:
        """Back to the first answer that is not on disk; those typed after it are given again."""
        lost, first = len(self._waiting), self._waiting[0]
        self._waiting.clear()
        self._show()
        self._go_to(first.cell)
        also = " Nor were the answers after it." if lost > 1 else ""
        self._not_changed(error, also=f"{also} Answer again.")

    def _not_changed(self, error: Exception, *, also: str = "") -> None:
        self._view.say(f"Not saved. {error}{also}", is_problem=True)
        if not isinstance(error, BenchError):
            raise error


class HoldsLever(Protocol):
    """Who takes the readings."""

    @property
    def lever(self) -> str | None: ...
    def set_lever(self, position: str | None, text: str = "") -> None: ...


class LeverView(Protocol):
    """What the presenter asks of the key."""

    def show_lever(self, words: str) -> None: ...


class LeverPresenter:
    """One key says where the lever stands, one position after the other; readings through a contact keep it."""

    def __init__(self, view: LeverView, readings: HoldsLever, variant: Variant | None) -> None:
        self._view, self._readings = view, readings
        codes = variant.selector_codes if variant is not None else ()
        self._positions: tuple[str | None, ...] = (None, *(code.position for code in codes))

    def words(self) -> tuple[str, ...]:
        """Everything the key can say."""
        return tuple(_lever_words(position) for position in self._positions)

    def turn(self, text: str) -> None:
        """The next position, and after the last none; `text` stands in the field."""
        place = (self._positions.index(self._readings.lever) + 1) % len(self._positions)
        self._readings.set_lever(self._positions[place], text)
        self._view.show_lever(_lever_words(self._positions[place]))


def _lever_words(position: str | None) -> str:
    return f"lever in {position}" if position is not None else "lever not said"
