"""The card of the complaint on the Job page: kept, corrected and followed to a test, at the keyboard."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.fakes.kept_page import keep_page, words_of
from valvebench.model.entry import Complaint
from valvebench.ui.job.suspects_card import SuspectsCard
from valvebench.ui.job.suspects_shown import FEW, ComplaintShown, SuspectShown, SuspectsShown

KEY = Qt.Key
ENTER = KEY.Key_Enter


def row(number, **changed):
    facts = {"what": f"Suspect {number}", "state": "Not yet", "stands_out": False, "why": "Because.", "test": "Look."}
    return SuspectShown(number=number, **{**facts, "page": "Ports", "key": f"port P{number}", **changed})


def shown(count, **changed):
    return SuspectsShown(changes=("Applies: Crake.",), rows=tuple(row(n) for n in range(1, count + 1)), **changed)


@pytest.fixture
def card(qtbot):
    made = SuspectsCard()
    keep_page(qtbot, made)
    made.resize(420, 900)
    made.show_complaint(ComplaintShown(shift="5-6", when="hot", feel="bump", shifts=("5-6", "6-5"), is_open=True))
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_the_first_lines_stand_and_the_others_are_asked_for(card):
    card.show_suspects(shown(FEW + 2))
    assert f"{FEW}. Suspect {FEW}" in words_of(card)
    assert f"{FEW + 1}. Suspect {FEW + 1}" not in words_of(card)
    assert card.more.accessibleName() == f"Show 2 more of {FEW + 2}"
    card.more.click()
    assert f"{FEW + 2}. Suspect {FEW + 2}" in words_of(card)
    assert card.more.accessibleName() == f"Show the first {FEW} only"
    card.more.click()
    assert f"{FEW + 1}. Suspect {FEW + 1}" not in words_of(card)
    card.show_suspects(shown(2))
    assert not card.more.isVisible()


def test_a_line_says_what_it_leads_to_and_keeps_the_keyboard(card, qtbot):
    card.show_suspects(shown(3))
    assert card.lines[1].lead.accessibleName() == "P2 on Ports, to test: Suspect 2"
    card.lines[1].lead.setFocus()
    card.show_suspects(shown(2, elsewhere="Failed too."))
    assert card.lines[1].lead.hasFocus()
    with qtbot.waitSignal(card.go_to) as asked:
        qtbot.keyClick(card.lines[1].lead, ENTER)
    assert asked.args == ["Ports", "port P2"]


def test_no_complaint_no_card(card):
    card.show_complaint(None)
    assert not card.isVisible()


@pytest.fixture
def person(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.show_page("Job")
    person.card = person.job.suspects
    person.wait(lambda: bool(person.card.lines))
    return person


def test_the_complaint_is_corrected_by_enter_and_the_list_follows(person):
    field = person.card.fields["shift"]
    field.setFocus()
    person.key(KEY.Key_A, Qt.KeyboardModifier.ControlModifier)
    person.type("2-3")
    count = len(person.entries)
    person.key(ENTER)
    person.wait(lambda: len(person.entries) == count + 1 and not person.window.keeper.is_busy)
    assert person.entries[-1].body == Complaint(shift="2-3", when="hot", feel="bump")
    person.wait(lambda: "Applies: Dipper. Releases: Egret." in words_of(person.card))
    assert any("2-3, hot, bump" in words for words in words_of(person.job))


def test_each_kind_of_line_leads_to_its_page(person):
    """A port, a solenoid by function, its flex test, its pair, and the fluid as found."""
    card, window = person.card, person.window
    while not card.is_whole:
        card.more.click()

    def follow(key):
        window.show_page("Job")
        next(line for line in card.lines if line.shown.key == key).lead.click()

    follow("fluid")
    assert QApplication.focusWidget() is person.job.found.fluid["level"].entry
    for key in ("port P9", "function Gull"):
        follow(key)
        person.wait(window.later.pages["Ports"].isVisible)
    follow("flex Gull")
    person.wait(window.later.flex.page.isVisible)
    follow("device Heron")
    person.wait(window.pins_page.isVisible)
    assert {window.pins.pair.red, window.pins.pair.black} == {"3", "11"}
