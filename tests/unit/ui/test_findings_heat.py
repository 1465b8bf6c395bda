"""Heat runs on the Findings page, in the strip and in the keeper: plain sentences.  Values are made up."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.data.made_up import heat_test, reading, session_of, variant_of
from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.judge.session import judge_session
from valvebench.model.entry import OpenJob, sha256_of
from valvebench.model.heat import HeatEvent, HeatKind, Sized
from valvebench.model.strict_json import dumps
from valvebench.model.words import Verdict
from valvebench.ui.findings.heat_shown import event_sentence, kind_sentence
from valvebench.ui.findings.presenter import FindingsPresenter, FindingsView
from valvebench.ui.findings.shown import findings_shown, item_words, page_of
from valvebench.ui.keeper import Keeper
from valvebench.ui.pins.shown import rows_shown
from valvebench.ui.session_words import verdict_words

SOLENOID = {"kind": "solenoid", "low_ohm": 4.75, "high_ohm": 5.75, "source": {"kind": "memory"}}
DATA = {
    "format": 1,
    "key": "tern-heat",
    "title": "Quillon Tern, for heat (invented)",
    "pins": [{"name": name} for name in ("3", "4", "11")],
    "devices": [
        {**SOLENOID, "name": "Heron", "between": ["3", "11"]},
        {**SOLENOID, "name": "Gull", "between": ["4", "11"]},
    ],
}
TWO = variant_of(devices=DATA["devices"], ports=[], solenoid_chart={}, isolation=None)
COLD = (reading("3", "11", 5.25), reading("4", "11", 5.25))
OPENED = HeatEvent(kind="open", t_s=1505.0, probe_celsius=88.0, coil_celsius=85.0, heating=True)
GROWS = {
    "kind": HeatKind.GROWS_WITH_HEAT,
    "excess_ohm_at_hottest": Sized(value=0.38, u=0.005),
    "grows_from_celsius": Sized(value=70.0, u=1.5),
}
FIXED = {"kind": HeatKind.FIXED_SERIES, "series_ohm": Sized(value=0.8, u=0.025)}
HIDDEN = {
    "kind": HeatKind.NOT_SEPARABLE,
    "separable": False,
    "advice": ("Let the log run on while the part cools.",),
}


def shown(*bodies):
    session = session_of(*bodies)
    judged = judge_session(session, TWO)
    rows = {key: [row for row in judged.rows if row.key == key] for key in judged.items}
    return findings_shown(judged, rows, is_closed=False)


@pytest.mark.parametrize(
    ("bodies", "sentence"),
    [
        pytest.param([heat_test("Heron", **GROWS)], "Fail: Heron fails in the heat run", id="one fails"),
        pytest.param(
            [heat_test("Heron", **GROWS), heat_test("Gull", **FIXED)],
            "Fail: Heron and Gull in the heat run",
            id="two fail",
        ),
        pytest.param(
            [heat_test("Heron", **GROWS), reading("4", "11", 7.0)],
            "Fail: Gull and Heron in the heat run",
            id="one cold, one in the heat run",
        ),
        pytest.param(
            [heat_test("Heron", **GROWS), reading("3", "11", 7.0)],
            "Fail: Heron is outside its limits",
            id="one that fails both ways is named once",
        ),
        pytest.param(
            [heat_test("Heron", **HIDDEN)], "Can't tell: the heat run of Heron does not decide", id="one can't tell"
        ),
        pytest.param(
            [heat_test("Heron", **HIDDEN), heat_test("Gull", **HIDDEN)],
            "Can't tell: 2 heat runs do not decide",
            id="two can't tell",
        ),
        pytest.param([heat_test("Heron")], "Pass: everything that has a limit and was taken lies inside it", id="pass"),
    ],
)
def test_the_verdict_as_a_sentence(bodies, sentence):
    assert shown(*COLD, *bodies).sentence == sentence


def test_a_run_and_a_reading_that_do_not_decide():
    found = shown(reading("3", "11", 5.75), reading("4", "11", 5.25), heat_test("Heron", **HIDDEN))
    assert found.sentence == "Can't tell: 2 items are not decided"


def test_a_contact_that_grows_is_told_with_start_size_and_the_cold_pass_beside_it():
    (reason,) = shown(*COLD, heat_test("Heron", events=(OPENED,), **GROWS)).reasons
    assert (reason.what, reason.page, reason.key) == ("Heat run of Heron", "Heat", "heat Heron")
    assert reason.where == "from a log, 22 \u00b0C to 110 \u00b0C, entry 4"
    assert reason.limits == "Limits: 4.75 to 5.75 \u03a9 at 20 \u00b0C; from memory"
    assert reason.reading is None
    kind, event, head, beside = reason.reasons
    assert head == "Fail whatever the limits."
    assert kind == (
        "Something grows with heat: 0.380 \u00b1 0.010 \u03a9 too much at the hottest, 110 \u00b0C. "
        "It begins at 70 \u00b1 3 \u00b0C."
    )
    assert event == "It opened 25 min 5 s after the start, at 85 \u00b0C of the coil, while it warmed."
    assert beside == "Single readings of Heron pass: they do not show what heat does."


def test_copper_outside_its_limits_says_by_how_much():
    (reason,) = shown(*COLD, heat_test("Heron", 6.5)).reasons
    assert reason.reasons[0].startswith("Copper only: 6.50")
    assert reason.reasons[1].startswith("Fail: 6.50 \u00b1 0.12 \u03a9 at the reference temperature is outside")


def test_nothing_is_said_of_cold_readings_that_do_not_pass():
    reasons = shown(heat_test("Heron", **GROWS)).reasons[0].reasons
    assert not any("Single readings" in reason for reason in reasons)


def test_what_cannot_be_separated_comes_with_what_to_do():
    why = "One reading alone makes the difference: 7.4 \u03a9 at 110.0 \u00b0C."
    (reason,) = shown(*COLD, heat_test("Heron", **HIDDEN, reasons=("Slope over copper 1.1.", why))).reasons
    assert reason.verdict is Verdict.CANT_TELL
    assert reason.reasons[0] == f"Cannot be separated. {why}"
    assert reason.reasons[1].startswith("Can't tell: 5.20")
    assert reason.advice == "Let the log run on while the part cools."


@pytest.mark.parametrize(
    ("found", "words"),
    [
        ({}, "Copper only: 5.20 \u00b1 0.12 \u03a9 at 20 \u00b0C, and nothing in series that shows."),
        (FIXED, "A contact that stays put: 0.800 \u00b1 0.050 \u03a9 in series, cold and hot alike."),
        (
            {**GROWS, "grows_from_celsius": Sized(value=70.25, u=0.2)},
            (
                "Something grows with heat: 0.380 \u00b1 0.010 \u03a9 too much at the hottest, 110 \u00b0C. "
                "It begins at 70.2 \u00b1 0.4 \u00b0C."
            ),
        ),
        (
            {**GROWS, "grows_from_celsius": None},
            (
                "Something grows with heat: 0.380 \u00b1 0.010 \u03a9 too much at the hottest, 110 \u00b0C. "
                "Where it begins cannot be told."
            ),
        ),
        (
            {**GROWS, "series_ohm": Sized(value=0.8, u=0.025)},
            (
                "Something grows with heat: 0.380 \u00b1 0.010 \u03a9 too much at the hottest, 110 \u00b0C. "
                "It begins at 70 \u00b1 3 \u00b0C. Beside it 0.800 \u00b1 0.050 \u03a9 in series stays put."
            ),
        ),
    ],
    ids=["copper", "fixed", "a sure start", "no start", "both"],
)
def test_each_kind_in_words(found, words):
    assert kind_sentence(heat_test("Heron", **found).found) == words


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (
            HeatEvent(kind="step", t_s=45.0, probe_celsius=60.0, coil_celsius=58.0, heating=False, size_ohm=0.42),
            "It jumped by 0.420 \u03a9 45 s after the start, at 58 \u00b0C of the coil, while it cooled.",
        ),
        (HeatEvent(kind="open", probe_celsius=60.0, coil_celsius=60.0), "It opened, at 60 \u00b0C of the coil."),
        (
            HeatEvent(kind="open", t_s=119.7, probe_celsius=60.0, coil_celsius=60.0),
            "It opened 2 min after the start, at 60 \u00b0C of the coil.",
        ),
    ],
    ids=["step", "in a round", "whole minutes"],
)
def test_each_event_in_words(event, words):
    assert event_sentence(event) == words


def test_of_many_events_the_first_openings_are_told_and_the_rest_counted():
    step = HeatEvent(kind="step", t_s=10.0, probe_celsius=60.0, coil_celsius=58.0, size_ohm=0.42)
    (reason,) = shown(*COLD, heat_test("Heron", events=(step, OPENED, OPENED, OPENED))).reasons
    assert sum(words.startswith("It opened") for words in reason.reasons) == 3
    assert "1 more such events are on the Heat page." in reason.reasons


def test_the_item_by_name_and_its_page():
    assert (item_words("heat Heron"), page_of("heat Heron")) == ("Heron in the heat run", "Heat")


def test_the_strip_names_the_run():
    head, sub = verdict_words(judge_session(session_of(*COLD, heat_test("Heron", **GROWS)), TWO))
    assert (head, sub) == ("Fail: Heron in the heat run", "2 of 2 electrical, air not required, heat run 0 of 1 passed")


ROUNDS = [
    reading("3", "11", round(5.25 * (234.5 + t) / 254.5, 2), celsius=t, round=n)
    for n, t in enumerate((20.0, 45.0, 70.0, 95.0, 120.0), start=1)
]


class Bench:
    def __init__(self):
        raw = dumps(DATA)
        job = OpenJob(session="s", job="T-1", variant=sha256_of(raw))
        store = SessionStore(first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann"), blobs=(raw,))
        self.desk, self.runner = Desk(store, clock=Clock()), HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.view = create_autospec(FindingsView, instance=True)
        self.presenter = FindingsPresenter(self.view, self.desk, self.keeper)
        self.keeper.judge(done=lambda: None, failed=pytest.fail)

    def keep(self, *bodies):
        for body in bodies:
            self.keeper.keep(body, kept=lambda *_: None, failed=pytest.fail)


def test_the_keeper_finds_what_typed_rounds_say_as_they_come():
    bench = Bench()
    bench.keep(*ROUNDS[:4])
    assert "heat Heron" not in bench.keeper.judgement().items
    bench.keep(ROUNDS[4])
    assert bench.keeper.judgement().items["heat Heron"] is Verdict.PASS
    assert bench.keeper.judgement().items == bench.desk.judged().items
    (row,) = bench.keeper.book.rows_of_item("heat Heron")
    assert row.entries == (2, 3, 4, 5, 6)
    assert len(rows_shown(bench.keeper.book.rows())) == 5, "the run itself is no line on the Pins page"


def test_an_answer_that_comes_late_does_not_take_the_place_of_a_newer_one():
    bench = Bench()
    bench.keep(*ROUNDS[:4])
    bench.runner.is_held = True
    bench.keep(ROUNDS[4])
    bench.runner.step()  # it is written, and what the rounds say now is asked for
    assert bench.keeper.is_judging
    bench.runner.is_held = False
    bench.keep(reading("3", "11", 8.9, celsius=120.0, round=6))
    newer = bench.keeper.book.rows_of_item("heat Heron")
    assert newer[0].entries == (2, 3, 4, 5, 6, 7)
    bench.runner.release()
    assert not bench.keeper.is_judging
    assert bench.keeper.book.rows_of_item("heat Heron") == newer
