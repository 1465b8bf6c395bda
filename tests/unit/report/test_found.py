"""As found, on summary and PDF alike: fluid, the cooler in words, and where nobody said that it is not recorded."""

from __future__ import annotations

import io

import openpyxl
import pytest

from tests.unit.report.pdf_text import words_of
from tests.unit.report.samples import session_of, workbook_of
from tests.unit.report.test_session_pdf import front_of
from valvebench.model.entry import Close, Correct, FluidFound, Note, OpenJob
from valvebench.model.words import COOLER_TEXT, Cooler, JobKind
from valvebench.report.form import Lines
from valvebench.report.found import found_facts
from valvebench.report.session_pdf import session_form, session_pdf
from valvebench.report.words import trail_words

BENCH_CHECK = OpenJob(session="s-1", job="T-1", kind=JobKind.BENCH_CHECK)
SAID = FluidFound(colour="dark", cooler=Cooler.NOT_FLUSHED)


@pytest.mark.parametrize(
    ("job", "bodies", "expected"),
    [
        (None, [], {"Cooler": "not recorded"}),
        (None, [Note(text="x")], {"Note, entry 2": "x", "Cooler": "not recorded"}),
        (
            None,
            [SAID],
            {
                "Fluid and debris, entry 2": "colour: dark; cooler: not flushed",
                "Cooler": "not flushed (entry 2, 2031-05-06 08:02 UTC, by Ada)",
            },
        ),
        (BENCH_CHECK, [], {}),
        (BENCH_CHECK, [Note(text="x")], {"Note, entry 2": "x"}),
        (
            BENCH_CHECK,
            [FluidFound(cooler=Cooler.REPLACED)],
            {
                "Fluid and debris, entry 2": "cooler: replaced",
                "Cooler": "replaced (entry 2, 2031-05-06 08:02 UTC, by Ada)",
            },
        ),
    ],
    ids=["complaint", "complaint, a note", "complaint, said", "check", "check, a note", "check, said"],
)
def test_a_complaint_always_tells_of_the_cooler(job, bodies, expected):
    assert dict(found_facts(session_of(*bodies, job=job))) == expected


def test_every_word_has_its_text():
    assert dict(COOLER_TEXT) == {
        Cooler.FLUSHED: "flushed",
        Cooler.REPLACED: "replaced",
        Cooler.NOT_FLUSHED: "not flushed",
        Cooler.NOT_KNOWN: "not known",
    }


def test_summary_and_pdf_both_hold_it():
    session = session_of(SAID, Close(verdict="not_finished", scope=""))
    said = "not flushed (entry 2, 2031-05-06 08:02 UTC, by Ada)"
    sheet = openpyxl.load_workbook(io.BytesIO(workbook_of(session)))["Summary"]
    told = {row[0].value: row[1].value for row in sheet.iter_rows()}
    assert told["Cooler"] == said
    front = front_of(SAID)
    found = next(b for b in session_form(front).blocks if isinstance(b, Lines) and b.title == "As found")
    assert {line.label: line.text for line in found.lines}["Cooler"] == said
    assert said in words_of(session_pdf(front))


def test_a_correction_tells_old_and_new_in_words():
    body = {"colour": "dark", "cooler": "flushed"}
    words = trail_words(session_of(SAID, Correct(entry=2, why="asked again", body=body)))
    assert words[1:] == [
        "colour: dark; cooler: not flushed",
        "Entry 2 corrected. cooler: not flushed -> flushed. Why: asked again",
    ]
