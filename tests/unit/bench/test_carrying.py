"""A job begun from an enquiry: its looks come along as they were seen, and say where they were first kept."""

from __future__ import annotations

import pytest

from tests.fakes.clock import Clock
from tests.fakes.session_store import SessionStore
from tests.fakes.writers import PICTURE as PNG
from valvebench.bench.carrying import carried_from, carry_into
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import FeatureSeen, Note, OpenJob, Photo
from valvebench.model.errors import WorldFailed
from valvebench.model.words import JobKind, Seen, WhichPart


def desk_of(job, kind=JobKind.BENCH_CHECK):
    first = first_line(OpenJob(session=job, job=job, kind=kind), at="2031-05-06T09:00:00.000Z", by="Ann")
    store = SessionStore(first)
    return Desk(store, clock=Clock()), store


@pytest.fixture
def enquiry():
    desk, _ = desk_of("E-1", JobKind.ENQUIRY)
    desk.record(FeatureSeen(name="plate mark", value="dot", seen=Seen.PHONE))
    desk.record(FeatureSeen(name="ears", value="four", part=WhichPart.NEW))
    desk.record(FeatureSeen(name="cast mark", value="star"))
    desk.withdraw(4, "slip")
    desk.add_photo(PNG, file_name="mark.png", of="plate mark")
    return desk


def test_looks_and_photos_come_along_as_they_were_seen(enquiry):
    before = enquiry.session.head
    job, store = desk_of("T-1")
    carry_into(job, carried_from(enquiry))
    note, *rest = [item.body for item in job.session.items]
    looks = [body for body in rest if isinstance(body, FeatureSeen)]
    assert [(look.name, look.value, look.seen, look.part) for look in looks] == [
        ("plate mark", "dot", Seen.PHONE, WhichPart.OLD),
        ("ears", "four", Seen.US, WhichPart.NEW),
    ]
    assert looks[0].carried.startswith("E-1, entry 2, Ann, ")
    assert isinstance(note, Note)
    number, digits = before.split(":")
    assert f"{number}:{digits[:16]}" in note.text
    (photo,) = (body for body in rest if isinstance(body, Photo))
    assert store.blobs[photo.sha256] == PNG
    assert enquiry.session.head == before


def test_a_look_that_was_carried_twice_still_names_its_first_session(enquiry):
    job, _ = desk_of("T-1")
    carry_into(job, carried_from(enquiry))
    again, _ = desk_of("T-2")
    carry_into(again, carried_from(job))
    (item, *_) = again.session.items_of("feature")
    assert item.body.carried.startswith("E-1, entry 2, ")


def test_a_full_disk_is_told(enquiry):
    job, store = desk_of("T-1")
    store.is_full = True
    with pytest.raises(WorldFailed):
        carry_into(job, carried_from(enquiry))
