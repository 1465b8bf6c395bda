"""Judged anew from records it is what judging each journal says; the first judgement stands."""

from __future__ import annotations

import json
import math
from pathlib import Path

import msgspec
import pytest

from tests.data.archived import DayClock, reading, session_in
from tests.data.made_up import variant_data
from valvebench.archive import store_rejudge
from valvebench.archive.store import Store
from valvebench.archive.store_rows import IS_PLAIN
from valvebench.bench.archived import Again, Asked
from valvebench.bench.judging import judged_whole
from valvebench.model.entry import AirTest, SolenoidTest
from valvebench.model.errors import BadInput
from valvebench.model.session import closing_rule
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AirResult, Place, Rule, Verdict

SAMPLES = Path(__file__).parents[3] / "sample_sessions"


def made(root):
    """Sessions that lie about the limits, with repeats, several temperatures, an open one, air, a click, no variant."""
    air = AirTest(port="P4", place=Place.BODY, result=AirResult.BLEEDS)
    many = [
        *(
            [reading("Heron", ohm), reading("Gull", ohm + 0.2, celsius=60.0)]
            for ohm in (4.8, 4.95, 5.0, 5.2, 5.45, 5.7)
        ),
        [reading("Heron", 5.2), reading("Heron", 5.22), reading("Heron", 5.21), reading("Heron", 6.0, celsius=80.0)],
        [reading("Plover", 12.2), reading("Fluid", 2600.0, celsius=20.0), air],
        [reading("Plover", 12.2), SolenoidTest(device="Plover", click=True)],
        [reading("Heron", 5.45, rule=Rule.PLAIN)],
        [reading("Heron", 5.2), msgspec.structs.replace(reading("Heron", 10.1), to_node="4")],  # through Gull as well
        # above 15 ohm on a coil at 80 degrees is above 12.1 at 20: within its limits of 12 to 15 for all one can tell
        [msgspec.structs.replace(reading("Plover", 1.0, celsius=80.0), ohm=None, open=True, range_ohm=15.0)],
        [air],
    ]
    yield from (session_in(root, f"R-{number}", bodies) for number, bodies in enumerate(many))
    yield session_in(root, "R-bare", [reading("Heron", 5.2, low_ohm=5.0, high_ohm=5.25)], variant_raw=None)


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """The archive of them all and of the sample jobs, closed."""
    root = tmp_path_factory.mktemp("template")
    store = Store(root / "archive", clock=DayClock())
    for folder in (*made(root / "jobs"), *(one for one in sorted(SAMPLES.iterdir()) if one.is_dir())):
        store.add(folder)
    store.close()
    return root / "archive"


@pytest.fixture
def filled(template, copy_of):
    return copy_of(template)


def whole(store, *, rule=None, variant_with=None):
    """The verdict of every session, judged one by one from its journal."""
    found = {}
    for one in store.find(Asked(most=500)).sessions:
        seen = store.view(one.id)
        variant = variant_with if variant_with is not None and one.variant == variant_with.key else seen.variant
        judged = judged_whole(seen.session, variant, rule or closing_rule(seen.session))
        found[one.id] = judged
    return found


@pytest.mark.parametrize("rule", list(Rule))
def test_another_rule_is_what_each_journal_says(filled, rule):
    done = filled.rejudge(Again(rule=rule))
    wanted = whole(filled, rule=rule)
    assert (done.sessions, done.not_judged) == (len(wanted), ())
    for ident, judged in wanted.items():
        (again,) = filled.show(ident).judgements
        assert (again.verdict, again.run) == (judged.verdict, done.run)
    count = filled.database.rows(f"SELECT count(*) FROM pack WHERE about & {IS_PLAIN}")[0][0]
    assert 8 <= count < len(wanted)  # both ways were taken


def test_verdicts_of_readings_are_those_of_the_rows(filled):
    filled.rejudge(Again(rule=Rule.PROVED))
    own = "SELECT p.b, j.readings FROM judgement j JOIN pack p ON p.session_id = j.session_id"
    from valvebench.archive.store_rows import RECORD

    for pack, readings in filled.database.rows(own):
        closed = [record[3] for record in RECORD.iter_unpack(pack)]
        assert len(readings) == len(closed)
    rows = filled.database.rows(
        "SELECT readings FROM judgement j JOIN session s ON s.id = j.session_id WHERE job = 'R-6'"
    )
    # three like readings are one row, the hot one another: 5.21 and 6.0 at 80 degrees are 5.15 and 4.86 at 20
    from valvebench.judge.again import CODES

    assert [CODES[code] for code in rows[0][0]] == [Verdict.PASS, Verdict.CANT_TELL]


def test_a_corrected_band_is_what_the_corrected_variant_says(filled):
    data = variant_data()
    data["devices"][0].update(low_ohm=5.0, high_ohm=5.3)
    changed = read_variant(json.dumps(data).encode(), source="changed")
    done = filled.rejudge(Again(variant="tern-body-2", device="Heron", low_ohm=5.0, high_ohm=5.3, why="measured anew"))
    mine = {one.id: one.job for one in filled.find(Asked(variant="tern-body-2", most=500)).sessions}
    own = {
        ident: judged
        for ident, judged in whole(filled, variant_with=changed).items()
        if mine.get(ident, "").startswith("R-")
    }
    assert len(own) == 13
    for ident, judged in own.items():
        (again,) = filled.show(ident).judgements
        assert again.verdict is judged.verdict, mine[ident]
    assert done.sessions == len(mine)
    assert again.what == "Heron 5 to 5.3 ohm; variant tern-body-2; measured anew"


def test_changes_are_counted_and_the_first_judgement_stands(store, tmp_path):
    first = store.add(session_in(tmp_path, "A", [reading("Heron", 5.45)])).id
    store.add(session_in(tmp_path, "B", [reading("Heron", 5.2)]))
    before = store.show(first).session
    done = store.rejudge(Again(variant="tern-body-2", device="Heron", low_ohm=4.0, high_ohm=4.5))
    assert done.changed == ((Verdict.NOT_FINISHED, Verdict.FAIL, 2),)
    assert store.show(first).session == before
    assert store.verify().ok


def test_two_runs_stand_beside_each_other(store, tmp_path):
    ident = store.add(session_in(tmp_path, "A")).id
    first, second = store.rejudge(Again(rule=Rule.PLAIN)), store.rejudge(Again(rule=Rule.PROVED5))
    assert [(one.run, one.what) for one in store.show(ident).judgements] == [
        (first.run, "Plain comparison"),
        (second.run, "Proved, 5 % risk"),
    ]


def test_stopped_it_counts_for_nothing(store, tmp_path, monkeypatch):
    monkeypatch.setattr(store_rejudge, "CHUNK", 1)
    monkeypatch.setattr(store_rejudge.fetch, "__kwdefaults__", {**store_rejudge.fetch.__kwdefaults__, "most": 1})
    ident = store.add(session_in(tmp_path, "S-0")).id
    for number in (1, 2):
        store.add(session_in(tmp_path, f"S-{number}"))
    heard = []

    def step(done, of):
        heard.append((done, of))
        return len(heard) < 2

    assert store.rejudge(Again(rule=Rule.PLAIN), step=step) is None
    assert heard == [(1, 3), (2, 3)]
    assert store.show(ident).judgements == ()
    assert store.rejudge(Again(rule=Rule.PLAIN)).sessions == 3
    assert [tuple(row) for row in store.database.rows("SELECT id, is_whole FROM run")] == [(1, 1)]


def test_a_session_that_does_not_verify_is_named_not_judged(store, tmp_path):
    store.add(session_in(tmp_path, "A", [reading("Plover", 12.5), SolenoidTest(device="Plover", click=True)]))
    ident = store.find(Asked()).sessions[0].id
    store.database.execute("UPDATE journal SET bytes = zeroblob(9)")
    done = store.rejudge(Again(rule=Rule.PLAIN))
    assert (done.sessions, done.not_judged[0][0]) == (0, ident)


@pytest.mark.parametrize(
    "again",
    [
        Again(),
        Again(device="Heron", low_ohm=5.0),
        Again(variant="tern-body-2", device="Heron"),
        Again(variant="tern-body-2", low_ohm=5.0),
        Again(variant="tern-body-2", device="Heron", low_ohm=math.nan),
        Again(variant="tern-body-2", device="Heron", high_ohm=math.inf),
        Again(variant="tern-body-2", device="Heron", low_ohm=6.0, high_ohm=5.0),
        Again(variant="tern-body-2", device="Hero", low_ohm=5.0),
        Again(variant="tern-body-2", device="Fluid", low_ohm=5.0),
        Again(rule=Rule.PLAIN, since="soon"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_leaves_no_run(store, tmp_path, again):
    store.add(session_in(tmp_path, "A", [reading("Heron", 5.2), reading("Fluid", 2600.0, celsius=20.0)]))
    with pytest.raises(BadInput):
        store.rejudge(again)
    assert store.database.rows("SELECT count(*) FROM run")[0][0] == 0


def test_a_changed_judgement_is_noticed(store, tmp_path):
    store.add(session_in(tmp_path, "A"))
    store.rejudge(Again(rule=Rule.PLAIN))
    store.database.execute("UPDATE judgement SET verdict = 2 - verdict % 2")
    assert [one.what for one in store.verify().problems] == ["judgement 1 (Plain comparison) is changed: judge anew"]
