"""The desk on a store in memory: what counts, when, and what a refusing disk leaves behind."""

from __future__ import annotations

import json

import pytest

from tests.fakes.clock import Clock
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import Note, OpenJob, Reading, Withdraw, sha256_of
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.model.words import LeadState, Rule, Verdict

VARIANT = json.dumps(
    {
        "format": 1,
        "key": "tern-desk",
        "title": "Quillon Tern, for the desk",
        "pins": [{"name": "1"}, {"name": "2"}],
        "devices": [{"name": "Heron", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 4.9, "high_ohm": 5.5}],
    }
).encode()
JPEG = b"\xff\xd8\xff\xe0picture"


def reading(ohm=5.2, **more):
    return Reading(from_node="1", to_node="2", ohm=ohm, celsius=20.0, u_ohm=0.02, leads=LeadState.FOUR_WIRE, **more)


@pytest.fixture
def store():
    job = OpenJob(session="s", job="T-1", variant=sha256_of(VARIANT))
    return SessionStore(first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann"), blobs=(VARIANT,))


@pytest.fixture
def desk(store):
    return Desk(store, clock=Clock())


def test_it_opens_with_job_variant_and_person(desk):
    assert (desk.session.job.job, desk.variant.key, desk.by) == ("T-1", "tern-desk", "Ann")


def test_another_person_takes_over(store):
    assert Desk(store, clock=Clock(), by="Ben").record(Note(text="x")).by == "Ben"


def test_a_recorded_entry_is_in_the_store_and_counts(desk, store):
    entry = desk.record(reading())
    assert (entry.n, entry.prev, entry.sha256) == (2, sha256_of(store.lines[0]), sha256_of(store.lines[1]))
    assert [item.n for item in desk.session.items] == [2]


def test_prepared_is_not_yet_counted(desk, store):
    prepared = desk.prepare(reading())
    assert (len(store.lines), desk.session.items) == (1, ())
    desk.write(prepared)
    assert desk.session.items == ()
    desk.accept(prepared)
    assert len(desk.session.items) == 1


def test_a_refusing_disk_leaves_nothing_behind(desk, store):
    store.is_full = True
    with pytest.raises(WorldFailed):
        desk.record(reading())
    assert (len(store.lines), desk.session.items) == (1, ())
    store.is_full = False
    assert desk.record(reading()).n == 2


def test_what_was_recorded_is_read_back_the_same(desk, store):
    desk.record(reading())
    desk.correct(2, {"ohm": 5.3}, "misread")
    desk.withdraw(2, "wrong pins")
    desk.restore(2)
    again = Desk(store, clock=Clock())
    assert again.session == desk.session
    assert again.session.items[0].body.ohm == 5.3


def test_judged(desk):
    assert desk.judged().verdict is Verdict.NOT_FINISHED
    desk.record(reading())
    assert desk.judged().verdict is Verdict.PASS
    desk.record(reading(9.0))
    assert desk.judged(Rule.PLAIN).verdict is Verdict.FAIL


def test_a_correction_that_changes_nothing_is_refused(desk, store):
    desk.record(reading())
    with pytest.raises(BadInput, match="nothing that differs"):
        desk.correct(2, {"ohm": 5.2}, "again")
    assert len(store.lines) == 2


def test_a_correction_may_take_something_away(desk):
    desk.record(reading(note="hot"))
    desk.correct(2, {"note": None}, "was another body")
    assert desk.session.items[0].body.note is None


def test_undo_and_redo(desk):
    desk.record(reading())
    desk.correct(2, {"ohm": 5.3}, "misread")
    desk.record(desk.undo_body())
    assert desk.session.items[0].body.ohm == 5.2
    desk.record(desk.undo_body())
    assert desk.session.items == ()
    assert desk.undo_body() is None
    desk.record(desk.redo_body())
    assert desk.session.items[0].body.ohm == 5.2
    desk.record(desk.redo_body())
    assert desk.session.items[0].body.ohm == 5.3
    assert desk.redo_body() is None


def test_no_redo_after_something_new(desk):
    desk.record(reading())
    desk.record(desk.undo_body())
    desk.record(Note(text="new"))
    assert desk.redo_body() is None


def test_no_undo_in_a_closed_session(desk):
    desk.record(reading())
    desk.close()
    assert (desk.undo_body(), desk.redo_body()) == (None, None)
    with pytest.raises(BadInput, match="closed"):
        desk.record(Withdraw(entry=2, why="late"))


def test_closing_says_verdict_scope_rule_and_what_is_missing(desk):
    body = desk.close(Rule.PROVED5).body
    assert (body.verdict, body.rule, body.missing) == ("not_finished", Rule.PROVED5, ("Heron",))
    assert "1 not taken" in body.scope
    assert desk.session.is_closed


def test_a_photo_is_kept_before_its_entry(desk, store):
    entry = desk.add_photo(JPEG, file_name="plug.jpg", of="plug")
    assert desk.photo(entry.body.sha256) == JPEG
    assert (entry.body.size_bytes, entry.body.of) == (len(JPEG), "plug")


@pytest.mark.parametrize("raw", [b"", b"GIF89a", b"\x89PNG", b"%PDF"])
def test_other_pictures_are_refused(desk, store, raw):
    with pytest.raises(BadInput, match="PNG nor JPEG"):
        desk.add_photo(raw, file_name="x", of="plug")
    assert (len(store.lines), list(store.blobs)) == (1, [sha256_of(VARIANT)])


def test_a_picture_that_cannot_be_kept_has_no_entry(desk, store):
    store.is_full = True
    with pytest.raises(WorldFailed):
        desk.add_photo(JPEG, file_name="plug.jpg", of="plug")
    assert len(store.lines) == 1


def test_no_picture_after_closing(desk, store):
    desk.close()
    with pytest.raises(BadInput, match="closed"):
        desk.add_photo(JPEG, file_name="plug.jpg", of="plug")
    assert list(store.blobs) == [sha256_of(VARIANT)]


def test_an_entry_that_is_not_there(desk):
    with pytest.raises(BadInput, match="number 7"):
        desk.item(7)


def test_a_damaged_variant_is_said_so(store):
    store.blobs.clear()
    with pytest.raises(BadInput, match="missing or changed"):
        Desk(store, clock=Clock())


def test_release(desk, store):
    desk.release()
    assert store.is_released
