"""Pressures at taps: value, temperature, Enter, next; verdict while it is typed; nothing lost.  All invented."""

from __future__ import annotations

import json
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import VARIANT, Bench, last
from valvebench.model.words import Verdict
from valvebench.ui.keeper import CLOSED
from valvebench.ui.taps.presenter import ALL_READ, NOTHING_HERE, TapsPresenter, TapsView
from valvebench.ui.taps.shown import Typed

TAPS = [
    {
        "name": "Line",
        "shows": "the main line",
        "windows": [
            {"state": "idle", "low_kpa": 420, "high_kpa": 480, "low_celsius": 60, "high_celsius": 100},
            {"state": "load", "low_kpa": 1120, "high_kpa": 1260, "low_celsius": 60},
        ],
    },
    {"name": "Auk"},
]
WITH_TAPS = json.dumps({**json.loads(VARIANT), "taps": TAPS}).encode()


class TapsBench(Bench):
    """A desk in memory with the page in front; the view remembers what stands in its fields."""

    def __init__(self, variant=WITH_TAPS, **more):
        super().__init__(variant=variant, **more)
        self.page = create_autospec(TapsView, instance=True)
        self.form = Typed()
        self.page.fill.side_effect = self._fill
        self.page.set_kpa.side_effect = lambda text: self.put(kpa=text)
        self.taps = TapsPresenter(self.page, self.desk, self.keeper)
        self.start()
        self.taps.start()

    def _fill(self, typed):
        self.form = typed

    def put(self, **changes):
        self.form = Typed(**{**{name: getattr(self.form, name) for name in Typed.__dataclass_fields__}, **changes})

    def type(self, **changes):
        self.put(**changes)
        self.taps.typed(self.form)

    def enter(self, kpa):
        self.type(kpa=kpa)
        self.taps.kpa_kept(self.form)

    def read(self, kpa, fluid, **more):
        """Value, Enter, temperature, Enter."""
        self.type(**more)
        self.enter(kpa)
        self.type(fluid=fluid)
        self.taps.keep(self.form)

    @property
    def bodies(self):
        return [item.body for item in self.desk.session.items_of("pressure")]

    @property
    def question(self):
        return last(self.page.show_question)[0]

    @property
    def shown(self):
        return last(self.page.show_pressure)[0]

    @property
    def words(self):
        return last(self.page.say)[0]

    @property
    def lines(self):
        return last(self.page.show_lines)[0]


@pytest.fixture
def bench():
    return TapsBench()


def test_the_first_window_is_asked_for_in_words(bench):
    assert bench.question.big == "Line"
    assert (bench.question.what, bench.question.expect) == (
        "idle, the main line",
        "420 to 480 kPa, fluid at 60 to 100 \u00b0C",
    )
    assert bench.question.lead == "Pressure at a tap, 1 of 3"
    assert [(line.tap, line.state, line.verdict) for line in bench.lines] == [
        ("Line", "idle", Verdict.NOT_TAKEN),
        ("Line", "load", Verdict.NOT_TAKEN),
        ("Auk", "idle", Verdict.NOT_TAKEN),
    ]


def test_value_temperature_enter_keeps_and_asks_for_the_next_one(bench):
    bench.type(gauge="1%+1x5", gauge_id="red")
    bench.read("452", "80")
    (body,) = bench.bodies
    assert (body.tap, body.state, body.kpa_gauge, body.fluid_celsius) == ("Line", "idle", 452.0, 80.0)
    assert (body.gauge, body.gauge_id) == ("1%+1x5", "red")
    assert (bench.form.tap, bench.form.state, bench.form.kpa) == ("Line", "load", "")
    assert (bench.form.fluid, bench.form.gauge) == ("80", "1%+1x5")  # as they are for the next tap
    assert bench.lines[0].verdict is Verdict.PASS
    bench.read("1000", "80")
    bench.read("300", "80")
    assert [line.verdict for line in bench.lines] == [Verdict.PASS, Verdict.FAIL, Verdict.NO_LIMIT]
    assert bench.words.endswith(ALL_READ)


def test_the_verdict_stands_while_it_is_typed(bench):
    bench.type(kpa="452")
    assert (bench.shown.kpa, bench.shown.low, bench.shown.high) == (None, 420, 480)  # the fluid is not told yet
    bench.type(fluid="80")
    # 1 % of 452 and one step of 1 kPa: a rectangle of 5.52, 95.45 % of it (JCGM 100:2008, 4.3.7)
    assert bench.shown.verdict is Verdict.PASS
    assert bench.shown.expanded == pytest.approx(0.9545 * 5.52, rel=1e-3)
    bench.type(kpa="478")
    assert bench.shown.verdict is Verdict.CANT_TELL
    bench.type(fluid="20")
    assert bench.shown.verdict is Verdict.NO_LIMIT
    assert "60 to 100" in bench.shown.sentence
    assert bench.bodies == []


def test_a_tap_that_the_variant_does_not_have_can_be_named(bench):
    bench.read("210", "75", tap="Brant", state="in 3rd")
    assert [(body.tap, body.state) for body in bench.bodies] == [("Brant", "in 3rd")]
    assert (bench.lines[-1].tap, bench.lines[-1].verdict) == ("Brant", Verdict.NO_LIMIT)
    assert bench.form.tap == "Line"


def test_without_a_variant_every_tap_is_named():
    bench = TapsBench(variant=None)
    assert (bench.question.big, bench.lines) == ("\u2013", [])
    bench.read("430", "80")
    assert bench.words == "Name the tap and the state, such as Line and idle."
    assert bench.bodies == []
    bench.read("430", "80", tap="Line", state="idle")
    assert len(bench.bodies) == 1
    assert (bench.form.tap, bench.form.state) == ("Line", "idle")


def test_a_number_that_can_mean_two_is_asked_about(bench):
    bench.enter("1,190")
    assert last(bench.page.show_problem)[0].startswith("Is it 1.19 or 1190 kPa?")
    bench.enter("2")
    assert bench.form.kpa == "1190"
    bench.page.to_fluid.assert_called_once()


def test_a_decimal_that_was_chosen_is_not_asked_about_again(bench):
    bench.type(kpa="1,234", fluid="80")
    assert bench.shown.kpa is None  # no verdict on a guess
    bench.taps.kpa_kept(bench.form)
    bench.enter("1")
    assert (bench.form.kpa, bench.shown.kpa) == ("1.234", 1.234)
    bench.taps.keep(bench.form)
    assert [body.kpa_gauge for body in bench.bodies] == [1.234]


@pytest.mark.parametrize("text", ["", "much", "1e9", "99999", "nan"])
def test_what_is_no_pressure_is_said_and_stays(bench, text):
    bench.enter(text)
    assert last(bench.page.show_problem)[0]
    assert (bench.form.kpa, bench.bodies) == (text, [])
    bench.page.to_fluid.assert_not_called()


@pytest.mark.parametrize("text", ["", "warm", "900", "nan"])
def test_what_is_no_temperature_is_said_beside_it(bench, text):
    bench.read("452", text)
    assert "fluid" in last(bench.page.show_fluid_problem)[0]
    assert bench.bodies == []


def test_an_accuracy_that_cannot_be_read_is_said(bench):
    bench.read("452", "80", gauge="good")
    assert "good" in bench.words
    assert bench.bodies == []


def test_up_and_down_walk_the_windows_round(bench):
    bench.taps.previous()
    assert bench.question.big == "Auk"
    bench.taps.skip()
    bench.taps.skip()
    assert (bench.form.tap, bench.form.state) == ("Line", "load")


def test_an_entry_is_corrected_with_a_trail(bench):
    bench.read("452", "80")
    bench.taps.line_chosen(bench.lines[0].number)
    assert (bench.form.kpa, bench.form.fluid) == ("452", "80")
    assert "corrected" in bench.question.lead
    bench.read("425", "80")
    assert [body.kpa_gauge for body in bench.bodies] == [425.0]
    assert bench.desk.session.entries[-1].kind == "correct"
    assert (bench.form.tap, bench.form.state) == ("Line", "load")


def test_a_line_that_waits_is_asked_for_and_walking_leaves_a_correction(bench):
    bench.taps.line_chosen(-2)
    assert bench.form.state == "load"
    bench.taps.skip()
    bench.read("1200", "80", tap="Line", state="load")
    bench.taps.line_chosen(bench.desk.session.entries[-1].n)
    bench.taps.skip()
    bench.read("100", "80")
    assert [entry.kind for entry in bench.desk.session.entries[1:]] == ["pressure", "pressure"]


def test_withdraw_undo_and_redo_touch_only_pressures(bench):
    bench.read("452", "80")
    bench.taps.withdraw(bench.lines[0].number)
    assert (bench.bodies, bench.lines[0].verdict) == ([], Verdict.NOT_TAKEN)
    bench.taps.taking_back.undo()
    assert bench.words == NOTHING_HERE or bench.bodies
    bench.taps.taking_back.redo()
    assert len(bench.bodies) == 1
    bench.taps.taking_back.undo()
    assert bench.bodies == []


def test_what_could_not_be_saved_still_stands_there(bench):
    bench.store.is_full = True
    bench.read("452", "80")
    assert bench.words == "Not saved. no space left. Enter tries again."
    assert (bench.form.kpa, bench.form.fluid, bench.bodies) == ("452", "80", [])
    bench.store.is_full = False
    bench.taps.keep(bench.form)
    assert len(bench.bodies) == 1


def test_what_is_typed_meanwhile_stays_for_the_next_tap(bench):
    bench.runner.is_held = True
    bench.read("452", "80")
    bench.type(kpa="119")
    bench.runner.release()
    assert (bench.form.state, bench.form.kpa) == ("load", "119")


def test_a_finding_leads_to_its_window(bench):
    bench.taps.choose("tap Line (load, 60 \u00b0C and above)")
    assert (bench.form.tap, bench.form.state) == ("Line", "load")
    bench.read("210", "75", tap="Brant", state="idle")
    bench.taps.choose("tap Brant (idle)")
    assert (bench.form.tap, bench.form.kpa) == ("Brant", "210")


def test_a_closed_session_takes_nothing(bench):
    bench.read("452", "80")
    bench.desk.close()
    bench.taps.start()
    assert bench.words == CLOSED
    bench.page.set_enabled.assert_called_with(is_enabled=False)
    bench.taps.keep(bench.form)
    bench.taps.withdraw(2)
    assert len(bench.bodies) == 1
