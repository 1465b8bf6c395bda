"""The leak page in the real window, at the keyboard; values are invented."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from tests.page_looks import problems_of
from valvebench.model.words import Verdict
from valvebench.ui.ports.groups import Group, group_of
from valvebench.ui.ports.questions import PortQuestion
from valvebench.ui.shortcuts import keys_of
from valvebench.ui.start.drops import Dropped, Kind

ENTER, ESC, UP, SLASH = Qt.Key.Key_Enter, Qt.Key.Key_Escape, Qt.Key.Key_Up, Qt.Key.Key_Slash
F2, F3, F4, F5, F6, F7 = (getattr(Qt.Key, f"Key_F{number}") for number in range(2, 8))


@pytest.fixture
def person(open_window, sample):
    """On Ports, at P6, then on its leak."""
    made = open_window(sample("air-new-body"))
    made.window.show_page("Ports")
    made.window.later.presenters["Ports"].choose("port P6")
    made.key(F6)
    return made


def page(person):
    return person.window.later.leak.page


def enter(person, *texts):
    for text in texts:
        if text:
            person.type(text)
        person.key(ENTER)


def looked(person):
    person.wait(lambda: not person.window.later.leak.presenter._looking.is_busy)
    return page(person).result


def test_number_block_alone_measures_keeps_and_goes_on(person):
    assert page(person).question._port.text() == "P6"
    assert page(person).question.field.entry.hasFocus()
    enter(person, "255", "250")
    assert looked(person).mark.verdict is Verdict.PASS
    assert page(person).result.ruler.accessibleName().startswith("at most 400 ml/min, reading ")
    before = len(person.entries)
    enter(person, "")
    person.wait(lambda: len(person.entries) == before + 1 and not person.window.keeper.is_busy)
    person.key(Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    person.wait(lambda: page(person).table.model().rowCount() == 1)
    assert len(person.entries) == before + 2
    person.key(SLASH)
    assert page(person).question._port.text() == "P7"


def test_escape_goes_back_to_the_port_and_what_was_typed_waits(person):
    enter(person, "255", "250")
    person.key(ESC)
    ports = person.window.later.pages["Ports"]
    assert ports.isVisible()
    question = person.window.later.presenters["Ports"]._walk.question
    assert isinstance(question, PortQuestion)
    assert question.port.name == "P6"
    person.key(F6)
    assert page(person).table.model().rowCount() == 1
    person.window.show_page("Findings")
    person.window.go_to("Ports", "leak P4")
    assert page(person).question._port.text() == "P4"


def test_without_what_has_to_be_known_its_field_has_the_keyboard(person):
    person.key(F4)
    assert QApplication.focusWidget() is page(person).set_up.fields["volume_ml"].entry
    enter(person, "50")
    assert page(person).question.field.entry.hasFocus()
    person.key(F5)
    assert QApplication.focusWidget() is page(person).set_up.fields["volume"].box
    person.key(F2)
    assert page(person).question.field.entry.hasFocus()


def test_what_is_typed_beside_the_readings_is_never_dropped_by_a_key(person):
    gauge = page(person).set_up.fields["gauge"]
    gauge.setFocus()
    gauge.entry.selectAll()
    person.type("2%+1x1")
    person.key(F3)
    assert (gauge.text(), person.window.later.leak.presenter._texts["gauge"]) == ("2%+1x1", "2%+1x1")
    person.key(F2)
    assert page(person).set_up.fields["restriction_c"].text() == "0.004"


def test_a_line_is_corrected_from_the_table_and_by_keys(person):
    enter(person, "255", "250", "255", "240")
    person.key(UP)
    assert page(person).question.field.text() == "255"
    enter(person, "", "")
    assert page(person).table.model().rowCount() == 2
    table = page(person).table
    table.setFocus()
    table.selectRow(0)
    person.key(Qt.Key.Key_Delete)
    assert table.model().row(0)[2] == "240"
    person.key(F7)
    assert table.model().rowCount() == 0


def test_a_file_is_dropped_where_it_belongs(person, tmp_path):
    log = tmp_path / "gauges.csv"
    log.write_text("supply_kpa_gauge,port_kpa_gauge\n255,250\n255,250\n")
    person.window._dropped(Dropped(Kind.LOG, log))
    person.wait(lambda: "at hand" in page(person).question.said.words())
    assert looked(person).mark.verdict is Verdict.PASS
    page(person).ask_for_log = lambda _: str(tmp_path / "none.csv")
    person.key(F6)
    person.wait(lambda: page(person).question.said.words().startswith("Not taken. "))


def test_a_clock_runs_only_while_it_is_looked_at(person):
    person.key(F4)
    enter(person, "50")
    for _ in page(person).protocol.steps:
        person.key(Qt.Key.Key_Asterisk)
    assert page(person)._ticker.isActive()
    assert page(person).protocol.count.text().endswith("s since the start")
    person.key(F3)
    assert not page(person)._ticker.isActive()


def test_in_a_closed_session_the_keys_that_only_look_still_work(person):
    person.window.desk.close()
    person.key(ESC)
    person.key(F6)
    assert page(person).table.hasFocus()
    person.key(SLASH)
    assert page(person).question._port.text() == "P7"
    person.key(ESC)
    assert person.window.later.pages["Ports"].isVisible()


def test_the_keys_of_the_page_are_in_the_overview(person):
    window = person.window
    assert ("Leak", page(person)) in window.named_pages()
    keys = {(key.key, key.words) for key in keys_of("Leak", page(person))}
    assert {("Enter", "next, or keep"), ("/", "next port"), ("*", "step done"), ("F5", "What it is taken with")} <= keys
    ports = {(key.key, key.words) for key in keys_of("Ports", window.later.pages["Ports"])}
    assert ("F6", "Measure the leak of the port or seat that is asked") in ports


@pytest.mark.parametrize(("palette", "zoom"), [("light", 2.0), ("dark", 1.5), ("high_contrast", 1.0)])
def test_nothing_is_cut_or_faint(person, palette, zoom):
    enter(person, "255", "250")
    looked(person)
    person.window.asides.change({"palette": palette, "zoom": zoom})
    for key in (F2, F3, F4):
        person.key(key)
        person.wait(lambda: list(problems_of(person.window)) == [])


def test_from_a_solenoid_to_its_seat_and_back(person):
    person.key(ESC)
    ports, presenter = person.window.later.pages["Ports"], person.window.later.presenters["Ports"]
    presenter.choose("function Plover")
    assert ports.question.leak_cap.isEnabled()
    person.key(F6)
    card = page(person).question
    assert (card._port.text(), card._supply.isVisible(), card.field.entry.hasFocus()) == ("Plover", False, True)
    person.wait(lambda: list(problems_of(person.window)) == [])
    enter(person, "255", "250")
    looked(person)
    before = len(person.entries)
    enter(person, "")
    person.wait(lambda: len(person.entries) == before + 1 and not person.window.keeper.is_busy)
    assert person.window.desk.session.items_of("leak")[-1].body.device == "Plover"
    person.key(SLASH)
    assert card._port.text() == "Dunlin"
    person.key(ESC)
    assert ports.isVisible()
    assert group_of(presenter._walk.question) is Group.SOLENOIDS
    assert presenter._walk.question.solenoid.name == "Dunlin"


def test_a_finding_of_a_seat_leads_to_it_and_its_supply_is_asked_first(person):
    presenter = person.window.later.presenters["Ports"]
    person.window.show_page("Findings")
    person.window.go_to("Ports", "seat Gull")
    card = page(person).question
    assert (card._port.text(), card._asked.text(), card.caps["yes"].isVisible()) == ("Gull", "Limited to 1 A?", True)
    person.wait(lambda: list(problems_of(person.window)) == [])
    person.key(Qt.Key.Key_Plus)
    assert (card._asked.text(), card.field.text(), card.caps["yes"].isVisible()) == ("Supply gauge", "", False)
    assert "Gull" in presenter.limited, "Ports does not ask again"
