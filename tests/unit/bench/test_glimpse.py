"""What a first look at a journal tells before the whole of it is read."""

from __future__ import annotations

import pytest

from tests.fakes.pins_bench import VARIANT
from valvebench.bench.desk import first_line
from valvebench.bench.glimpse import glimpse_of
from valvebench.model.entry import GENESIS, Correct, Note, OpenJob, Reading, Restore, Withdraw, encode_line, sha256_of
from valvebench.model.errors import BadInput


def job(variant: bytes | None = VARIANT) -> bytes:
    body = OpenJob(session="s", job="T-1", variant=sha256_of(variant) if variant else None)
    return first_line(body, at="2031-05-06T09:00:00.000Z", by="Ann")


def reading(red: str = "1", ohm: float = 5.5) -> Reading:
    return Reading(from_node=red, to_node="3", ohm=ohm, celsius=20.0)


def line(number: int, body: object) -> bytes:
    return encode_line(n=number, at="2031-05-06T09:00:00.000Z", by="Ann", body=body, prev=GENESIS)


def look(*bodies, first: bytes | None = None, begin: int = 7):
    lines = [line(begin + place, body) for place, body in enumerate(bodies)]
    return glimpse_of(first or job(), lines, blob={sha256_of(VARIANT): VARIANT}.get)


def test_it_tells_the_job_its_variant_and_the_last_readings_with_what_they_are_of():
    seen = look(reading("1"), Note(text="hot in here"), reading("2", 5.25), reading("4"))
    assert (seen.job.job, seen.variant.key) == ("T-1", "tern-bench")
    assert [(one.number, one.reading.ohm, one.what) for one in seen.readings] == [
        (7, 5.5, "Gull"),
        (9, 5.25, "Heron"),
        (10, 5.5, "not wired"),
    ]


@pytest.mark.parametrize(
    "later",
    [
        pytest.param([Withdraw(entry=8)], id="withdrawn"),
        pytest.param([Correct(entry=8, why="typo", body={})], id="corrected"),
        pytest.param([Correct(entry=8, why="typo", body={}), Withdraw(entry=9)], id="its correction withdrawn"),
        pytest.param([Withdraw(entry=8), Restore(entry=8)], id="withdrawn and restored"),
    ],
)
def test_a_reading_a_later_entry_speaks_of_waits_for_the_whole_journal(later):
    seen = look(reading("1"), reading("2"), *later)
    assert [one.number for one in seen.readings] == [7]


def test_an_entry_that_speaks_of_one_out_of_sight_hides_nothing_else():
    seen = look(reading("1"), Withdraw(entry=3))
    assert [one.number for one in seen.readings] == [7]


def test_a_job_without_a_variant_has_readings_all_the_same():
    seen = look(reading("1"), first=job(None))
    assert (seen.variant, seen.readings[0].what) == (None, "no variant")


def test_a_variant_that_is_gone_is_none():
    seen = glimpse_of(job(), [line(2, reading())], blob=lambda _: None)
    assert seen.variant is None


def test_without_a_job_there_is_nothing_to_see():
    assert glimpse_of(line(1, reading()), [], blob=lambda _: None) is None


@pytest.mark.parametrize("where", ["first", "last"])
def test_what_cannot_be_read_is_refused(where):
    first, last = (b"{", []) if where == "first" else (job(), [b"{"])
    with pytest.raises(BadInput):
        glimpse_of(first, last, blob=lambda _: None)
