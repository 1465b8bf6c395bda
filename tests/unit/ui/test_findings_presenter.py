"""What the Findings page says, without Qt."""

from __future__ import annotations

import json
from unittest.mock import create_autospec

import pytest

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import AirTest, OpenJob, Reading, SolenoidTest, SwitchTest, sha256_of
from valvebench.model.words import AirResult, LeadState, Place, SwitchState, Verdict
from valvebench.ui.findings import presenter as p
from valvebench.ui.findings.presenter import FindingsPresenter, FindingsView
from valvebench.ui.findings.shown import CAUTION, item_words, page_of
from valvebench.ui.keeper import Keeper

VARIANT = json.dumps(
    {
        "format": 1,
        "key": "tern-findings",
        "title": "Quillon Tern, for findings (invented)",
        "pins": [{"name": name} for name in "1234"],
        "devices": [
            {
                "name": name,
                "kind": "solenoid",
                "duty": "linear",
                "between": [pin, "4"],
                "low_ohm": 4.9,
                "high_ohm": 5.5,
                "source": {"kind": "manual", "text": "page 12 (invented)"},
            }
            for name, pin in (("Gull", "1"), ("Heron", "2"), ("Curlew", "3"))
        ],
        "ports": [{"name": "P1", "place": "body", "expect": [{"reaction": "holds"}]}],
    }
).encode()
PINS = {"Gull": "1", "Heron": "2", "Curlew": "3"}


def reading(name, ohm, u_ohm=0.02):
    """Read at the reference temperature with a stated standard uncertainty, so nothing is corrected."""
    return Reading(
        from_node=PINS[name], to_node="4", ohm=ohm, celsius=20.0, u_ohm=u_ohm, u_celsius=0.0, leads=LeadState.FOUR_WIRE
    )


class Bench:
    def __init__(self, *, variant=VARIANT, **job):
        opened = OpenJob(session="s", job="T-1", variant=sha256_of(variant) if variant else None, **job)
        first = first_line(opened, at="2031-05-06T09:00:00.000Z", by="Ann")
        self.desk = Desk(SessionStore(first, blobs=(variant,) if variant else ()), clock=Clock())
        self.runner = HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.view = create_autospec(FindingsView, instance=True)
        self.presenter = FindingsPresenter(self.view, self.desk, self.keeper)

    def judged(self, *bodies):
        for body in bodies:
            self.desk.record(body)
        self.keeper.judge(done=lambda: None, failed=pytest.fail)
        self.presenter.came_to_front()
        return self.view.show_findings.call_args.args[0] if self.view.show_findings.called else None


@pytest.fixture
def bench():
    return Bench()


def test_while_judging_it_says_so(bench):
    bench.presenter.start()
    assert bench.view.show_empty.call_args.args == (p.JUDGING,)
    assert bench.view.show_empty.call_args.kwargs == {"is_waiting": True}


def test_with_nothing_measured_it_says_what_it_is_for(bench):
    assert bench.judged() is None
    assert bench.view.show_empty.call_args.args == (p.EMPTY,)


def test_a_pair_that_no_check_asks_for_was_measured_too(bench):
    """Across the common pin, as the card of explanations asks for it."""
    across = Reading(from_node="1", to_node="2", ohm=10.4, celsius=20.0, leads=LeadState.FOUR_WIRE)
    assert bench.judged(across).verdict is Verdict.NOT_FINISHED


# Limits 4.9 to 5.5; the expanded uncertainty is near 0.04, so 5.0 is inside, 9.0 outside, 5.49 too close.
@pytest.mark.parametrize(
    ("values", "verdict", "sentence"),
    [
        ({"Gull": 5.2}, Verdict.NOT_FINISHED, "Not finished: 2 items are still to be taken"),
        ({"Gull": 5.2, "Heron": 5.2}, Verdict.NOT_FINISHED, "Not finished: 1 item is still to be taken"),
        (
            {"Gull": 5.2, "Heron": 5.2, "Curlew": 5.2},
            Verdict.PASS,
            "Pass: everything that has a limit and was taken lies inside it",
        ),
        (
            {"Gull": 5.2, "Heron": 5.49, "Curlew": 5.2},
            Verdict.CANT_TELL,
            "Can't tell: 1 item is too close to a limit for this meter",
        ),
        ({"Gull": 9.0}, Verdict.FAIL, "Fail: Gull is outside its limits"),
        ({"Gull": 9.0, "Curlew": 2.0}, Verdict.FAIL, "Fail: Gull and Curlew"),
        ({"Gull": 9.0, "Heron": 9.0, "Curlew": 2.0}, Verdict.FAIL, "Fail: Gull, Heron and 1 more"),
    ],
)
def test_the_verdict_as_a_sentence(bench, values, verdict, sentence):
    shown = bench.judged(*(reading(name, ohm) for name, ohm in values.items()))
    assert (shown.verdict, shown.sentence) == (verdict, sentence)
    assert f"{sum(v == 5.2 for v in values.values())} of 3 electrical" in shown.scope


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (
            AirTest(port="P1", place=Place.BODY, result=AirResult.BLEEDS),
            "Fail: port P1 does not do what it should",
        ),
        (SolenoidTest(device="Gull", click=False), "Fail: Gull does not work as it should"),
    ],
)
def test_what_fails_by_ear_has_reasons_and_no_ruler(bench, body, words):
    shown = bench.judged(body)
    (reason,) = shown.reasons
    assert shown.sentence == words
    assert (reason.reading, reason.limits, reason.page) == (None, "", "Ports")
    assert reason.reasons


def test_without_limits_it_says_so():
    bench = Bench(variant=None)
    shown = bench.judged(reading("Gull", 5.2))
    assert shown.sentence == "No limit: nothing that was taken has a limit to hold it against"
    assert shown.reasons == ()


def test_reasons_carry_limits_first_reason_and_advice(bench):
    shown = bench.judged(reading("Heron", 5.49), reading("Gull", 9.0))
    fail, doubt = shown.reasons
    assert (fail.what, fail.verdict, fail.key) == ("Solenoid Gull", Verdict.FAIL, "device Gull")
    # Without u_celsius given the reference is 20 degrees: the limits stand as in the file.
    assert fail.limits == "Limits: 4.90 to 5.50 \u03a9 at 20 \u00b0C; manual: page 12 (invented)"
    assert fail.reasons == ("Fail: the whole interval lies outside the limits.",)
    assert (fail.reading.low, fail.reading.high, fail.reading.value) == (4.9, 5.5, 9.0)
    assert doubt.verdict is Verdict.CANT_TELL
    assert doubt.advice


def test_the_row_that_failed_speaks_for_its_item(bench):
    shown = bench.judged(reading("Gull", 9.0), reading("Gull", 5.2, u_ohm=0.03))
    (reason,) = shown.reasons
    assert reason.reading.value == 9.0
    assert "2 rows of this item" in reason.where


def test_what_is_missing_leads_to_its_page():
    shown = Bench(require_air=True).judged(reading("Gull", 5.2))
    assert [(one.key, one.page, one.where, one.why) for one in shown.missing] == [
        ("device Heron", "Pins", "2\u20134", "not taken"),
        ("device Curlew", "Pins", "3\u20134", "not taken"),
        ("port P1", "Ports", "Ports", "not taken"),
    ]


def test_it_follows_only_while_it_is_in_front(bench):
    bench.judged(reading("Gull", 5.2))
    bench.presenter.left()
    bench.keeper.keep(reading("Heron", 5.2), kept=lambda *_: None, failed=pytest.fail)
    assert bench.view.show_findings.call_count == 1
    bench.presenter.came_to_front()
    bench.keeper.keep(reading("Curlew", 5.2), kept=lambda *_: None, failed=pytest.fail)
    assert bench.view.show_findings.call_args.args[0].verdict is Verdict.PASS


def test_what_did_not_change_is_not_drawn_again(bench):
    bench.judged(reading("Gull", 5.2))
    bench.presenter.refresh()
    assert bench.view.show_findings.call_count == 1


def test_a_closed_session_says_so(bench):
    bench.desk.record(reading("Gull", 5.2))
    bench.desk.close()
    assert bench.judged().state == "The session is closed."


def test_copying_gives_everything_as_text(bench):
    bench.judged(reading("Gull", 9.0))
    bench.presenter.copy()
    text = bench.view.put_on_clipboard.call_args.args[0]
    for words in ("Job T-1", "Fail: Gull is outside its limits", CAUTION, "Limits: 4.90 to 5.50", "- Heron (2\u20134)"):
        assert words in text
    assert bench.view.say.call_args.args == (p.COPIED,)


def test_nothing_shown_is_not_copied(bench):
    bench.presenter.copy()
    assert not bench.view.put_on_clipboard.called


def test_with_all_taken_the_text_says_nothing_is_missing(bench):
    shown = bench.judged(*(reading(name, 5.2) for name in PINS))
    assert shown.text("T-1").endswith("Nothing is missing.")


@pytest.mark.parametrize(
    ("key", "words", "page"),
    [
        ("device Gull", "Gull", "Pins"),
        ("port P4", "port P4", "Ports"),
        ("function Knot", "Knot by function", "Ports"),
        ("pair 3 case", "pins 3 and case", "Pins"),
        ("isolation 1 2", "isolation 1 2", "Pins"),
    ],
)
def test_items_by_name(key, words, page):
    assert (item_words(key), page_of(key)) == (words, page)


CODED = json.dumps(
    {
        **json.loads(VARIANT),
        "devices": [{"name": "Stork", "kind": "switch", "between": ["1", "4"]}],
        "ports": [],
        "selector_codes": [
            {"position": "P", "switches": {"Stork": "closed"}},
            {"position": "N", "switches": {"Stork": "open"}},
        ],
    }
).encode()


def saw(position, state):
    return SwitchTest(device="Stork", state=SwitchState(state), selector=position)


def test_a_selector_position_is_told_with_its_reasons_and_what_is_left():
    shown = Bench(variant=CODED).judged(saw("P", "open"))
    assert shown.sentence == "Fail: the switches do not give the code of P"
    (reason,) = shown.reasons
    assert (reason.page, reason.what, reason.where) == ("Pins", "Selector P", "switch by switch, entry 2")
    assert reason.reasons[0] == "Fail: in P Stork is open, it should be closed."
    assert reason.advice.startswith("Adjust or check the lever")
    (missing,) = shown.missing
    assert (missing.what, missing.where, missing.why) == ("Selector N", "switches", "not taken")


def test_a_switch_seen_both_ways_is_not_said_to_be_near_a_limit():
    shown = Bench(variant=CODED).judged(saw("P", "open"), saw("P", "closed"), saw("N", "open"))
    assert shown.sentence == "Can't tell: 1 item is not decided"
