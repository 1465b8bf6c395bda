"""The first picture of a session: its last readings, unjudged, until the whole of it was read and proved."""

from __future__ import annotations

import json

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtWidgets import QLabel

from valvebench.archive.session_folder import JOURNAL_NAME, read_ends
from valvebench.model.entry import Reading
from valvebench.ui import app as ui_app
from valvebench.ui.main_window import ARCHIVE, FINDINGS, IDENTIFY, JOB, PINS, VARIANTS
from valvebench.ui.start.view import StartPage


class Held:
    """A program that opens no session before it is told to."""

    def __init__(self, program) -> None:
        self._program, self.is_held, self.asked = program, True, []

    def __getattr__(self, name: str):
        return getattr(self._program, name)

    def open_desk(self, folder, *, by=None):
        if self.is_held:
            raise AssertionError("the first picture stands before the session is opened")
        self.asked.append(folder)
        return self._program.open_desk(folder, by=by)


@pytest.fixture
def make(program):
    made = []

    def make_it(folder):
        held = Held(program)
        window = ui_app.make_window(held, folder)
        made.append(window)
        return held, window

    yield make_it
    for window in made:
        window.close()
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def open_it(held, window, qtbot, is_so) -> None:
    held.is_held = False
    with qtbot.waitExposed(window):
        window.show()
    qtbot.waitUntil(is_so, timeout=10_000)


def marks(page):
    model = page.model
    place = model.columnCount() - 1
    return {model.data(model.index(row, place), Qt.ItemDataRole.AccessibleTextRole) for row in range(model.rowCount())}


def test_the_first_picture_has_the_frame_and_the_last_readings_without_a_verdict(make, sample):
    _, window = make(sample("in-work"))
    page = window.opening.page
    assert window.pages.currentWidget().widget() is page
    assert (window.strip.isHidden(), window.rail.isHidden(), window.rail.current()) == (False, False, PINS)
    assert page.model.rowCount() > 0
    assert marks(page) == {"judging"}
    said = [label.text() for label in window.strip.findChildren(QLabel)]
    assert "Job 2217" in said
    assert "Judging \u2026" in said


def test_nothing_can_be_typed_or_chosen_before_the_session_is_open(make, sample):
    _, window = make(sample("in-work"))
    assert not window.opening.page.field.isEnabled()
    assert not window.rail.isEnabled()
    assert (window.desk, window.keeper, window.pins) == (None, None, None)


def test_the_same_page_goes_on_with_the_judged_session(make, sample, qtbot):
    held, window = make(sample("in-work"))
    page = window.opening.page
    open_it(held, window, qtbot, lambda: window.pins_page is page and page.field.isEnabled())
    assert window.rail.isEnabled()
    assert not marks(page) & {"judging", "not kept yet"}
    assert window.opening.page is None


ONLY_A_LINK = {
    "format": 1,
    "key": "tern-link",
    "title": "Quillon Tern, one link (invented)",
    "pins": [{"name": name} for name in "12"],
    "devices": [{"name": "Wren", "kind": "link", "between": ["1", "2"]}],
}


def test_the_rail_has_the_same_pages_before_and_after(make, program, tmp_path, qtbot):
    """A link is neither listened to nor warmed."""
    variant, folder = tmp_path / "link.json", tmp_path / "L-1"
    variant.write_text(json.dumps(ONLY_A_LINK))
    desk = program.create_job(folder, {"job": "L-1"}, variant=variant)
    desk.record(Reading(from_node="1", to_node="2", ohm=0.5, celsius=20.0))
    desk.release()
    held, window = make(folder)
    before = [word for word in window.rail.pages() if not window.rail.item(word).isHidden()]
    open_it(held, window, qtbot, lambda: window.pins_page is not None)
    after = [word for word in window.rail.pages() if not window.rail.item(word).isHidden()]
    assert before == after == [JOB, IDENTIFY, PINS, FINDINGS, ARCHIVE, VARIANTS]


def test_the_last_readings_are_the_ones_in_sight(make, sample, qtbot):
    held, window = make(sample("in-work"))
    table = window.opening.page.table
    seen = []
    plain = held.open_desk

    def opened(folder, *, by=None):
        seen.append(table.verticalScrollBar().value() == table.verticalScrollBar().maximum() > 0)
        return plain(folder, by=by)

    held.open_desk = opened
    open_it(held, window, qtbot, lambda: window.pins_page is not None)
    assert seen == [True]


@pytest.mark.parametrize("name", ["body-unknown", "nothing read yet"])
def test_without_pairs_to_show_the_name_stands_there(make, sample, program, tmp_path, name):
    if name == "body-unknown":
        folder = sample(name)
    else:
        folder = tmp_path / "new"
        program.create_job(folder, {"job": "N-1"}, variant=program.variants()[0].path).release()
    _, window = make(folder)
    assert window.opening.page is None
    assert window.pages.currentWidget().text().startswith("Opening")
    assert window.strip.isHidden()


def test_a_session_that_does_not_verify_leaves_nothing_of_its_first_picture(make, sample, qtbot):
    folder = sample("in-work")
    journal = folder / JOURNAL_NAME
    lines = journal.read_bytes().split(b"\n")
    del lines[3]
    journal.write_bytes(b"\n".join(lines))
    held, window = make(folder)
    page = window.opening.page
    assert page is not None
    open_it(held, window, qtbot, lambda: window.start_page is not None)
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert isinstance(window.pages.currentWidget().widget(), StartPage)
    assert "does not verify" in window.start_page._said.words()
    assert window.opening.page is None
    assert window.desk is None
    assert window.rail.isEnabled()


def test_a_slow_disk_gets_the_name_alone(make, sample, program, monkeypatch):
    from threading import Event

    slow = Event()
    monkeypatch.setattr(program, "glimpse_session", lambda _: slow.wait(5) and None, raising=False)
    _, window = make(sample("in-work"))
    slow.set()
    assert window.opening.page is None


def test_what_cannot_be_looked_at_is_left_to_the_opening(program, tmp_path):
    assert program.glimpse_session(tmp_path / "nowhere") is None
    (tmp_path / JOURNAL_NAME).write_bytes(b"{}\n{}\n")
    assert program.glimpse_session(tmp_path) is None


@pytest.mark.parametrize(
    ("raw", "first", "last"),
    [
        pytest.param(b"one\n", b"one", (), id="a job alone"),
        pytest.param(b"one\ntwo\nthr", b"one", (b"two",), id="a torn line is no line"),
        pytest.param(b"one\ntwo\nthree\n", b"one", (b"two", b"three"), id="a short journal is seen whole"),
        pytest.param(
            b"one\n" + b"x" * 20_000 + b"\nthree\nfour\n", b"one", (b"three", b"four"), id="of a long one the end"
        ),
    ],
)
def test_only_the_ends_of_a_journal_are_read(tmp_path, raw, first, last):
    (tmp_path / JOURNAL_NAME).write_bytes(raw)
    assert read_ends(tmp_path) == (first, last)


def test_another_page_is_as_near_as_ever_once_it_is_open(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.show_page(JOB)
    assert person.window.rail.current() == JOB
