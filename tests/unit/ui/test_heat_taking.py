"""How a logger's file is taken in, without Qt. Every log is invented."""

from __future__ import annotations

import pytest

from tests.fakes.heat_bench import FILES, LOG, HeatBench
from tests.fakes.heat_logs import copper, grows, log_of
from valvebench.bench.heat_find import TakenWith
from valvebench.bench.heat_log import LogHead
from valvebench.model.entry import Close, sha256_of
from valvebench.model.heat import HeatKind
from valvebench.model.words import Rule
from valvebench.ui.heat import take_shown as shown
from valvebench.ui.heat import taking as t
from valvebench.ui.keeper import BUSY, CLOSED

HEAD = b"t_s,probe_celsius,ohm\n"


def lines(*rows: str) -> bytes:
    return HEAD + "\n".join(rows).encode() + b"\n"


def ramp(count: int, *, t_s=lambda n: 10 * n, celsius=lambda n: 20 + 4 * n, ohm=lambda n: f"{5.2 + 0.08 * n:.3f}"):
    return lines(*(f"{t_s(n)},{celsius(n)},{ohm(n)}" for n in range(count)))


@pytest.fixture
def bench():
    bench = HeatBench()
    bench.taking.begin()
    return bench


def named(bench, name=LOG):
    bench.taking.named(name)
    return bench


def test_the_card_asks_for_a_file(bench):
    assert bench.card.show_card.call_args.kwargs == {"is_shown": True}
    assert bench.told == t.NO_FILE
    bench.taking.named("  ")
    assert bench.card.say.call_args.kwargs == {"is_problem": True}


def test_it_shows_how_the_file_is_written_before_anything_is_kept(bench):
    named(bench)
    file = bench.card.show_file.call_args.args[0]
    assert dict(file.detected) == {
        "Cells parted by": "comma",
        "Decimal sign": "point",
        "Time": "seconds",
        "Columns": "t_s: time; probe_celsius: probe in \u00b0C; "
        "Gull_ohm: resistance in ohm; Heron_ohm: resistance in ohm",
        "Header": "the first line",
    }
    assert file.headings == ("t_s", "probe_celsius", "Gull_ohm", "Heron_ohm")
    assert len(file.lines) == 5
    assert bench.tests == []


def test_words_for_what_is_not_there():
    head = LogHead("tab", "", "", (), (("1",),), 3)
    told = dict(shown.file_shown("x", head).detected)
    assert (told["Decimal sign"], told["Time"], told["Header"]) == (
        "none seen",
        "no column of it",
        "3 lines above the header passed over",
    )


def test_columns_are_matched_by_name_and_say_what_they_found(bench):
    columns = named(bench).columns
    assert {name: one.device for name, one in columns.items()} == {"Gull": "Gull", "Heron": "Heron"}
    assert columns["Gull"].words.startswith("Grows with heat, 5.")
    assert columns["Gull"].words.endswith("at 20 \u00b0C, 400 readings.")
    assert [name for name, _ in columns["Gull"].choices] == ["", "Gull", "Heron", "Knot"]


@pytest.mark.parametrize(
    ("column", "device"),
    [("gull", "Gull"), (" GULL ", "Gull"), ("Auk", ""), ("", "")],
    ids=["small", "wide", "other", "none"],
)
def test_names_are_matched_without_guessing(bench, column, device):
    assert shown.matched_device(bench.desk.variant, column) == device


def test_without_a_variant_the_column_names_its_device():
    bench = HeatBench(variant=None)
    named(bench)
    bench.taking.accept()
    assert [test.device for test in bench.tests] == ["Gull", "Heron"]
    assert shown.matched_device(None, "") == "this part"


def test_accepting_keeps_the_log_and_one_entry_for_each_device(bench):
    named(bench)
    bench.taking.accept()
    gull, heron = bench.tests
    assert (gull.device, gull.column, gull.file_name, gull.size_bytes) == ("Gull", "Gull", LOG, len(FILES[LOG]))
    assert gull.found.kind is HeatKind.GROWS_WITH_HEAT
    assert gull.sha256 == heron.sha256 == sha256_of(FILES[LOG])
    assert bench.store.blob(gull.sha256) == FILES[LOG]
    assert gull.program.startswith("valvebench ")
    assert bench.card.show_card.call_args.kwargs == {"is_shown": False}
    assert [row.device for row in bench.rows] == ["Gull", "Heron"]
    assert bench.said == f"Kept: entry {bench.rows[-1].number} is the newest."


def test_a_run_without_a_name_has_to_be_given_one(bench):
    named(bench, "one.csv")
    assert bench.columns[""].label == "The resistance"
    bench.taking.accept()
    assert bench.told == t.NOTHING_CHOSEN
    bench.taking.device_chosen("", "Knot")
    bench.taking.accept()
    assert [(test.device, test.column) for test in bench.tests] == [("Knot", None)]


def test_one_device_cannot_stand_for_two_columns(bench):
    named(bench)
    bench.taking.device_chosen("Heron", "Gull")
    bench.taking.accept()
    assert bench.told == f"Gull {t.TWICE}"
    assert bench.tests == []


def test_a_column_can_be_left_out(bench):
    named(bench)
    bench.taking.device_chosen("Heron", shown.LEAVE_OUT)
    bench.taking.accept()
    assert [test.device for test in bench.tests] == ["Gull"]


def test_each_device_is_held_against_its_own_conductor(bench):
    """Heron is wound of aluminium (k 225, IEC 60034-1) in this invented variant, Gull of copper (234.5)."""
    named(bench)
    bench.taking.accept()
    assert [test.found.k_celsius for test in bench.tests] == [234.5, 225.0]


def test_another_device_of_another_metal_is_worked_out_anew(bench):
    named(bench, "one.csv")
    bench.taking.device_chosen("", "Heron")
    bench.taking.accept()
    assert bench.tests[0].found.k_celsius == 225.0


# -- options -------------------------------------------------------------------------------------


def options(**given):
    return shown.Options(**given)


def test_options_go_into_the_entry(bench):
    named(bench)
    bench.taking.options_changed(options(is_soaked=True, meter="0.5%+2x0.01", celsius_accuracy="1,5"))
    bench.taking.accept()
    test = bench.tests[0]
    assert (test.is_soaked, test.meter, test.celsius_accuracy) == (True, "0.5%+2x0.01", 1.5)
    assert test.found.meter == "0.5%+2x0.01"
    assert not test.found.meter_is_assumed


def test_settled_rounds_have_no_lag(bench):
    named(bench)
    bench.taking.options_changed(options(is_settled=True))
    bench.taking.accept()
    assert bench.tests[0].is_settled
    assert bench.tests[0].found.lag_s is None


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"meter": "good"}, "meter", "percent, counts and step"),
        ({"celsius_accuracy": "warm"}, "celsius_accuracy", "probe accuracy"),
        ({"celsius_accuracy": "0"}, "celsius_accuracy", "more than 0, at most 50"),
        ({"celsius_accuracy": "51"}, "celsius_accuracy", "more than 0, at most 50"),
        ({"celsius_accuracy": ""}, "celsius_accuracy", "probe accuracy"),
    ],
    ids=["meter", "words", "nought", "wide", "empty"],
)
def test_an_option_that_cannot_be_used_is_said_at_its_field(bench, given, field, words):
    named(bench)
    bench.taking.options_changed(options(**given))
    problems = bench.card.show_problems.call_args.args[0]
    assert list(problems) == [field]
    assert words in problems[field]
    bench.taking.accept()
    assert bench.told == "Put the options right first."
    assert bench.tests == []
    bench.taking.options_changed(options())
    assert bench.card.show_problems.call_args.args[0] == {}
    bench.taking.accept()
    assert len(bench.tests) == 2


def test_the_same_options_again_ask_for_nothing(bench):
    named(bench)
    bench.reader.is_held = True
    bench.taking.options_changed(options())
    assert not bench.reader._held
    assert shown.read_options(options()) == (TakenWith(), {})


# -- refusals ------------------------------------------------------------------------------------

REFUSED = {
    "too-few": (ramp(5), "5 readings that are not open"),
    "too-little-span": (ramp(20, celsius=lambda n: 20 + 0.2 * n), "3.8 degrees from coldest to hottest"),
    "constant": (ramp(20, ohm=lambda _: "5.2"), "5.2 in every sample"),
    "all-open": (ramp(20, ohm=lambda _: "OL"), "open in every sample"),
    "reversed": (ramp(20, t_s=lambda n: 200 - n), "times that run backwards"),
    "one-back": (ramp(20, t_s=lambda n: 10 * n if n < 10 else n), "10 s after 90 s"),
    "doubled": (ramp(20, t_s=lambda n: n // 2), "0 s twice"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_run_that_cannot_be_used_says_why_and_is_not_kept(case):
    raw, words = REFUSED[case]
    bench = HeatBench(files={LOG: raw})
    named(bench)
    bench.taking.device_chosen("", "Gull")
    (column,) = bench.columns.values()
    assert column.words.startswith("Cannot be used: ")
    assert words in column.words
    assert not column.is_usable
    bench.taking.accept()
    assert bench.told == t.NOTHING_CHOSEN
    assert bench.tests == []


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"probe_celsius,ohm\n20,5\n", "no time column"),
        (b"1,2\n3,4\n", "expected a header"),
        (HEAD, "a header and nothing below it"),
        (lines("0,20,5", "x,30,6"), "line 3, column 1 (t_s)"),
    ],
    ids=["no-time", "no-header", "empty", "no-number"],
)
def test_a_file_that_cannot_be_read_is_refused_in_words(raw, words):
    bench = HeatBench(files={LOG: raw})
    named(bench)
    assert words in bench.told
    assert bench.card.say.call_args.kwargs == {"is_problem": True}


def test_a_file_without_times_is_read_once_it_is_said_to_be_settled_rounds():
    text = "probe_celsius,Gull_ohm\n" + "".join(f"{20 + 10 * n},{5.2 + 0.2 * n:.2f}\n" for n in range(8))
    bench = HeatBench(files={LOG: text.encode()})
    named(bench)
    assert "no time column" in bench.told
    bench.taking.options_changed(options(is_settled=True))
    assert bench.columns["Gull"].is_usable


def test_long_lists_of_faults_are_cut():
    bench = HeatBench(files={LOG: lines(*(f"{n},20,x" for n in range(30)))})
    named(bench)
    assert len(bench.told.splitlines()) == 7
    assert bench.told.splitlines()[-1].startswith("and ")


def test_a_file_that_is_not_there_is_said(bench):
    named(bench, "none.csv")
    assert bench.told == "none.csv: cannot be read (it is not there). Check the name of the file."


def test_a_fault_of_ours_is_no_message(bench, monkeypatch):
    monkeypatch.setattr(t, "said_of", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        named(bench)


# -- waiting -------------------------------------------------------------------------------------


def test_reading_says_how_far_it_is_and_can_be_stopped(bench):
    bench.reader.is_held = True
    named(bench)
    bench.reader.step()
    assert bench.card.show_busy.call_args.kwargs == {"is_busy": True}
    wanted = bench.taking._wanted
    assert wanted.step(40_000)
    bench.taking.tick()
    assert bench.told == "Reading the file, 40000 lines so far \u2026"
    bench.taking.accept()
    assert bench.told == "Reading the file: wait, or stop it."
    bench.taking.cancel()
    assert bench.told == "Reading was stopped; nothing was kept."
    assert bench.card.show_busy.call_args.kwargs == {"is_busy": False}
    bench.reader.release()
    bench.card.show_columns.assert_called_with(())
    bench.taking.tick()
    assert bench.told == "Reading was stopped; nothing was kept."


def test_only_the_file_named_last_counts(bench):
    bench.reader.is_held = True
    named(bench, "one.csv")
    named(bench)
    bench.reader.release()
    assert list(bench.columns) == ["Gull", "Heron"]


def test_cancelling_forgets_the_file_and_keeps_nothing(bench):
    named(bench)
    bench.taking.cancel()
    assert bench.card.show_card.call_args.kwargs == {"is_shown": False}
    assert bench.card.show_file.call_args.args == (None,)
    bench.taking.accept()
    assert bench.tests == []


def test_a_dropped_file_is_read_at_once():
    bench = HeatBench()
    bench.taking.dropped(LOG)
    assert bench.card.show_path.call_args.args == (LOG,)
    assert list(bench.columns) == ["Gull", "Heron"]


# -- keeping -------------------------------------------------------------------------------------


def test_a_full_disk_keeps_the_preview_and_says_not_saved(bench):
    named(bench)
    bench.store.is_full = True
    bench.taking.accept()
    assert bench.told == "Not saved: Gull, Heron. no space left. Try again."
    assert bench.tests == []
    assert bench.card.show_card.call_args.kwargs == {"is_shown": True}
    assert {name: one.device for name, one in bench.columns.items()} == {"Gull": "Gull", "Heron": "Heron"}
    bench.store.is_full = False
    bench.taking.accept()
    assert [test.device for test in bench.tests] == ["Gull", "Heron"]


def test_what_was_kept_before_the_disk_was_full_is_not_kept_twice(bench):
    named(bench)
    bench.runner.is_held = True
    bench.taking.accept()
    bench.runner.step()
    bench.store.is_full = True
    bench.runner.release()
    assert bench.told == "Not saved: Heron. no space left. Try again."
    assert {name: one.device for name, one in bench.columns.items()} == {"Gull": "", "Heron": "Heron"}
    bench.store.is_full = False
    bench.taking.accept()
    assert [test.device for test in bench.tests] == ["Gull", "Heron"]


def test_while_another_entry_is_on_its_way_nothing_is_begun(bench):
    named(bench)
    bench.runner.is_held = True
    bench.rounds((20,))
    bench.taking.accept()
    assert bench.told == BUSY


def test_a_closed_session_takes_nothing_in(bench):
    named(bench)
    bench.desk.record(Close(verdict="fail", scope="x", rule=Rule.PROVED, program="test"))
    bench.taking.accept()
    assert bench.told == CLOSED
    bench.taking.begin()
    assert bench.told == CLOSED


def test_a_log_of_many_devices_is_kept_whole():
    names = [f"Auk{n}" for n in range(5)]
    bench = HeatBench(variant=None, files={LOG: log_of(dict.fromkeys(names, copper) | {"Gull": grows})})
    bench.take()
    assert [test.device for test in bench.tests] == [*names, "Gull"]
