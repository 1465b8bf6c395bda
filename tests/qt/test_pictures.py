"""Pictures that leave the program: drawn beside the window, always light and at twice the size, never over others."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from valvebench import compose
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.model.words import Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.pictures.draw import png_of
from valvebench.ui.pictures.facts import pictures_of

SAMPLE = compose.data_folder() / "sample_sessions" / "2219-grows-with-heat"
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
VERMILION = (0xD5, 0x5E, 0x00)
CARD = (0xFF, 0xFF, 0xFF)


@pytest.fixture(scope="module")
def pictures():
    view = compose.view_session(SAMPLE)
    return pictures_of(view.session, view.variant, view.judged(), program="valvebench test")


@pytest.fixture
def drawn_size():
    yield
    fonts.set_zoom(1.0)
    theme.apply(QApplication.instance(), "light")


def opened(raw, tmp_path):
    path = tmp_path / "one.png"
    path.write_bytes(raw)
    with Image.open(path) as picture:
        return picture.convert("RGB")


@pytest.mark.parametrize("place", [0, 2], ids=["connector", "plot"])
def test_a_picture_is_the_same_whatever_the_window_looks_like(qapp, pictures, drawn_size, place):
    usual = png_of(pictures[place])
    theme.apply(qapp, "dark")
    fonts.set_zoom(1.7)
    assert png_of(pictures[place]) == usual


def test_a_picture_drawn_beside_the_window_is_the_same(qapp, pictures):
    found = []
    worker = threading.Thread(target=lambda: found.extend(png_of(one) for one in pictures[:3]))
    worker.start()
    worker.join()
    assert found == [png_of(one) for one in pictures[:3]]


@pytest.mark.parametrize("place", [0, 2], ids=["connector", "plot"])
def test_it_is_light_large_and_shows_the_marks(qapp, pictures, tmp_path, place):
    picture = opened(png_of(pictures[place]), tmp_path)
    assert picture.width == 2400
    assert picture.getpixel((0, 0)) == CARD
    colours = {colour for _, colour in picture.getcolors(maxcolors=1_000_000)}
    assert VERMILION in colours  # Heron fails on both


def test_a_verdict_that_is_not_there_has_no_colour_there(qapp, pictures, tmp_path):
    gull = next(one for one in pictures if one.name == "Solenoid Gull")
    assert gull.verdict is Verdict.PASS
    picture = opened(png_of(gull), tmp_path)
    assert VERMILION not in {colour for _, colour in picture.getcolors(maxcolors=1_000_000)}


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_each_export_has_a_folder_of_its_own(qapp, tmp_path):
    first = compose.write_pictures(SAMPLE, tmp_path)
    before = {path.name: path.read_bytes() for path in first.iterdir()}
    second = compose.write_pictures(SAMPLE, tmp_path)
    assert names(tmp_path) == [f"{SAMPLE.name}-pictures", f"{SAMPLE.name}-pictures-2"]
    assert (first.name, second.name) == tuple(names(tmp_path))
    assert {path.name: path.read_bytes() for path in first.iterdir()} == before
    assert names(first)[:2] == ["01-Connector-A.png", "02-Solenoid-Gull.png"]
    assert len(names(first)) == 8


def test_what_is_cancelled_half_way_leaves_nothing(qapp, tmp_path):
    heard = []

    def step(words):
        heard.append(words)
        return len(heard) < 3

    assert compose.write_pictures(SAMPLE, tmp_path, step=step) is None
    assert heard == ["01-Connector-A.png", "02-Solenoid-Gull.png", "03-Solenoid-Heron.png"]
    assert names(tmp_path) == []


def test_a_full_disk_leaves_nothing_and_says_what_to_do(qapp, tmp_path, monkeypatch):
    from valvebench.archive import new_folder

    def full(path, raw, *, replace):
        if path.name.startswith("02"):
            raise WorldFailed(f"{path}: not saved. Make room on the disk and save again.")
        path.write_bytes(raw)

    monkeypatch.setattr(new_folder, "save", full)
    with pytest.raises(WorldFailed, match="Make room"):
        compose.write_pictures(SAMPLE, tmp_path)
    assert names(tmp_path) == []


def test_a_folder_that_is_not_there_is_told(qapp, tmp_path):
    with pytest.raises(BadInput, match="a folder that is there"):
        compose.write_pictures(SAMPLE, tmp_path / "gone")


def test_from_the_job_page_by_keyboard(open_window, sample, tmp_path):
    person = open_window(sample("grows-with-heat"))
    person.window.show_page("Job")
    finish = person.job.finish
    finish.workbook.set_text(str(tmp_path / "out.xlsx"))
    finish.pictures_button.setFocus()
    person.key(Qt.Key.Key_Space)
    person.wait(lambda: finish.words().startswith("Pictures written to"))
    assert QApplication.focusWidget() is finish.pictures_button
    opened_folders = []
    finish.open_url = lambda url: opened_folders.append(Path(url.toLocalFile())) or True
    finish.folder_button.click()
    assert [len(names(folder)) for folder in opened_folders] == [8]


def test_a_key_on_the_pins_page_draws_them_and_says_where(open_window, sample, tmp_path):
    person = open_window(sample("grows-with-heat"))
    person.window.show_page("Pins")
    person.job.workbook.set_text(str(tmp_path / "out.xlsx"))
    person.pins.table.setFocus()
    person.key(Qt.Key.Key_E, CTRL | SHIFT)
    person.wait(lambda: person.pins._said.words().startswith("Pictures written."))
    (made,) = tmp_path.glob("*-pictures")
    assert made.name in person.pins._said.words()
    assert names(made)[0] == "01-Connector-A.png"
    shown = []
    person.job.finish.open_url = lambda url: shown.append(Path(url.toLocalFile())) or True
    person.key(Qt.Key.Key_F, CTRL | SHIFT)
    assert shown == [made]
