"""The check resistor on the bench: remembered from one job to the next, kept in the settings."""

from __future__ import annotations

import pytest

from tests.fakes.pins_bench import Bench
from tests.unit.ui.test_settings import Page
from valvebench.model.entry import MeterCheck, Note, Reading
from valvebench.model.session import Ledger
from valvebench.ui.resistor import ResistorMemory, check_in

CHECK = MeterCheck(check_ohm=4.7, read_ohm=4.9, zero_read_ohm=0.2, check_pct=1.0)


@pytest.fixture
def bench():
    return Bench().start()


def keep(bench, body):
    bench.keeper.keep(body, kept=lambda *_: None, failed=pytest.fail)


def test_nothing_is_remembered_at_first(tmp_path):
    assert ResistorMemory(Page(tmp_path).holder).now() is None


@pytest.mark.parametrize(
    "body",
    [
        CHECK,
        Reading(from_node="1", to_node="2", celsius=20.0, check_ohm=4.7, check_pct=1.0, volts_x=0.9, volts_check=0.8),
    ],
    ids=["meter check", "volts ratio"],
)
def test_the_one_used_last_is_known_in_the_next_program(tmp_path, bench, body):
    memory = ResistorMemory(Page(tmp_path).holder)
    memory.watch(bench.keeper)
    keep(bench, body)
    again = Page(tmp_path)
    again.holder.load()
    found = ResistorMemory(again.holder).now()
    assert (found.ohm, found.pct) == (4.7, 1.0)


def test_what_has_no_resistor_changes_nothing(tmp_path, bench):
    page = Page(tmp_path)
    ResistorMemory(page.holder).watch(bench.keeper)
    keep(bench, Note(text="nothing of the kind"))
    assert not page.path.exists()
    assert check_in(Reading(from_node="1", to_node="2", celsius=20.0, ohm=5.2)) is None


def test_the_same_one_again_is_not_written_again(tmp_path, bench):
    page = Page(tmp_path)
    ResistorMemory(page.holder).watch(bench.keeper)
    keep(bench, CHECK)
    page.path.unlink()
    keep(bench, CHECK)
    assert not page.path.exists()


def test_a_long_session_is_not_gone_through_for_it(tmp_path, bench, monkeypatch):
    """With 10,000 readings that would cost more than painting the page."""
    ResistorMemory(Page(tmp_path).holder).watch(bench.keeper)
    monkeypatch.setattr(Ledger, "session", lambda _: pytest.fail("the whole session was folded"))
    keep(bench, Reading(from_node="1", to_node="2", celsius=20.0, ohm=5.2))
