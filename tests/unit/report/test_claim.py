"""The claim page in words: what failed with everything it rests on, and nothing left blank."""

from __future__ import annotations

import io

import msgspec
import openpyxl
import pytest

from tests.unit.report.pdf_text import letters_of, pages_of, words_of
from tests.unit.report.samples import PRINTED_AT, PROGRAM, session_of, variant
from tests.unit.report.test_form_pdf import photo
from valvebench.bench.claiming import claim_facts
from valvebench.bench.judging import judged_whole
from valvebench.model.air_tests import PressureTaken
from valvebench.model.entry import (
    AirTest,
    Anchor,
    Close,
    FluidFound,
    MeterCheck,
    Note,
    OpenJob,
    Outcome,
    Photo,
    Reading,
    Withdraw,
    sha256_of,
)
from valvebench.model.flex import FlexTest
from valvebench.model.variant import ChecklistLine
from valvebench.model.words import AirResult, AnchorKind, Comeback, Cooler, Place, TemperatureSource
from valvebench.report.claim import _other_conditions, claim_form, claim_pdf, claim_xlsx
from valvebench.report.form import Lines, Photos, Printing, Table, Words

PICTURE = photo()
KEPT = {sha256_of(PICTURE): PICTURE}
JOB = OpenJob(
    session="s-1",
    job="T-1",
    customer="Ann",
    vehicle="Shuttle 4",
    odometer_km=201655.0,
    part="QT-2",
    batch="B-7",
    trim="T-30",
    serial="S-9",
    mark="dot of paint",
    supplier="Supplier One, invoice 77",
)
BODIES = (
    FluidFound(colour="dark", debris="glitter", cooler=Cooler.FLUSHED),
    Photo(sha256=sha256_of(PICTURE), file_name="a.png", of="shop's own mark", size_bytes=len(PICTURE)),
    Note(text="Cooler flushed twice."),
    MeterCheck(check_ohm=5.0, read_ohm=5.1, zero_read_ohm=0.1, meter="0.5%+5x0.01"),
    Reading(
        from_node="1", to_node="7", ohm=9.9, celsius=23.0, meter="0.5%+5x0.01", temperature=TemperatureSource.TAPED
    ),
    AirTest(port="P3", place=Place.BODY, result=AirResult.BLEEDS, kpa_gauge=200.0, selector="D"),
    Close(verdict="fail", scope="1 failed"),
    Outcome(fitted=True, comeback=Comeback.HOT, months=7.0, odometer_km=210000.0),
    Anchor(kind=AnchorKind.SENT_TO_CUSTOMER, to="Ann"),
)


def facts_of(*bodies, job=JOB):
    session = session_of(*bodies, job=job)
    return claim_facts(session, variant(), judged_whole(session, variant(), None))


def form_of(*bodies, job=JOB, photos=KEPT):
    return claim_form(facts_of(*bodies, job=job), Printing(photos, PRINTED_AT, PROGRAM))


def lines_in(form):
    return {line.label: line.text for block in form.blocks if isinstance(block, Lines) for line in block.lines}


@pytest.fixture(scope="module")
def form():
    return form_of(*BODIES)


def test_job_marks_and_finds_stand_with_their_labels(form):
    expected = {
        "Supplier and invoice": "Supplier One, invoice 77",
        "Odometer, km": "201655",
        "Came in": "2031-05-06 08:01 UTC, by Ada",
        "Tested": "2031-05-06 08:05 UTC to 2031-05-06 08:07 UTC, by Ada",
        "Fitted": "yes",
        "Came back": "yes, fault when hot",
        "Months fitted": "7",
        "Odometer then, km": "210000",
        "Comeback of job": "none named",
        "Part": "QT-2",
        "Batch": "B-7",
        "Date and trim code": "T-30",
        "Serial": "S-9",
        "Shop\u2019s own mark": "dot of paint",
        "Photo of the mark": "entry 3",
        "Fluid": "colour: dark",
        "Debris": "glitter",
        "Cooler": (
            "flushed (entry 2, 2031-05-06 08:02 UTC, by Ada); "
            "noted 2031-05-06 08:04 UTC by Ada: \u201cCooler flushed twice.\u201d"
        ),
        "Photos": "1 kept with the session",
        "Head was given": "sent to the customer, to Ann, 2031-05-06 08:10 UTC, recorded by Ada",
    }
    found = lines_in(form)
    assert {label: found[label] for label in expected} == expected


def test_a_failed_value_has_limit_whose_limit_method_meter_check_and_temperature(form):
    table = next(block for block in form.blocks if isinstance(block, Table))
    gull, port = table.rows
    assert gull[:2] == ("Gull", "Fail")
    for expected in ("Limits: 4.90\u20135.50 \u03a9", "Whose: manual: invented, page 1", "Value: "):
        assert expected in gull[2]
    for expected in (
        "Method: resistance by ohmmeter between 1 and 7 at the case connector",
        "Meter: 0.5%+5x0.01 \u03a9",
        "Last meter check: 5 \u03a9 within 0.1 % read as 5.1 \u03a9, tips 0.1 \u03a9",
        "entry 5",
        "Coil temperature: 23 \u00b0C, contact probe taped",
        "Rule: Proved only",
        "Entry 6: 2031-05-06 08:06 UTC, by Ada",
    ):
        assert expected in gull[3]
    assert "as the variant Quillon Tern, test body expects it; source not stated" in port[2]
    for expected in ("air by ear, port of the body P3 at 200 kPa gauge, selector D", "Meter or gauge: not recorded"):
        assert expected in port[3]


def test_other_tests_name_their_gauge_and_temperature():
    bodies = (
        PressureTaken(tap="Line", kpa_gauge=430.0, fluid_celsius=78.0, state="idle", gauge="1%+1x1", gauge_id="shop"),
        AirTest(port="P3", place=Place.BODY, result=AirResult.BLEEDS, gauge_id="small gauge"),
        AirTest(port="P3", place=Place.BODY, result=AirResult.BLEEDS),
        FlexTest(from_node="1", to_node="7", ohm=(5.2, None), meter="1%+3x0.1", meter_id="M1", celsius=23.0),
    )
    items = session_of(*bodies).items
    assert [dict(_other_conditions([item])) for item in items] == [
        {"Meter or gauge": "shop, 1%+1x1 kPa", "Temperature": "78 \u00b0C"},
        {"Meter or gauge": "small gauge", "Temperature": ""},
        {"Meter or gauge": "", "Temperature": ""},
        {"Meter or gauge": "M1, 1%+3x0.1 \u03a9", "Temperature": "23 \u00b0C"},
    ]


def test_a_flex_test_needs_no_limit():
    flexed = FlexTest(from_node="1", to_node="7", ohm=(5.2, None, 5.2, 5.2), meter="1%+3x0.1")
    table = next(block for block in form_of(flexed, BODIES[-3]).blocks if isinstance(block, Table))
    assert "Whose: none is needed: an opening, a jump or a contact fails whatever the limits" in table.rows[0][2]
    assert "was flexed" in table.rows[0][3]


def test_the_head_and_its_code_stand_on_it(form):
    head = facts_of(*BODIES).session.head
    assert lines_in(form)["Head"].replace(" ", "") == head
    assert form.code.endswith(f"head {head}")


def test_what_is_missing_is_named_and_nothing_is_blank():
    form = form_of(BODIES[4], Close(verdict="fail", scope="1 failed"), job=OpenJob(session="s", job="T-2"))
    found = lines_in(form)
    assert all(found.values())
    said = next(block.text for block in form.blocks if isinstance(block, Words) and "Not recorded" in block.text)
    for label in (
        "Supplier and invoice",
        "Batch",
        "Shop\u2019s own mark",
        "Photo of the mark",
        "Cooler",
        "Fluid",
    ):
        assert found[label] == "not recorded"
        assert label in said
    assert "Part" in said
    assert "none before it with this meter and these leads" in str(form.blocks)
    assert found["Head was given"] == "not anchored: nobody else was given the head"


@pytest.mark.parametrize(
    ("bodies", "expected"),
    [
        ([FluidFound(cooler=Cooler.NOT_FLUSHED)], "not flushed (entry 2, 2031-05-06 08:02 UTC, by Ada)"),
        ([FluidFound(cooler=Cooler.NOT_KNOWN)], "not known (entry 2, 2031-05-06 08:02 UTC, by Ada)"),
        (
            [FluidFound(cooler=Cooler.NOT_FLUSHED), FluidFound(cooler=Cooler.REPLACED)],
            "not flushed (entry 2, 2031-05-06 08:02 UTC, by Ada); replaced (entry 3, 2031-05-06 08:03 UTC, by Ada)",
        ),
        ([FluidFound(cooler=Cooler.FLUSHED), Withdraw(entry=2)], "not recorded"),
        ([FluidFound(colour="dark")], "not recorded"),
    ],
    ids=["not flushed", "not known", "two answers", "taken back", "fluid only"],
)
def test_the_cooler_is_told_as_recorded(bodies, expected):
    assert lines_in(form_of(*bodies, BODIES[-3]))["Cooler"] == expected


def test_a_checklist_that_asks_for_the_cooler_is_quoted_where_nobody_said():
    line = ChecklistLine(text="Cooler flushed both ways?")
    asking = msgspec.structs.replace(variant(), checklist=(line,))
    session = session_of(BODIES[-3], job=JOB)
    form = claim_form(
        claim_facts(session, asking, judged_whole(session, asking, None)), Printing(KEPT, PRINTED_AT, PROGRAM)
    )
    assert lines_in(form)["Cooler"] == (
        "not recorded, though the checklist of the variant asks: \u201cCooler flushed both ways?\u201d"
    )
    said = next(block.text for block in form.blocks if isinstance(block, Words) and "Not recorded" in block.text)
    assert "Cooler" in said


def test_nothing_failed_is_said():
    form = form_of(Close(verdict="pass", scope=""))
    table = next(block for block in form.blocks if isinstance(block, Table))
    assert (table.rows, table.none) == ((), "No item failed in this session. What was measured is told by its report.")


def test_a_photo_that_is_gone_is_said_to_be():
    form = form_of(*BODIES, photos={})
    shown = next(block for block in form.blocks if isinstance(block, Photos)).shown
    assert shown[0].raw is None
    assert shown[0].caption.endswith("The picture is not there or not as it was.")


def test_many_photos_are_named_though_not_all_are_shown():
    photos = [Photo(sha256="0" * 64, file_name="a.png", of=f"view {n}", size_bytes=1) for n in range(9)]
    form = form_of(*photos, BODIES[-3])
    assert len(next(block for block in form.blocks if isinstance(block, Photos)).shown) == 6
    assert "entry 8: view 6; entry 9: view 7; entry 10: view 8" in str(form.blocks)


def test_both_papers_hold_every_word_of_the_form_on_one_page(form):
    facts = facts_of(*BODIES)
    given = Printing(KEPT, PRINTED_AT, PROGRAM)
    raw = claim_pdf(facts, given)
    assert pages_of(raw) == 1
    paper, letters = words_of(raw), letters_of(raw)
    sheet = openpyxl.load_workbook(io.BytesIO(claim_xlsx(facts, given)))["Claim"]
    cells = [cell.value for row in sheet for cell in row if cell.value]
    for label, text in lines_in(form).items():
        assert {label, text} <= set(cells)
        assert "".join(text.split()) in letters
    assert len(sheet._images) == 2
    assert paper.endswith("Page 1 of 1")
