"""The tables of the editor under the model tester, and the undo stack against a plain list."""

from __future__ import annotations

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule
from PySide6.QtCore import Qt

from tests.fakes.editor_view import EditorView, MemoryFiles, PlainSteps
from tests.fakes.runners import InlineRunner
from valvebench.bench.variants import bytes_of
from valvebench.model.draft_field import FORMS, Part
from valvebench.model.draft_fields import FIELDS
from valvebench.model.draft_file import draft_from
from valvebench.model.draft_lacks import check_draft
from valvebench.model.draft_places import with_pin_count
from valvebench.model.variant_draft import Spot, empty_draft, with_cells
from valvebench.ui.editor.history import History
from valvebench.ui.editor.paste import understand
from valvebench.ui.editor.presenter import EditorPresenter
from valvebench.ui.editor.table_model import PROBLEM_ROLE, LacksModel, PartModel, PasteModel

SHEETS = ["Name\tPin\tmin\nHeron\t3\t4,9\nGull\t1\tx\n", "1\t2\n3\t4\n", "Port\tFeeds\nP1\tAuk\n", "Pin\n7\n8\n"]


@pytest.mark.parametrize("part", list(Part))
def test_a_table_follows_the_draft_under_the_tester(qtmodeltester, part):
    model = PartModel(part)
    qtmodeltester.check(model)
    for rows in ([], [0, 1], [0, 1, 2, 3, 4], [0], []):
        draft = with_cells(empty_draft(), {Spot(part, row, FIELDS[part][0].key): str(row) for row in rows})
        model.set_rows(draft.rows(part), check_draft(draft).lacks)
        qtmodeltester.check(model)
        assert model.rowCount() == len(draft.rows(part)) + 1


def test_a_cell_says_what_is_wrong_and_keeps_its_text(qtbot):
    draft = with_cells(empty_draft(), {Spot(Part.DEVICES, 0, "low"): "4,9x"})
    model = PartModel(Part.DEVICES)
    model.set_rows(draft.rows(Part.DEVICES), check_draft(draft).lacks)
    index = model.index(0, 5)
    assert model.data(index) == "4,9x"
    assert "expected a resistance" in model.data(index, PROBLEM_ROLE)
    assert "expected a resistance" in model.data(index, Qt.ItemDataRole.AccessibleTextRole)
    with qtbot.waitSignal(model.typed) as told:
        model.setData(index, "4,9")
    assert told.args == [Spot(Part.DEVICES, 0, "low"), "4,9"]


def test_the_lists_of_what_is_missing_and_of_a_paste_under_the_tester(qtmodeltester):
    lacks, paste = LacksModel(), PasteModel()
    qtmodeltester.check(lacks)
    qtmodeltester.check(paste)
    for draft in (empty_draft(), with_pin_count(empty_draft(), 0, 3)):
        lacks.set_lacks(check_draft(draft).lacks)
        qtmodeltester.check(lacks)
    for sheet in SHEETS:
        paste.set_plan(understand(Part.DEVICES, sheet))
        qtmodeltester.check(paste)


class Editing(RuleBasedStateMachine):
    """The same edits on the toolkit's stack and on plain lists; the drafts have to be the same after each."""

    @initialize()
    def begin(self):
        self.pairs, self.views = [], []
        for steps in (History(), PlainSteps()):
            self.views.append(EditorView())
            presenter = EditorPresenter(self.views[-1], steps, MemoryFiles(), InlineRunner(), shrunk=bytes)
            if isinstance(steps, History):
                steps.changed.connect(presenter.refresh)
            else:
                steps.changed = presenter.refresh
            presenter.start()
            self.pairs.append((steps, presenter))

    def both(self, act):
        for _, presenter in self.pairs:
            act(presenter)

    @rule(
        part=st.sampled_from(list(Part)),
        row=st.integers(0, 3),
        column=st.integers(0, 16),
        text=st.sampled_from(["", "1", "3", "4,7", "x", "case", "ring", "solenoid", "link", "A"]),
    )
    def type_cell(self, part, row, column, text):
        fields = FIELDS[part]
        spot = Spot(part, 0 if part in FORMS else row, fields[column % len(fields)].key)
        self.both(lambda p: p.cell_typed(spot, text))

    @rule(part=st.sampled_from(list(Part)), rows=st.lists(st.integers(0, 4), max_size=3))
    def delete(self, part, rows):
        self.both(lambda p: p.rows_deleted(part, rows))

    @rule(count=st.integers(0, 14))
    def pins(self, count):
        self.both(lambda p: p.pins_wanted(count))

    @rule(name=st.sampled_from("1234"), x=st.floats(-1, 6), y=st.floats(-1, 3))
    def drag(self, name, x, y):
        self.both(lambda p: p.pin_moved(name, x, y))

    @rule(layout=st.sampled_from(["grid", "ring", "free"]))
    def lay_out(self, layout):
        self.both(lambda p: p.layout_set({"layout": layout}))

    @rule(
        part=st.sampled_from([Part.DEVICES, Part.PINS, Part.PORTS, Part.FASTENERS, Part.CHECKLIST]),
        sheet=st.sampled_from(SHEETS),
    )
    def paste(self, part, sheet):
        self.both(lambda p: p.paste_taken(understand(part, sheet)))

    @rule()
    def undo(self):
        self.both(lambda p: p.undo())

    @rule()
    def redo(self):
        self.both(lambda p: p.redo())

    @invariant()
    def are_the_same(self):
        (stack, one), (plain, other) = self.pairs
        assert stack.draft == plain.draft
        assert (stack.undo_words(), stack.redo_words()) == (plain.undo_words(), plain.redo_words())
        assert one.is_changed == other.is_changed
        assert self.views[0].state == self.views[1].state
        assert self.views[0].draft == plain.draft

    def teardown(self):
        """What can be saved is opened again as the same variant."""
        draft = with_cells(self.pairs[0][0].draft, {Spot(Part.BODY, 0, key): "made" for key in ("key", "title")})
        if not check_draft(draft).wrong:
            raw = bytes_of(draft)
            again = draft_from(raw, source="saved")
            assert bytes_of(again) == raw
            assert draft_from(bytes_of(again), source="saved") == again


@pytest.mark.usefixtures("qapp")
class TestEditing(Editing.TestCase):
    settings = settings(max_examples=40, stateful_step_count=25, deadline=None)
