"""What the page of the variant library says and does; the folders are real ones, the view is a fake."""

from __future__ import annotations

import json
from unittest.mock import create_autospec

import pytest

from tests.data.made_up import variant_data
from tests.fakes.runners import InlineRunner
from valvebench import compose
from valvebench.archive.moving import move_file
from valvebench.bench.library import Library
from valvebench.ui.library.presenter import LibraryPresenter, LibraryView, Ways

DEVICES = variant_data()["devices"]


def written(folder, key, **changes):
    folder.mkdir(exist_ok=True)
    path = folder / f"{key}.json"
    path.write_bytes(json.dumps(variant_data(key=key, title=f"Body {key}", **changes)).encode())
    return path


class Page:
    """Presenter, fake view and the folders behind them."""

    def __init__(self, folder):
        self.own, self.examples = folder / "own", folder / "examples"
        mark = {"name": "mark", "values": ["none", "dot"], "this": "dot", "must_match": True}
        numbers = [{"number": "QT-2", "superseded_by": "QT-3"}]
        self.example = written(self.examples, "tern", part_numbers=numbers, features=[mark])
        self.auk = written(self.own, "auk", devices=[{**DEVICES[0], "name": "Whimbrel"}], solenoid_chart={}, ports=[])
        self.view, self.ways = create_autospec(LibraryView, instance=True), create_autospec(Ways, instance=True)
        self.presenter = LibraryPresenter(self.view, self.library, InlineRunner(), self.ways)
        self.presenter.refresh()

    def library(self):
        read, save = compose.read_file, lambda path, raw: path.write_bytes(raw)
        return Library(self.own, self.examples, read=read, save=save, move=move_file, make_own=lambda: None)

    def shown(self):
        rows = self.view.show_rows.call_args.args[0]
        return [row.cells[0] for row in rows]

    def told(self):
        return self.view.show_told.call_args.args

    def said(self):
        return self.view.say.call_args.args[0]


@pytest.fixture
def page(tmp_path):
    return Page(tmp_path)


def test_the_list_shows_key_title_pins_number_in_force_and_what_is_missing(page):
    auk, tern = page.view.show_rows.call_args.args[0]
    assert auk.cells[:5] == ("auk", "Body auk", "12", "", "yours")
    assert auk.cells[5].endswith(" missing")
    assert tern.cells[:5] == ("tern", "Body tern", "12", "QT-3", "example")


def test_a_file_that_cannot_be_read_stands_in_the_list_and_says_why(page):
    (page.own / "bad.json").write_text("{}")
    page.presenter.refresh(choose=page.own / "bad.json")
    assert page.view.show_rows.call_args.args[0][1].cells == ("bad.json", "", "", "", "yours", "cannot be used")
    title, _, lines = page.told()
    assert title == "bad.json"
    assert any("title: found nothing" in line.words for line in lines)
    page.presenter.open_asked()
    assert "cannot be used" in page.said()
    page.ways.edit.assert_not_called()


@pytest.mark.parametrize(
    ("typed", "keys"),
    [
        pytest.param("", ["auk", "tern"], id="nothing-typed"),
        pytest.param("AUK", ["auk"], id="key-in-any-case"),
        pytest.param("body t", ["tern"], id="every-word"),
        pytest.param("qt-2", ["tern"], id="superseded-number"),
        pytest.param("qt-3", ["tern"], id="newer-number"),
        pytest.param("whimb", ["auk"], id="device"),
        pytest.param("owl", [], id="nothing-found"),
    ],
)
def test_search_as_typed(page, typed, keys):
    page.presenter.typed(typed)
    assert page.shown() == keys
    assert page.view.show_rows.call_args.kwargs["of"] == 2


def test_what_is_told_moves_with_what_is_found(page):
    page.presenter.typed("tern")
    assert page.told()[0] == "Body tern"
    page.presenter.typed("owl")
    assert page.told() == ("", "", ())


def test_all_is_told_of_the_chosen_one(page):
    page.presenter.chosen(page.example)
    title, about, lines = page.told()
    words = {line.what: line.words for line in lines}
    assert (title, about) == ("Body tern", "an example, comes with the program")
    assert words["Part number"] == "QT-3; it took the place of QT-2"
    assert words["Must match"] == "mark dot"
    assert words["Limits"].startswith("1 from the manual, 1 measured, 1 from memory, 2 source not said")
    assert words["Heron"] == "4.9\u20135.5 \u03a9 at 20 \u00b0C; manual: shop manual, page 12"
    assert any(line.what == "Missing" and line.words.startswith("Gull, Source: ") for line in lines)


def test_ones_own_opens_itself_and_an_example_a_copy(page):
    page.presenter.chosen(page.auk)
    page.presenter.open_asked()
    page.ways.edit.assert_called_once_with(page.auk)
    page.presenter.chosen(page.example)
    page.presenter.open_asked()
    page.ways.edit_copy.assert_called_once_with(page.example)


def test_a_copy_is_chosen_at_once(page):
    page.presenter.chosen(page.example)
    page.presenter.duplicate_asked()
    assert page.view.show_rows.call_args.kwargs["chosen"] == page.own / "tern-copy.json"
    assert page.shown() == ["auk", "tern-copy", "tern"]


def test_removing_asks_first_and_comes_back_step_by_step(page):
    brant = written(page.own, "brant")
    page.presenter.refresh(choose=page.auk)
    for path in (page.auk, brant):
        page.presenter.chosen(path)
        page.presenter.remove_asked()
        assert path.exists(), "asked only"
        page.presenter.remove_confirmed()
        assert not path.exists()
    assert page.shown() == ["tern"]
    page.presenter.undo()
    assert page.shown() == ["brant", "tern"]
    page.presenter.undo()
    assert page.shown() == ["auk", "brant", "tern"]
    page.presenter.undo()
    assert "Nothing was removed" in page.said()


def test_kept_after_all(page):
    page.presenter.chosen(page.auk)
    page.presenter.remove_asked()
    assert "Remove Body auk?" in page.view.ask_remove.call_args.args[0]
    page.presenter.keep_asked()
    page.view.stop_asking.assert_called()
    assert page.auk.exists()


def test_an_example_stays(page):
    page.presenter.chosen(page.example)
    page.presenter.remove_asked()
    page.presenter.remove_confirmed()
    page.view.ask_remove.assert_not_called()
    assert page.example.exists()
    assert "comes with the program" in page.said()


def test_a_refused_import_lists_every_problem_and_changes_nothing(page, tmp_path):
    bad = tmp_path / "bad.json"
    bad.write_text('{"format": 1}')
    page.presenter.files_chosen([bad])
    what, troubles = page.view.show_refused.call_args.args
    assert what == "Nothing was imported: put these right first."
    assert [trouble.file for trouble in troubles] == ["bad.json"] * 3
    assert sorted(path.name for path in page.own.iterdir()) == ["auk.json"]


def test_an_import_says_what_came_and_what_was_there(page, tmp_path):
    stick = tmp_path / "stick"
    written(stick, "wren")
    (stick / "auk.json").write_bytes(page.auk.read_bytes())
    page.presenter.folder_chosen(stick)
    assert page.shown() == ["auk", "wren", "tern"]
    assert page.said() == "Imported: wren. There already: auk.json."


def test_export_of_one_and_of_all(page, tmp_path):
    page.presenter.chosen(page.auk)
    page.presenter.export_asked()
    page.view.ask_export.assert_called_once_with("auk.json")
    page.presenter.export_chosen(tmp_path / "out.json")
    assert (tmp_path / "out.json").read_bytes() == page.auk.read_bytes()
    assert page.said() == "out.json was exported."
    (tmp_path / "all").mkdir()
    page.presenter.export_all_chosen(tmp_path / "all")
    assert [path.name for path in (tmp_path / "all").iterdir()] == ["auk.json"]


def test_two_side_by_side_and_in_words(page):
    page.presenter.chosen(page.auk)
    page.presenter.compare_asked()
    page.view.show_others.assert_called_once_with([(str(page.example), "Body tern")])
    shown = page.view.show_compared.call_args.args[0]
    assert (shown.one, shown.other) == ("Body auk", "Body tern")
    assert ("Devices", "Whimbrel") in [(row.table, row.what) for row in shown.rows]
    page.presenter.copy_compared()
    text = page.view.put_on_clipboard.call_args.args[0]
    assert "Devices: only Body auk has Whimbrel" in text
    page.presenter.compare_left()
    assert page.told()[0] == "Body auk"


def test_nothing_to_compare_with_is_said(page):
    page.example.unlink()
    page.presenter.refresh(choose=page.auk)
    page.presenter.compare_asked()
    assert "no other variant" in page.said()


def test_whoever_offers_variants_hears_of_every_change(page):
    page.presenter.chosen(page.auk)
    page.presenter.duplicate_asked()
    shelves = page.ways.shelves_changed.call_args.args[0]
    assert [shelf.path.stem for shelf in shelves] == ["auk", "auk-copy", "tern"]
