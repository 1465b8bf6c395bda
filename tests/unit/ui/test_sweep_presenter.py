"""Sweeps: taken in from a file or a pasted table, read out with definitions, kept on Enter.  All invented."""

from __future__ import annotations

import json
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import VARIANT, Bench, last
from tests.fakes.runners import HeldRunner
from valvebench.capture.air_log import sweep_log
from valvebench.model.errors import WorldFailed
from valvebench.model.words import Verdict
from valvebench.ui.keeper import CLOSED
from valvebench.ui.sweep.presenter import (
    GONE,
    KEEP_IT,
    NOT_AMPERE,
    NOTHING_HERE,
    NOTHING_TO_KEEP,
    SweepPresenter,
    SweepView,
)
from valvebench.ui.sweep.reading import pasted_bytes

DEVICES = [
    {**one, "max_hysteresis_pct": 5.0, "max_ampere": 1.2} if one["name"] == "Heron" else one
    for one in json.loads(VARIANT)["devices"]
]
WITH_LIMIT = json.dumps({**json.loads(VARIANT), "devices": DEVICES}).encode()


def table(loop_kpa=20.0, *, separator=",", header=True):
    """A straight line of 500 kPa/A that the way down stands above by a constant: the loop is known by hand."""
    rows = [
        (f"{0.05 * n:.2f}", f"{500 * 0.05 * n + (0.0 if up else loop_kpa):.1f}", "up" if up else "down")
        for up in (True, False)
        for n in (range(21) if up else range(20, -1, -1))
    ]
    lines = [("ampere", "kpa_gauge", "branch")] * header + rows
    return "\n".join(separator.join(row) for row in lines) + "\n"


class Files:
    """Files by their names."""

    def __init__(self, **files):
        self.files = files

    def bytes_of(self, path):
        if path.name not in self.files:
            raise WorldFailed(f"{path.name} is not there.")
        return self.files[path.name]

    def sweep_of(self, raw, *, source):
        return sweep_log(raw, source=source)


class SweepBench(Bench):
    """A desk in memory with the page in front."""

    def __init__(self, variant=WITH_LIMIT):
        super().__init__(variant=variant)
        self.page = create_autospec(SweepView, instance=True)
        self.reader = HeldRunner()
        files = {"sweep.csv": table().encode(), "wide.csv": table(40.0).encode(), "bad.csv": b"t_s,ohm\n1,2\n3,4\n"}
        self.sweep = SweepPresenter(
            self.page, self.desk, self.keeper, reader=self.reader, files=Files(**files), prepare=lambda: None
        )
        self.start()
        self.sweep.start()
        self.sweep.device_chosen("Heron")

    @property
    def bodies(self):
        return [item.body for item in self.desk.session.items_of("sweep")]

    @property
    def found(self):
        return last(self.page.show_found)[0]

    @property
    def words(self):
        return last(self.page.say)[0]

    @property
    def lines(self):
        return last(self.page.show_lines)[0]

    @property
    def curve(self):
        return last(self.page.show_curve)[0]


@pytest.fixture
def bench():
    return SweepBench()


def test_a_file_is_read_out_and_kept_only_on_enter(bench):
    bench.sweep.file_named("/somewhere/sweep.csv")
    assert (bench.words, bench.bodies) == (KEEP_IT, [])
    # 20 kPa of a span that reaches from 10 to 510 kPa along the middle: 4 %
    assert bench.found.verdict is Verdict.PASS
    assert "4.00" in bench.found.headline
    assert bench.found.aside == "42 readings, not kept yet"
    bench.sweep.keep()
    (body,) = bench.bodies
    assert (body.device, body.file_name) == ("Heron", "sweep.csv")
    assert bench.store.blobs[body.sha256] == table().encode()
    assert [(line.device, line.verdict, line.limit) for line in bench.lines] == [("Heron", Verdict.PASS, "at most 5 %")]
    bench.sweep.keep()
    assert (len(bench.bodies), bench.words) == (1, NOTHING_TO_KEEP)


def test_every_number_stands_with_its_definition_and_range(bench):
    bench.sweep.file_named("sweep.csv")
    said = "\n".join(bench.found.lines)
    for words in (
        "At equal current, in percent of the 500 kPa span, over 10 to 90 % of it: largest 4.0",
        "At equal pressure, in percent of 1 A (the largest that was set), over 10 to 90 % of the span: largest 4.0",
        "Linearity from",
        "(minimax)",
        "(terminal)",
        "Dead band: cannot be said, the sweep does not begin at rest.",
    ):
        assert words in said, said


def test_both_branches_are_drawn_with_the_joint_curve(bench):
    bench.sweep.file_named("sweep.csv")
    assert (len(bench.curve.up), len(bench.curve.down)) == (21, 21)
    middle = len(bench.curve.ampere) // 2
    at = bench.curve.ampere[middle]
    assert bench.curve.kpa[middle] == pytest.approx(500 * at + 10.0, abs=0.1)
    assert bench.curve.falling_kpa[middle] - bench.curve.rising_kpa[middle] == pytest.approx(20.0, abs=0.2)


def test_a_loop_that_is_none_is_not_resolved(bench):
    bench.sweep.pasted(table(0.0))
    assert "not resolved" in "\n".join((bench.found.headline, *bench.found.lines))


@pytest.mark.parametrize("separator", ["\t", ";", ","])
@pytest.mark.parametrize("header", [True, False])
def test_a_pasted_table_is_a_file_of_its_own(bench, separator, header):
    bench.sweep.pasted(table(separator=separator, header=header))
    bench.sweep.keep()
    (body,) = bench.bodies
    assert (body.file_name, body.found.n) == ("pasted-sweep.csv", 42)


def test_decimal_commas_of_a_spreadsheet_are_read():
    text = table(separator="\t", header=False).replace(".", ",")
    log = sweep_log(pasted_bytes(text), source="pasted")
    assert (log.ampere[1], log.kpa[1]) == (0.05, 25.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("", "no table", id="nothing"),
        pytest.param("hello", "no table", id="one word"),
        pytest.param("0.1\t20\n0.2\t40\n", "2 columns without headings", id="no branch"),
        pytest.param("ampere,kpa_gauge\n0.1,20\n0.2,40\n", "branch", id="a header without branches"),
        pytest.param("ampere,kpa_gauge,branch\n0.1,20,up\n0.2,40,down\n", "branch up", id="too few"),
    ],
)
def test_what_is_no_sweep_is_said_and_nothing_waits(bench, text, words):
    bench.sweep.pasted(text)
    assert words in bench.words
    bench.sweep.keep()
    assert (bench.words, bench.bodies) == (NOTHING_TO_KEEP, [])


def test_a_file_that_is_none_or_gone_is_said(bench):
    bench.sweep.file_named("bad.csv")
    assert "ampere" in bench.words
    bench.sweep.file_named("gone.csv")
    assert bench.words == "gone.csv is not there."


def test_another_solenoid_or_rated_current_reads_what_waits_anew(bench):
    bench.sweep.file_named("sweep.csv")
    bench.sweep.device_chosen("Gull")
    assert bench.found.verdict is Verdict.NO_LIMIT
    bench.sweep.fields_typed("2", "red")
    assert "in percent of 2 A, over" in "\n".join(bench.found.lines)
    bench.sweep.keep()
    assert [(body.device, body.rated_ampere, body.gauge_id) for body in bench.bodies] == [("Gull", 2.0, "red")]


def test_a_name_half_typed_loses_nothing(bench):
    bench.sweep.file_named("sweep.csv")
    for name in ("Gul", "Gull"):
        bench.sweep.device_chosen(name)
        assert ("Gul is no solenoid" in bench.words) is (name == "Gul")
    bench.sweep.keep()
    assert [body.device for body in bench.bodies] == ["Gull"]


def test_a_rated_current_that_is_none_is_said(bench):
    bench.sweep.fields_typed("much", "")
    bench.sweep.file_named("sweep.csv")
    assert bench.words == NOT_AMPERE
    bench.sweep.fields_typed("1", "")
    assert bench.words == KEEP_IT


def test_only_the_newest_of_two_files_is_shown(bench):
    bench.reader.is_held = True
    bench.sweep.file_named("sweep.csv")
    bench.sweep.file_named("wide.csv")
    bench.reader.release()
    assert bench.found.verdict is Verdict.FAIL


def test_a_sweep_still_being_read_does_not_take_the_place_of_a_kept_one(bench):
    bench.sweep.file_named("sweep.csv")
    bench.sweep.keep()
    bench.reader.is_held = True
    bench.sweep.pasted(table(40.0))
    bench.sweep.line_chosen(2)
    bench.reader.release()
    assert (bench.found.aside, len(bench.curve.up)) == ("entry 2", 21)
    bench.sweep.keep()
    assert len(bench.bodies) == 1


def test_the_limit_of_the_supply_stands_in_the_safety_line(bench):
    assert "at most 1.2 A" in last(bench.page.show_supply)[0]
    bench.sweep.device_chosen("Gull")
    assert "as the maker states" in last(bench.page.show_supply)[0]


def test_a_kept_sweep_is_drawn_again_and_one_whose_file_is_gone_says_so(bench):
    bench.sweep.file_named("sweep.csv")
    bench.sweep.keep()
    bench.sweep.device_chosen("Gull")
    assert bench.curve.up == ()
    bench.sweep.line_chosen(bench.lines[0].number)
    assert len(bench.curve.up) == 21
    assert bench.found.aside == "entry 2"
    bench.store.blobs.pop(bench.bodies[0].sha256)
    bench.sweep.line_chosen(bench.lines[0].number)
    assert (bench.words, bench.found.verdict) == (GONE, Verdict.PASS)


def test_what_could_not_be_saved_can_be_kept_again(bench):
    bench.sweep.file_named("sweep.csv")
    bench.store.is_full = True
    bench.sweep.keep()
    assert (bench.words, bench.bodies) == ("Not saved. no space left. Enter tries again.", [])
    bench.store.is_full = False
    bench.sweep.keep()
    assert len(bench.bodies) == 1


def test_withdraw_undo_and_redo_touch_only_sweeps(bench):
    bench.sweep.taking_back.undo()
    assert bench.words == NOTHING_HERE
    bench.sweep.file_named("sweep.csv")
    bench.sweep.keep()
    bench.sweep.withdraw(2)
    assert (bench.bodies, bench.lines) == ([], [])
    bench.sweep.taking_back.redo()
    assert len(bench.bodies) == 1


def test_a_finding_leads_to_its_solenoid(bench):
    bench.sweep.file_named("sweep.csv")
    bench.sweep.keep()
    bench.sweep.device_chosen("Gull")
    bench.sweep.choose("sweep Heron")
    assert bench.found.aside == "entry 2"


def test_a_closed_session_takes_nothing(bench):
    bench.desk.close()
    bench.sweep.start()
    assert bench.words == CLOSED
    for act in (lambda: bench.sweep.file_named("sweep.csv"), lambda: bench.sweep.pasted(table()), bench.sweep.keep):
        act()
        assert bench.words == CLOSED
    assert bench.bodies == []
