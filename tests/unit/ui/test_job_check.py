"""The meter check: what it would change is said before it is kept."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import AT_20, Bench, last
from valvebench.model.entry import MeterCheck
from valvebench.model.meter import Check
from valvebench.model.words import LeadState
from valvebench.ui.job.check import ASKED, REMEMBERED, UNFINISHED, CheckPresenter, CheckTyped, CheckView

# Ten counts of 0.1 ohm are a doubt as wide as the band of 5 to 6 ohm: alone it decides nothing.
COARSE = replace(AT_20, meter="0.9%+10x0.1", leads=LeadState.NEITHER)
GOOD = CheckTyped(check_ohm="5.5", read_ohm="5.7", zero_read_ohm="0.2")


class Page:
    """The card of one session."""

    def __init__(self, set_up=COARSE, remembered=None) -> None:
        self.bench = Bench().start()
        self.view = create_autospec(CheckView, instance=True)
        self.set_up, self.changes = set_up, 0
        self.check = CheckPresenter(
            self.view,
            self.bench.keeper,
            set_up=lambda: self.set_up,
            changed=self._changed,
            remembered=lambda: remembered,
        )

    def _changed(self) -> None:
        self.changes += 1

    @property
    def kept(self):
        return [item.body for item in self.bench.desk.session.items]

    @property
    def problems(self):
        return last(self.view.show_problems)[0]

    @property
    def effect(self):
        return last(self.view.show_effect)[0]


@pytest.fixture
def page():
    return Page()


def test_it_says_first_what_it_is_for(page):
    page.check.start()
    assert page.effect == ASKED


def test_the_effect_is_told_before_anything_is_kept(page):
    """Read against a resistor near the value, gain, offset and leads cancel; the step of 0.1 ohm is left."""
    page.check.typed(GOOD)
    assert page.effect == "With this check it could decide 2 of 2 windings with limits, now 0."
    assert page.kept == []


def test_a_check_that_does_not_help_says_so(page):
    """A display step of 1 ohm leaves 2 x 1/sqrt(12) x sqrt(2) = 0.82 ohm of doubt in a band of 1 ohm."""
    page.set_up = replace(COARSE, meter="1%+1x1")
    """A step of 1 ohm is as wide as the band: no check mends that."""
    page.set_up = replace(COARSE, meter="0.9%+2x1")
    page.check.typed(GOOD)
    begin = "With this check it could decide 0 of 2 windings with limits, as it can now."
    assert page.effect == f"{begin} Still not: Gull, Heron."


def test_an_unfinished_form_is_no_fault_while_typing(page):
    page.check.typed(CheckTyped(check_ohm="5.5"))
    page.check.typed(CheckTyped(check_ohm="5.5", read_ohm="5.7"))
    assert (page.problems, page.effect) == ({}, ASKED)


def test_keeping_asks_for_the_tips_where_leads_are_not_taken_off(page):
    page.check.keep(replace(GOOD, zero_read_ohm=""))
    assert list(page.problems) == ["zero_read_ohm"]
    assert page.kept == []


def test_keeping_half_a_form_says_what_is_needed(page):
    page.check.keep(CheckTyped(check_ohm="5.5"))
    assert page.view.say.call_args.args == (UNFINISHED,)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        pytest.param({"check_ohm": "five"}, "check_ohm", id="a word"),
        pytest.param({"check_ohm": "0"}, "check_ohm", id="nought"),
        pytest.param({"read_ohm": "1,234"}, "read_ohm", id="two meanings"),
        pytest.param({"read_ohm": "0.1"}, "read_ohm", id="less than the tips"),
        pytest.param({"check_pct": "much"}, "check_pct", id="no tolerance"),
        pytest.param({"check_pct": "-1"}, "check_pct", id="a tolerance below nought"),
    ],
)
def test_a_wrong_number_is_told_beside_its_field(page, changes, field):
    page.check.keep(replace(GOOD, **changes))
    assert list(page.problems) == [field]
    assert page.kept == []


def test_it_is_kept_with_meter_and_leads_and_then_serves(page):
    page.check.keep(GOOD)
    assert page.kept == [
        MeterCheck(check_ohm=5.5, read_ohm=5.7, zero_read_ohm=0.2, meter="0.9%+10x0.1", leads=LeadState.NEITHER)
    ]
    assert page.check.check_now().read_ohm == 5.7
    assert page.changes == 1
    page.set_up = replace(COARSE, leads=LeadState.NULLED)
    assert page.check.check_now() is None


def test_a_full_disk_keeps_the_form(page):
    page.bench.store.is_full = True
    page.check.keep(GOOD)
    assert page.view.say.call_args.args[0].startswith("Not saved: no space left")
    page.view.clear.assert_not_called()


def test_the_resistor_of_an_earlier_job_stands_in_the_form_and_says_so():
    page = Page(remembered=Check(ohm=4.7, read_ohm=4.7, pct=1.0))
    page.check.start()
    assert last(page.view.show_resistor) == ("4.7", "1")
    assert page.effect == f"{ASKED} {REMEMBERED}"


def test_without_one_the_form_is_empty():
    page = Page()
    page.check.start()
    assert not page.view.show_resistor.called
    assert page.effect == ASKED
