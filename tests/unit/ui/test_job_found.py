"""What was found: fluid, notes and photos become entries, and nothing typed is lost when one is refused."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import Bench, last
from valvebench.model.entry import FluidFound, Note, Photo
from valvebench.model.errors import WorldFailed
from valvebench.model.words import Cooler
from valvebench.ui.job.found import (
    COOLER_WORDS,
    FLUID_PART,
    LIST_PART,
    NOTE_PART,
    PHOTO_PART,
    FoundPresenter,
    FoundView,
)

PNG = b"\x89PNG\r\n\x1a\n and so on"


class Files:
    """Holds pictures by name."""

    def __init__(self) -> None:
        self.raw = {"mark.png": PNG, "words.png": b"no picture"}

    def read_file(self, path):
        if path.name not in self.raw:
            raise WorldFailed(f"{path}: cannot be read (No such file). Check the name of the file.")
        return self.raw[path.name]


class Page:
    """The card of one session."""

    def __init__(self) -> None:
        self.bench = Bench().start()
        self.view = create_autospec(FoundView, instance=True)
        self.found = FoundPresenter(self.view, self.bench.keeper, self.bench.runner, Files())

    @property
    def bodies(self):
        return [item.body for item in self.bench.desk.session.items]

    @property
    def said(self):
        return self.view.say.call_args

    @property
    def lines(self):
        return [(line.what, line.words) for line in self.view.show_lines.call_args.args[0]]


@pytest.fixture
def page():
    return Page()


def test_fluid_and_debris_become_one_entry(page):
    page.found.fluid_typed({"colour": "brown", "smell": "burnt", "level": "", "debris": "glitter, fine"})
    assert page.bodies == [FluidFound(colour="brown", smell="burnt", debris="glitter, fine")]
    assert page.lines == [("Fluid", "colour brown; smell burnt; debris glitter, fine")]
    assert last(page.view.clear) == (FLUID_PART,)


def test_the_cooler_is_one_of_four_words_and_may_stand_alone(page):
    page.found.fluid_typed({"colour": "", "smell": "", "level": "", "debris": "", "cooler": "not_flushed"})
    assert page.bodies == [FluidFound(cooler=Cooler.NOT_FLUSHED)]
    assert page.lines == [("Fluid", "cooler not flushed")]
    assert list(COOLER_WORDS.values()) == ["Not recorded", "Flushed", "Replaced", "Not flushed", "Not known"]


def test_a_fluid_form_without_words_is_refused_beside_it(page):
    page.found.fluid_typed({"colour": "", "smell": "", "level": "", "debris": "", "cooler": ""})
    assert page.bodies == []
    assert (page.said.args[0], page.said.kwargs) == (FLUID_PART, {"is_problem": True})


def test_a_note_is_kept_as_typed(page):
    page.found.note_typed("latch broken, \u00fc <b>")
    assert page.bodies == [Note(text="latch broken, \u00fc <b>")]


def test_an_empty_note_is_asked_for(page):
    page.found.note_typed("")
    assert page.bodies == []
    assert page.said.args == (NOTE_PART, "Type what is to be remembered.")


def test_a_photo_is_kept_by_its_hash_with_what_it_shows(page):
    page.found.photo_typed("shop/mark.png", "shop's own mark")
    (photo,) = page.bodies
    assert isinstance(photo, Photo)
    assert (photo.of, photo.file_name, photo.size_bytes) == ("shop's own mark", "mark.png", len(PNG))
    assert page.bench.store.blobs[photo.sha256] == PNG
    assert last(page.view.show_picture) == (2, PNG)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        pytest.param("gone.png", "cannot be read", id="no such file"),
        pytest.param("words.png", "neither PNG nor JPEG", id="no picture"),
        pytest.param("", "Name the picture", id="nothing named"),
    ],
)
def test_a_photo_that_cannot_be_is_refused_and_its_name_stays(page, name, words):
    page.found.photo_typed(name, "pan")
    assert page.bodies == []
    assert words in page.said.args[1]
    assert page.said.kwargs == {"is_problem": True}
    page.view.clear.assert_not_called()


def test_a_chosen_photo_waits_for_what_it_shows(page):
    page.found.photo_named(Path("mark.png"))
    assert last(page.view.show_path) == ("mark.png",)
    assert page.bodies == []


@pytest.mark.parametrize("kind", ["fluid", "note", "photo"])
def test_a_full_disk_keeps_what_was_typed_and_a_second_try_works(page, kind):
    act = {
        "fluid": lambda: page.found.fluid_typed({"colour": "brown"}),
        "note": lambda: page.found.note_typed("latch broken"),
        "photo": lambda: page.found.photo_typed("mark.png", "pan"),
    }[kind]
    page.bench.store.is_full = True
    act()
    assert page.said.args[1] == "Not saved: no space left What you typed still stands here."
    page.view.clear.assert_not_called()
    assert page.bodies == []
    page.bench.store.is_full = False
    act()
    assert len(page.bodies) == 1


def test_an_entry_is_taken_back_and_restored(page):
    page.found.note_typed("one")
    page.found.take_back(2)
    assert (page.bodies, page.lines) == ([], [])
    page.found.redo()
    assert page.bodies == [Note(text="one")]
    page.found.undo()
    assert page.bodies == []


def test_with_nothing_to_take_back_it_says_so(page):
    page.found.undo()
    assert page.said.args == (LIST_PART, "Nothing to take back.")
    page.found.redo()
    assert page.said.args == (LIST_PART, "Nothing to restore.")


def test_a_closed_session_takes_no_photo(page):
    page.bench.desk.close()
    page.found.photo_named(Path("mark.png"))
    page.view.show_path.assert_not_called()
    assert (page.said.args[0], page.said.kwargs) == (PHOTO_PART, {"is_problem": True})
    page.found.refresh()
    assert page.view.show_lines.call_args.kwargs == {"is_closed": True}


def test_a_picture_that_was_changed_on_disk_is_told_as_missing(page):
    page.found.photo_typed("mark.png", "pan")
    page.bench.store.blobs.clear()
    again = FoundPresenter(page.view, page.bench.keeper, page.bench.runner, Files())
    again.refresh()
    assert last(page.view.show_picture) == (2, None)


def test_pictures_are_fetched_once(page):
    page.found.photo_typed("mark.png", "pan")
    count = page.view.show_picture.call_count
    page.found.refresh()
    assert page.view.show_picture.call_count == count
