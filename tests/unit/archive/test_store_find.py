"""Finding: the newest first, a page at a time, filters, and never an error whatever is typed."""

from __future__ import annotations

import re

import pytest

from tests.corpora import naughty_strings
from tests.data.archived import VARIANT_RAW, reading, session_in
from tests.data.tricky import tricky
from valvebench.archive.store_words import plain_words
from valvebench.bench.archived import Asked, Fate
from valvebench.model.entry import FluidFound, Note, Outcome
from valvebench.model.errors import BadInput
from valvebench.model.words import Comeback, Cooler, Verdict


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """Seven sessions of two variants over two years."""
    from tests.data.archived import DayClock
    from valvebench.archive.store import Store

    root = tmp_path_factory.mktemp("shelf")
    store = Store(root / "archive", clock=DayClock())
    other = VARIANT_RAW.replace(b'"tern-body-2"', b'"tern-body-3"')
    good, hot = Outcome(fitted=True, comeback=Comeback.NO), Outcome(fitted=True, comeback=Comeback.HOT)
    wide, found = [reading("Heron", 9.0)], FluidFound(smell="varnish", cooler=Cooler.NOT_FLUSHED)
    made = [
        session_in(root, "J-1", customer="Harbour Shuttle", day="2030-01-10", outcome=good, part="QT-2"),
        session_in(root, "J-2", customer="Harbour Café", day="2030-03-10", outcome=hot, part="QT-2"),
        session_in(root, "J-3", wide, serial="QV-0418", day="2030-05-10", part="QT-2"),
        session_in(root, "J-4", day="2031-01-10", variant_raw=other, supplier="Tern Counter", part="QT-2-B"),
        session_in(root, "J-5", [reading("Plover", 13), Note(text="QV-0418 was its neighbour")], day="2031-02-10"),
        session_in(root, "J-6", [*wide, found], day="2031-03-10", outcome=Outcome(fitted=False), batch="B-114"),
        session_in(root, "J-7", [reading("Heron", 5.2)], day="2031-04-10", variant_raw=None, mark="J-3"),
    ]
    for folder in made:
        store.add(folder)
    yield store
    store.close()


def jobs(store, text="", **more):
    return [one.job for one in store.find(Asked(text=text, **more)).sessions]


BOTH = Asked(variant="tern-body-2", verdict=Verdict.NOT_FINISHED)
ALL = ["J-7", "J-6", "J-5", "J-4", "J-3", "J-2", "J-1"]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        pytest.param("", ALL, id="nothing typed: all, the newest first"),
        pytest.param("!!! *", ALL, id="no word in it: the same"),
        pytest.param("harbour", ["J-2", "J-1"], id="customer"),
        pytest.param("cafe HARBOUR", ["J-2"], id="every word, in any order, no accent"),
        pytest.param("varnish", ["J-6"], id="fluid as found"),
        pytest.param("cooler not flushed", ["J-6"], id="what was done about the cooler"),
        pytest.param("har", ["J-2", "J-1"], id="a beginning"),
        pytest.param("har ", [], id="a finished word is no beginning"),
        pytest.param("qv-0418", ["J-3", "J-5"], id="the serial itself before a note of it"),
        pytest.param("QV 04", ["J-5", "J-3"], id="the beginning of a code, in two words"),
        pytest.param("qv041", ["J-5", "J-3"], id="the beginning of a code, in one word"),
        pytest.param("J-3", ["J-3", "J-7", "J-4"], id="the job itself before others that have both words"),
        pytest.param("plover", ["J-5"], id="a device that was read"),
        pytest.param("tern-body-3", ["J-4", "J-3"], id="variant, and a job with all of its words"),
        pytest.param("quillon", ["J-6", "J-5", "J-4", "J-3", "J-2", "J-1"], id="title of the variant"),
        pytest.param("b-114", ["J-6"], id="batch"),
        pytest.param("counter", ["J-4"], id="supplier"),
        pytest.param("ann", ALL, id="who worked"),
        pytest.param("qt-2", ["J-3", "J-2", "J-1", "J-4"], id="a part number of many, then what begins so"),
        pytest.param("nothing of the kind", [], id="nothing"),
    ],
)
def test_what_is_typed(shelf, text, found):
    assert jobs(shelf, text) == found


@pytest.mark.parametrize(
    ("filters", "found"),
    [
        ({"variant": "tern-body-3"}, ["J-4"]),
        ({"variant": "none such"}, []),
        ({"verdict": Verdict.FAIL}, ["J-6", "J-3"]),
        ({"verdict": Verdict.PASS}, []),
        ({"outcome": Fate.COMEBACK_HOT}, ["J-2"]),
        ({"outcome": Fate.NOT_FITTED}, ["J-6"]),
        ({"since": "2031-02-10"}, ["J-7", "J-6", "J-5"]),
        ({"since": "2031-02-10T09:00:05+00:00"}, ["J-7", "J-6"]),
        ({"since": "2031-01-01", "verdict": Verdict.FAIL}, ["J-6"]),
        ({"variant": "tern-body-2", "outcome": Fate.NO_COMEBACK}, ["J-1"]),
        ({"variant": "tern-body-2", "verdict": Verdict.FAIL}, ["J-6", "J-3"]),
        ({"variant": "tern-body-2", "verdict": Verdict.FAIL, "since": "2031-01-01"}, ["J-6"]),
        ({"variant": "tern-body-2", "verdict": Verdict.FAIL, "outcome": Fate.NOT_FITTED}, ["J-6"]),
        ({"variant": "none such", "verdict": Verdict.FAIL}, []),
    ],
)
@pytest.mark.parametrize("text", ["", "ann"])
def test_filters_alone_and_with_a_word(shelf, text, filters, found):
    assert jobs(shelf, text, **filters) == found


def test_filters_count_for_codes_too(shelf):
    assert jobs(shelf, "qt-2", verdict=Verdict.FAIL) == ["J-3"]
    assert jobs(shelf, "qt-2", since="2030-02-01") == ["J-3", "J-2", "J-4"]


@pytest.mark.parametrize("most", [1, 2, 3, 4, 7])
@pytest.mark.parametrize(
    "asked", [Asked(), Asked(text="ann"), Asked(text="qt-2"), Asked(outcome=Fate.FITTED)], ids=repr
)
def test_pages_hold_everything_once_in_order(shelf, asked, most):
    import msgspec

    whole = [one.job for one in shelf.find(asked).sessions]
    found, after = [], None
    for _ in range(10):
        page = shelf.find(msgspec.structs.replace(asked, most=most, after=after))
        assert len(page.sessions) <= most
        found += [one.job for one in page.sessions]
        after = page.next
        if after is None:
            break
    assert found == whole


def test_a_session_added_meanwhile_moves_no_page(store, tmp_path):
    for number in range(1, 4):
        store.add(session_in(tmp_path, f"A-{number}", day=f"2031-01-0{number}"))
    first = store.find(Asked(text="ann", most=2))
    store.add(session_in(tmp_path, "A-4", day="2031-01-04"))
    second = store.find(Asked(text="ann", most=2, after=first.next))
    assert [[one.job for one in page.sessions] for page in (first, second)] == [["A-3", "A-2"], ["A-1"]]


@pytest.mark.parametrize(
    "after", ["", "x.1", "t", "t.x", "t.1.2", "d.1", "d.1.x", "t.99999999999999999999999", "t.٣", "c.-"]
)
def test_a_page_that_never_was_is_refused(shelf, after):
    with pytest.raises(BadInput, match="page before"):
        shelf.find(Asked(text="ann", after=after))


def test_a_day_that_is_none_is_refused(shelf):
    with pytest.raises(BadInput, match="2031-05-06"):
        shelf.find(Asked(since="last week"))


@pytest.mark.parametrize("most", [-1, 0, 10**9])
def test_a_page_has_a_size(shelf, most):
    assert len(shelf.find(Asked(most=most)).sessions) == (7 if most > 7 else 1)


def test_never_an_error_whatever_is_typed(shelf):
    texts = tricky()
    assert len(texts) > 250
    for text in texts:
        for filters in ({}, {"variant": text}, {"verdict": Verdict.FAIL, "since": "2031-01-01"}):
            page = shelf.find(Asked(text=text, **filters))
            assert filters or plain_words(text) or len(page.sessions) == 7


def test_what_was_kept_is_found_by_the_same_text(store, tmp_path):
    """Each text is the note of a session; typed again it finds it, or everything where it has no word."""
    texts = [re.sub("[\ud800-\udfff]", "?", text) for text in tricky() if text.strip("\x00 ")]
    notes = [Note(text=text[:10_000]) for text in texts if len(text) < 2000]
    store.add(session_in(tmp_path, "own", notes))
    lost = [note.text for note in notes if jobs(store, note.text) != ["own"]]
    assert lost == []


def test_the_public_naughty_strings(shelf):
    for text in naughty_strings():
        shelf.find(Asked(text=text))


def test_an_identity_may_be_shortened(shelf):
    whole = shelf.find(Asked(text="J-3")).sessions[0].id
    assert shelf.show(whole[:8]).session.id == whole
    assert shelf.show(whole.upper()).session.job == "J-3"


@pytest.mark.parametrize("ident", ["", "abc", "xyzw", "0" * 33, "ffff" * 8, "' OR 1=1", "\x00" * 8])
def test_an_identity_that_is_none_is_refused(shelf, ident):
    with pytest.raises(BadInput, match="id: found"):
        shelf.show(ident)
