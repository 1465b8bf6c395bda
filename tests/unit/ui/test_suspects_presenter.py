"""What the card of the complaint decides, without Qt: what it keeps, when it works, where each line leads."""

from __future__ import annotations

import json
from pathlib import Path
from unittest.mock import create_autospec

import pytest

from tests.data.made_up import reading
from tests.data.suspects_body import BODY, DATA
from tests.fakes.explained import HEALTHY, found
from tests.fakes.pins_bench import Bench as PinsBench
from tests.fakes.pins_bench import last, told
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import first_line
from valvebench.bench.explaining import Answer
from valvebench.bench.suspecting import Suspecting
from valvebench.diagnose.suspects_weights import read_weights
from valvebench.model.entry import AirTest, Close, Complaint, FluidFound, OpenJob
from valvebench.model.errors import WorldFailed
from valvebench.model.words import AirResult, JobKind, Place
from valvebench.ui.job.suspects import (
    FAULT_OF_OURS,
    NO_VARIANT,
    NOT_OPEN,
    SAME,
    Suspects,
    SuspectsPresenter,
    SuspectsView,
)
from valvebench.ui.job.suspects_shown import WORKING, complaint_shown, sentence, shifts_of

RAW_VARIANT = json.dumps(DATA).encode()
RAW = (Path(__file__).parents[3] / "resources" / "suspects.json").read_bytes()


class Explains:
    """Stands for the engine of explanations, which takes longest."""

    def __init__(self) -> None:
        self.asked = 0

    def explain(self, session, *, is_asking, is_wanted):
        self.asked += 1
        return Answer(found(HEALTHY), 80.0) if is_wanted() else None


class Bench(PinsBench):
    def __init__(self, *, variant=RAW_VARIANT, store=None) -> None:
        super().__init__(variant=variant, store=store)
        self.card, self.beside, self.explains = create_autospec(SuspectsView, instance=True), HeldRunner(), Explains()
        self.weights_read = 0
        suspecting = Suspecting(self.desk.variant, weights=self._weights, explaining=self.explains)
        self.page = SuspectsPresenter(
            self.card,
            self.keeper,
            Suspects(self.beside, suspecting if variant is not None else None),
            corrected=lambda: None,
        )
        self.start()

    def _weights(self):
        self.weights_read += 1
        return read_weights(RAW, source="suspects.json")

    def keep(self, body):
        self.keeper.keep(body, kept=lambda *_: None, failed=lambda error: pytest.fail(str(error)))

    @property
    def shown(self):
        return last(self.card.show_suspects)[0]

    @property
    def bodies(self):
        return [item.body for item in self.desk.session.items]


@pytest.fixture
def bench():
    made = Bench()
    made.page.came_to_front()
    return made


def row(shown, what):
    return next(one for one in shown.rows if one.what == what)


def test_the_complaint_is_kept_as_an_entry_and_the_list_follows(bench):
    assert bench.shown.changes == ("Say which shift or event: 5-6, N-D, lock-up.",)
    bench.page.complaint_typed("1-2", "hot", "bump")
    assert bench.bodies == [Complaint(shift="1-2", when="hot", feel="bump")]
    assert last(bench.card.show_complaint)[0].shift == "1-2"
    assert bench.shown.changes[0] == "Applies: Crake. Releases: Dipper."
    assert "Kept as entry" in last(bench.card.say)[0]


def test_the_sentence_is_read_while_it_is_typed(bench):
    bench.page.complaint_changed("1-2", "", "")
    assert last(bench.card.show_sentence) == ("On 1-2, \u2026, it feels like: \u2026.",)
    assert bench.bodies == []


def test_the_same_complaint_is_no_second_entry(bench):
    bench.page.complaint_typed("1-2", "", "")
    bench.page.complaint_typed("1-2", "", "")
    assert len(bench.bodies) == 1
    assert last(bench.card.say)[0] == SAME


def test_a_closed_session_keeps_its_complaint(bench):
    bench.page.complaint_typed("1-2", "", "")
    bench.keep(Close(verdict="fail", scope=""))
    bench.page.complaint_typed("2-3", "", "")
    assert len(bench.bodies) == 1
    assert last(bench.card.say)[0] == NOT_OPEN
    assert not last(bench.card.show_complaint)[0].is_open


def test_what_cannot_be_saved_is_said_and_stays(bench):
    bench.store.is_full = True
    bench.page.complaint_typed("1-2", "", "")
    assert "no space left What you typed still stands here." in last(bench.card.say)[0]


def test_what_is_being_typed_is_not_swept_away_by_a_reading(bench):
    bench.page.complaint_typed("1-2", "", "")
    count = bench.card.show_complaint.call_count
    bench.keep(FluidFound(level="low"))
    assert bench.card.show_complaint.call_count == count


def test_results_move_the_list(bench):
    bench.page.complaint_typed("1-2", "hot", "")
    bench.keep(AirTest(port="P2", place=Place.BODY, result=AirResult.FAIL))
    first = bench.shown.rows[0]
    assert (first.what, first.state, first.stands_out) == (
        "Valve or bore that feeds Crake is worn",
        "Points at it",
        True,
    )
    bench.keep(FluidFound(level="right"))
    assert bench.shown.rows[-1].what == "Fluid level"
    assert bench.shown.rows[-1].state == "Proved good"


@pytest.mark.parametrize(
    ("what", "page", "key", "lead"),
    [
        ("Fluid level", "Job", "fluid", "Keep what was found"),
        ("Line pressure", "Ports", "port P4", "P4 on Ports"),
        ("Circuit of clutch Crake leaks", "Ports", "port P1", "P1 on Ports"),
        ("Heron sticks", "Ports", "function Heron", "Heron on Ports"),
        ("Winding of Heron, or its wire", "Pins", "device Heron", "Heron on Pins"),
        ("Stored adaptation not cleared, or trim code not entered", "", "", None),
    ],
)
def test_each_line_leads_to_where_it_is_tested(bench, what, page, key, lead):
    bench.page.complaint_typed("1-2", "", "")
    found_row = row(bench.shown, what)
    assert (found_row.page, found_row.key) == (page, key)
    if lead is not None:
        assert found_row.lead == lead


def test_a_line_leads_to_the_test_that_has_no_result_yet(bench):
    contact = "Contact of Heron that grows with heat"
    bench.page.complaint_typed("1-2", "hot", "")
    assert row(bench.shown, contact).key == "device Heron"
    bench.keep(reading_of_heron())
    assert (row(bench.shown, contact).key, row(bench.shown, contact).lead) == ("flex Heron", "Heron on Flex")


def test_a_reading_at_the_connector_is_none_at_the_vehicle_plug(bench):
    bench.page.complaint_typed("1-2", "hot", "")
    bench.keep(reading_of_heron())
    wiring = row(bench.shown, "Vehicle plug and wiring")
    assert wiring.key == "device Heron"
    assert "Then: Heron (2\u20137) at the vehicle plug" in wiring.test


def reading_of_heron():
    return reading("2", "7", 5.5)


def test_what_is_done_without_the_program_stands_first(bench):
    bench.page.complaint_typed("1-2", "", "")
    words = row(bench.shown, "Line pressure").test
    assert words == "Pressures at the taps, where there are any, cold and hot. Then: Air at P4, which feeds the line."


def test_nothing_is_worked_out_while_nobody_looks():
    bench = Bench()
    bench.keep(Complaint(shift="1-2"))
    assert bench.weights_read == 0
    bench.page.came_to_front()
    assert bench.weights_read == 1


def test_the_newest_question_wins_and_leaving_gives_up(bench):
    bench.beside.is_held = True
    bench.page.complaint_typed("1-2", "", "")
    bench.page.complaint_typed("2-3", "", "")
    bench.beside.release()
    assert [shown.changes[0] for shown in told(bench.card.show_suspects)][1:] == ["Applies: Brant. Releases: Auk."]
    bench.beside.is_held = True
    bench.page.complaint_typed("3-2", "", "")
    bench.page.left()
    bench.beside.release()
    assert bench.shown.changes[0] == "Applies: Brant. Releases: Auk."
    bench.page.came_to_front()
    assert bench.shown.changes[0] == "Applies: Auk. Releases: Brant."


def test_explanations_come_second_and_only_with_readings(bench):
    bench.page.complaint_typed("1-2", "", "")
    assert bench.explains.asked == 0
    bench.keep(reading_of_heron())
    assert bench.explains.asked == 1


def test_while_it_works_it_says_so():
    bench = Bench()
    bench.beside.is_held = True
    bench.page.came_to_front()
    assert last(bench.card.show_busy) == (WORKING,)
    bench.beside.release()


def test_without_a_variant_there_is_no_chart():
    bench = Bench(variant=None)
    bench.page.came_to_front()
    assert bench.shown.changes == (NO_VARIANT,)


def test_weights_that_cannot_be_read_are_told_and_tried_again():
    bench = Bench()
    suspecting = bench.page._suspecting
    suspecting._weights = lambda: (_ for _ in ()).throw(WorldFailed("suspects.json: cannot be read."))
    bench.page.came_to_front()
    assert "suspects.json: cannot be read." in bench.shown.changes[0]
    suspecting._weights = bench._weights
    bench.page.complaint_typed("1-2", "", "")
    assert bench.shown.changes[0].startswith("Applies")


def test_a_fault_of_ours_is_told_and_raised():
    bench = Bench()
    bench.page._suspecting._weights = lambda: 1 / 0
    with pytest.raises(ZeroDivisionError):
        bench.page.came_to_front()
    assert FAULT_OF_OURS in bench.shown.changes[0]


def test_the_sentence_has_blanks():
    assert sentence("", "", "") == "On \u2026, \u2026, it feels like: \u2026."
    assert sentence("5-6", "hot", "bump") == "On 5-6, hot, it feels like: bump."


def test_shifts_to_pick_are_those_of_the_variant():
    assert shifts_of(BODY) == ("1-2", "2-3", "3-2", "2-1", "N-D", "N-R", "P-R", "lock-up")
    job = OpenJob(session="s", job="1", kind=JobKind.COMPLAINT, shift="1-2")
    assert complaint_shown(job, None, is_open=True).shifts[0] == "1-2"


def test_a_bench_check_has_no_complaint():
    job = OpenJob(session="s", job="T-1", kind=JobKind.BENCH_CHECK)
    line = first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann")
    bench = Bench(variant=None, store=SessionStore(line))
    bench.page.came_to_front()
    assert last(bench.card.show_complaint) == (None,)
    bench.card.show_suspects.assert_not_called()
