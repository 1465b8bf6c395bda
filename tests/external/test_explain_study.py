"""How often explanations are right, calibrated and quick: a study with a truth of its own.

Truth: `tests/external/explain_truth.py`; jobs: `explain_cells.py`; tables and figures: `explain_tables.py`.
Figures and their replacements were fixed before the study ran; classes merged at chi-square 2, sound
parts at 0.01.  A fault is *told apart* when a sound part misses what it would show without noise
by a chi-square above 9, worked out by finite differences of the truth.

The whole study in pieces, with its tables: `python -m tests.external.test_explain_study --minutes 20`.
"""

from __future__ import annotations

import argparse
from itertools import chain

import pytest

from tests.external.explain_bench import Bench
from tests.external.explain_cells import STUDIES, cells, digest, next_reading, one_fault, ran, run
from tests.external.explain_cells import assumed as draws_as_assumed
from tests.external.explain_tables import (
    check_accuracy,
    check_calibration,
    check_next,
    check_typo,
    check_wider,
    print_times,
)

CHECKS = {
    "one fault": check_accuracy,
    "assumed": check_calibration,
    "wider": check_wider,
    "next": check_next,
    "typo": check_typo,
}


def shortly(jobs, bodies: int, count: int, most_pins: int = 24):
    return list(chain.from_iterable(jobs(Bench(number, most_pins), range(count)) for number in range(bodies)))


@pytest.mark.slow
def test_in_short_one_fault_is_found(capsys):
    with capsys.disabled():
        check_accuracy(shortly(one_fault, 4, 1))


@pytest.mark.slow
def test_in_short_probabilities_mean_what_they_say(capsys):
    with capsys.disabled():
        check_calibration(shortly(draws_as_assumed, 4, 9), least=30, most_ece=0.08)


@pytest.mark.slow
def test_in_short_the_next_reading_saves_readings(capsys):
    with capsys.disabled():
        check_next(shortly(next_reading, 3, 2, most_pins=11))


def test_a_part_of_the_study_holds_every_job_once():
    for name, study in STUDIES.items():
        jobs = [(cell.body, k) for cell in cells([name]) for k in cell.jobs()]
        assert len(jobs) == len(set(jobs)) == study.jobs


def test_shares_of_the_study_make_the_whole():
    assert sorted([*cells(share=(0, 2)), *cells(share=(1, 2))]) == sorted(cells())


@pytest.mark.study
@pytest.mark.parametrize("name", STUDIES)
def test_study(name, capsys):
    with capsys.disabled():
        run(cells([name]))
        CHECKS[name](ran(name).rows)


@pytest.mark.study
def test_study_answer_times(capsys):
    with capsys.disabled():
        print_times()


def main() -> int:
    """Run what has not run yet for some minutes, and print the tables of all that has; 1 where a figure is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=20.0, help="how long to run; what has begun is finished")
    parser.add_argument("--share", default="0/1", help="i/n: only every n-th body from the i-th, for several at once")
    parser.add_argument("--only", action="append", choices=list(STUDIES), help="some of the studies")
    given = parser.parse_args()
    first, step = (int(part) for part in given.share.split("/"))
    names = given.only or list(STUDIES)
    run(cells(names, share=(first, step)), minutes=given.minutes)
    return show(names)


def show(names) -> int:
    missed, cost = [], {}
    for name in names:
        found = ran(name)
        print(f"\n== {name}: {found.done} of {found.of} cells have run, {found.cpu_s:.0f} s of processor ({digest()})")
        if not found.done:
            continue
        cost[name] = found.cpu_s * found.of / found.done
        try:
            CHECKS[name](found.rows)
        except AssertionError as error:
            missed.append(name)
            print(f"  NOT REACHED: {error}")
    print_times()
    whole = ", ".join(f"{name} {seconds / 60:.0f}" for name, seconds in cost.items())
    print(f"\nA whole run takes about {sum(cost.values()) / 60:.0f} minutes of one processor: {whole}.")
    print(f"Not reached: {', '.join(missed)}." if missed else "No figure was missed by more than three errors.")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
