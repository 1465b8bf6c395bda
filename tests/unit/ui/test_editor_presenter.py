"""The variant editor without a window: every edit a named step, nothing lost, nothing wrong saved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.fakes.editor_view import EditorView, MemoryFiles, PlainSteps
from tests.fakes.runners import HeldRunner, InlineRunner
from valvebench.model.draft_field import Part
from valvebench.model.draft_photos import feature_picture
from valvebench.model.errors import WorldFailed, bad
from valvebench.model.variant_draft import Spot, empty_draft, row_of, with_cells, with_rows
from valvebench.model.words import Place
from valvebench.ui.editor.presenter import EditorPresenter

BODY, PINS, DEVICES = Part.BODY, Part.PINS, Part.DEVICES
NAMED = with_cells(empty_draft(), {Spot(BODY, 0, "key"): "body", Spot(BODY, 0, "title"): "Body"})
SHEET = "Name\tPin\tGround\tmin\tmax\nHeron\t3\t11\t4,9\t5,5\nGull\t1\t11\t4,9\t5,5\n"
HERE = Path("body.json")


class Bench:
    def __init__(self, runner=None):
        self.view, self.steps, self.files, self.saved = EditorView(), PlainSteps(), MemoryFiles(), []
        self.runner = runner or InlineRunner()
        self.presenter = EditorPresenter(
            self.view, self.steps, self.files, self.runner, shrunk=bytes.upper, saved=self.saved.append
        )
        self.steps.changed = self.presenter.refresh
        self.presenter.start()

    def open_named(self):
        self.files.drafts[HERE] = NAMED
        self.presenter.open(HERE)


@pytest.fixture
def bench():
    return Bench()


@pytest.fixture
def opened(bench):
    bench.open_named()
    return bench


def test_a_new_variant_is_not_changed_and_has_nothing_to_undo(bench):
    assert bench.view.state == ("New variant", False, "", "")
    assert bench.view.draft == empty_draft()


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        pytest.param(lambda p: p.cell_typed(Spot(BODY, 0, "title"), " Body 2 "), "set title", id="cell"),
        pytest.param(lambda p: p.cell_typed(Spot(DEVICES, 0, "name"), "Heron"), "set Name of device row 1", id="row"),
        pytest.param(lambda p: p.pins_wanted(1), "make 1 pin", id="pin"),
        pytest.param(lambda p: p.pins_wanted(12), "make 12 pins", id="pins"),
        pytest.param(lambda p: p.layout_set({"layout": "ring"}), "place the pins", id="layout"),
        pytest.param(lambda p: p.electronics_set(is_on=True), "set electronics on board", id="electronics"),
    ],
)
def test_an_edit_is_one_named_step_and_undo_takes_it_back(bench, edit, words):
    edit(bench.presenter)
    after = bench.view.draft
    assert bench.view.state[1:] == (True, words, "")
    bench.presenter.undo()
    assert bench.view.draft == empty_draft()
    assert bench.view.state[1:] == (False, "", words)
    bench.presenter.redo()
    assert bench.view.draft == after


def test_an_edit_that_changes_nothing_is_no_step(opened):
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "Body")
    opened.presenter.cell_typed(Spot(DEVICES, 0, "name"), "  ")
    opened.presenter.pins_wanted(0)
    opened.presenter.rows_deleted(BODY, [0])
    opened.presenter.rows_deleted(PINS, [4])
    assert opened.view.state[1:] == (False, "", "")


def test_a_renamed_pin_takes_its_devices_along(bench):
    bench.presenter.pins_wanted(2)
    bench.presenter.cell_typed(Spot(DEVICES, 0, "from"), "1")
    bench.presenter.cell_typed(Spot(PINS, 0, "name"), "A1")
    assert bench.view.draft.text(DEVICES, 0, "from") == "A1"


def test_cells_are_cleared_and_rows_deleted(bench):
    bench.presenter.pins_wanted(4)
    bench.presenter.cells_cleared([Spot(PINS, 0, "x"), Spot(PINS, 0, "y"), Spot(PINS, 9, "x")])
    assert bench.view.state[2] == "clear 2 cells"
    bench.presenter.rows_deleted(PINS, [1, 3])
    assert bench.view.draft.texts(PINS, "name") == ("1", "3")
    assert bench.view.state[2] == "delete 2 pins"


def test_a_typed_pin_gets_a_place(bench):
    bench.presenter.cell_typed(Spot(PINS, 0, "name"), "1")
    assert bench.view.draft.text(PINS, 0, "x") == "0"


# --- drawing ------------------------------------------------------------------------------


def test_a_pin_is_dragged_stepped_and_chosen(bench):
    bench.presenter.pins_wanted(4)
    bench.presenter.pin_moved("1", 1.1, 0.9)
    assert bench.view.state[2] == "move pin 1"
    assert bench.view.draft.text(PINS, 3, "x") == "0"
    bench.presenter.pin_stepped("1", -1.0, 0.0)
    assert (bench.view.draft.text(PINS, 0, "x"), bench.view.draft.text(PINS, 0, "y")) == ("0", "1")
    bench.presenter.pin_chosen("3")
    assert bench.view.at == Spot(PINS, 2, "name")
    bench.presenter.pin_moved("no such pin", 0, 0)
    assert bench.view.state[2] == "move pin 1"


def test_another_connector_is_drawn_while_it_is_there(bench):
    bench.presenter.cell_typed(Spot(Part.FACES, 1, "name"), "B")
    bench.presenter.face_chosen(1)
    assert bench.view.face == 1
    bench.presenter.rows_deleted(Part.FACES, [1])
    assert bench.view.face == 0


# --- copy and paste -----------------------------------------------------------------------


def test_a_pasted_table_is_shown_first_and_is_one_step_with_its_pins(bench):
    bench.presenter.pasted(Spot(DEVICES, 0, "name"), SHEET)
    assert bench.view.draft == empty_draft()
    bench.presenter.paste_taken(replace(bench.view.plan, adds_pins=True))
    assert bench.view.draft.texts(DEVICES, "name") == ("Heron", "Gull")
    assert bench.view.draft.texts(PINS, "name") == ("1", "3", "11")
    assert bench.view.state[2] == "paste 2 rows"
    bench.presenter.undo()
    assert bench.view.draft == empty_draft()


def test_pasting_again_changes_the_rows_of_the_same_name(bench):
    for text in (SHEET, "Name\tmax\nGull\t6\n"):
        bench.presenter.pasted(Spot(DEVICES, 0, "name"), text)
        bench.presenter.paste_taken(bench.view.plan)
    assert bench.view.known == ("Heron", "Gull")
    assert bench.view.draft.texts(DEVICES, "high") == ("5,5", "6")
    assert bench.view.draft.texts(DEVICES, "low") == ("4,9", "4,9")


def test_pasted_pins_get_places(bench):
    bench.presenter.pasted(Spot(PINS, 0, "name"), "Pin\n1\n2\n3\n")
    bench.presenter.paste_taken(bench.view.plan)
    assert bench.view.draft.texts(PINS, "x") == ("0", "1", "0")


def test_one_cell_goes_in_at_once_and_nothing_is_told(bench):
    bench.presenter.pasted(Spot(DEVICES, 0, "low"), "4,7")
    assert bench.view.draft.text(DEVICES, 0, "low") == "4,7"
    bench.presenter.pasted(Spot(DEVICES, 0, "low"), "\n")
    assert bench.view.said[-1] == ("The clipboard holds no rows.", True)


def test_rows_are_copied_with_headings(bench):
    bench.presenter.pins_wanted(2)
    bench.presenter.copied(PINS, [1])
    assert bench.view.clipboard == "Pin\tConnector\tx\ty\n2\tA\t0\t1\n"
    bench.presenter.copied(PINS, [])
    assert len(bench.view.clipboard.splitlines()) == 3


# --- saving -------------------------------------------------------------------------------


def test_a_wrong_draft_is_not_saved_and_the_first_fault_has_the_keyboard(bench):
    bench.presenter.save()
    words, is_problem = bench.view.said[-1]
    assert words.startswith("Not saved. Key: ")
    assert "1 more" in words
    assert is_problem
    assert bench.view.at == Spot(BODY, 0, "key")
    assert bench.files.drafts == {}


def test_a_new_one_asks_where_and_is_then_saved_there(bench):
    bench.steps.push("name", NAMED)
    bench.presenter.save()
    assert bench.view.asked_where == ["body.json"]
    bench.presenter.save_to(HERE)
    assert bench.files.drafts[HERE] == NAMED
    assert bench.view.state[1] is False
    assert bench.saved == [HERE]
    bench.presenter.save()
    assert bench.view.asked_where == ["body.json"]


def test_an_incomplete_draft_is_saved(opened):
    opened.presenter.cell_typed(Spot(DEVICES, 0, "name"), "Heron")
    opened.presenter.cell_typed(Spot(DEVICES, 0, "from"), "1")
    opened.presenter.cell_typed(Spot(DEVICES, 0, "to"), "2")
    opened.presenter.save()
    assert opened.files.drafts[HERE].texts(DEVICES, "name") == ("Heron",)
    assert opened.view.lacks


def test_undo_back_to_what_was_saved_is_not_changed(opened):
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "Other")
    opened.presenter.save()
    opened.presenter.undo()
    assert opened.view.state[1] is True
    opened.presenter.redo()
    assert opened.view.state[1] is False


def test_what_is_typed_during_a_slow_save_stays_unsaved():
    runner = HeldRunner()
    bench = Bench(runner)
    bench.open_named()
    bench.presenter.cell_typed(Spot(BODY, 0, "title"), "One")
    runner.is_held = True
    bench.presenter.save()
    bench.presenter.cell_typed(Spot(BODY, 0, "title"), "Two")
    runner.release()
    assert bench.files.drafts[HERE].body("title") == "One"
    assert bench.view.state[1] is True


def test_a_refusing_disk_says_so_and_nothing_counts_as_saved(opened):
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "One")
    opened.files.refusal = WorldFailed("body.json: not saved (disk full). Make room.\nmore")
    opened.presenter.save()
    assert opened.view.said[-1] == ("body.json: not saved (disk full). Make room. (1 more)", True)
    assert opened.view.state[1] is True


def test_a_bug_is_not_hidden(opened):
    opened.files.refusal = KeyError("bug")
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "One")
    with pytest.raises(KeyError):
        opened.presenter.save()


# --- leaving ------------------------------------------------------------------------------


def test_leaving_unchanged_asks_nothing(opened):
    left = []
    opened.presenter.leave(lambda: left.append(1))
    assert (left, opened.view.asked_leave) == ([1], 0)


@pytest.mark.parametrize(
    ("answer", "goes", "title"), [("save", True, "One"), ("discard", True, "Body"), ("cancel", False, "Body")]
)
def test_leaving_changed_saves_gives_up_or_stays(opened, answer, goes, title):
    left = []
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "One")
    opened.view.answer = answer
    opened.presenter.leave(lambda: left.append(1))
    assert bool(left) is goes
    assert opened.files.drafts[HERE].body("title") == title


def test_leaving_a_wrong_draft_by_save_stays(opened):
    left = []
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "")
    opened.view.answer = "save"
    opened.presenter.leave(lambda: left.append(1))
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "Two")
    opened.presenter.save()
    assert left == []


def test_whoever_types_on_while_it_is_saved_stays():
    runner, left = HeldRunner(), []
    bench = Bench(runner)
    bench.open_named()
    bench.presenter.cell_typed(Spot(BODY, 0, "title"), "One")
    bench.view.answer = "save"
    runner.is_held = True
    bench.presenter.leave(lambda: left.append(1))
    bench.presenter.cell_typed(Spot(BODY, 0, "title"), "Two")
    runner.release()
    assert left == []


def test_a_save_that_is_called_off_leaves_nothing_to_follow(bench):
    left = []
    bench.steps.push("name", NAMED)
    bench.view.answer = "save"
    bench.presenter.leave(lambda: left.append(1))
    bench.presenter.save_cancelled()
    bench.presenter.save_to(HERE)
    assert left == []


def test_a_save_that_fails_does_not_leave(opened):
    left = []
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "One")
    opened.view.answer = "save"
    opened.files.refusal = WorldFailed("no")
    opened.presenter.leave(lambda: left.append(1))
    opened.files.refusal = None
    opened.presenter.save()
    assert left == []


def test_new_and_open_ask_first(opened):
    opened.presenter.cell_typed(Spot(BODY, 0, "title"), "One")
    opened.presenter.new()
    opened.presenter.open(HERE)
    assert opened.view.asked_leave == 2
    assert opened.view.draft.body("title") == "One"
    opened.view.answer = "discard"
    opened.presenter.new()
    assert opened.view.draft == empty_draft()


# --- photos -------------------------------------------------------------------------------

PHOTO = Path("lower.jpg")


def test_a_photo_is_read_made_smaller_and_named_in_one_step(opened):
    opened.presenter.photos.named(Place.BODY, PHOTO)
    assert opened.view.wanted_photos[-1][Place.BODY].file == "LOWER.JPG"  # what the shrinking made of it
    assert opened.view.state[1:3] == (True, "set the photo of the body")
    opened.presenter.undo()
    assert opened.view.wanted_photos[-1] == {}
    assert opened.steps.draft == NAMED


def test_a_photo_is_taken_away(opened):
    opened.presenter.photos.named(Place.CASE, PHOTO)
    opened.presenter.photos.removed(Place.CASE)
    assert opened.view.wanted_photos[-1] == {}
    assert opened.view.state[2] == "take away the photo of the case"


def test_what_is_no_picture_is_refused_in_words(opened):
    opened.files.refusal = bad("notes.txt", "neither PNG nor JPEG", "a picture in one of these formats")
    opened.presenter.photos.named(Place.BODY, Path("notes.txt"))
    words, is_problem = opened.view.said[-1]
    assert is_problem
    assert "neither PNG nor JPEG" in words
    assert opened.steps.draft == NAMED


def test_a_photo_that_was_missing_is_asked_for_again_when_it_is_named_again(opened):
    opened.presenter.photos.named(Place.BODY, PHOTO)
    asked = len(opened.view.wanted_photos)
    opened.presenter.photos.named(Place.BODY, PHOTO)
    assert len(opened.view.wanted_photos) == asked + 1


def test_other_edits_ask_for_no_photo_again(opened):
    asked = len(opened.view.wanted_photos)
    opened.presenter.cell_typed(Spot(BODY, 0, "note"), "x")
    assert len(opened.view.wanted_photos) == asked


# --- the photo of a feature ---------------------------------------------------------------

TWO = with_rows(NAMED, Part.FEATURES, [row_of(Part.FEATURES, {"name": name}) for name in ("plate mark", "cast mark")])


@pytest.fixture
def featured():
    bench = Bench(HeldRunner())
    bench.open_named()
    bench.steps.push("two features", TWO)
    return bench


def test_the_feature_at_hand_is_told_with_its_photo(featured):
    assert featured.view.wanted_feature == (0, "plate mark", None)
    featured.presenter.photos.feature_chosen(1)
    featured.presenter.photos.named(1, PHOTO)
    row, name, picture = featured.view.wanted_feature
    assert (row, name, picture.file) == (1, "cast mark", "LOWER.JPG")
    assert featured.view.state[2] == "set the photo of cast mark"
    assert featured.view.said[-1] == ("cast mark is shown by LOWER.JPG; saving puts it beside the file", False)
    featured.presenter.photos.removed(1)
    assert featured.view.wanted_feature == (1, "cast mark", None)
    featured.presenter.undo()
    assert featured.view.wanted_feature[2] == picture


def test_below_the_last_feature_there_is_none(featured):
    featured.presenter.photos.feature_chosen(2)
    assert featured.view.wanted_feature == (-1, "", None)


def test_a_photo_goes_to_its_feature_though_the_rows_above_went_while_it_was_read(featured):
    featured.runner.is_held = True
    featured.presenter.photos.named(1, PHOTO)
    featured.presenter.rows_deleted(Part.FEATURES, [0])
    featured.runner.release()
    assert feature_picture(featured.steps.draft, 0).file == "LOWER.JPG"


def test_a_photo_of_a_feature_that_is_gone_goes_nowhere(featured):
    featured.runner.is_held = True
    featured.presenter.photos.named(1, PHOTO)
    featured.presenter.rows_deleted(Part.FEATURES, [0, 1])
    featured.runner.release()
    assert featured.view.said[-1] == ("The feature this photo was chosen for, cast mark, is gone.", True)
    assert featured.steps.draft == NAMED


# --- a copy -------------------------------------------------------------------------------


def test_a_copy_is_on_no_disk_and_asks_where_it_goes(bench):
    bench.presenter.copy(lambda: NAMED, "A copy.")
    assert bench.view.state[:2] == ("Body", False)
    assert (bench.view.is_on_disk, bench.view.said[-1]) == (False, ("A copy.", False))
    bench.presenter.save()
    assert bench.view.asked_where == ["body.json"]
    bench.presenter.save_to(HERE)
    assert bench.view.is_on_disk


def test_a_copy_is_not_begun_over_what_is_not_saved(opened):
    opened.presenter.cell_typed(Spot(BODY, 0, "note"), "x")
    opened.presenter.copy(empty_draft, "A copy.")
    assert opened.view.asked_leave == 1
    assert opened.steps.draft.body("note") == "x"
