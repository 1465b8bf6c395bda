"""The Job page in a real window: fluid, notes, photos, meter check, finish and what follows, by keyboard."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import openpyxl
import pytest
from PIL import Image
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QAbstractButton, QApplication

from valvebench.model.entry import FluidFound, MeterCheck, Note
from valvebench.model.errors import WorldFailed
from valvebench.model.words import Cooler
from valvebench.ui.job.finish import head_words
from valvebench.ui.set_up import STALE, SetUp, celsius_words_at

CTRL, ENTER = Qt.KeyboardModifier.ControlModifier, Qt.Key.Key_Enter


@pytest.fixture
def person(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.show_page("Job")
    return person


@pytest.fixture
def picture(tmp_path):
    path = tmp_path / "mark.png"
    Image.new("RGB", (300, 200), "#555555").save(path)
    return path


def bodies(person, kind):
    return [item.body for item in person.window.desk.session.items if isinstance(item.body, kind)]


def more(person, act):
    """Do something that keeps an entry, and wait until it counts."""
    count = len(person.entries)
    act()
    person.wait(lambda: len(person.entries) == count + 1 and not person.window.keeper.is_busy)


def close(person):
    button = person.job.close_button
    button.setFocus()
    person.key(Qt.Key.Key_Space)
    more(person, lambda: person.key(Qt.Key.Key_Space))


# -- as found ----------------------------------------------------------------------------------


def test_fluid_is_picked_or_typed_and_kept_by_enter(person):
    found = person.job.found
    found.fluid["colour"].setFocus()
    person.key(Qt.Key.Key_Down)
    found.fluid["debris"].setFocus()
    person.type("glitter, fine")
    more(person, lambda: person.key(ENTER))
    assert bodies(person, FluidFound)[-1] == FluidFound(colour="clear red", debris="glitter, fine")
    assert found.fluid["debris"].text() == ""


def test_the_cooler_is_chosen_by_keys_and_kept_with_the_fluid(person):
    found = person.job.found
    box = found.cooler.box
    assert box.accessibleName() == "Cooler"
    box.setFocus()
    for _ in range(3):
        person.key(Qt.Key.Key_Down)
    assert box.currentText() == "Not flushed"
    person.key(Qt.Key.Key_Tab)
    while not found.keep_fluid.hasFocus():
        person.key(Qt.Key.Key_Tab)
    more(person, lambda: person.key(Qt.Key.Key_Space))
    assert bodies(person, FluidFound)[-1] == FluidFound(cooler=Cooler.NOT_FLUSHED)
    assert box.currentText() == "Not recorded"


def test_a_note_is_kept_taken_back_and_restored(person):
    found, before = person.job.found, len(bodies(person, Note))
    found.note.setFocus()
    person.type("latch broken")
    found.keep_note.setFocus()
    more(person, lambda: person.key(Qt.Key.Key_Space))
    names = [b.accessibleName() for b in found.findChildren(QAbstractButton) if not b.isHidden()]
    assert f"Take back entry {person.entries[-1].n}, note" in names
    more(person, lambda: person.key(Qt.Key.Key_Z, CTRL))
    assert len(bodies(person, Note)) == before
    more(person, lambda: person.key(Qt.Key.Key_Y, CTRL))
    assert len(bodies(person, Note)) == before + 1


def test_a_photo_by_its_path_is_kept_and_shown_small(person, picture):
    found = person.job.found
    found.path.setFocus()
    person.type(str(picture))
    found.of.setFocus()
    person.key(Qt.Key.Key_Down)
    more(person, lambda: person.key(ENTER))
    n = person.entries[-1].n
    person.wait(lambda: not found._thumbnails[n].pixmap().isNull())
    assert found._thumbnails[n].pixmap().width() == found._thumbnails[n].width()
    assert person.entries[-1].body.of == "shop's own mark"
    assert person.window.desk.photo(person.entries[-1].body.sha256) == picture.read_bytes()


def test_a_photo_by_file_dialog(person, picture):
    found = person.job.found
    found.ask_for_file = lambda *_: str(picture)
    found.browse.setFocus()
    person.key(Qt.Key.Key_Space)
    assert (found.path.text(), QApplication.focusWidget()) == (str(picture), found.of.entry)


def test_a_photo_that_is_none_says_so_and_nothing_is_kept(person, tmp_path):
    (tmp_path / "words.png").write_text("no picture")
    count = len(person.entries)
    person.job.found.path.set_text(str(tmp_path / "words.png"))
    person.job.found.keep_photo.click()
    person.wait(lambda: "neither PNG nor JPEG" in person.job.found.said["photo"].words())
    assert len(person.entries) == count


def test_a_picture_whose_bytes_are_damaged_is_told_in_its_place(person, tmp_path):
    (tmp_path / "half.png").write_bytes(b"\x89PNG\r\n\x1a\n and then nothing")
    found = person.job.found
    found.path.set_text(str(tmp_path / "half.png"))
    more(person, found.keep_photo.click)
    person.wait(lambda: found._thumbnails[person.entries[-1].n].text() == "not readable")


# -- meter check -------------------------------------------------------------------------------


def test_the_meter_check_says_its_effect_before_it_is_kept(open_window, sample):
    person = open_window(sample("meter-cannot-decide"))
    person.window.show_page("Job")
    card, count = person.job.check, len(person.entries)
    for name, text in (("check_ohm", "5.5"), ("read_ohm", "5.7"), ("zero_read_ohm", "0.2")):
        card.fields[name].setFocus()
        person.type(text)
    assert card._effect.text().startswith("With this check it could decide ")
    assert len(person.entries) == count
    more(person, lambda: person.key(ENTER))
    assert bodies(person, MeterCheck)[-1].check_ohm == 5.5
    person.wait(lambda: "with its meter check" in person.job._capability.text())


# -- age of the temperature --------------------------------------------------------------------


NOON = datetime(2031, 5, 6, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("minutes", "head", "is_stale"),
    [
        (0, "23.4 \u00b0C", False),
        (-5, "23.4 \u00b0C", False),
        (1, "23.4 \u00b0C, 1 min ago", False),
        (30, "23.4 \u00b0C, 30 min ago", False),
        (31, "23.4 \u00b0C, 31 min ago", True),
        (125, "23.4 \u00b0C, 2 h ago", True),
        (60 * 24 * 9, "23.4 \u00b0C, days ago", True),
    ],
)
def test_the_strip_tells_how_old_the_temperature_is(minutes, head, is_stale):
    set_up = SetUp(celsius=23.4, set_at=NOON.isoformat())
    shown = celsius_words_at(set_up, (NOON + timedelta(minutes=minutes)).isoformat())
    assert shown[0] == head
    assert (shown[1] == STALE) is is_stale


def test_a_stale_temperature_says_so_and_a_new_one_is_fresh(person):
    assert person.window.strip.cell("coil").sub.text() == STALE
    field = person.job.fields["celsius"]
    field.entry.setFocus()
    field.entry.selectAll()
    person.type("23.4")
    person.key(ENTER)
    assert person.window.strip.cell("coil").head.text() == "23.4 \u00b0C"
    assert person.window._age.isActive()
    assert person.window._age.interval() == 30_000


# -- finish ------------------------------------------------------------------------------------


def test_close_export_copy_verify_and_what_follows(person, tmp_path):
    close(person)
    assert person.window.desk.session.is_closed
    finish = person.job.finish
    head = person.window.desk.session.head
    person.wait(lambda: finish.head_line.text() == head_words(head))
    finish.copy_button.setFocus()
    person.key(Qt.Key.Key_Space)
    assert QGuiApplication.clipboard().text() == head
    finish.workbook.set_text(str(tmp_path / "out.xlsx"))
    finish.workbook.setFocus()
    person.key(ENTER)
    person.wait(lambda: finish.words().startswith("Workbook written"))
    assert "Readings" in openpyxl.load_workbook(tmp_path / "out.xlsx").sheetnames
    opened = []
    finish.open_url = lambda url: opened.append(url.toLocalFile()) or True
    finish.folder_button.setFocus()
    person.key(Qt.Key.Key_Space)
    assert [Path(folder) for folder in opened] == [tmp_path]
    finish.verify_button.setFocus()
    person.key(Qt.Key.Key_Space)
    person.wait(lambda: finish.words().startswith("As it was written"))
    after = person.job.after
    assert after.isVisible()
    after.to.setFocus()
    person.type("Ann")
    more(person, lambda: person.key(ENTER))
    after.fitted.setFocus()
    person.key(Qt.Key.Key_Down)
    after.numbers["months"].setFocus()
    person.type("7")
    more(person, lambda: person.key(ENTER))
    session = person.window.desk.session
    assert (session.anchors[-1].to, session.outcomes[0].fitted, session.outcomes[0].months) == ("Ann", True, 7.0)
    assert session.head == head
    assert not person.job.found.keep_note.isEnabled()
    assert not person.job.check.keep.isEnabled()


def test_tag_mail_and_claim_page_are_handed_over_by_keyboard(person, tmp_path):
    close(person)
    hand, after = person.job.hand, person.job.after
    assert "the head was given to nobody" in hand._given.text()
    person.job.workbook.set_text(str(tmp_path / "out.xlsx"))
    name = person.window.desk._store.folder.name
    for button, file in ((hand.tag_button, f"{name}-tag.pdf"), (hand.claim_button, f"{name}-claim.pdf")):
        button.setFocus()
        person.key(Qt.Key.Key_Space)
        person.wait(lambda file=file: file in hand.words() and "written to" in hand.words())
        assert (tmp_path / file).read_bytes().startswith(b"%PDF")
        assert QApplication.focusWidget() is button
    hand.mail_button.setFocus()
    person.key(Qt.Key.Key_Space)
    assert person.window.desk.session.head in QGuiApplication.clipboard().text()
    assert after.kind.word() == "sent_to_customer"
    after.to.setFocus()
    person.type("Ann")
    more(person, lambda: person.key(ENTER))
    assert "Sent to the customer, to Ann, " in hand._given.text()
    person.job.finish.report_button.setFocus()
    person.key(Qt.Key.Key_Space)
    person.wait(lambda: person.job.finish.words().startswith("Report written to"))
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF")


def test_an_export_can_be_cancelled(person, tmp_path, monkeypatch):
    import threading

    begun, go = threading.Event(), threading.Event()

    def slow(folder, target, *, rule=None, step=None, compare=None):
        begun.set()
        go.wait(5)
        return step("putting it on disk") and bool(target.write_bytes(b""))

    monkeypatch.setattr(type(person.window._services), "write_workbook", staticmethod(slow))
    person.job.workbook.set_text(str(tmp_path / "out.xlsx"))
    person.job.export_button.setFocus()
    person.key(Qt.Key.Key_Space)
    begun.wait(5)
    person.wait(lambda: "1 s" in person.job.finish.words())
    assert QApplication.focusWidget() is person.job.finish.cancel_button
    more(person, lambda: (person.job.found.note.setPlainText("meanwhile"), person.job.found.keep_note.click()))
    person.key(Qt.Key.Key_Space)
    assert person.job.finish.words().startswith("Export cancelled")
    go.set()
    person.window.exporter.wait()
    QApplication.processEvents()
    assert not (tmp_path / "out.xlsx").exists()
    assert QApplication.focusWidget() is person.job.export_button


def test_no_program_that_shows_folders_is_told_with_the_place(person, tmp_path):
    finish = person.job.finish
    finish.open_url = lambda _: False
    finish.open_folder(tmp_path)
    assert str(tmp_path) in finish.words()


# -- the disk refuses --------------------------------------------------------------------------


@pytest.mark.parametrize("part", ["note", "fluid", "photo", "check", "close"])
def test_a_write_that_fails_loses_nothing_typed_and_nothing_kept(person, picture, part, monkeypatch):
    store, count = person.window.desk._store, len(person.entries)
    on_disk = (store.folder / "journal.jsonl").read_bytes()

    def refuse(*_):
        raise WorldFailed("not saved (No space left on device). Make room or check the disk.")

    monkeypatch.setattr(store, "append", refuse)
    job = person.job
    found, check, finish = job.found, job.check, job.finish
    found.note.setPlainText("latch broken")
    found.fluid["colour"].set_text("brown")
    found.path.set_text(str(picture))
    for name, text in (("check_ohm", "5"), ("read_ohm", "5.2"), ("zero_read_ohm", "0.2")):
        check.fields[name].set_text(text)
    words = {
        "note": found.said["note"].words,
        "fluid": found.said["fluid"].words,
        "photo": found.said["photo"].words,
        "check": check._said.words,
        "close": finish.words,
    }[part]
    act = {
        "note": found.keep_note.click,
        "fluid": found.keep_fluid.click,
        "photo": found.keep_photo.click,
        "check": check.keep.click,
        "close": lambda: (job.close_button.click(), job.close_button.click()),
    }[part]
    act()
    person.wait(lambda: "Make room" in words())
    assert len(person.entries) == count
    assert found.note.toPlainText() == "latch broken"
    assert found.fluid["colour"].text() == "brown"
    assert found.path.text() == str(picture)
    assert (store.folder / "journal.jsonl").read_bytes() == on_disk
    monkeypatch.undo()
    more(person, act)


def test_a_closed_session_shows_what_was_found_right_below_the_title(open_window, sample):
    person = open_window(sample("grows-with-heat"))
    person.window.show_page("Job")
    found = person.job.found
    assert found.title.isVisible()
    assert not found.said["list"].isVisible()
