"""What a claim rests on: gathered from a closed session, nothing guessed."""

from __future__ import annotations

import pytest

from tests.unit.report.samples import session_of, variant
from valvebench.bench.claiming import claim_facts, cooler_told, last_check
from valvebench.bench.judging import judged_whole
from valvebench.model.entry import AirTest, Close, FluidFound, MeterCheck, Note, Photo, Reading
from valvebench.model.errors import BadInput
from valvebench.model.words import AirResult, LeadState, Place, Verdict

METER = {"meter": "0.5%+5x0.01"}
CLOSE = Close(verdict="fail", scope="1 failed")


def high(**more):
    return Reading(from_node="1", to_node="7", ohm=9.9, celsius=20.0, **(METER | more))


def check(**more):
    return MeterCheck(check_ohm=5.0, read_ohm=5.1, zero_read_ohm=0.1, **(METER | more))


def facts_of(*bodies):
    session = session_of(*bodies)
    return claim_facts(session, variant(), judged_whole(session, variant(), None))


def test_an_open_session_is_refused_in_words():
    with pytest.raises(BadInput, match="Close it first: the claim names its head"):
        facts_of(high())


def test_failed_rows_come_with_their_entries():
    facts = facts_of(high(), AirTest(port="P3", place=Place.BODY, result=AirResult.BLEEDS), CLOSE)
    assert [(one.row.what, one.row.verdict, [item.n for item in one.taken]) for one in facts.failed] == [
        ("Gull", Verdict.FAIL, [2]),
        ("port P3", Verdict.FAIL, [3]),
    ]


def test_what_passed_is_no_part_of_it():
    assert facts_of(Reading(from_node="1", to_node="7", ohm=5.2, celsius=20.0, **METER), CLOSE).failed == ()


@pytest.mark.parametrize(
    ("bodies", "expected"),
    [
        ([check(), high()], 2),
        ([check(), check(), high()], 3),
        ([high(), check()], None),
        ([check(meter_id="other"), high()], None),
        ([check(leads=LeadState.NULLED), high()], None),
        ([check(), high(), check()], 2),
        ([AirTest(port="P3", place=Place.BODY, result=AirResult.BLEEDS)], None),
    ],
    ids=["before", "newest", "after", "other meter", "other leads", "one after does not count", "no reading"],
)
def test_the_last_meter_check_with_the_same_set_up(bodies, expected):
    items = session_of(*bodies).items
    taken = [item for item in items if not isinstance(item.body, MeterCheck)]
    found = last_check(items, taken)
    assert (found.n if found is not None else None) == expected


def test_the_cooler_is_quoted_and_never_read_into():
    told = cooler_told(session_of(Note(text="Cooler NOT flushed."), Note(text="else")), variant())
    assert [item.body.text for item in told.notes] == ["Cooler NOT flushed."]
    assert told.asked == ()


def test_fluid_photos_and_times_are_gathered():
    photo = Photo(sha256="0" * 64, file_name="a.png", of="plug", size_bytes=3)
    facts = facts_of(FluidFound(colour="red"), high(), photo, CLOSE)
    assert ([i.n for i in facts.fluid], [i.n for i in facts.photos], [i.n for i in facts.tested]) == ([2], [4], [3])
    assert (facts.opened.n, facts.closed.n) == (1, 5)
