"""What counts after each entry, and which entries are refused."""

from __future__ import annotations

import pytest

from tests.data.made_up import entries_of, job, reading, session_of
from valvebench.model.entry import Anchor, Close, Complaint, Correct, Note, Outcome, Restore, Withdraw
from valvebench.model.errors import BadInput
from valvebench.model.session import Ledger, fold
from valvebench.model.words import AnchorKind, Comeback

TYPED = Note(text="5.2")
CLOSE = Close(verdict="pass", scope="1 of 1 electrical")


def correct(entry, text):
    return Correct(entry=entry, why="typing error", body={"text": text})


def texts(*bodies):
    return {item.n: item.body.text for item in session_of(*bodies).items}


@pytest.mark.parametrize(
    ("bodies", "counts"),
    [
        pytest.param([TYPED], {2: "5.2"}, id="one"),
        pytest.param([TYPED, TYPED], {2: "5.2", 3: "5.2"}, id="repeated readings all count"),
        pytest.param([TYPED, correct(2, "5.3")], {2: "5.3"}, id="corrected"),
        pytest.param([TYPED, correct(2, "5.3"), correct(2, "5.4")], {2: "5.4"}, id="the last correction stands"),
        pytest.param([TYPED, correct(2, "5.3"), correct(3, "5.4")], {2: "5.4"}, id="a correction corrected"),
        pytest.param([TYPED, correct(2, "5.3"), Withdraw(entry=3)], {2: "5.2"}, id="correction undone"),
        pytest.param(
            [TYPED, correct(2, "5.3"), correct(2, "5.4"), Withdraw(entry=4)], {2: "5.3"}, id="back to the one before"
        ),
        pytest.param(
            [TYPED, correct(2, "5.3"), correct(2, "5.4"), Withdraw(entry=3)],
            {2: "5.4"},
            id="the later one still stands",
        ),
        pytest.param([TYPED, Withdraw(entry=2)], {}, id="undo"),
        pytest.param([TYPED, Withdraw(entry=2), Restore(entry=3)], {2: "5.2"}, id="redo, by its withdrawal"),
        pytest.param([TYPED, Withdraw(entry=2), Restore(entry=2)], {2: "5.2"}, id="redo, by itself"),
        pytest.param(
            [TYPED, correct(2, "5.3"), Withdraw(entry=2), Restore(entry=4)], {2: "5.3"}, id="back with its correction"
        ),
        pytest.param(
            [TYPED, correct(2, "5.3"), Withdraw(entry=3), Withdraw(entry=2), Restore(entry=3)],
            {},
            id="a correction of something gone brings nothing back",
        ),
        pytest.param(
            [TYPED, Withdraw(entry=2), Restore(entry=3), Withdraw(entry=2), Restore(entry=5)],
            {2: "5.2"},
            id="twice round",
        ),
    ],
)
def test_what_counts(bodies, counts):
    assert texts(*bodies) == counts


@pytest.mark.parametrize(
    ("bodies", "words"),
    [
        ([Withdraw(entry=9)], "a number from 1 to 1"),
        ([TYPED, Withdraw(entry=1)], "can be withdrawn"),
        ([TYPED, correct(1, "x")], "can be corrected"),
        ([TYPED, Withdraw(entry=2), Withdraw(entry=2)], "Restore it first"),
        ([TYPED, Withdraw(entry=2), correct(2, "x")], "Restore it first"),
        ([TYPED, correct(2, "x"), Withdraw(entry=2), Withdraw(entry=3)], "Restore it first"),
        ([TYPED, Withdraw(entry=2), Withdraw(entry=3)], "number 3, a withdraw"),
        ([TYPED, correct(2, "x"), Withdraw(entry=3), Withdraw(entry=3)], "Restore it first"),
        ([TYPED, correct(2, "x"), Withdraw(entry=3), correct(3, "y")], "Restore it first"),
        ([TYPED, Restore(entry=2)], "an entry that is withdrawn"),
        ([TYPED, Restore(entry=9)], "an entry that is withdrawn"),
        ([TYPED, Withdraw(entry=2), Restore(entry=3), Restore(entry=3)], "an entry that is withdrawn"),
        ([TYPED, Correct(entry=2, why="x", body={"txt": "5"})], "entry 2: txt"),
        ([TYPED, correct(2, "5.3"), Correct(entry=3, why="x", body={})], "entry 3: text"),
        ([job()], "only there"),
        ([Outcome(fitted=True)], "only after closing"),
        ([Anchor(kind=AnchorKind.OWN_ARCHIVE)], "only after closing"),
        ([CLOSE, TYPED], "--comeback-of"),
        ([CLOSE, CLOSE], "--comeback-of"),
        ([TYPED, CLOSE, Withdraw(entry=2)], "--comeback-of"),
    ],
)
def test_refused(bodies, words):
    with pytest.raises(BadInput) as caught:
        session_of(*bodies)
    assert words in str(caught.value)


@pytest.mark.parametrize("bodies", [[], [TYPED]], ids=["empty", "no job first"])
def test_a_journal_begins_with_its_job(bodies):
    with pytest.raises(BadInput, match="job"):
        fold(entries_of(bodies))


def test_a_refused_entry_changes_nothing():
    ledger = Ledger(entries_of([job(), TYPED]))
    before = ledger.session()
    wrong = entries_of([job(), TYPED, Withdraw(entry=7)])[-1]
    with pytest.raises(BadInput):
        ledger.take(wrong)
    assert ledger.session() == before
    assert ledger.last == before.entries[-1]


def test_an_item_keeps_who_and_when_and_says_that_it_was_corrected():
    item = session_of(reading("3", "11", 5.2), Correct(entry=2, why="x", body=READING)).items[0]
    assert (item.n, item.kind, item.by, item.at) == (2, "reading", "bench", "2031-05-04T10:00:00Z")
    assert item.is_corrected
    assert item.body.ohm == 5.1
    assert not session_of(TYPED).items[0].is_corrected


READING = {"from": "3", "to": "11", "celsius": 20.0, "ohm": 5.1}


def test_head_is_the_last_line_until_closing_and_then_stays():
    bodies = [job(), TYPED, CLOSE, Outcome(comeback=Comeback.HOT), Anchor(kind=AnchorKind.TAG_HANDED_OVER)]
    entries = entries_of(bodies)
    running = fold(entries[:2])
    assert (running.head, running.tail, running.is_closed) == (f"2:{entries[1].sha256}", 0, False)
    closed = fold(entries)
    assert (closed.head, closed.tail, closed.is_closed) == (f"3:{entries[2].sha256}", 2, True)
    assert [anchor.kind for anchor in closed.anchors] == [AnchorKind.TAG_HANDED_OVER]
    assert [outcome.comeback for outcome in closed.outcomes] == [Comeback.HOT]


def test_items_of_a_kind_in_order():
    session = session_of(TYPED, reading("3", "11", 5.2), TYPED)
    assert [item.n for item in session.items_of("note")] == [2, 4]
    assert [item.n for item in session.items_of("reading", "note")] == [2, 3, 4]


def test_root_of_a_number():
    ledger = Ledger(entries_of([job(), TYPED, correct(2, "5.3"), TYPED, Withdraw(entry=4)]))
    assert ledger.root(3) == ledger.root(2) == ledger.items[2]
    assert ledger.root(4) is None
    assert ledger.root(9) is None


@pytest.mark.parametrize(
    ("bodies", "now"),
    [
        pytest.param([], ("5-6", "hot", "bump"), id="as it came in"),
        pytest.param([Complaint(shift="4-5", feel="late")], ("4-5", None, "late"), id="the whole of it is said anew"),
        pytest.param([Complaint(shift="4-5"), Complaint(shift="6-5")], ("6-5", None, None), id="the last stands"),
        pytest.param([Complaint(shift="4-5"), Withdraw(entry=2)], ("5-6", "hot", "bump"), id="taken back"),
        pytest.param(
            [Complaint(shift="4-5"), Correct(entry=2, why="slip", body={"shift": "3-4"})],
            ("3-4", None, None),
            id="corrected",
        ),
    ],
)
def test_the_complaint_as_it_turned_out(bodies, now):
    session = session_of(*bodies, shift="5-6", when="hot", feel="bump")
    assert (session.job_now.shift, session.job_now.when, session.job_now.feel) == now
    assert (session.job.shift, session.job.when, session.job.feel) == ("5-6", "hot", "bump")
    assert session.job_now.job == session.job.job
