"""One entry at a time: held, made, sent, counted when it is on disk."""

from __future__ import annotations

import pytest

from valvebench.model.entry import Anchor, Note
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.model.words import AnchorKind


@pytest.fixture
def keeper(bench):
    return bench.keeper


def test_a_held_place_is_busy_though_nothing_is_made_yet(keeper):
    before = keeper.desk.session.head
    keeper.hold(Note(text="one"))
    assert keeper.is_busy
    with pytest.raises(WorldFailed):
        keeper.hold(Note(text="two"))
    with pytest.raises(WorldFailed):
        keeper.prepare(Note(text="two"))
    assert keeper.desk.session.head == before


def test_what_was_held_is_what_is_made(keeper):
    keeper.hold(Note(text="one"))
    assert keeper.prepare_held().entry.body == Note(text="one")
    with pytest.raises(WorldFailed):
        keeper.hold(Note(text="two"))


def test_what_may_not_follow_is_refused_before_its_place_is_held(keeper):
    with pytest.raises(BadInput):
        keeper.hold(Anchor(kind=AnchorKind.OWN_ARCHIVE))
    assert not keeper.is_busy


def test_a_held_place_is_given_up_after_a_fault(keeper):
    keeper.hold(Note(text="one"))
    keeper.let_go()
    assert not keeper.is_busy
    with pytest.raises(WorldFailed):
        keeper.prepare_held()
