"""The Identify page in the window: digits answer, a job is parked and come back to, a job begins from an enquiry."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.fakes.writers import PICTURE
from valvebench.archive.verify import verify
from valvebench.model.words import JobKind, Seen
from valvebench.ui.frame import IDENTIFY, PINS

KEY = Qt.Key


@pytest.fixture
def person(open_window, sample):
    return open_window(sample("in-work"))


def identify(person):
    return person.window.later.identify


def settled(person):
    """Whether what counts now was worked out."""
    made = identify(person)
    return made is not None and made.presenter.answer_now is not None


def looks(person):
    return [item.body for item in person.window.desk.session.items_of("feature")]


def parks(person):
    person.key(KEY.Key_F12)
    person.wait(lambda: person.window.desk is not None and person.window.desk.job.kind is JobKind.ENQUIRY)
    person.wait(lambda: settled(person))


def test_digits_answer_and_the_bars_follow(person):
    person.window.show_page(IDENTIFY)
    person.wait(lambda: settled(person))
    page, count = identify(person).page, len(looks(person))
    assert page.question.hasFocus()
    head = page.verdict.words()
    person.type("/")
    person.type("1")
    person.wait(lambda: len(looks(person)) == count + 1 and settled(person))
    assert page.verdict.words() == head
    assert page.points.rows()[0].new != "not looked at"
    person.key(KEY.Key_Z, Qt.KeyboardModifier.ControlModifier)
    person.wait(lambda: len(looks(person)) == count and settled(person))
    assert page.points.rows()[0].new == "not looked at"


def test_the_library_shows_what_the_feature_can_look_like(person):
    person.window.show_page(IDENTIFY)
    person.wait(lambda: settled(person))
    identify(person).presenter.choose("plate mark")
    strip = identify(person).page.question.examples
    person.wait(strip.isVisible)
    seen = [(one.value.text(), one.shot.has_image) for one in strip.examples if one.isVisible()]
    assert seen == [("none", True), ("dot", True), ("bar", True)]
    assert strip.examples[1].shot.accessibleName() == "Photo: dot, as on Quillon Tern, body 2"
    identify(person).presenter.choose("connector pins")
    assert not strip.isVisible()


def test_a_letter_in_a_field_answers_nothing(person):
    person.window.show_page(IDENTIFY)
    person.wait(lambda: settled(person))
    count = len(looks(person))
    person.key(KEY.Key_F7)
    person.type("1 2")
    feature = identify(person).presenter.feature
    person.key(KEY.Key_Down)
    assert identify(person).presenter.feature == feature
    assert identify(person).page.photo.path.text() == "1 2"
    assert len(looks(person)) == count
    person.key(KEY.Key_Escape)
    assert identify(person).page.question.hasFocus()


def test_one_key_parks_the_job_and_one_leads_back_to_the_same_page(person):
    folder = person.window.folder
    person.window.show_page(PINS)
    parks(person)
    assert person.window.rail.current() == IDENTIFY
    assert person.window.parked_line.words().startswith("Job 2217 is parked")
    assert identify(person).page.question.hasFocus()
    person.type("1")
    person.wait(lambda: len(looks(person)) == 1)
    assert looks(person)[0].seen is Seen.PHONE
    enquiry = person.window.folder
    person.key(KEY.Key_F11)
    person.wait(lambda: person.window.folder == folder and person.judged())
    assert person.window.rail.current() == PINS
    assert person.window.parked_line.words() == ""
    assert verify(enquiry).ok
    assert str(enquiry) in [recent.path for recent in person.window.settings.now.recent]
    person.key(KEY.Key_F11)
    assert person.window.folder == folder


def test_a_job_begun_from_an_enquiry_keeps_what_was_told(person, tmp_path):
    parks(person)
    enquiry = person.window.folder
    (tmp_path / "mark.png").write_bytes(PICTURE)
    asked = identify(person).presenter.feature
    identify(person).page.picture_typed.emit(str(tmp_path / "mark.png"))
    person.wait(lambda: bool(person.window.desk.session.items_of("photo")) and settled(person))
    person.type("1")
    person.wait(lambda: len(looks(person)) == 1 and settled(person))
    (told,) = looks(person)
    person.key(KEY.Key_F5)
    person.type("T-99")
    person.key(KEY.Key_Enter)
    person.wait(lambda: person.window.desk is not None and person.window.desk.job.job == "T-99")
    (look,) = looks(person)
    assert (look.name, look.value, look.seen) == (told.name, told.value, Seen.PHONE)
    assert look.carried.startswith("E-")
    assert [item.body.of for item in person.window.desk.session.items_of("photo")] == [asked]
    assert person.window.desk.job.variant is None
    assert verify(person.window.folder).ok
    assert verify(enquiry).ok


def test_the_sheet_is_written_twice_beside_the_session(person):
    person.window.show_page(IDENTIFY)
    person.wait(lambda: settled(person))
    folder = person.window.folder
    person.key(KEY.Key_F6)
    person.wait(lambda: "-order.pdf" in identify(person).page.order.words())
    QApplication.processEvents()
    for ending in (".xlsx", ".pdf"):
        assert folder.with_name(f"{folder.name}-order{ending}").stat().st_size > 1000
