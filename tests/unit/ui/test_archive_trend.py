"""What the Archive page shows over time.  Every name and number is made up."""

from __future__ import annotations

from unittest.mock import create_autospec

import pytest

from tests.data.archived import DayClock, reading, session_in, small_archive
from tests.unit.ui.test_archive_find import Later, Now
from valvebench.archive.archives import Archives
from valvebench.bench.archived import CheckPoint
from valvebench.bench.learning import supplier_drifts
from valvebench.bench.trending import day_of, meter_charts, supplier_words
from valvebench.compose import open_desk
from valvebench.diagnose.learned import Bodies, Body
from valvebench.model.words import JobKind, LeadState, Verdict
from valvebench.ui.archive.long_work import NO_ARCHIVE
from valvebench.ui.archive.reach import Reach
from valvebench.ui.archive.trend import JOB_WORDS, NO_CHECKS, TrendPresenter, rows_of
from valvebench.ui.archive.trend_part import TrendPart

VALUES = (5.2, 5.21, 5.19, 5.22, 5.18, 5.2, 6.4)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    root = tmp_path_factory.mktemp("archive")
    folder = small_archive(root / "archive", root / "jobs")
    archive = Archives(folder, clock=DayClock(), open_desk=open_desk).open()
    for place, ohm in enumerate(VALUES):
        archive.add(session_in(root / "more", f"3{place}", [reading("Heron", ohm)], day=f"2032-01-0{place + 1}"))
    archive.close()
    return folder


@pytest.fixture
def make(shelf, tmp_path):
    made = []

    def bench(folder=shelf, runner=None):
        view = create_autospec(TrendPart, instance=True)
        archives = Archives(folder, clock=DayClock(), open_desk=open_desk)
        reach = Reach(lambda: archives, lambda: "")
        made.append(reach)
        return view, TrendPresenter(view, reach, runner or Now())

    yield bench
    for reach in made:
        reach.close()


def test_values_of_a_device_over_time_with_limits_and_odd_ones(make):
    view, presenter = make()
    presenter.refresh()
    devices = view.show_devices.call_args.args[0]
    assert [text for _, text in devices] == ["Gull of tern-body-2", "Heron of tern-body-2"]
    presenter.device_chosen("1")
    charted, rows = view.show_chart.call_args.args
    assert charted.title == "Heron, at 20 \u00b0C"
    assert (charted.low, charted.high) == (4.9, 5.5)
    assert len(charted.ohm) == 4 + len(VALUES)
    # by hand, copper from 23 to 20 degrees: 254.5 / 257.5 = 0.98835; 6.4 becomes 6.3254
    assert charted.ohm[-1] == pytest.approx(6.3254, abs=5e-5)
    assert charted.days == tuple(sorted(charted.days))
    assert len(charted.ohm) - 1 in charted.odd
    assert (rows[0].when, rows[0].verdict, rows[0].note) == ("2032-01-07", Verdict.FAIL, "odd")
    assert charted.words[0].startswith("11 values, 3 failed; ")


def test_values_of_one_kind_of_job(make):
    view, presenter = make()
    presenter.refresh()
    presenter.device_chosen("1")
    presenter.job_chosen("complaint")
    charted, _ = view.show_chart.call_args.args
    assert charted.words[0].startswith("11 values of complaints, 3 failed; ")
    presenter.job_chosen("bench_check")
    assert view.show_chart.call_args.args == (None, ())
    assert view.say.call_args.args[0] == "No kept session of this kind of job holds a value of Heron."
    presenter.job_chosen("")
    assert view.show_chart.call_args.args[0].words[0].startswith("11 values, 3 failed; ")
    assert list(JOB_WORDS.values()) == ["Every kind", "Complaints", "Bench checks", "Enquiries"]


def bodies_of(supplier, kinds_and_ohm):
    """One body after the other from one supplier, with the kind of its job."""
    return tuple(
        Body(
            id=f"{n:032x}",
            job=str(n),
            closed_at=f"2031-01-01T00:{n:02d}:00.000Z",
            ohm_at_ref=ohm,
            u_ohm_at_ref=0.01,
            verdict=Verdict.PASS,
            kind=kind,
            serial=None,
            supplier=supplier,
            batch=None,
            fitted=None,
            comeback=None,
            months=None,
            km=None,
            came_back=False,
            is_revised=False,
        )
        for n, (kind, ohm) in enumerate(kinds_and_ohm)
    )


class Supplied:
    """An archive in which a supplier's checked parts are steady and those that came with a complaint read high."""

    def bodies(self, variant, device, *, at):
        checks = [(JobKind.BENCH_CHECK, 5.2 + 0.01 * (n % 3 - 1)) for n in range(30)]
        complaints = [(JobKind.COMPLAINT, 5.6 + 0.01 * (n % 3 - 1)) for n in range(12)]
        return Bodies(variant, device, "solenoid", 20.0, bodies_of("Tern Ltd", [*checks, *complaints]))


def test_a_supplier_of_mixed_jobs_says_so_and_one_kind_alone_does_not_drift():
    (mixed,) = supplier_drifts(Supplied(), "tern", "Heron")
    assert mixed.jobs == ((JobKind.COMPLAINT, 12), (JobKind.BENCH_CHECK, 30))
    assert mixed.drift.moved_at is not None
    words = supplier_words(Supplied(), "tern", "Heron")
    assert words[0].startswith("From Tern Ltd, 12 of complaints, 30 of bench checks: Value ")
    assert words[1].startswith("Bodies of complaints and bodies that were only checked differ for other reasons")
    (checks,) = supplier_drifts(Supplied(), "tern", "Heron", job=JobKind.BENCH_CHECK)
    assert (checks.jobs, checks.drift.moved_at) == (((JobKind.BENCH_CHECK, 30),), None)
    assert supplier_words(Supplied(), "tern", "Heron", job=JobKind.BENCH_CHECK) == ()
    assert supplier_drifts(Supplied(), "tern", "Heron", job=JobKind.ENQUIRY) == ()


def test_only_the_device_chosen_last_is_drawn(make):
    runner = Later()
    view, presenter = make(runner=runner)
    presenter.refresh()
    runner.let_go(0)
    presenter.device_chosen("1")
    runner.let_go(1)
    runner.let_go(0)
    assert [call.args[0].title for call in view.show_chart.call_args_list] == ["Heron, at 20 \u00b0C"]


def test_without_an_archive_or_checks_it_is_said(make, tmp_path):
    view, presenter = make(folder=tmp_path / "none")
    presenter.refresh()
    assert view.say.call_args.args[0] == NO_ARCHIVE
    view, presenter = make()
    presenter.meters_chosen()
    assert view.say.call_args.args[0] == NO_CHECKS


class Checks:
    """An archive that only knows checks: one meter that moves up after twenty, one that is steady."""

    def meter_checks(self):
        found = []
        for meter, step in (("steady", 0.0), ("moves", 0.05)):
            for n in range(28):
                off = 0.01 * (n % 3 - 1) + step * max(0, n - 19)
                at = f"2031-02-{n + 1:02d}T08:00:00Z"
                found.append(CheckPoint("ab" * 16, "1", at, meter, LeadState.NULLED, 5.0, off, 0.01))
        return tuple(found)


def test_a_meter_that_drifts_stands_first_and_says_where():
    first, second = meter_charts(Checks())
    assert first.title == "moves, check resistor 5.00 \u03a9, nulled on the meter"
    assert (first.moved_at is not None, second.moved_at) == (True, None)
    assert "drift up" in first.words[0]
    assert [line.words for line in first.lines] == ["", "low", "high"]
    assert [row.note for row in rows_of(first) if "drift" in row.note] == ["beyond, drift from here"]


def test_days_count_from_1970():
    assert day_of("1970-01-02T12:00:00.000Z") == 1.5
