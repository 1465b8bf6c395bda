"""The Flex page's decisions: each reading an entry at once, a series that goes on, nothing lost."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.fakes.pins_bench import AT_20, Bench, last, told
from tests.fakes.runners import HeldRunner
from valvebench.capture.flex_log import flex_log
from valvebench.model.words import Verdict
from valvebench.ui.flex.presenter import NO_PAIR, NOTHING_BACK, NOTHING_HERE, NOTHING_TO_REPEAT, FlexPresenter, FlexView
from valvebench.ui.keeper import CLOSED
from valvebench.ui.pins.asking import STILL_KEEPING
from valvebench.ui.pins.plan import Pair

HERON = Pair("2", "3")
LOG = b"t_s,ohm\n" + b"".join(b"%d,5.2%d\n" % (second, second % 3) for second in range(40))


class Files:
    """Files of loggers by their names."""

    def __init__(self, **files):
        self.files = files

    def bytes_of(self, path):
        return self.files[path.name]

    def flex_of(self, raw, *, source, column=None):
        return flex_log(raw, source=source, column=column)


class FlexBench(Bench):
    """A desk in memory with the page in front."""

    def __init__(self, *, store=None, pair=HERON):
        super().__init__(store=store)
        self.page = create_autospec(FlexView, instance=True)
        self.reader = HeldRunner()
        self.files = Files(**{"flex.csv": LOG, "open.csv": b"ohm\n" + b"OL\n" * 9})
        self.flex = FlexPresenter(
            self.page, self.desk, self.keeper, reader=self.reader, files=self.files, prepare=lambda: None
        )
        self.start()
        self.flex.start()
        self.flex.begin(pair, AT_20)

    def take(self, *texts):
        for text in texts:
            for end in range(1, len(text) + 1):
                self.flex.typed(text[:end])
            self.flex.keep(text)

    @property
    def series(self):
        return last(self.page.show_series)[0]

    @property
    def trouble(self):
        return last(self.page.show_problem)[0]

    @property
    def words(self):
        return last(self.page.say)[0]

    @property
    def bodies(self):
        return [item.body for item in self.desk.session.items_of("flex")]


@pytest.fixture
def bench():
    return FlexBench()


def test_each_reading_is_an_entry_of_its_own_with_the_set_up_of_the_bench(bench):
    bench.take("5.2", "5,3", "OL")
    assert [body.ohm for body in bench.bodies] == [(5.2,), (5.3,), (None,)]
    assert [body.follows for body in bench.bodies] == [None, 2, 2]
    first = bench.bodies[0]
    assert (first.from_node, first.to_node, first.flexed) == ("2", "3", "the harness at the plug")
    assert (first.celsius, first.meter, first.leads.value) == (20.0, "0.9%+2x0.01", "nulled")


def test_a_reading_is_drawn_at_once_and_its_meaning_follows(bench):
    bench.take("5.2")
    assert bench.series.ohm == (5.2,)
    assert (bench.series.verdict, bench.series.count) == (Verdict.CANT_TELL, "1 reading")
    bench.flex.keep_open()
    assert (bench.series.ohm, bench.series.verdict) == ((5.2, None), Verdict.FAIL)
    assert bench.series.headline.startswith("Fail: it opened once, first at reading 2")
    assert bench.words == "Reading 2 kept: open."


def test_what_is_said_of_fewer_readings_is_not_shown_beside_more(bench):
    bench.take("5.2")
    bench.runner.is_held = True
    bench.take("5.3")
    bench.runner.step()  # on disk; what it says waits
    assert (bench.series.ohm, bench.series.verdict) == ((5.2, 5.3), None)
    bench.runner.release()
    assert bench.series.verdict is Verdict.CANT_TELL


def test_the_same_again_repeats_the_last_reading(bench):
    bench.flex.again()
    assert bench.trouble == NOTHING_TO_REPEAT
    bench.take("5.21")
    bench.flex.again()
    bench.flex.keep_open()
    bench.flex.again()
    assert bench.series.ohm == (5.21, 5.21, None, None)


def test_a_number_that_can_mean_two_is_asked_about(bench):
    bench.take("1,234")
    assert bench.bodies == []
    assert "1.234 or 1234" in bench.trouble
    bench.take("1")
    assert bench.series.ohm == (1.234,)


@pytest.mark.parametrize("text", ["", "abc", "5..2", "-7"])
def test_what_is_no_reading_is_refused_at_the_field(bench, text):
    bench.take(text)
    assert bench.bodies == []
    assert bench.trouble != ""


def test_a_failed_write_says_not_saved_and_keeps_the_reading(bench):
    bench.take("5.2")
    bench.store.is_full = True
    bench.take("5.9")
    assert bench.trouble.startswith("Not saved. no space left.")
    assert last(bench.page.set_field)[0] == "5.9"
    assert bench.series.ohm == (5.2,)
    bench.store.is_full = False
    bench.take("5.9")
    assert bench.series.ohm == (5.2, 5.9)


def test_a_reading_typed_while_one_is_on_its_way_follows_it(bench):
    bench.runner.is_held = True
    bench.take("5.2", "5.3")
    assert bench.trouble == STILL_KEEPING
    bench.runner.release()
    assert bench.series.ohm == (5.2, 5.3)


def test_undo_and_redo_are_entries_and_stay_on_this_series(bench):
    bench.flex.taking_back.undo()
    assert bench.words == NOTHING_HERE
    bench.take("5.2", "9.9")
    bench.flex.taking_back.undo()
    assert bench.series.ohm == (5.2,)
    assert bench.desk.session.entries[-1].kind == "withdraw"
    bench.flex.taking_back.redo()
    assert bench.series.ohm == (5.2, 9.9)
    bench.flex.taking_back.redo()
    assert bench.words == NOTHING_BACK
    bench.flex.taking_back.undo()
    bench.flex.taking_back.undo()
    assert bench.series.ohm == ()
    bench.take("5.4")
    assert bench.series.ohm == (5.4,)


def test_a_reading_of_pins_is_not_taken_back_here(bench):
    bench.key_in("5.5")
    bench.flex.taking_back.undo()
    assert bench.words == NOTHING_HERE


def test_something_else_flexed_is_another_series(bench):
    bench.take("5.2", "5.2")
    bench.flex.place_chosen("the inner conductor plate")
    assert bench.series.ohm in ((), (5.2, 5.2))
    bench.take("5.3")
    assert bench.series.ohm == (5.3,)
    assert [(body.flexed, body.follows) for body in bench.bodies][-1] == ("the inner conductor plate", None)


def test_what_is_flexed_must_be_said(bench):
    bench.flex.place_chosen("  ")
    bench.take("5.2")
    assert bench.bodies == []
    assert "what you flex" in bench.trouble


def test_done_goes_back_with_the_verdict_and_the_next_test_begins_anew(bench):
    bench.take(*["5.2", "5.21"] * 15)
    bench.flex.finish()
    assert last(bench.page.leave)[0] == "Heron flexed, 30 readings: Pass. Findings says why."
    bench.flex.begin(HERON, AT_20)
    assert bench.series.ohm == ()
    bench.take("5.3")
    assert bench.series.ohm == (5.3,)


def test_left_in_the_middle_it_goes_on(bench):
    bench.take("5.2", "5.3")
    bench.flex.left()
    bench.flex.begin(HERON, AT_20)
    bench.take("5.4")
    assert bench.series.ohm == (5.2, 5.3, 5.4)


def test_after_a_kill_the_series_goes_on_where_it_was(bench):
    bench.take("5.2", "5.3")
    again = FlexBench(store=bench.store)
    assert again.series.ohm == (5.2, 5.3)
    again.take("5.4")
    assert again.series.ohm == (5.2, 5.3, 5.4)
    assert {body.follows for body in again.bodies} == {None, 2}


def test_another_pair_has_its_own_series(bench):
    bench.take("5.2")
    bench.flex.begin(Pair("1", "3"), AT_20)
    assert bench.series.ohm == ()
    assert last(bench.page.show_pair)[0].what == "Gull"


def test_without_a_pair_nothing_is_typed():
    bench = FlexBench(pair=None)
    assert bench.words == NO_PAIR
    bench.take("5.2")
    assert bench.bodies == []


def test_a_closed_session_is_shown_and_not_typed(bench):
    bench.take("5.2", "OL")
    bench.desk.close()
    again = FlexBench(store=bench.store)
    assert again.words == CLOSED
    assert again.page.set_enabled.call_args.kwargs == {"is_enabled": False}
    assert (again.series.ohm, again.series.verdict) == ((5.2, None), Verdict.FAIL)
    again.take("5.3")
    assert len(again.bodies) == 2


def test_a_file_is_kept_before_its_entry_and_drawn(bench):
    bench.flex.file_named("flex.csv")
    (body,) = bench.bodies
    assert bench.store.blobs[body.sha256] == LOG
    assert (len(bench.series.ohm), bench.series.verdict) == (40, Verdict.PASS)
    assert bench.words == "The file is kept with the session."
    bench.take("5.2")
    assert bench.series.ohm == (5.2,)


def test_a_file_that_says_nothing_is_refused_in_words(bench):
    bench.flex.file_named("open.csv")
    assert bench.bodies == []
    assert "open in every reading" in bench.words


def test_a_full_disk_keeps_no_half_of_a_file(bench):
    bench.store.is_full = True
    bench.flex.file_named("flex.csv")
    assert bench.bodies == []
    assert bench.words.startswith("Not saved.")


def test_a_fault_of_ours_is_raised_not_hidden(bench):
    bench.files.bytes_of = lambda path: Path(path).missing
    with pytest.raises(AttributeError):
        bench.flex.file_named("flex.csv")
    bench.files.bytes_of = lambda path: LOG
    bench.flex.file_named("flex.csv")
    assert len(bench.bodies) == 1


def test_what_draws_is_brought_in_beside_the_window(bench):
    assert told(bench.page.show_flexed) == ["the harness at the plug"]
    bench.page.let_draw.assert_called_once_with()
