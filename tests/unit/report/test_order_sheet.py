"""The order sheet in words: never more than was checked."""

from __future__ import annotations

import pytest

from tests.unit.bench.test_ordering import BOTH, look, variant
from tests.unit.report.pdf_text import pages_of, words_of
from tests.unit.report.samples import PRINTED_AT, PROGRAM, session_of
from valvebench.bench.ordering import Chance, Sure, Which, order_sheet
from valvebench.model.entry import OpenJob
from valvebench.model.variant import OrderLine
from valvebench.model.words import JobKind, Seen
from valvebench.report.form import Lines, Printing, Table, Words
from valvebench.report.order_sheet import order_form, order_pdf, sure_words

BODY = variant(("QT-1", "QT-2"), ("QT-2", None), order_with=(OrderLine(text="seal set", number="SE-2", note="always"),))
GIVEN = Printing({}, PRINTED_AT, PROGRAM)


def facts_of(*looks, sure=Sure.CONFIRMED, new=None, leading=BODY, **more):
    job = OpenJob(session="s", job="E-31", kind=JobKind.ENQUIRY)
    return order_sheet(session_of(*looks, job=job), None, Which(sure=sure, leading=leading, **more), new=new)


def form_of(*looks, **more):
    return order_form(facts_of(*looks, **more), GIVEN)


def line(form, label):
    return next(x.text for b in form.blocks if isinstance(b, Lines) for x in b.lines if x.label == label)


def table(form, begins):
    return next(block for block in form.blocks if isinstance(block, Table) and block.title.startswith(begins))


@pytest.mark.parametrize(
    ("sure", "looks", "word", "says", "number"),
    [
        (Sure.CONFIRMED, BOTH, "Confirmed", "Every must-match point was seen", "QT-2 (takes the place of QT-1)"),
        (Sure.CONFIRMED, BOTH[:1], "Not confirmed", "Look first at: ears.", "only if it is Tern test: QT-2"),
        (Sure.NARROWED, BOTH, "Not confirmed", "Most likely Tern test, but not confirmed", "only if it is"),
        (Sure.OPEN, BOTH, "Open", "Which variant it is stays open.", "none is named"),
        (Sure.CONTRADICTED, BOTH, "Contradicted", "does not fit", "none is named"),
        (Sure.NONE_OF_THESE, BOTH, "None of these", "No variant of the library fits", "none is named"),
        (Sure.NOT_ASKED, BOTH, "Not identified", "as it was chosen for this job", "of Tern test, not identified: QT-2"),
    ],
)
def test_word_sentence_and_number_go_together(sure, looks, word, says, number):
    form = form_of(*looks, sure=sure)
    assert form.word == word
    assert says in form.sentence
    assert number in line(form, "Part number")
    assert ("QT-" in str(form)) is (sure in (Sure.CONFIRMED, Sure.NARROWED, Sure.NOT_ASKED))


def test_only_confirmed_says_so():
    for sure in Sure:
        words = sure_words(facts_of(*BOTH[:1], sure=sure))
        assert "Every must-match point was seen" not in words


def test_without_a_variant_no_number_is_named():
    form = form_of(sure=Sure.OPEN, leading=None, likely=(Chance("A", 0.5), Chance("B", 0.4)), p_none=0.1)
    assert "Chances: A about 50 in 100; B about 40 in 100; none of these about 10 in 100." in form.sentence
    assert line(form, "Part number").startswith("none is named")


def test_a_library_without_numbers_says_so():
    form = form_of(*BOTH, leading=variant())
    assert line(form, "Part number") == "none in our library"
    assert line(form, "Order with it") == "nothing named in our library"


def test_what_to_order_with_it():
    assert line(form_of(*BOTH), "Order with it") == "seal set SE-2 (always)"


def test_every_look_says_how_by_whom_and_when():
    rows = table(form_of(*BOTH, look("cast mark", "star", Seen.PHONE)), "What was checked").rows
    assert rows[2] == ("cast mark", "star", "told by phone, not seen", "Ada, 2031-05-06 08:04 UTC, entry 4")


def test_old_and_new_part_stand_side_by_side_and_a_difference_is_said_first():
    form = form_of(*BOTH, new=session_of(look("plate mark", "none", Seen.PHOTO)))
    assert table(form, "Old and new").rows == (
        ("plate mark", "dot", "dot, seen by us", "none, seen in a photo", "fits / differs"),
        ("ears", "four", "four, seen by us", "not looked at", "fits / not seen"),
    )
    assert form.sentence.startswith("The new part does not match: plate mark. ")


def test_what_was_not_checked_stands_apart_with_what_to_look_at():
    form = form_of(BOTH[0], sure=Sure.NARROWED, look_next=("ears",))
    block = next(block for block in form.blocks if isinstance(block, Words) and block.title == "Not checked")
    assert block.text == "ears (must match), cast mark. Look next at: ears."


def test_the_paper_is_one_page_and_says_enquiry():
    raw = order_pdf(facts_of(*BOTH), GIVEN)
    assert pages_of(raw) == 1
    words = words_of(raw)
    for expected in (
        "Order sheet Enquiry E-31",
        "Confirmed",
        "QT-2",
        "Checked by: name, signature",
        "Batch not recorded",
    ):
        assert expected in words
