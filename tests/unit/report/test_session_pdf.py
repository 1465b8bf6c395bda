"""The report as PDF: every item, the head, the method, over as many pages as it needs."""

from __future__ import annotations

from tests.unit.report.pdf_text import letters_of, pages_of, words_of
from tests.unit.report.samples import PRINTED_AT, PROGRAM, everything, session_of, variant
from valvebench.bench.judging import judged_whole
from valvebench.model.air_tests import PressureTaken
from valvebench.model.entry import AirTest, Close, OpenJob, Reading, SwitchTest
from valvebench.model.words import AirResult, Place, SwitchState
from valvebench.report.form import Lines
from valvebench.report.identity import report_id
from valvebench.report.session_pdf import session_form, session_pdf
from valvebench.report.summary import Front, items_of


def front_of(*bodies, of=None, job=None):
    session = session_of(*bodies, job=job)
    number = report_id(session, printed_at=PRINTED_AT, program=PROGRAM)
    judged = judged_whole(session, of, None)
    return Front(session=session, variant=of, judged=judged, report_id=number, printed_at=PRINTED_AT, program=PROGRAM)


def test_verdict_items_head_and_end_stand_on_it():
    front = front_of(*everything(), Close(verdict="fail", scope=""), of=variant())
    raw = session_pdf(front)
    words = words_of(raw)
    for expected in ("Valve body test report", front.report_id, "Rule: Proved only", "Dark fluid in the pan."):
        assert expected in words
    assert front.session.head in letters_of(raw)
    for item in items_of(front.judged):
        assert "".join(item.what.split()) in letters_of(raw)
    assert f"End of report {front.report_id}." in words


def test_a_hundred_rows_are_all_there():
    readings = [Reading(from_node=f"a{n}", to_node=f"b{n}", ohm=5.0 + n, celsius=20.0) for n in range(100)]
    raw = session_pdf(front_of(*readings))
    assert pages_of(raw) > 3
    letters = letters_of(raw)
    assert [n for n in range(100) if f"a{n}-b{n}" not in letters] == []


def test_an_open_session_says_so_and_has_no_code():
    form = session_form(front_of())
    assert form.code == ""
    assert "This session is not closed" in words_of(session_pdf(front_of()))


def test_what_the_customer_told_is_marked():
    words = words_of(session_pdf(front_of(job=OpenJob(session="s", job="T", vehicle="Shuttle 4"))))
    assert "Shuttle 4 (as told by the customer, not checked here)" in words


def test_what_was_done_and_with_which_gauges_is_told():
    bodies = (
        AirTest(port="P3", place=Place.BODY, result=AirResult.PASS, gauge_id="shop gauge"),
        PressureTaken(tap="Line", kpa_gauge=430.0, fluid_celsius=78.0, state="idle", gauge="1%+1x1"),
        SwitchTest(device="Reel", state=SwitchState.OPEN),
    )
    lines = {x.label: x.text for b in session_form(front_of(*bodies)).blocks if isinstance(b, Lines) for x in b.lines}
    assert lines["Measured"] == "pressure at a tap, by gauge; air at ports, by ear; switches at rest and under air"
    assert lines["Gauges"] == "shop gauge; 1%+1x1 kPa"
    assert lines["Meters and leads"] == "no resistance was read"
