"""A heat run in rounds on the Pins page, at the keyboard; values are invented."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel

from tests.page_looks import problems_of
from valvebench import compose
from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.widgets.table import verdict_in

ENTER, ESC, UP, DOWN, F5 = Qt.Key.Key_Enter, Qt.Key.Key_Escape, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_F5
CTRL = Qt.KeyboardModifier.ControlModifier
SEVEN = compose.data_folder() / "resources" / "variants" / "tern-body-2.json"
R20 = {"Gull": 5.20, "Heron": 5.24, "Curlew": 5.12, "Whimbrel": 5.28, "Plover": 13.2, "Dunlin": 10.4, "Knot": 20.1}
"""Invented; the resistance of copper at t degrees is R20 (234.5 + t) / 254.5 (IEC 60034-1, 8.6.2)."""


@pytest.fixture
def person(open_window, tmp_path):
    job = {"job": "T-51", "kind": "bench_check"}
    compose.create_job(tmp_path / "T-51", job, variant_raw=SEVEN.read_bytes(), by="Ann").release()
    made = open_window(tmp_path / "T-51")
    made.type("23.4")
    made.key(ENTER)
    made.wait(made.pins.field.isVisible)
    return made


@pytest.fixture
def in_round(person):
    person.key(F5)
    answer(person, "23.4")
    return person


def rounds(person):
    return person.window.beside_pins.rounds


def board(person):
    return person.window.beside_pins.board.cards()


def big(person):
    return person.pins._pair.text()


def answer(person, text):
    """Type and Enter; a reading is waited for."""
    is_reading = not rounds(person).is_asking
    if is_reading:
        person.keep(text)
    else:
        person.pins.field.clear()
        person.type(text)
        person.key(ENTER)


def name_at_hand(person):
    return rounds(person)._here().removeprefix("device ")


def ohm(name, celsius):
    grown = max(0.0, 0.016 * (celsius - 50)) if name == "Heron" else 0.0
    return f"{R20[name] * (234.5 + celsius) / 254.5 + grown:.2f}"


def go_round(person, celsius):
    answer(person, f"{celsius}")
    while not rounds(person).is_asking:
        answer(person, ohm(name_at_hand(person), celsius))


def cells(table):
    model = table.model()
    return [
        [model.index(row, column).data() for column in range(model.columnCount())] for row in range(model.rowCount())
    ]


def test_the_way_in_stands_beside_the_plot(person):
    cap = person.window.beside_pins.board.way_in
    assert cap.accessibleName() == "warm the body: rounds, key F5"
    person.window.pins.choose("isolation 1+2")
    person.wait(cap.isVisible)
    cap.click()
    assert big(person) == "Round 1"
    assert QApplication.focusWidget() is person.pins.field.entry


def test_the_heat_page_leads_into_the_rounds_and_not_out_of_one(person):
    person.window.show_page("Heat")
    person.window._page("Heat").rounds_button.click()
    assert big(person) == "Round 1"
    answer(person, "23.4")
    pair = big(person)
    person.window.show_page("Heat")
    person.window._page("Heat").rounds_button.click()
    assert big(person) == pair


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (960, 540)])
def test_safety_stands_in_sight_before_anything_is_warmed(person, width, height):
    person.window.resize(width, height)
    person.key(F5)
    QApplication.processEvents()
    lines = person.pins.safety.lines
    assert all(line.visibleRegion().boundingRect() == line.rect() for line in lines)
    assert all(line.heightForWidth(line.width()) <= line.height() for line in lines)


def test_nothing_moves_from_question_to_pair_and_back(in_round):
    page = in_round.pins
    QApplication.processEvents()

    def places():
        QApplication.processEvents()
        caps = [cap.geometry() for cap in page._keys.values()]
        return [page.field.geometry(), page.middle.geometry(), page.left_cards.geometry(), page.aside.geometry(), *caps]

    at_pair = places()
    in_round.type("5.4")
    assert places() == at_pair
    page.field.clear()
    in_round.key(ESC)
    assert big(in_round) == "Round 1"
    assert places() == at_pair


def test_a_whole_round_with_enter_alone(in_round):
    for _ in range(7):
        answer(in_round, ohm(name_at_hand(in_round), 23.4))
    assert big(in_round) == "Round 2"
    assert in_round.pins.field._unit.text() == "\u00b0C"
    kept = [entry.body for entry in in_round.entries if entry.kind == "reading"]
    assert {(body.round, body.celsius) for body in kept} == {(1, 23.4)}
    assert len({body.pair for body in kept}) == 7


def test_keys_say_what_they_do_now(in_round):
    def words():
        return {cap.accessibleName() for cap in in_round.pins._keys.values()}

    assert {"keep, key Enter", "open (OL), key *", "turn over, key /"} <= words()
    in_round.key(ESC)
    assert {"go on, key Enter", "end, key *", "earlier, key Up", "later, key Down", "how read, key /"} <= words()
    in_round.type("/")
    assert in_round.pins._what.text().startswith("Infra-red on matt tape")
    assert in_round.pins.field.text() == "23.4"


def test_the_strip_shows_the_temperature_of_the_round(in_round):
    in_round.key(ESC)
    answer(in_round, "61.5")
    assert in_round.window.strip.cell("coil").head.text() == "61.5 \u00b0C"
    assert "at 61.5 \u00b0C" in in_round.pins._expect.text()


def test_star_at_the_question_ends_the_rounds_and_the_readings_are_back(in_round):
    answer(in_round, "5.4")
    in_round.key(ESC)
    in_round.type("*")
    assert not rounds(in_round).is_on
    assert in_round.pins.left_cards.currentWidget() is in_round.pins.readings_card
    assert in_round.pins.home is in_round.pins.plot_card
    assert in_round.pins.model.rowCount() == 1


def test_undo_after_the_last_pair(in_round):
    for _ in range(7):
        answer(in_round, ohm(name_at_hand(in_round), 23.4))
    in_round.key(Qt.Key.Key_Z, CTRL)
    in_round.wait(lambda: not rounds(in_round).is_asking and not in_round.window.keeper.is_busy)
    assert name_at_hand(in_round) == "Plover"
    answer(in_round, "13.37")
    assert big(in_round) == "Round 2"


def test_a_corrected_round(in_round):
    for _ in range(7):
        answer(in_round, ohm(name_at_hand(in_round), 23.4))
    in_round.key(UP)
    answer(in_round, "24")
    assert in_round.pins.field.error().startswith("Correct 7 readings of round 1 to 24 \u00b0C?")
    in_round.type("1")
    in_round.key(ENTER)
    in_round.wait(lambda: big(in_round) == "Round 2")
    assert sum(entry.kind == "correct" for entry in in_round.entries) == 7
    assert {item.body.celsius for item in in_round.window.desk.session.items} == {24.0}


def test_the_finds_stand_without_heads_at_every_zoom(in_round):
    table = board(in_round)[1].table
    for factor in (1.0, 1.5, 1.0):
        fonts.set_zoom(factor)
        QApplication.processEvents()
        assert table.horizontalHeader().height() == 0
        assert table.viewport().geometry().top() <= 1


def test_seven_rounds_name_the_contact(person):
    person.key(F5)
    for celsius in (23.4, 45.2, 70.5, 97.8, 80.1, 55.3, 31.0):
        go_round(person, celsius)
    rounds_card, finds_card = board(person)
    person.wait(lambda: "Grows with heat" in str(cells(finds_card.table)))
    lines = {row[0]: row for row in cells(finds_card.table)}
    assert lines["Heron"][1].startswith("Grows with heat: 0.7")
    model = finds_card.model
    marks = {
        model.row(row).name: verdict_in(model.index(row, 3).data(Qt.ItemDataRole.AccessibleTextRole))
        for row in range(model.rowCount())
    }
    assert marks["Heron"] is Verdict.FAIL
    person.wait(lambda: finds_card.headline.text().startswith("Heron parts from Gull, Curlew and Whimbrel: "))
    heads = [rounds_card.model.headerData(column, Qt.Orientation.Horizontal) for column in range(8)]
    assert heads == [
        "Winding",
        "23\u00b0",
        *(f"\u2191 {t}\u00b0" for t in (45, 70, 98)),
        *(f"\u2193 {t}\u00b0" for t in (80, 55, 31)),
    ]
    assert [row[1:] for row in cells(rounds_card.table) if row[0] == "Gull"] == [
        [ohm("Gull", celsius) for celsius in (23.4, 45.2, 70.5, 97.8, 80.1, 55.3, 31.0)]
    ]
    person.window.show_page("Findings")
    words = " ".join(label.text() for label in person.window.pages.currentWidget().findChildren(QLabel))
    assert "Heron fails in the heat run" in words


def test_opened_again_it_asks_where_it_was_left(in_round, open_window, tmp_path):
    for _ in range(3):
        answer(in_round, ohm(name_at_hand(in_round), 23.4))
    in_round.window.close()
    again = open_window(tmp_path / "T-51")
    again.wait(lambda: rounds(again).is_on and again.pins.field.isEnabled())
    assert "Round 1 at 23.4 \u00b0C still lacks" in again.pins._expect.text()
    answer(again, "23.4")
    again.wait(lambda: not rounds(again).is_asking)
    assert name_at_hand(again) not in {"Heron", "Whimbrel", "Dunlin"}


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (960, 540)])
def test_nothing_is_cut_or_overlaps(person, width, height):
    """What a machine can tell of a picture, with seven rounds in the table, at a question and at a pair."""
    person.window.resize(width, height)
    person.key(F5)
    for celsius in (23.4, 45.2, 70.5, 97.8, 80.1, 55.3):
        go_round(person, celsius)
    assert list(problems_of(person.window)) == []
    answer(person, "31")
    answer(person, "5.47")
    person.type("5.5")
    QApplication.processEvents()
    assert list(problems_of(person.window)) == []
