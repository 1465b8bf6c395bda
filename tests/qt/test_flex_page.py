"""The Flex page in the real window, at the keyboard; values are invented."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt

from tests.page_looks import problems_of
from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.shortcuts import keys_of

ENTER, ESC, UP, DOWN, F6 = Qt.Key.Key_Enter, Qt.Key.Key_Escape, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_F6


@pytest.fixture
def person(open_window, sample):
    made = open_window(sample("in-work"))
    made.key(F6)
    made.wait(lambda: made.window.later.flex is not None and made.window.later.flex.page.plot.drawing is not None)
    return made


def page(person):
    return person.window.later.flex.page


def shown(person):
    return page(person).plot.shown


def drawn(person):
    """Readings and crosses that the drawing has."""
    drawing = page(person).plot.drawing
    return list(drawing._dots.getData()[1]), len(drawing._opened.getData()[0])


def press(person, key, count=1):
    """A key that keeps an entry."""
    for _ in range(count):
        before = len(person.entries)
        person.key(key)
        person.wait(lambda before=before: len(person.entries) == before + 1 and not person.window.keeper.is_busy)


def test_number_block_alone_takes_a_series_and_shows_it(person):
    assert page(person)._pair.text() == "3 and 11"
    assert page(person).field.entry.hasFocus()
    person.keep("5.2")
    press(person, DOWN, 3)
    person.keep("5.3")
    press(person, Qt.Key.Key_Asterisk)
    person.wait(lambda: shown(person).verdict is Verdict.FAIL)
    assert drawn(person) == ([5.2, 5.2, 5.2, 5.2, 5.3], 1)
    assert page(person).said_card.headline.text().startswith("Fail: it opened once, first at reading 6")
    press(person, UP)
    person.wait(lambda: shown(person).verdict is Verdict.CANT_TELL)
    assert drawn(person) == ([5.2, 5.2, 5.2, 5.2, 5.3], 0)


def test_done_goes_back_to_pins_which_says_so(person):
    person.keep("5.2")
    press(person, Qt.Key.Key_Asterisk)
    person.wait(lambda: shown(person).verdict is Verdict.FAIL)
    person.key(Qt.Key.Key_Slash)
    person.wait(person.pins.isVisible)
    assert person.pins._said.words() == "Heron flexed, 2 readings: Fail. Findings says why."
    assert "flex" not in {row.what for row in map(person.pins.model.row, range(person.pins.model.rowCount()))}
    assert person.window.keeper.book.verdict_of("flex Heron") is Verdict.FAIL


def test_escape_leaves_and_the_series_goes_on(person):
    person.keep("5.2")
    person.key(ESC)
    assert person.pins.isVisible()
    person.key(F6)
    person.keep("5.3")
    assert shown(person).ohm == (5.2, 5.3)


def test_what_is_flexed_is_picked_or_typed(person):
    flexed = page(person).flexed
    assert flexed.text() == "the harness at the plug"
    flexed.setFocus()
    flexed.set_text("the strap beside the filter")
    person.key(ENTER)
    assert page(person).field.entry.hasFocus()
    person.keep("5.2")
    assert person.window.desk.session.items[-1].body.flexed == "the strap beside the filter"


def test_a_logger_file_is_chosen_by_a_key(person, tmp_path):
    log = tmp_path / "flex.csv"
    ohms = [f"{5.2 + second % 3 / 100:.2f}" for second in range(60)]
    ohms[30] = "OL"
    log.write_text("t_s,ohm\n" + "".join(f"{second},{ohm}\n" for second, ohm in enumerate(ohms)))
    page(person).ask_for_log = lambda _: str(log)
    before = len(person.entries)
    person.key(F6)
    person.wait(lambda: len(person.entries) == before + 1 and shown(person).verdict is not None)
    assert (shown(person).verdict, len(shown(person).ohm)) == (Verdict.FAIL, 60)
    assert drawn(person)[1] == 1


def test_the_keys_of_the_page_are_in_the_overview(person):
    window = person.window
    assert ("Flex", page(person)) in window.named_pages()
    flex = {(key.key, key.words) for key in keys_of("Flex", page(person))}
    assert {("Enter", "keep"), ("*", "open (OL)"), ("Down", "the same again"), ("Up", "take back")} <= flex
    assert {("/", "done"), ("F6", "Open a logger's file of the flex test")} <= flex
    assert ("F6", "Flex test of the pair that stands there") in {
        (k.key, k.words) for k in keys_of("Pins", window.pins_page)
    }


def test_the_verdict_leads_back_from_findings(person):
    person.keep("5.2")
    press(person, Qt.Key.Key_Asterisk)
    person.wait(lambda: shown(person).verdict is Verdict.FAIL)
    person.window.show_page("Findings")
    person.window.go_to("Pins", "flex Heron")
    assert page(person).isVisible()
    assert page(person)._pair.text() == "3 and 11"


@pytest.mark.parametrize("zoom", [1.0, 1.5])
@pytest.mark.parametrize("palette", ["light", "dark", "high_contrast"])
def test_nothing_is_cut_or_faint(person, palette, zoom):
    person.keep("5.2")
    press(person, Qt.Key.Key_Asterisk)
    person.wait(lambda: shown(person).verdict is Verdict.FAIL)
    person.window.asides.change({"palette": palette, "zoom": zoom})
    assert fonts.zoom.factor == zoom
    person.wait(lambda: list(problems_of(person.window)) == [])
