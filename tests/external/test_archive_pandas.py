"""What the archive teaches, worked out again by pandas from the journals alone."""

from __future__ import annotations

import json
import random
import zlib

import numpy as np
import pandas as pd
import pytest
from scipy.stats import median_abs_deviation

from tests.data.archived import DayClock, reading, session_in
from valvebench.archive.store import Store
from valvebench.bench.learning import failures, learned, supplier_drifts
from valvebench.diagnose.failures import By
from valvebench.diagnose.learned import Ask
from valvebench.model.entry import Outcome
from valvebench.model.words import Comeback

VARIANT = "tern-body-2"
COPPER_K = 234.5  # IEC 60028: 1/0.00393 - 20 = 234.45
SESSIONS = 36


def made(root):
    """Sessions over a year: several temperatures, suppliers and outcomes, some coils bad, some bodies back again."""
    rng = random.Random(zlib.crc32(b"archive by pandas"))
    for number in range(SESSIONS):
        day = f"2031-{1 + number // 3:02d}-{rng.randint(1, 28):02d}"
        ohm = rng.gauss(5.2, 0.05) if rng.random() > 0.15 else 6.4
        celsius = round(rng.uniform(15, 60), 1)
        shown = round(ohm * (COPPER_K + celsius) / (COPPER_K + 20.0), 2)
        hot = round(ohm * (COPPER_K + 80.0) / (COPPER_K + 20.0), 2)
        first = [reading("Heron", rng.choice((hot, 9.9)), celsius=80.0)] if rng.random() < 0.4 else []
        bodies = [*first, reading("Gull", round(rng.gauss(5.2, 0.2), 2)), reading("Heron", shown, celsius=celsius)]
        outcome = rng.choice(
            [None, *[Outcome(fitted=True, comeback=Comeback.NO, months=float(m)) for m in (6, 12, 18)]]
        )
        more = {"comeback_of": f"P-{number - 3}"} if number % 11 == 10 else {}
        supplier = rng.choice(("Counter", "Harbour", None))
        about = {key: value for key, value in {"supplier": supplier, **more}.items() if value}
        yield session_in(root, f"P-{number}", bodies, day=day, outcome=outcome, **about)


def tables(folders):
    """A row for each session and one for each reading of Heron, from the lines of the journals."""
    sessions, readings = [], []
    for folder in folders:
        lines = [json.loads(line) for line in (folder / "journal.jsonl").read_text(encoding="utf-8").splitlines()]
        kinds = {kind: [one for one in lines if one["kind"] == kind] for kind in ("open-job", "close", "outcome")}
        job = kinds["open-job"][0]["body"]
        told = kinds["outcome"][-1]["body"] if kinds["outcome"] else {}
        closed = kinds["close"][0]
        sessions.append({"job": job["job"], "supplier": job.get("supplier", ""), "of": job.get("comeback_of"),
                         "verdict": closed["body"]["verdict"], "at": closed["at"], **told})  # fmt: skip
        readings += [
            {"job": job["job"], "at": closed["at"], "ohm": body["ohm"], "celsius": body["celsius"]}
            for body in (one["body"] for one in lines if one["kind"] == "reading")
            if {body["from"], body["to"]} == {"3", "11"}
        ]
    table = pd.DataFrame(readings)
    table["ohm_at_20"] = table["ohm"] * (COPPER_K + 20.0) / (COPPER_K + table["celsius"])
    table["at"] = pd.to_datetime(table["at"])
    return pd.DataFrame(sessions), table


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    root = tmp_path_factory.mktemp("pandas")
    folders = list(made(root))
    store = Store(root / "archive", clock=DayClock("2032-06-01"))
    for folder in reversed(folders):  # the order of arrival does not matter
        store.add(folder)
    yield store, *tables(folders)
    store.close()


def nearest(readings):
    """Of each job the value read nearest to 20 degrees, the reference; none where they differ much."""
    spread = readings.groupby("job")["ohm_at_20"].transform(lambda ohm: ohm.max() - ohm.min())
    same = readings[spread < 1.0]
    by_distance = same.assign(away=(same["celsius"] - 20.0).abs()).sort_values("away")
    return by_distance.groupby("job", sort=False).head(1)


def test_the_trend(filled):
    store, _, readings = filled
    found = store.trend(VARIANT, "Heron")
    wanted = readings.groupby(readings["at"].dt.strftime("%Y-%m"))["ohm_at_20"].agg(["size", "mean", "min", "max"])
    assert [one.month for one in found.months] == list(wanted.index)
    ours = [(one.n, one.mean_ohm, one.low_ohm, one.high_ohm) for one in found.months]
    assert np.array(ours) == pytest.approx(wanted.to_numpy(), rel=1e-9)


def test_what_fails_most(filled):
    store, sessions, _ = filled
    wanted = sessions.assign(failed=sessions["verdict"] == "fail").groupby("supplier")["failed"].agg(["size", "sum"])
    found = {one.name: (one.sessions, one.failed) for one in failures(store, By.SUPPLIER).counts}
    assert found == {name: (row["size"], row["sum"]) for name, row in wanted.iterrows()}
    assert wanted["sum"].sum() > 0


def test_which_bodies_a_band_is_learned_from(filled):
    store, sessions, readings = filled
    last = nearest(readings).set_index("job")["ohm_at_20"]
    good = sessions[
        (sessions["fitted"] == True)  # noqa: E712  a column of pandas
        & (sessions["comeback"] == "no")
        & (sessions["months"] >= 12)
        & ~sessions["job"].isin(sessions["of"].dropna())
        & sessions["job"].isin(last.index)
    ]
    wanted = last.loc[good.sort_values("at")["job"]]
    band = learned(store, VARIANT, "Heron", ask=Ask())
    values = band._asdict()["values"]
    jobs, ohm, ours = ([getattr(one, name) for one in values] for name in ("job", "ohm_at_ref", "modified_z"))
    assert jobs == list(wanted.index)
    assert ohm == pytest.approx(list(wanted), rel=1e-9)
    z = (wanted - wanted.median()) / median_abs_deviation(wanted, scale="normal")
    assert ours == pytest.approx(list(z), rel=1e-4)  # 0.6745 has four digits
    kept = wanted[(z.abs() <= 5).to_numpy()]
    assert (band.used, band.mean_ohm, band.sd_ohm) == (len(kept), pytest.approx(kept.mean()), pytest.approx(kept.std()))
    assert 0 < len(kept) < len(wanted) < len(last)


def test_values_of_a_supplier(filled):
    store, sessions, readings = filled
    last = nearest(readings).merge(sessions[["job", "supplier"]], on="job").sort_values("at")
    wanted = {name: list(some["ohm_at_20"]) for name, some in last.groupby("supplier") if name}
    found = {one.supplier: list(one.ohm_at_ref) for one in supplier_drifts(store, VARIANT, "Heron")}
    assert found.keys() == wanted.keys()
    assert all(found[name] == pytest.approx(wanted[name], rel=1e-9) for name in wanted)
