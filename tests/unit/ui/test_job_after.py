"""After closing: outcome and to whom the head was given."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import Bench, last
from valvebench.model.entry import Anchor, Outcome
from valvebench.model.words import AnchorKind, Comeback
from valvebench.ui.job.after import AfterPresenter, AfterView, OutcomeTyped


class Page:
    def __init__(self) -> None:
        self.bench = Bench().start()
        self.bench.desk.close()
        self.view = create_autospec(AfterView, instance=True)
        self.after = AfterPresenter(self.view, self.bench.keeper)

    @property
    def session(self):
        return self.bench.desk.session


@pytest.fixture
def page():
    return Page()


def test_before_closing_the_card_stays_away():
    bench, view = Bench().start(), create_autospec(AfterView, instance=True)
    AfterPresenter(view, bench.keeper).refresh()
    assert view.show_open.call_args.kwargs == {"is_open": False}


def test_an_outcome_is_recorded_and_shown(page):
    page.after.outcome_typed(OutcomeTyped(fitted="yes", comeback="hot", months="7", odometer_km="190000"))
    assert page.session.outcomes == (Outcome(fitted=True, comeback=Comeback.HOT, months=7.0, odometer_km=190000.0),)
    lines, anchored = last(page.view.show_lines)
    assert lines == [("Outcome", "fitted, comeback, fault when hot, after 7 months, at 190000 km")]
    assert anchored == "Not anchored: the head was given to nobody."


def test_whom_the_head_was_given_is_recorded(page):
    page.after.anchor_typed("tag_handed_over", "Ann at the counter")
    page.after.anchor_typed("sent_to_customer", "")
    assert page.session.anchors == (
        Anchor(kind=AnchorKind.TAG_HANDED_OVER, to="Ann at the counter"),
        Anchor(kind=AnchorKind.SENT_TO_CUSTOMER),
    )
    lines, anchored = last(page.view.show_lines)
    assert [line.words for line in lines] == ["Tag handed over: Ann at the counter", "Sent to the customer"]
    assert anchored == "Anchored: sent to customer, tag handed over."


def test_one_month_is_said_as_one(page):
    page.after.outcome_typed(OutcomeTyped(fitted="no", months="1"))
    assert last(page.view.show_lines)[0][0].words == "not fitted, after 1 month"


def test_an_empty_outcome_is_refused_in_words(page):
    page.after.outcome_typed(OutcomeTyped())
    assert page.session.outcomes == ()
    assert page.view.say.call_args.kwargs == {"is_problem": True}


@pytest.mark.parametrize("months", ["soon", "-1"])
def test_wrong_months_are_told_beside_the_field(page, months):
    page.after.outcome_typed(OutcomeTyped(fitted="yes", months=months))
    assert list(last(page.view.show_problems)[0]) == ["months"]
    assert page.session.outcomes == ()


def test_a_full_disk_keeps_what_was_typed(page):
    page.bench.store.is_full = True
    page.after.anchor_typed("tag_handed_over", "Ann")
    assert page.view.say.call_args.args[0].startswith("Not saved: no space left")
    page.view.clear.assert_not_called()
