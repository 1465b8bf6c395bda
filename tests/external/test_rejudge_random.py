"""Random sessions of every kind of reading judged anew from the archive, against judging each journal by itself."""

from __future__ import annotations

import pytest

from tests.data.archived import DayClock, session_in
from tests.unit.report.samples import VARIANT, chance, random_readings
from valvebench.archive.store import Store
from valvebench.archive.store_rows import records_of
from valvebench.bench.archived import Again
from valvebench.bench.judging import judged_whole
from valvebench.compose import view_session
from valvebench.judge.again import CODE_OF
from valvebench.model.words import Rule

_FOUND = "SELECT s.job, j.verdict, j.readings FROM judgement j JOIN session s ON s.id = j.session_id WHERE j.run_id = ?"


def check(root, number, rules):
    """How many readings have another verdict than the one they were closed with."""
    rng = chance(f"rejudge {number}")
    folders = [
        session_in(root, f"Z-{n}", random_readings(rng, rng.randint(1, 5)), variant_raw=rng.choice((VARIANT, None)))
        for n in range(number)
    ]
    store = Store(root / "archive", clock=DayClock("2032-06-01"))
    for folder in folders:
        store.add(folder)
    changed = 0
    for rule in rules:
        done = store.rejudge(Again(rule=rule))
        assert (done.sessions, done.not_judged) == (number, ())
        found = {job: (verdict, list(readings)) for job, verdict, readings in store.database.rows(_FOUND, (done.run,))}
        for folder in folders:
            seen = view_session(folder)
            judged = judged_whole(seen.session, seen.variant, rule)
            readings = [one.verdict for one in records_of(judged, seen.variant)[0]]
            assert found[seen.session.job.job] == (CODE_OF[judged.verdict], readings), (rule, folder.name)
            first = records_of(judged_whole(seen.session, seen.variant, None), seen.variant)[0]
            changed += sum(one.verdict != again for one, again in zip(first, readings, strict=True))
    store.close()
    return changed


def test_forty_random_sessions(tmp_path):
    assert check(tmp_path, 40, (Rule.PLAIN,)) > 0


@pytest.mark.study
def test_two_hundred_random_sessions_by_every_rule(tmp_path):
    assert check(tmp_path, 200, tuple(Rule)) > 0
