"""The card of explanations on Findings, and the way to the reading it asks for and back, at the keyboard."""

from __future__ import annotations

import sys
import threading

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.fakes.explained import HEALTHY, HIGH, many, shown
from tests.fakes.kept_page import keep_page, words_of
from valvebench import compose
from valvebench.bench.explaining import Explaining
from valvebench.diagnose.explained import Ask
from valvebench.model.errors import WorldFailed
from valvebench.model.words import AccessPoint
from valvebench.ui import fonts, theme
from valvebench.ui.findings.explain_card import ExplainCard
from valvebench.ui.findings.explaining import FAULT_OF_OURS, FIND_WIRING, TRY_AGAIN, WORKING

KEY = Qt.Key
CROSS = Ask("1", "2", AccessPoint.CASE_CONNECTOR, "pair", 0.1, 10.0)


@pytest.fixture
def card(qtbot):
    made = ExplainCard()
    keep_page(qtbot, made)
    made.resize(620, 500)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_an_answer_stands_with_its_odds_class_size_and_what_decides(card):
    card.show_answer(shown(HIGH, HEALTHY))
    words = words_of(card)
    for line in (
        "Heron (2\u20133) is too high",
        "About 90 in 100, from 8 readings",
        "Size: 8.90 \u00b1 0.10 \u03a9.",
        "8.95 \u03a9",
    ):
        assert line in words
    assert {"Also possible", "Nothing wrong shows", "about 3 in 100"} <= {*words}
    assert card.action.accessibleName() == "Measure 1\u20132 next, key F9"


def test_with_few_readings_no_answer_is_larger_than_another(card):
    card.show_answer(many())
    words = words_of(card)
    assert "Still possible: 14 explanations" in words
    assert "Predicted" not in words
    assert not any(word.startswith("About ") for word in words[:3])


def test_an_older_answer_stays_until_the_newest_is_there_but_its_step_is_not_taken(card):
    card.show_answer(shown(HIGH, HEALTHY))
    card.show_busy(WORKING, has_step=True)
    assert "Heron (2\u20133) is too high" in words_of(card)
    assert card.is_busy
    assert card.action.accessibleName() == f"{WORKING}, key F9"


def test_words_alone_take_the_place_of_an_answer(card):
    card.show_answer(shown(HIGH, HEALTHY))
    card.show_words("Why not.", action=TRY_AGAIN, is_problem=True)
    assert words_of(card) == ["What explains these readings"]
    assert card.said.words() == "Why not."
    card.show_nothing()
    assert not card.isVisible()


def test_it_asks_for_no_more_room_than_it_shows(card):
    card.show_answer(shown(HIGH, HEALTHY))
    QApplication.processEvents()
    full = card.layout().heightForWidth(620)
    card.show_words("Why not.", action=TRY_AGAIN)
    QApplication.processEvents()
    assert card.layout().heightForWidth(620) < full / 2


@pytest.mark.parametrize("zoom", [1.0, 2.0])
@pytest.mark.parametrize("palette", list(theme.THEMES))
def test_it_paints_in_every_palette(card, qapp, palette, zoom):
    theme.apply(qapp, palette)
    fonts.set_zoom(zoom)
    for one in (shown(HIGH, HEALTHY), many(), shown(HIGH, HEALTHY, is_strained=True), shown(HIGH, next=())):
        card.show_answer(one)
        assert not card.grab().isNull()


# -- in the window -----------------------------------------------------------------------------


def findings(person):
    """Go there, and wait until the answer is there."""
    person.key(KEY.Key_6, Qt.KeyboardModifier.ControlModifier)
    return answered(person)


def answered(person):
    page = person.window.later.pages["Findings"]
    person.wait(lambda: bool(page.explain_card.sentence.text()) and not page.explain_card.is_busy)
    return page.explain_card


def asked_nodes(card) -> set[str]:
    """The two nodes that the action names."""
    return set(card.action.accessibleName().split(" ")[1].split("\u2013"))


def test_one_key_leads_to_the_reading_and_one_key_back_with_the_answer_brought_up_to_date(open_window, sample):
    person = open_window(sample("in-work"))
    card = findings(person)
    assert card.chance.text().endswith("from 8 readings")
    nodes = asked_nodes(card)
    person.key(KEY.Key_F9)
    assert person.window.rail.current() == "Pins"
    pair = person.window.pins._plan.pair
    assert {*pair} == nodes
    assert person.pins._said.words() == "Findings asks for this pair. F9 goes back to Findings."
    assert person.pins._probe.text() == f"Clip black on {pair.black}, probe"
    person.keep("10.6")
    assert {person.entries[-1].body.from_node, person.entries[-1].body.to_node} == nodes
    person.key(KEY.Key_Enter)
    assert person.window.rail.current() == "Findings"
    assert answered(person).chance.text().endswith("from 9 readings")
    assert QApplication.focusWidget() is card.action
    person.key(KEY.Key_Enter)
    assert person.window.rail.current() == "Pins"


def test_back_without_a_reading_the_usual_pairs_go_on(open_window, sample):
    person = open_window(sample("in-work"))
    usual = person.pins._pair.text()
    findings(person)
    person.key(KEY.Key_F9)
    assert person.pins._pair.text() != usual
    person.key(KEY.Key_F9)
    assert person.window.rail.current() == "Findings"
    person.key(KEY.Key_3, Qt.KeyboardModifier.ControlModifier)
    assert person.pins._pair.text() == usual


def test_an_item_chosen_among_the_missing_is_none_that_was_asked_for(open_window, sample):
    person = open_window(sample("in-work"))
    findings(person)
    person.key(KEY.Key_F9)
    person.key(KEY.Key_6, Qt.KeyboardModifier.ControlModifier)
    person.window.go_to("Pins", "device Dunlin")
    assert "Dunlin" in person.pins._what.text()
    assert not person.window.beside_pins.asked.is_on


def test_tips_are_asked_for_on_the_job_page(open_window, sample):
    person = open_window(sample("in-work"))
    findings(person)
    person.window.later.leading.to(Ask(None, None, None, "lead_short", 0.1, 8.0), 80.0)
    assert person.window.rail.current() == "Job"
    assert QApplication.focusWidget() is person.job.fields["lead_ohm"].entry
    person.type("0.2")
    person.key(KEY.Key_Enter)
    assert person.window.pins.set_up.lead_ohm == 0.2


def test_a_table_of_codes_gives_way_to_the_pair(open_window, tmp_path):
    variant = compose.data_folder() / "resources" / "variants" / "tern-body-1.json"
    job = {"job": "T-63"}
    compose.create_job(tmp_path / "T-63", job, variant_raw=variant.read_bytes(), by="Ann").release()
    person = open_window(tmp_path / "T-63")
    person.window.show_page("Pins")
    codes = person.window.beside_pins.codes
    codes.presenter.open_next()
    person.window.later.leading.to(CROSS, 80.0)
    assert not codes.presenter.is_on
    assert person.pins.left_cards.currentWidget() is person.pins.readings_card
    assert {*person.window.pins.pair} == {"1", "2"}
    assert QApplication.focusWidget() is person.pins.field.entry


def test_the_vehicles_plug_is_said_with_its_dangers(open_window, sample):
    person = open_window(sample("in-work"))
    person.window.later.leading.to(Ask("3", "7", AccessPoint.VEHICLE_PLUG, "pair", 0.1, 60.0), 80.0)
    assert person.pins.middle.currentWidget() is person.pins.safety
    assert person.pins._expect.text() == "At the vehicle's plug."
    person.keep("10.6")
    assert person.entries[-1].body.at is AccessPoint.VEHICLE_PLUG


def test_the_page_copies_with_what_explains_it(open_window, sample):
    person = open_window(sample("in-work"))
    findings(person)
    person.window.later.pages["Findings"].copy_button.click()
    assert "What explains these readings: " in QApplication.clipboard().text()


def test_without_a_variant_it_leads_to_the_part_in_hand(open_window, sample):
    person = open_window(sample("2231-old-body"))
    person.window.show_page("Findings")
    card = person.window.later.pages["Findings"].explain_card
    person.wait(card.action.isVisible)
    assert card.action.accessibleName() == f"{FIND_WIRING}, key F9"
    person.key(KEY.Key_F9)
    assert person.window.rail.current() == "Pins"
    assert person.window.hand.page.isVisible()


def test_priors_that_cannot_be_read_are_said_and_the_session_is_kept(open_window, sample, monkeypatch):
    def refuse():
        raise WorldFailed("priors.json: cannot be read. Install it again.")

    monkeypatch.setattr(compose, "priors", refuse)
    person = open_window(sample("in-work"))
    person.window.show_page("Findings")
    card = person.window.later.pages["Findings"].explain_card
    person.wait(lambda: "Install it again." in card.said.words())
    assert card.action.accessibleName() == f"{TRY_AGAIN}, key F9"
    person.window.show_page("Pins")
    person.keep("5.24")


def test_a_session_is_left_at_once_while_it_is_explained(open_window, sample, monkeypatch):
    go_on, begun = threading.Event(), threading.Event()

    def slow(*_, **__):
        begun.set()
        go_on.wait(10)

    monkeypatch.setattr(Explaining, "explain", slow)
    person = open_window(sample("in-work"))
    person.window.show_page("Findings")
    person.wait(begun.is_set)
    folder = sample("healthy-spare")
    person.window.open_session(folder)
    person.wait(lambda: person.window.folder == folder and person.window.keeper.book is not None)
    assert not go_on.is_set()
    assert "Findings" not in person.window.later.pages
    go_on.set()


def test_a_fault_in_what_explains_is_told_and_tried_again(open_window, sample, monkeypatch):
    """As while the program runs: the line of trouble below the page tells of it."""

    def broken(*_, **__):
        raise RuntimeError("invented")

    caught = []
    monkeypatch.setattr(sys, "excepthook", lambda *words: caught.append(words[1]))
    person = open_window(sample("in-work"))
    with monkeypatch.context() as patch:
        patch.setattr(Explaining, "explain", broken)
        with person.qtbot.captureExceptions() as raised:
            person.window.show_page("Findings")
            card = person.window.later.pages["Findings"].explain_card
            person.wait(lambda: FAULT_OF_OURS in card.said.words())
    assert [str(one[1]) for one in raised] + [str(one) for one in caught] == ["invented"]
    assert card.action.accessibleName() == f"{TRY_AGAIN}, key F9"
    person.key(KEY.Key_F9)
    assert answered(person).chance.text().endswith("from 8 readings")
