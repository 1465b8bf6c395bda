"""Handing over a closed session: tag, e-mail, claim page, and that the shop alone has the head until it is kept."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import Bench, last, told
from tests.fakes.runners import HeldRunner
from tests.unit.ui.test_job_finish import World
from valvebench.bench.papers import Paper
from valvebench.model.entry import Anchor
from valvebench.model.words import AnchorKind
from valvebench.ui.job.exports import CANCELLED
from valvebench.ui.job.hand import MAIL_COPIED, TO_WHOM, WHY, HandPresenter, HandView


class Page:
    def __init__(self, *, is_closed: bool = True) -> None:
        self.bench = Bench().start()
        if is_closed:
            self.bench.desk.close()
        self.view, self.world, self.exporter = create_autospec(HandView, instance=True), World(), HeldRunner()
        self.given: list[AnchorKind] = []
        self.hand = HandPresenter(
            self.view,
            self.bench.keeper,
            Path("jobs/job-1"),
            self.world,
            exporter=self.exporter,
            given=self.given.append,
        )


@pytest.fixture
def page():
    return Page()


@pytest.mark.parametrize("is_closed", [True, False])
def test_only_a_closed_session_has_the_card(is_closed):
    page = Page(is_closed=is_closed)
    page.hand.refresh()
    assert page.view.show_open.call_args.kwargs == {"is_open": is_closed}


@pytest.mark.parametrize(
    ("kinds", "words"),
    [
        ([], f"Not anchored: the head was given to nobody. {WHY}"),
        ([AnchorKind.OWN_ARCHIVE], f"Kept by the shop only. {WHY}"),
    ],
)
def test_where_the_shop_alone_has_the_head_it_says_what_to_do(page, kinds, words):
    for kind in kinds:
        page.bench.desk.record(Anchor(kind=kind))
    page.hand.refresh()
    assert last(page.view.show_given) == (words,)


def test_it_says_who_was_given_the_head_and_when(page):
    page.bench.desk.record(Anchor(kind=AnchorKind.OWN_ARCHIVE))
    page.bench.desk.record(Anchor(kind=AnchorKind.TAG_HANDED_OVER, to="Ann"))
    at, by = (getattr(page.bench.desk.last_entry, name) for name in ("at", "by"))
    page.hand.refresh()
    lines = last(page.view.show_given)[0].splitlines()
    assert lines[1] == f"On the tag handed over, to Ann, {at[:10]} {at[11:16]} UTC, recorded by {by}."


@pytest.mark.parametrize("ending", [".pdf", ".png"])
def test_the_tag_goes_beside_the_workbook_and_the_next_step_is_said(page, ending):
    page.hand.tag(ending, "sub/out.xlsx")
    assert page.world.papers == [(Paper.TAG, Path(f"sub/job-1-tag{ending}"))]
    assert told(page.view.say)[-1] == f"Tag written to sub/job-1-tag{ending}. {TO_WHOM}"
    assert page.given == [AnchorKind.TAG_HANDED_OVER]


@pytest.mark.parametrize("ending", [".pdf", ".xlsx"])
def test_the_claim_page_goes_beside_the_workbook_and_is_no_handing_over(page, ending):
    page.hand.claim(ending, "sub/out.xlsx")
    assert page.world.papers == [(Paper.CLAIM, Path(f"sub/job-1-claim{ending}"))]
    assert told(page.view.say)[-1] == f"Claim page written to sub/job-1-claim{ending}"
    assert page.given == []


def test_the_e_mail_goes_to_the_clipboard_and_is_not_yet_sent(page):
    page.hand.copy_mail()
    (mail,) = last(page.view.put_on_clipboard)
    assert f"--head {page.bench.desk.session.head}" in mail
    assert last(page.view.say) == (MAIL_COPIED,)
    assert page.given == [AnchorKind.SENT_TO_CUSTOMER]
    assert page.bench.desk.session.anchors == ()


def test_an_open_session_has_no_e_mail():
    page = Page(is_closed=False)
    page.hand.copy_mail()
    page.view.put_on_clipboard.assert_not_called()
    assert page.view.say.call_args.kwargs == {"is_problem": True}


def test_a_cancelled_claim_page_is_not_written(page):
    page.exporter.is_held = True
    page.hand.claim(".pdf", "out.xlsx")
    page.hand.exports.cancel()
    page.exporter.release()
    assert (page.world.papers, told(page.view.say)[-1]) == ([], CANCELLED["claim page"])


def test_a_full_disk_is_told(page):
    page.world.is_full = True
    page.hand.tag(".pdf", "out.xlsx")
    assert page.view.say.call_args.args[0].startswith("no space left")
    assert page.view.say.call_args.kwargs == {"is_problem": True}
