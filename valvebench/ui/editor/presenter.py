"""What the variant editor does: every edit a named step, every save checked.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Protocol

from valvebench.bench.variants import WrongDraft
from valvebench.model.draft_cells import YES
from valvebench.model.draft_codes import SWITCH_KEY, switches_in, with_code, word_of
from valvebench.model.draft_field import CODE_PARTS, FORMS, PART_TITLE, Part
from valvebench.model.draft_fields import field_of
from valvebench.model.draft_lacks import Checked, Lack, check_draft
from valvebench.model.draft_names import clutches_named, with_cell
from valvebench.model.draft_places import (
    filled_up,
    moved,
    placed,
    port_moved,
    port_stepped,
    rows_on,
    stepped,
    with_layout,
    with_pin_count,
)
from valvebench.model.errors import BenchError
from valvebench.model.variant import Picture, Variant
from valvebench.model.variant_draft import (
    Draft,
    Spot,
    empty_draft,
    identities_of,
    with_cells,
    without_rows,
)
from valvebench.model.words import Place
from valvebench.ui.editor.code_sheet import sheet_of
from valvebench.ui.editor.paste import Plan, is_one_cell, rows_of, tsv_of, understand
from valvebench.ui.editor.pasting import prepared, with_pasted
from valvebench.ui.editor.photos import Photos, Runs, Shrink

SAVE, DISCARD, CANCEL = "save", "discard", "cancel"


class EditorView(Protocol):
    """What the presenter asks of the page."""

    def show_draft(self, draft: Draft, lacks: Sequence[Lack], *, face: int) -> None: ...
    def show_state(self, title: str, *, is_changed: bool, is_on_disk: bool, undo: str, redo: str) -> None: ...
    def show_paste(self, plan: Plan, known: Sequence[str]) -> None: ...
    def say(self, words: str, *, is_problem: bool = False) -> None: ...
    def go_to(self, spot: Spot) -> None: ...
    def put_on_clipboard(self, text: str) -> None: ...
    def ask_where(self, suggested: str) -> None: ...
    def ask_leave(self, title: str) -> str: ...
    def want_photos(self, wanted: Mapping[Place, Picture]) -> None: ...
    def want_feature(self, row: int, name: str, picture: Picture | None) -> None: ...


class Steps(Protocol):
    """The draft in force and the way back."""

    @property
    def draft(self) -> Draft: ...
    def start(self, draft: Draft) -> None: ...
    def push(self, words: str, after: Draft) -> None: ...
    def undo(self) -> None: ...
    def redo(self) -> None: ...
    def undo_words(self) -> str: ...
    def redo_words(self) -> str: ...


class Files(Protocol):
    """Reads and writes variant files."""

    def load(self, path: Path) -> Draft: ...
    def save(self, path: Path, draft: Draft) -> None: ...
    def take_picture(self, path: Path, *, shrunk: Shrink) -> Picture: ...


def nothing() -> None:
    """Nothing to do afterwards."""


class EditorPresenter:
    """One variant being written."""

    def __init__(
        self,
        view: EditorView,
        steps: Steps,
        files: Files,
        runner: Runs,
        *,
        shrunk: Shrink,
        saved: Callable[[Path], None] = lambda _: None,
    ) -> None:
        self._view, self._steps, self._files, self._runner, self._on_saved = view, steps, files, runner, saved
        self._path: Path | None = None
        self._clean = steps.draft
        self._face = 0
        self._others: tuple[Variant, ...] = ()
        self._checked = check_draft(steps.draft)
        self._after_save: Callable[[], None] = nothing
        self.photos = Photos(view, steps, files, runner, shrunk=shrunk, failed=self._fail)

    # -- the document ----------------------------------------------------------------------

    @property
    def is_changed(self) -> bool:
        """Whether anything differs from what was opened or saved."""
        return self._steps.draft != self._clean

    @property
    def checked(self) -> Checked:
        """What is wrong and what is missing."""
        return self._checked

    def start(self) -> None:
        """Begin a new variant without asking."""
        self._begin(empty_draft(), None)
        self._view.say("")

    def new(self) -> None:
        """Begin a new variant; what is not saved is asked about."""
        self.leave(self.start)

    def open(self, path: Path) -> None:
        """Open a variant file; what is not saved is asked about."""
        self.leave(lambda: self._load(path))

    def _load(self, path: Path) -> None:
        work = self._files.load
        self._runner.run(lambda: work(path), done=lambda draft: self._loaded(draft, path), failed=self._fail)

    def _loaded(self, draft: Draft, path: Path) -> None:
        self._begin(draft, path)
        self._view.say(f"Opened {path.name}")

    def copy(self, load: Callable[[], Draft], words: str) -> None:
        """Begin with a copy of what `load` finds; nothing is on disk until it is saved under a name."""
        self.leave(lambda: self._runner.run(load, done=lambda draft: self._copied(draft, words), failed=self._fail))

    def _copied(self, draft: Draft, words: str) -> None:
        self._begin(draft, None)
        self._view.say(words)

    def _begin(self, draft: Draft, path: Path | None) -> None:
        self._path, self._clean, self._face = path, draft, 0
        self._steps.start(draft)
        self.photos.forget()
        self.refresh()

    def refresh(self) -> None:
        """Show the draft in force: after every step, and every undo and redo."""
        draft = self._steps.draft
        self._face = min(self._face, max(0, len(draft.rows(Part.FACES)) - 1))
        self._checked = check_draft(draft, others=self._others)
        self._view.show_draft(draft, self._checked.lacks, face=self._face)
        self.photos.show()
        self._show_state()

    def set_others(self, others: Sequence[Variant]) -> None:
        """The variants this one lies beside: what nothing tells apart is listed."""
        if tuple(others) != self._others:
            self._others = tuple(others)
            self.refresh()

    def _show_state(self) -> None:
        steps = self._steps
        self._view.show_state(
            self.title(),
            is_changed=self.is_changed,
            is_on_disk=self._path is not None,
            undo=steps.undo_words(),
            redo=steps.redo_words(),
        )

    def title(self) -> str:
        """What the variant is called, or that it is new."""
        draft = self._steps.draft
        return draft.body("title") or draft.body("key") or "New variant"

    # -- saving ----------------------------------------------------------------------------

    def save(self) -> None:
        """Save where it came from; a new one asks where."""
        self._save_then(nothing)

    def save_as(self) -> None:
        """Save under another name."""
        if self._may_save():
            self._view.ask_where(self._suggested())

    def _suggested(self) -> str:
        return self._path.name if self._path is not None else f"{self._steps.draft.body('key')}.json"

    def _save_then(self, after: Callable[[], None]) -> None:
        if not self._may_save():
            return
        self._after_save = after
        if self._path is None:
            self._view.ask_where(self._suggested())
        else:
            self.save_to(self._path)

    def _may_save(self) -> bool:
        wrong = self._checked.wrong
        if wrong:
            more = f" and {len(wrong) - 1} more" if len(wrong) > 1 else ""
            self._view.say(f"Not saved. {wrong[0].where}: {wrong[0].words}{more}", is_problem=True)
            self._view.go_to(wrong[0].spot)
        return not wrong

    def save_to(self, path: Path) -> None:
        """Write the file beside the window; what is typed meanwhile stays unsaved."""
        draft, save = self._steps.draft, self._files.save
        after, self._after_save = self._after_save, nothing
        self._view.say(f"Saving {path.name} \u2026")
        self._runner.run(
            lambda: save(path, draft), done=lambda _: self._has_saved(path, draft, after), failed=self._fail
        )

    def _has_saved(self, path: Path, draft: Draft, after: Callable[[], None]) -> None:
        self._path, self._clean = path, draft
        self._show_state()
        self._view.say(f"Saved as {path.name}")
        self._on_saved(path)
        if not self.is_changed:  # whoever typed on meanwhile stays
            after()

    def save_cancelled(self) -> None:
        """No place was chosen: nothing is saved, and nothing follows."""
        self._after_save = nothing

    def leave(self, then: Callable[[], None]) -> None:
        """Go on with something else once nothing can be lost: saved, given up, or not at all."""
        answer = self._view.ask_leave(self.title()) if self.is_changed else DISCARD
        if answer == SAVE:
            self._save_then(then)
        elif answer == DISCARD:
            self._clean = self._steps.draft
            then()

    def _fail(self, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        words = str(error)
        first, *others = words.splitlines()
        more = f" ({len(others)} more)" if others and not isinstance(error, WrongDraft) else ""
        self._view.say(f"{first}{more}", is_problem=True)

    # -- edits -----------------------------------------------------------------------------

    def _push(self, words: str, after: Draft) -> None:
        self._steps.push(words, after)

    def undo(self) -> None:
        """One step back."""
        self._steps.undo()

    def redo(self) -> None:
        """One step forward."""
        self._steps.redo()

    def cell_typed(self, spot: Spot, text: str) -> None:
        """Another text in a cell."""
        draft, words = self._steps.draft, text.strip()
        row_words = f"{PART_TITLE[spot.part].removesuffix('s').lower()} row {spot.row + 1}"
        field = field_of(spot.part, spot.key).title
        name = f"set {field.lower()}" if spot.part in FORMS else f"set {field} of {row_words}"
        if words or spot.row < len(draft.rows(spot.part)):
            after = with_cell(draft, spot, words)
            is_new_pin = spot.part is Part.PINS and len(after.rows(Part.PINS)) > len(draft.rows(Part.PINS))
            self._push(name, filled_up(after) if is_new_pin else after)

    def cells_cleared(self, spots: Sequence[Spot]) -> None:
        """Empty some cells."""
        draft = self._steps.draft
        inside = [spot for spot in spots if spot.row < len(draft.rows(spot.part))]
        self._push(f"clear {_counted(len(inside), 'cell')}", with_cells(draft, dict.fromkeys(inside, "")))

    def rows_deleted(self, part: Part, rows: Sequence[int]) -> None:
        """Take rows away."""
        inside = [row for row in rows if row < len(self._steps.draft.rows(part))]
        if inside and part not in FORMS:
            what = PART_TITLE[part].lower().removesuffix("s")
            self._push(f"delete {_counted(len(inside), what)}", without_rows(self._steps.draft, part, inside))

    def electronics_set(self, *, is_on: bool) -> None:
        """Put up or take down the stop sign."""
        text = YES if is_on else ""
        self._push("set electronics on board", with_cell(self._steps.draft, Spot(Part.BODY, 0, "electronics"), text))

    # -- the drawing -----------------------------------------------------------------------

    def face_chosen(self, face: int) -> None:
        """Draw another connector."""
        self._face = face
        self.refresh()

    def layout_set(self, texts: Mapping[str, str]) -> None:
        """Another layout, rows or columns for the connector in sight."""
        self._push("place the pins", with_layout(self._steps.draft, self._face, texts))

    def pins_wanted(self, count: int) -> None:
        """So many pins on the connector in sight."""
        draft = self._steps.draft
        if count != len(rows_on(draft, self._face)):
            self._push(f"make {_counted(count, 'pin')}", with_pin_count(draft, self._face, count))

    def pin_moved(self, name: str, x: float, y: float) -> None:
        """A pin was dragged."""
        row = self._row_named(name)
        if row is not None:
            self._push(f"move pin {name}", moved(self._steps.draft, self._face, row, (x, y)))

    def pin_stepped(self, name: str, dx: float, dy: float) -> None:
        """A pin was moved by an arrow key."""
        row = self._row_named(name)
        if row is not None:
            self._push(f"move pin {name}", stepped(self._steps.draft, self._face, row, (dx, dy)))

    def pin_chosen(self, name: str) -> None:
        """Show a pin's row."""
        row = self._row_named(name)
        if row is not None:
            self._view.go_to(Spot(Part.PINS, row, "name"))

    def _row_named(self, name: str) -> int | None:
        return next((pin.row for pin in placed(self._steps.draft, self._face) if pin.name == name), None)

    def port_moved(self, name: str, x: float, y: float) -> None:
        """A port was dragged."""
        row = self._port_named(name)
        if row is not None:
            self._push(f"move port {name}", port_moved(self._steps.draft, row, (x, y)))

    def port_stepped(self, name: str, dx: float, dy: float) -> None:
        """A port was moved by an arrow key."""
        row = self._port_named(name)
        if row is not None:
            self._push(f"move port {name}", port_stepped(self._steps.draft, row, (dx, dy)))

    def port_chosen(self, name: str) -> None:
        """Show a port's row."""
        row = self._port_named(name)
        if row is not None:
            self._view.go_to(Spot(Part.PORTS, row, "name"))

    def _port_named(self, name: str) -> int | None:
        names = self._steps.draft.texts(Part.PORTS, "name")
        return names.index(name) if name in names else None

    # -- copy and paste --------------------------------------------------------------------

    def copied(self, part: Part, rows: Sequence[int]) -> None:
        """Rows onto the clipboard, with their headings, as a spreadsheet takes them."""
        found = self._steps.draft.rows(part)
        chosen = [found[row] for row in rows if row < len(found)] or list(found)
        is_code = part in CODE_PARTS
        text = sheet_of(part, chosen, switches_in(self._steps.draft, part)) if is_code else tsv_of(part, chosen)
        self._view.put_on_clipboard(text)
        self._view.say(f"Copied {_counted(len(chosen), 'row')} with headings")

    def pasted(self, spot: Spot, text: str) -> None:
        """Text from the clipboard: one cell goes in, a table is shown first."""
        is_switch = spot.part in CODE_PARTS and spot.key.startswith(SWITCH_KEY)
        if is_one_cell(text):
            self.cell_typed(*(self._switch_cell(spot, text) if is_switch else (spot, text)))
            return
        text = prepared(self._steps.draft, spot, text)
        plan = understand(spot.part, text, at_key=spot.key)
        if plan is None:
            self._view.say("The clipboard holds no rows.", is_problem=True)
        else:
            self._view.show_paste(plan, identities_of(self._steps.draft, spot.part))

    def _switch_cell(self, spot: Spot, text: str) -> tuple[Spot, str]:
        """One state pasted into the column of a switch: the text of its row with that switch otherwise."""
        rows, switch = self._steps.draft.rows(spot.part), spot.key.removeprefix(SWITCH_KEY)
        before = self._steps.draft.text(spot.part, spot.row, "switches") if spot.row < len(rows) else ""
        return Spot(spot.part, spot.row, "switches"), with_code(before, switch, word_of(text))

    def paste_taken(self, plan: Plan) -> None:
        """The previewed rows become one step."""
        count = _counted(len(rows_of(plan)), "row")
        draft = with_pasted(self._steps.draft, plan)
        new = len(clutches_named(draft)) - len(clutches_named(self._steps.draft))
        named = f", {new} new clutch{'' if new == 1 else 'es'} named in Body" if new > 0 else ""
        self._push(f"paste {count}", draft)
        self._view.say(f"Pasted {count}{named}; Ctrl+Z takes them back")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
